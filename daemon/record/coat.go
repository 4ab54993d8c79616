package record

import (
	"slices"
	"strings"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
	"fairwindow/planner"
)

// coat is the record of one attempt.
func (m *maker) coat(i int) Coat {
	a := m.attempts[i]
	c := Coat{
		Area: a.area, Stage: a.Key.Stage, Card: a.Stage.Card, Place: a.Place, By: a.By, Crews: m.crews(a.By),
		Started: a.Started.UTC(), Done: a.Done, Rejected: a.rejected,
		Passes: []Pass{}, Events: []Report{}, Limits: []Limit{}, Air: []Sample{}, Gaps: []Gap{}, Entries: []Entry{},
	}
	if end := a.last(); !end.IsZero() {
		c.Ended = end.UTC()
	}
	terms, kept := m.terms(a)
	c.Revision, c.Material, c.Illustrative, c.Later = terms.Card.Revision, terms.Card.Material, terms.Card.Illustrative, !kept
	c.DryCard = round(float64(terms.Card.Spread.Dry.SI), 1)
	for _, p := range m.Presses {
		if p.Key == a.Key && p.Kind != planner.Struck && a.of(p.Happened) {
			c.Events = append(c.Events, m.report(p))
		}
	}
	c.passes(a, terms.Card)
	c.enter(a, m.Entries)
	c.measure(m, a, terms.Rules)
	c.Recoat, c.Sandings = m.recoat(i)
	for _, check := range m.Checks {
		if check.Key == a.Key && a.of(check.At) {
			check.Struck = m.struck[check.Press]
			c.Checks = append(c.Checks, check.Check)
		}
	}
	return c
}

// terms are the card and the limits of an attempt as they were when it was reported, by
// the first press that kept them; else the yard file's of today.
func (m *maker) terms(a attempt) (Terms, bool) {
	for _, p := range m.standing {
		if p.Key != a.Key || p.Terms == "" || !a.of(p.Happened) {
			continue
		}
		if t, ok := m.Facts.Terms[p.Terms]; ok {
			return t, true
		}
	}
	card, _ := m.Yard.Card(a.Stage.Card)
	place, _ := m.Yard.Place(a.Place)
	return Terms{Card: card, Rules: m.Yard.Rules(a.Stage, place)}, false
}

// passes tells each pass with the press that ended it. Between two passes the card
// bounds the flash-off; a start of the second is rarely reported, so what is known is
// the time from end to end, and the flash-off is no longer than that.
func (c *Coat) passes(a attempt, card config.Card) {
	for i, span := range a.Passes {
		p := Pass{Number: i + 1, From: span.From.UTC(), To: span.To.UTC()}
		for _, e := range c.Events {
			if e.Struck == nil && e.Happened.Equal(p.To) && (e.Kind == planner.PassDone || e.Kind == planner.StoppedAt || e.Kind == planner.Finished) {
				p.By, p.Entered, p.Late = e.By, e.Entered, e.Late
			}
		}
		if i > 0 {
			least := card.FlashOff.Least.Std()
			since := span.To.Sub(a.Passes[i-1].To)
			p.Flash, p.Least, p.Greatest = round(since.Minutes(), 1), least.Minutes(), card.FlashOff.Greatest.Std().Minutes()
			p.Short = since < least
		}
		c.Passes = append(c.Passes, p)
	}
}

// enter puts the entries of an attempt in order, strikes to what they strike.
func (c *Coat) enter(a attempt, entries []Entry) {
	struck := map[int64]*Strike{}
	for _, e := range entries {
		if e.Strikes != 0 {
			struck[e.Strikes] = &Strike{By: e.By, At: e.Entered.UTC(), Why: e.Note}
		}
	}
	var wet, dry [][]float64
	for _, e := range entries {
		if e.Key != a.Key || e.Strikes != 0 || !a.of(e.At) {
			continue
		}
		e.Struck, e.Once, e.At, e.Entered = struck[e.ID], "", e.At.UTC(), e.Entered.UTC()
		c.Entries = append(c.Entries, e)
		if e.Struck != nil {
			continue
		}
		for _, um := range e.Wet {
			wet = append(wet, []float64{um})
		}
		dry = append(dry, e.Dry...)
	}
	slices.SortStableFunc(c.Entries, func(a, b Entry) int { return a.At.Compare(b.At) })
	c.Wet, c.Dry = film(wet, true), film(dry, false)
}

// measure puts in the conditions, what they leave of each limit, and what nobody measured.
func (c *Coat) measure(m *maker, a attempt, rules conditions.Rules) {
	for _, b := range rules {
		c.Limits = append(c.Limits, Limit{Bound: b})
	}
	for _, t := range a.times() {
		air, measured := m.air[a.Place][t]
		if !measured {
			nan := unit.NaN[unit.Temperature]()
			air = Air{Place: a.Place, Moment: conditions.Moment{At: t, Air: nan, DewPoint: nan, Coldest: nan, Warmest: nan, Sure: conditions.Unknown}}
		}
		is := air.Moment
		s := Sample{
			At: t, Air: number(float64(is.Air), 2), DewPoint: number(float64(is.DewPoint), 2), Coldest: number(float64(is.Coldest), 2),
			Warmest: number(float64(is.Warmest), 2), Margin: number(float64(is.Coldest)-float64(is.DewPoint), 2), By: []string{},
		}
		if s.Air != nil && s.DewPoint != nil {
			s.Humidity = number(float64(conditions.RelativeHumidity(is.Air, is.DewPoint)), 1)
		}
		s.By = append(s.By, air.By...)
		c.Air = append(c.Air, s)
		c.hold(conditions.Judge(is, rules), is.Sure == conditions.Measured, t)
	}
	c.gaps()
}

// hold keeps the worst of each limit.
func (c *Coat) hold(v conditions.Verdict, measured bool, at time.Time) {
	for i, margin := range v.Margins {
		l := &c.Limits[i]
		l.Of++
		by := number(margin.By, 3)
		switch {
		case by == nil || !measured:
			if !margin.IfKnown {
				l.Missed++
			}
		case l.Margin == nil || *by < *l.Margin:
			l.Worst, l.Margin, l.When = number(margin.Value, 3), by, at
		}
	}
}

// gaps joins samples that lack something into spans: from the first sample that lacks it
// to the next that does not.
func (c *Coat) gaps() {
	for i, s := range c.Air {
		var lacks []string
		if s.Air == nil || s.DewPoint == nil {
			lacks = append(lacks, "air")
		}
		if s.Coldest == nil {
			lacks = append(lacks, "hull")
		}
		if len(lacks) == 0 {
			continue
		}
		to := s.At
		if i+1 < len(c.Air) {
			to = c.Air[i+1].At
		}
		what := strings.Join(lacks, " and ")
		if n := len(c.Gaps); n > 0 && c.Gaps[n-1].Lacks == what && c.Gaps[n-1].To.Equal(s.At) {
			c.Gaps[n-1].To = to
			continue
		}
		c.Gaps = append(c.Gaps, Gap{s.At, to, what})
	}
}

// recoat runs the clock of the coat before from its end to this one's start, over what
// was measured: openings by the slower side, closings by the faster.
func (m *maker) recoat(i int) (*Recoat, []Sanding) {
	a := m.attempts[i]
	was, ok := m.before(i)
	if !ok {
		return nil, nil
	}
	terms, _ := m.terms(was)
	cure, from, to := terms.Card.Cure, was.last(), a.Started
	r := &Recoat{Over: was.Key.Stage, Since: from.UTC(), Hours: round(to.Sub(from).Hours(), 2), Kept: NotKnown}
	clock := cure.Start(from)
	var silent time.Duration
	for _, t := range between(from, to) {
		nan := unit.NaN[unit.Temperature]()
		is, measured := m.air[m.placeAt(t, 0)][t]
		if !measured {
			is.Moment = conditions.Moment{Air: nan, DewPoint: nan, Coldest: nan, Warmest: nan}
		}
		if !unit.Known(is.Moment.Coldest) {
			silent += t.Sub(clock.At)
		}
		clock = cure.Run(clock, t, is.Moment.Exposure())
	}
	r.Uncounted = round(max(silent, clock.Silent).Hours(), 2)
	sandings := m.sanded(a, from, to)
	_, _, bands := cure.Window(clock)
	if len(cure.Of(conditions.Recoat)) > 0 || bands {
		r.Slow = number(clock.Progress(conditions.Recoat), 3)
	}
	if len(cure.Of(conditions.LastRecoat)) > 0 || bands {
		r.Fast = number(clock.Progress(conditions.LastRecoat), 3)
	}
	early := r.Slow != nil && !cure.Reached(clock, conditions.Recoat)
	over := r.Fast != nil && cure.Reached(clock, conditions.LastRecoat)
	switch {
	case len(sandings) > 0:
		r.Kept = Sanded
	case early && silent == 0:
		r.Kept = TooEarly
	case over && silent == 0:
		r.Kept = TooLate
	case !early && !over && r.Slow != nil:
		// What was not measured counts nothing towards the opening and the card's
		// fastest towards the closing: within is within all the same.
		r.Kept = Within
	}
	return r, sandings
}

// sanded is what was sanded on an area in a span, as it stood before the coat began.
func (m *maker) sanded(a attempt, from, to time.Time) []Sanding {
	upTo := slices.IndexFunc(m.standing, func(p planner.Press) bool { return p.Happened.After(to) })
	if upTo < 0 {
		upTo = len(m.standing)
	}
	work := planner.Replay(m.Yard, []config.Boat{m.Boat}, m.standing[:upTo])
	var all []Sanding
	for _, s := range work.Stages(m.Boat.Name, a.area) {
		if s.Stage.Kind == config.Sand && s.Done && s.Ended.After(from) && !s.Ended.After(to) {
			all = append(all, Sanding{s.Key.Stage, s.Stage.Grit, s.Ended.UTC(), s.By})
		}
	}
	return all
}
