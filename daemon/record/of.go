package record

import (
	"cmp"
	"math"
	"slices"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
	"fairwindow/planner"
)

// Facts are all that a record is made from.
type Facts struct {
	Yard       config.Yard
	Boat       config.Boat
	Presses    []planner.Press // of the boat, those that were struck and the strikes among them
	Entries    []Entry
	Signatures []Signature
	Terms      map[string]Terms // by digest, as the presses name them
	Air        []Air            // what Wants asked for
	Checks     []Checked
}

// Terms are the card and the limits that were in force for a coat.
type Terms struct {
	Card  config.Card      `json:"card"`
	Rules conditions.Rules `json:"rules"`
}

// Air is what was measured in a place at one time, by which instruments.
type Air struct {
	Place  string
	Moment conditions.Moment
	By     []string
}

// Checked is a check with the coat that it was made before.
type Checked struct {
	Key   planner.Key
	Press int64 // that it came with
	Check
}

// Want is what Of must know of a place, at which times.
type Want struct {
	Place string
	At    []time.Time
}

const (
	// every is how often conditions stand in a record, from the start of a coat to its end.
	every = 30 * time.Minute
	// Reach is how long a reading speaks for a sample.
	Reach = 30 * time.Minute
	// curing is how often the surface is asked for between two coats.
	curing = 15 * time.Minute
	// late is how long after the fact an entry is said to be late.
	late = 15 * time.Minute
)

// maker holds what is worked out once for a record.
type maker struct {
	Facts
	standing []planner.Press
	struck   map[int64]*Strike
	stays    []planner.Press // arrivals and moves that stand, in order
	air      map[string]map[time.Time]Air
	attempts []attempt
}

// attempt is one coat from its start to its end, or to where it was rejected.
type attempt struct {
	planner.Progress
	area     string
	after    time.Time // its reports come after this, where an earlier attempt was rejected
	until    time.Time // and not after this; zero: no end
	rejected string
}

// newMaker sorts out the presses.
func newMaker(f Facts) *maker {
	m := &maker{Facts: f, struck: map[int64]*Strike{}, air: map[string]map[time.Time]Air{}}
	m.Presses = slices.Clone(f.Presses)
	slices.SortStableFunc(m.Presses, func(a, b planner.Press) int {
		return cmp.Or(a.Happened.Compare(b.Happened), cmp.Compare(a.ID, b.ID))
	})
	for _, p := range m.Presses {
		if p.Kind == planner.Struck {
			m.struck[p.Strikes] = &Strike{By: p.By, At: p.Entered.UTC(), Why: p.Note}
		}
	}
	m.standing = planner.Standing(m.Presses)
	for _, p := range m.standing {
		if p.Key.Stage == "" && p.Place != "" {
			m.stays = append(m.stays, p)
		}
	}
	for _, a := range f.Air {
		if m.air[a.Place] == nil {
			m.air[a.Place] = map[time.Time]Air{}
		}
		m.air[a.Place][a.Moment.At.UTC()] = a
	}
	m.attempts = m.tried()
	return m
}

// tried finds every attempt at a coat, in the order they began: a rejection takes back
// what was done, so the work is looked at as it stood before each.
func (m *maker) tried() []attempt {
	boats := []config.Boat{m.Boat}
	var all []attempt
	since := map[planner.Key]time.Time{}
	for i, p := range m.standing {
		if p.Kind != planner.Rejected {
			continue
		}
		before := planner.Replay(m.Yard, boats, m.standing[:i])
		after := planner.Replay(m.Yard, boats, m.standing[:i+1])
		for _, s := range before.Stages(m.Boat.Name, p.Key.Area) {
			is, _ := after.Stage(s.Key)
			if s.Stage.Kind != config.Coat || !(s.Done || s.Running) || is.Done || is.Running {
				continue
			}
			all = append(all, attempt{s, p.Key.Area, since[s.Key], p.Happened, p.Note})
			since[s.Key] = p.Happened
		}
	}
	work := planner.Replay(m.Yard, boats, m.standing)
	for _, a := range m.Boat.Areas {
		for _, s := range work.Stages(m.Boat.Name, a.Name) {
			if s.Stage.Kind == config.Coat && !s.Started.IsZero() {
				all = append(all, attempt{s, a.Name, since[s.Key], time.Time{}, ""})
			}
		}
	}
	order := map[string]int{}
	for i, a := range m.Boat.Areas {
		order[a.Name] = i
	}
	slices.SortStableFunc(all, func(a, b attempt) int {
		return cmp.Or(cmp.Compare(order[a.area], order[b.area]), a.Started.Compare(b.Started))
	})
	return all
}

// of reports whether a time belongs to an attempt and not to another at the same coat.
func (a attempt) of(t time.Time) bool {
	return (a.after.IsZero() || t.After(a.after)) && (a.until.IsZero() || !t.After(a.until))
}

// last is when the last pass of an attempt ended; zero while none has.
func (a attempt) last() time.Time {
	if n := len(a.Passes); n > 0 {
		return a.Passes[n-1].To
	}
	return a.Ended
}

// times are when conditions stand in the record of an attempt.
func (a attempt) times() []time.Time {
	end := a.last()
	var all []time.Time
	for t := a.Started; t.Before(end) || t.Equal(a.Started); t = t.Add(every) {
		all = append(all, t.UTC())
	}
	if end.After(a.Started) {
		all = append(all, end.UTC())
	}
	return all
}

// before is the coat under an attempt: the last one of the area that stayed.
func (m *maker) before(i int) (attempt, bool) {
	for j := i - 1; j >= 0; j-- {
		was := m.attempts[j]
		if was.area == m.attempts[i].area && was.rejected == "" && !was.last().IsZero() && !was.last().After(m.attempts[i].Started) {
			return was, true
		}
	}
	return attempt{}, false
}

// between are the times at which the surface is asked for from one coat to the next.
func between(from, to time.Time) []time.Time {
	step := curing
	if to.Sub(from) > 14*24*time.Hour {
		step = time.Hour
	}
	var all []time.Time
	for t := from.Add(step); t.Before(to); t = t.Add(step) {
		all = append(all, t.UTC())
	}
	return append(all, to.UTC())
}

// placeAt is where the boat stood; of a move at that very time it is where it came from,
// unless the move was reported before the press of that number.
func (m *maker) placeAt(t time.Time, number int64) string {
	place := m.Boat.Place
	if len(m.stays) > 0 {
		place = ""
	}
	for _, p := range m.stays {
		if p.Happened.Before(t) || p.Happened.Equal(t) && p.ID < number {
			place = p.Place
		}
	}
	return place
}

// Wants is what must be known of the air and the hull to make a record: whoever has the
// readings answers with Air at these times.
func Wants(f Facts) []Want {
	m := newMaker(f)
	times := map[string]map[time.Time]bool{}
	add := func(place string, all []time.Time) {
		for _, t := range all {
			if place == "" {
				continue
			}
			if times[place] == nil {
				times[place] = map[time.Time]bool{}
			}
			times[place][t] = true
		}
	}
	for i, a := range m.attempts {
		add(a.Place, a.times())
		if was, ok := m.before(i); ok {
			for _, t := range between(was.last(), a.Started) {
				add(m.placeAt(t, 0), []time.Time{t})
			}
		}
	}
	var all []Want
	for place, at := range times {
		w := Want{Place: place}
		for t := range at {
			w.At = append(w.At, t)
		}
		slices.SortFunc(w.At, time.Time.Compare)
		all = append(all, w)
	}
	slices.SortFunc(all, func(a, b Want) int { return cmp.Compare(a.Place, b.Place) })
	return all
}

// Of makes the record.
func Of(f Facts) Record {
	m := newMaker(f)
	r := Record{
		Form: Form, Yard: f.Yard.Name, Zone: f.Yard.Zone, Boat: m.boat(),
		Coats: []Coat{}, Work: []Report{}, Instruments: []Instrument{}, Signatures: f.Signatures,
	}
	for _, p := range m.Presses {
		if p.Kind != planner.Struck {
			r.Work = append(r.Work, m.report(p))
		}
	}
	used := map[string]bool{}
	for i := range m.attempts {
		c := m.coat(i)
		for _, s := range c.Air {
			for _, name := range s.By {
				used[name] = true
			}
		}
		r.Coats = append(r.Coats, c)
	}
	for name := range used {
		is := Instrument{Name: name}
		for _, s := range f.Yard.Sensors {
			if s.Name == name {
				is.Due = s.Due
			}
		}
		r.Instruments = append(r.Instruments, is)
	}
	slices.SortFunc(r.Instruments, func(a, b Instrument) int { return cmp.Compare(a.Name, b.Name) })
	return r
}

func (m *maker) boat() Boat {
	b := Boat{Name: m.Boat.Name, Length: m.Boat.Length.String(), Beam: m.Boat.Beam.String(), Areas: []Area{}}
	for _, a := range m.Boat.Areas {
		b.Areas = append(b.Areas, Area{a.Name, a.System, a.Size.String()})
	}
	now := planner.Replay(m.Yard, []config.Boat{m.Boat}, m.standing).Place(m.Boat.Name)
	b.Arrived, b.Launched = now.Arrived.UTC(), now.Launched.UTC()
	if now.Arrived.IsZero() {
		b.Arrived = time.Time{}
	}
	if now.Launched.IsZero() {
		b.Launched = time.Time{}
	}
	return b
}

// report is a press as the record shows it.
func (m *maker) report(p planner.Press) Report {
	r := Report{
		ID: p.ID, Kind: p.Kind, Area: p.Key.Area, Stage: p.Key.Stage, Pass: p.Pass, Place: cmp.Or(p.Place, m.placeAt(p.Happened, p.ID)),
		Happened: p.Happened.UTC(), Entered: p.Entered.UTC(), Late: p.Entered.Sub(p.Happened) > late,
		By: p.By, For: p.For, Crews: m.crews(p.By), Note: p.Note, Struck: m.struck[p.ID],
	}
	if !p.Until.IsZero() {
		r.Until = p.Until.UTC()
	}
	for _, a := range m.Boat.Areas {
		if system, ok := m.Yard.System(a.System); ok && a.Name == p.Key.Area {
			stage, _, _ := system.Stage(p.Key.Stage)
			r.Of = string(stage.Kind)
		}
	}
	return r
}

func (m *maker) crews(person string) []string {
	for _, p := range m.Yard.People {
		if p.Name == person {
			return p.Crews
		}
	}
	return nil
}

// number is a value rounded to what an instrument shows; nil if it is not known.
func number(v float64, decimals int) *float64 {
	if !unit.Known(v) {
		return nil
	}
	r := round(v, decimals)
	return &r
}

func round(v float64, decimals int) float64 {
	scale := math.Pow10(decimals)
	r := math.Round(v*scale) / scale
	if r == 0 {
		return 0 // never minus nothing
	}
	return r
}
