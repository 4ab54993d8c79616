package notify

import (
	"slices"
	"testing"
	"time"
)

// Everything of these tests is in UTC on invented days: quiet from 20:00 to 06:00, the paint
// crew's shift from 07:00 to 15:00.
func hour(h, m int) time.Time { return time.Date(2026, 5, 12, h, m, 0, 0, time.UTC) }

func ines() Person {
	return Person{
		Name: "Ines", Crews: []string{"paint"}, Ways: []Way{ByMail},
		Quiet: []Span{{hour(-4, 0), hour(6, 0)}, {hour(20, 0), hour(30, 0)}},
	}
}

func yardOf(people ...Person) Roster {
	return Roster{People: people, Shifts: map[string][]Span{"paint": {{hour(7, 0), hour(15, 0)}, {hour(31, 0), hour(39, 0)}}}}
}

// news is a notice about the topcoat of Petrel's topsides.
func news(k Kind, occurrence int) Notice {
	n := Notice{Kind: k, Boat: "Petrel", Area: "topsides", Stage: "topcoat", Occurrence: occurrence, Revision: 1, Place: "Booth 2", Crew: "paint"}
	n.ID = ID(n)
	return n
}

func again(n Notice) Notice { n.Revision++; return n }

func withdrawn(n Notice) Notice { n.Revision++; n.Withdrawn = true; return n }

func told(n Notice, at time.Time) Told {
	return Told{Notice: n, Person: "Ines", Way: ByMail, Due: at, Why: AtOnce, Tried: true}
}

func heldBack(n Notice, due time.Time, why Grounds) Told {
	return Told{Notice: n, Person: "Ines", Way: ByMail, Due: due, Why: why}
}

func TestRoute(t *testing.T) {
	opensOnly := ines()
	opensOnly.Hears.Kinds = []Kind{WindowOpens}
	other := ines()
	other.Hears.Boats = []string{"Auk"}
	silent := Notice{Kind: SourceSilent, Place: "Booth 2", Revision: 1, Occurrence: 1}
	silent.ID = ID(silent)
	sand := news(ReadyToSand, 1)
	auk := news(WindowOpens, 1)
	auk.Boat = "Auk"
	auk.ID = ID(auk)

	for _, tt := range []struct {
		name    string
		n       Notice
		p       Person
		ledger  []Told
		now     time.Time
		want    Answer
		why     Grounds
		due     time.Time
		dropped int
		moved   int
	}{
		{"by day, at once", news(WindowOpens, 1), ines(), nil, hour(8, 0), Tell, AtOnce, hour(8, 0), 0, 0},
		{"at night, until quiet hours end", news(WindowOpens, 1), ines(), nil, hour(22, 0), Hold, QuietHours, hour(30, 0), 0, 0},
		{"urgent at night, until they end too", news(WindowClosed, 1), ines(), []Told{told(news(WindowOpens, 1), hour(19, 0))}, hour(22, 0), Hold, TakesBack, hour(30, 0), 0, 0},
		{"a wet coat breaks through", news(WetCoatAtRisk, 1), ines(), nil, hour(3, 0), Tell, BreakThrough, hour(3, 0), 0, 0},
		{"the last call breaks through", news(RecoatLastCall, 1), ines(), nil, hour(3, 0), Tell, BreakThrough, hour(3, 0), 0, 0},
		{"a lapse breaks through", news(RecoatLapsed, 1), ines(), nil, hour(3, 0), Tell, BreakThrough, hour(3, 0), 0, 0},
		{"what breaks through takes along what was held of its boat", news(WetCoatAtRisk, 1), ines(),
			[]Told{heldBack(news(MeasureNow, 1), hour(6, 0), QuietHours), heldBack(auk, hour(6, 0), QuietHours)}, hour(3, 0), Tell, BreakThrough, hour(3, 0), 0, 1},
		{"not his boat", news(WindowOpens, 1), other, nil, hour(8, 0), Nothing, NotHis, time.Time{}, 0, 0},
		{"no boat at all concerns each", silent, other, nil, hour(8, 0), Tell, AtOnce, hour(8, 0), 0, 0},
		{"the same revision", news(WindowOpens, 1), ines(), []Told{told(news(WindowOpens, 1), hour(7, 0))}, hour(8, 0), Nothing, ToldAlready, time.Time{}, 0, 0},
		{"a repeat", again(news(WindowOpens, 1)), ines(), []Told{told(news(WindowOpens, 1), hour(8, 0))}, hour(8, 4), Collapse, Repeat, hour(8, 10), 0, 0},
		{"a repeat after a while", again(news(WindowOpens, 1)), ines(), []Told{told(news(WindowOpens, 1), hour(8, 0))}, hour(8, 10), Tell, AtOnce, hour(8, 10), 0, 0},
		{"a repeat into the held one", news(MeasureNow, 2), ines(), []Told{told(news(MeasureNow, 1), hour(8, 0)), heldBack(withPass(news(MeasureNow, 1), 1), hour(8, 10), Repeat)}, hour(8, 6), Collapse, Repeat, hour(8, 10), 0, 0},
		{"another boat is no repeat", auk, ines(), []Told{told(news(WindowOpens, 1), hour(8, 0))}, hour(8, 4), Tell, AtOnce, hour(8, 4), 0, 0},
		{"an urgent repeat goes out", news(WindowClosing, 2), ines(), []Told{told(news(WindowClosing, 1), hour(8, 0))}, hour(8, 4), Tell, AtOnce, hour(8, 4), 0, 0},
		{"a change of plan in the evening, before the shift", news(StageMoved, 1), ines(), nil, hour(18, 0), Hold, NextShift, hour(30, 30), 0, 0},
		{"a change of plan in the shift, at once", news(StageMoved, 1), ines(), nil, hour(9, 0), Tell, AtOnce, hour(9, 0), 0, 0},
		{"a change of plan just before the shift", news(StagePutOff, 1), ines(), nil, hour(6, 45), Tell, AtOnce, hour(6, 45), 0, 0},
		{"a newer change drops the older", news(StagePutOff, 1), ines(), []Told{heldBack(news(StageMoved, 1), hour(30, 30), NextShift)}, hour(18, 0), Hold, NextShift, hour(30, 30), 1, 0},
		{"a closing after a told opening, wanted or not", news(WindowClosed, 1), opensOnly, []Told{told(news(WindowOpens, 1), hour(7, 0))}, hour(8, 0), Tell, TakesBack, hour(8, 0), 0, 0},
		{"a closing after an opening that was held", news(WindowClosed, 1), ines(), []Told{heldBack(news(WindowOpens, 1), hour(6, 0), QuietHours)}, hour(3, 0), Nothing, NeverTold, time.Time{}, 1, 0},
		{"a closing that was told is not told again", news(WindowClosed, 2), opensOnly, []Told{told(news(WindowOpens, 1), hour(7, 0)), told(news(WindowClosed, 1), hour(7, 30))}, hour(8, 0), Nothing, NotHis, time.Time{}, 0, 0},
		{"shortened replaces the opening that was held", news(WindowShortened, 1), ines(), []Told{heldBack(news(WindowOpens, 1), hour(6, 0), QuietHours)}, hour(3, 0), Hold, QuietHours, hour(6, 0), 1, 0},
		{"open again drops the closing that was held", news(WindowOpens, 2), ines(),
			[]Told{told(news(WindowOpens, 1), hour(-5, 0)), heldBack(news(WindowClosed, 1), hour(6, 0), QuietHours)}, hour(3, 0), Hold, QuietHours, hour(6, 0), 1, 0},
		{"no longer ready, to who was told", withdrawn(sand), ines(), []Told{told(sand, hour(7, 0))}, hour(8, 0), Tell, TakesBack, hour(8, 0), 0, 0},
		{"no longer ready, at night", withdrawn(sand), ines(), []Told{told(sand, hour(7, 0))}, hour(22, 0), Hold, TakesBack, hour(30, 0), 0, 0},
		{"no longer ready, and it was held", withdrawn(sand), ines(), []Told{heldBack(sand, hour(6, 0), QuietHours)}, hour(3, 0), Nothing, NeverTold, time.Time{}, 1, 0},
		{"no longer ready, and never told", withdrawn(sand), ines(), nil, hour(8, 0), Nothing, NeverTold, time.Time{}, 0, 0},
	} {
		t.Run(tt.name, func(t *testing.T) {
			got := Route(tt.n, yardOf(tt.p), tt.ledger, tt.now)
			if len(got.Deliveries) != 1 {
				t.Fatalf("%d deliveries", len(got.Deliveries))
			}
			d := got.Deliveries[0]
			if d.Answer != tt.want || d.Why != tt.why || !d.Due.Equal(tt.due) {
				t.Errorf("got %s, %s, due %s; want %s, %s, due %s", d.Answer, d.Why, d.Due.Format("02 15:04"), tt.want, tt.why, tt.due.Format("02 15:04"))
			}
			if len(got.Dropped) != tt.dropped || len(got.Hastened) != tt.moved {
				t.Errorf("dropped %v, hastened %v; want %d and %d", got.Dropped, got.Hastened, tt.dropped, tt.moved)
			}
		})
	}
}

func withPass(n Notice, pass int) Notice {
	n.Pass = pass
	n.ID = ID(n)
	return n
}

// A plan released in the evening: three stages of the paint crew's change, and the crew gets one
// list. The next morning a window opens for one of them before the list is out: the whole list
// goes along, so that it stays one.
func TestOneListToAShift(t *testing.T) {
	roster := yardOf(ines())
	var ledger []Told
	take := func(n Notice, now time.Time) {
		r := Route(n, roster, ledger, now)
		for i := range ledger {
			for _, h := range r.Hastened {
				if ledger[i].ref() == h.Ref {
					ledger[i].Due = h.Due
				}
			}
		}
		for _, d := range r.Deliveries {
			ledger = append(ledger, Told{Notice: n, Person: d.Person, Way: d.Way, Due: d.Due, Why: d.Why})
		}
	}
	for i, boat := range []string{"Petrel", "Auk", "Tern"} {
		n := news(StageMoved, 1)
		n.Boat, n.At = boat, hour(17, i)
		n.ID = ID(n)
		take(n, n.At)
	}
	for _, row := range ledger {
		if !row.Due.Equal(hour(30, 30)) {
			t.Fatalf("%s is due %s", row.Notice.Boat, row.Due)
		}
	}
	take(news(WindowOpens, 1), hour(30, 10))
	for _, row := range ledger {
		if !row.Due.Equal(hour(30, 10)) {
			t.Errorf("%s %s is due %s", row.Notice.Kind, row.Notice.Boat, row.Due)
		}
	}
}

func TestPass(t *testing.T) {
	a, b, c := ines(), Person{Name: "Rui", Ways: []Way{ByWebhook, ByMail}, Next: "Ana", After: 30 * time.Minute}, Person{Name: "Ana", Ways: []Way{ByPage}}
	a.Next, a.After = "Rui", 15*time.Minute
	b.Quiet = []Span{{hour(12, 0), hour(13, 0)}}
	roster := yardOf(a, b, c)
	at := func(n Notice, t time.Time) Notice { n.At = t; return n }
	opens := at(news(WindowOpens, 1), hour(8, 0))
	opens.Until = hour(14, 0)
	risk := at(news(WetCoatAtRisk, 1), hour(8, 0))
	heard := told(opens, hour(8, 0))
	heard.Heard = true
	passed := Told{Notice: opens, Person: "Rui", Way: ByMail, Due: hour(8, 15), Why: PassedOn, Tried: true}
	for _, tt := range []struct {
		name   string
		ledger []Told
		now    time.Time
		want   []string
		next   time.Time
	}{
		{"not yet", []Told{told(opens, hour(8, 0))}, hour(8, 14), nil, hour(8, 15)},
		{"in time", []Told{told(opens, hour(8, 0))}, hour(8, 15), []string{"Rui webhook tell", "Rui mail tell"}, time.Time{}},
		{"heard", []Told{heard}, hour(9, 0), nil, time.Time{}},
		{"the mail never went out", []Told{heldBack(opens, hour(8, 0), AtOnce)}, hour(8, 15), []string{"Rui webhook tell", "Rui mail tell"}, time.Time{}},
		{"held until the morning", []Told{heldBack(opens, hour(9, 0), QuietHours)}, hour(8, 30), nil, hour(9, 15)},
		{"what is left of Rui's ways", []Told{told(opens, hour(8, 0)), passed}, hour(8, 16), []string{"Rui webhook tell"}, hour(8, 45)},
		{"and on to Ana", []Told{told(opens, hour(8, 0)), passed, {Notice: opens, Person: "Rui", Way: ByWebhook, Due: hour(8, 15), Tried: true}}, hour(8, 45), []string{"Ana page tell"}, time.Time{}},
		{"it has closed since", []Told{told(opens, hour(8, 0)), told(at(news(WindowClosed, 1), hour(8, 5)), hour(8, 5))}, hour(8, 15), nil, hour(8, 20)},
		{"it is over by then", []Told{told(opens, hour(13, 50))}, hour(15, 0), nil, time.Time{}},
		{"in Rui's quiet hour", []Told{told(opens, hour(12, 0))}, hour(12, 15), []string{"Rui webhook hold", "Rui mail hold"}, time.Time{}},
		{"a wet coat in Rui's quiet hour", []Told{told(risk, hour(12, 0))}, hour(12, 15), []string{"Rui webhook tell", "Rui mail tell"}, time.Time{}},
		{"a change of plan is not passed on", []Told{told(at(news(StageMoved, 1), hour(8, 0)), hour(8, 0))}, hour(9, 0), nil, time.Time{}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			out, next := Pass(roster, tt.ledger, tt.now)
			var got []string
			for _, d := range out {
				got = append(got, d.Person+" "+string(d.Way)+" "+string(d.Answer))
				if d.Why != PassedOn || d.Due.Before(tt.now) {
					t.Errorf("%+v", d)
				}
			}
			if !slices.Equal(got, tt.want) || !next.Equal(tt.next) {
				t.Errorf("got %q, next %s; want %q, next %s", got, next.Format("15:04"), tt.want, tt.next.Format("15:04"))
			}
		})
	}
}
