package notify

import (
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// played is a ledger that is played through drawn days, as the service keeps it.
type played struct {
	roster Roster
	rows   []Told
	toldAt map[Ref]time.Time
	sent   []Told // in the order of telling
}

func (l *played) issue(t *rapid.T, n Notice, now time.Time) {
	r := Route(n, l.roster, l.rows, now)
	for i := range l.rows {
		for _, d := range r.Dropped {
			if l.rows[i].ref() == d.Ref {
				if !l.rows[i].held() {
					t.Fatalf("dropped what was told: %+v", d)
				}
				l.rows[i].Off = true
			}
		}
		for _, h := range r.Hastened {
			if l.rows[i].ref() == h.Ref {
				if h.Due.After(l.rows[i].Due) {
					t.Fatalf("put off, not hastened: %+v", h)
				}
				l.rows[i].Due = h.Due
			}
		}
	}
	for _, d := range r.Deliveries {
		p, _ := l.roster.person(d.Person)
		if n.Kind.breaks() && !n.Withdrawn && p.Hears.of(n) && (d.Answer != Tell || !d.Due.Equal(now)) && d.Why != ToldAlready {
			t.Fatalf("%s breaks through and is %s until %s: %s", n.Kind, d.Answer, d.Due, d.Why)
		}
		if d.Answer == Nothing {
			continue
		}
		if !n.Kind.breaks() && !p.free(d.Due).Equal(d.Due) {
			t.Fatalf("%s is due %s, in %s's quiet hours", n.Kind, d.Due, p.Name)
		}
		l.add(d)
	}
}

func (l *played) add(d Delivery) {
	l.rows = append(l.rows, Told{Notice: d.Notice, Person: d.Person, Way: d.Way, Due: d.Due, Why: d.Why})
}

// post tells what is due, as one who carries it out every minute.
func (l *played) post(t *rapid.T, now time.Time) {
	var due []Told
	for _, row := range l.rows {
		if row.held() && !row.Due.After(now) {
			due = append(due, row)
		}
	}
	stale := Stale(due, now)
	for i := range l.rows {
		row := &l.rows[i]
		if !row.held() || row.Due.After(now) {
			continue
		}
		if slices.ContainsFunc(stale, func(d Dropped) bool { return d.Ref == row.ref() }) {
			row.Off = true
			continue
		}
		row.Tried = true
		if _, twice := l.toldAt[row.ref()]; twice {
			t.Fatalf("told twice: %+v", row.ref())
		}
		l.toldAt[row.ref()] = now
		l.sent = append(l.sent, *row)
	}
}

func drawPerson(t *rapid.T, name string, start time.Time) Person {
	p := Person{Name: name, Ways: []Way{ByMail}}
	if rapid.Bool().Draw(t, "two ways") {
		p.Ways = append(p.Ways, ByWebhook)
	}
	if rapid.Bool().Draw(t, "crewed") {
		p.Crews = []string{"paint"}
	}
	from := start.Add(time.Duration(rapid.IntRange(-12, 12).Draw(t, "quiet from")) * time.Hour)
	if long := rapid.IntRange(0, 14).Draw(t, "quiet for"); long > 0 {
		for day := range 5 {
			q := from.AddDate(0, 0, day)
			p.Quiet = append(p.Quiet, Span{q, q.Add(time.Duration(long) * time.Hour)})
		}
	}
	p.Hears.Kinds = rapid.SliceOfNDistinct(rapid.SampledFrom(Kinds()), 0, 6, rapid.ID[Kind]).Draw(t, "kinds")
	return p
}

// Whatever comes in whatever order: what breaks through is never held; what is held is told or
// dropped; one revision reaches nobody twice by one way; of one boat nothing is told before what
// came earlier; who was told an offer hears that it no longer holds, or how it stands since; and what is taken back
// reaches nobody who was not told.
func TestLedgerKeepsItsPromises(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		start := time.Date(2026, 5, 11, 6, 0, 0, 0, time.UTC)
		l := played{toldAt: map[Ref]time.Time{}, roster: Roster{Shifts: map[string][]Span{}}}
		for day := range 4 {
			from := start.AddDate(0, 0, day).Add(time.Hour)
			l.roster.Shifts["paint"] = append(l.roster.Shifts["paint"], Span{from, from.Add(9 * time.Hour)})
		}
		l.roster.People = []Person{drawPerson(t, "Ines", start), drawPerson(t, "Rui", start)}
		if rapid.Bool().Draw(t, "passes on") {
			l.roster.People[0].Next, l.roster.People[0].After = "Rui", 20*time.Minute
		}
		var issued []Notice
		latest := map[string]Notice{}
		now := start
		for i := range rapid.IntRange(1, 40).Draw(t, "notices") {
			for range rapid.IntRange(0, 90).Draw(t, "minutes") {
				now = now.Add(time.Minute)
				l.tick(t, now)
			}
			n := news(rapid.SampledFrom(Kinds()).Draw(t, "kind"), rapid.IntRange(1, 3).Draw(t, "occurrence"))
			n.Boat = rapid.SampledFrom([]string{"Petrel", "Auk"}).Draw(t, "boat")
			n.At, n.ID, n.Revision = now, ID(n), latest[ID(n)].Revision+1
			if rapid.IntRange(0, 3).Draw(t, "ends") == 0 {
				n.Until = now.Add(time.Duration(rapid.IntRange(1, 20).Draw(t, "until")) * time.Hour)
			}
			n.Withdrawn = n.Kind == ReadyToSand && n.Revision > 1 && i%2 == 0
			latest[n.ID] = n
			issued = append(issued, n)
			l.issue(t, n, now)
		}
		for range 2 * 24 * 4 {
			now = now.Add(15 * time.Minute)
			l.tick(t, now)
		}
		l.check(t, issued)
	})
}

func (l *played) tick(t *rapid.T, now time.Time) {
	passed, _ := Pass(l.roster, l.rows, now)
	for _, d := range passed {
		l.add(d)
	}
	l.post(t, now)
}

func (l *played) check(t *rapid.T, issued []Notice) {
	order := map[Ref]int{}
	for i, n := range issued {
		order[Ref{ID: n.ID, Revision: n.Revision}] = i
	}
	at := func(n Notice) int { return order[Ref{ID: n.ID, Revision: n.Revision}] }
	for _, row := range l.rows {
		if row.held() {
			t.Fatalf("neither told nor dropped: %s due %s", row.Notice.Kind, row.Due)
		}
	}
	type line struct {
		person, boat string
		way          Way
	}
	last := map[line]int{}
	for _, row := range l.sent {
		k := line{row.Person, row.Notice.Boat, row.Way}
		if row.Why != PassedOn {
			if at(row.Notice) < last[k] {
				t.Fatalf("%s of %s was told after what came later", row.Notice.Kind, row.Notice.Boat)
			}
			last[k] = at(row.Notice)
		}
		earlier := slices.ContainsFunc(l.sent, func(o Told) bool {
			return o.Person == row.Person && o.Way == row.Way && o.Notice.ID == row.Notice.ID && o.Notice.Revision < row.Notice.Revision
		})
		if row.Notice.Withdrawn && !earlier {
			t.Fatalf("%s was told that something no longer holds that he never heard of", row.Person)
		}
		if !row.Notice.Kind.trait().offer || row.Notice.Withdrawn || row.Why == PassedOn {
			continue
		}
		for _, n := range issued[at(row.Notice)+1:] {
			if takesBack(n, row.Notice) && !slices.ContainsFunc(l.sent, func(o Told) bool {
				if o.Person != row.Person || o.Way != row.Way {
					return false
				}
				// What overtook the word itself tells how it stands since: lapsed, and open again.
				return overtakes(o.Notice, n) && at(o.Notice) > at(n) || overtakes(o.Notice, row.Notice) &&
					// Or what came earlier and was passed on to him later: it says so too.
					(at(o.Notice) > at(row.Notice) || l.toldAt[o.ref()].After(l.toldAt[row.ref()]))
			}) {
				t.Fatalf("%s was told %s and never that %s", row.Person, row.Notice.Kind, n.Kind)
			}
		}
	}
}
