package pages

import (
	"fmt"
	"math"
	"net/http"
	"time"

	"fairwindow/conditions"
	"fairwindow/config"
)

// count is a moment to come with the time that is left to it.
type count struct {
	Label string
	At    string
	Left  string
	Until int64  // Unix ms
	After string // what is said once it has passed
	Shuts bool   // nothing may be begun after it
	Opens bool   // something begins then: it is in so long, and not so long left
	Flash bool   // it counts the flash-off since the last pass
	Over  bool
}

// countTo counts to a moment; without a moment there is nothing to count.
func (c clock) countTo(label string, at time.Time, after string, shuts bool) []count {
	if at.IsZero() {
		return nil
	}
	n := count{Label: label, At: c.hour(at), Left: length(at.Sub(c.now)) + " left", Until: at.UnixMilli(), After: after, Shuts: shuts}
	if c.day(at) != c.day(c.now) {
		n.At = c.moment(at)
	}
	if !at.After(c.now) {
		n.Over, n.Left = true, after
	}
	return []count{n}
}

// opening counts to a moment at which something begins.
func (c clock) opening(label string, at time.Time, after string) []count {
	all := c.countTo(label, at, after, false)
	for i := range all {
		if all[i].Opens = true; !all[i].Over {
			all[i].Left = "in " + length(at.Sub(c.now))
		}
	}
	return all
}

// potClock is one pot with its two ends.
type potClock struct {
	Name          string
	Mixed         string
	Stands, Lasts []count
	Basis         string // what the temperature rests on
}

func (p *pages) shiftStage(r *http.Request, s crewStage, crew string) (shiftStage, placeAirNow, error) {
	c, u, yard := p.clock(r), p.units(r), p.Plans.Yard()
	air, err := p.airNow(r.Context(), s.place, c, yard)
	if err != nil {
		return shiftStage{}, air, err
	}
	v := shiftStage{What: s.Key.Stage, Boat: s.Key.Boat, Area: s.Key.Area, Place: s.place, Link: stageLink(s.Key), Facts: facts(s.Progress, c)}
	v.State, v.Class = stateOf(s.stageNow)
	card, _ := yard.Card(s.Stage.Card)
	verdict := ""
	if s.Stage.Kind == config.Coat {
		is := verdictOf(air.moment, felt(yard.Rules(s.Stage, air.place), air.place), card.Title(), u)
		if verdict = is.Class; air.off != "" {
			verdict = "no"
		}
	}
	if v.Class == "open" && verdict != "yes" && verdict != "" {
		v.State, v.Class = "shut now", "unconfirmed"
	}
	v.Counts = stageCounts(s, card, c)
	if goesOn(s.Progress) {
		ahead, err := p.Air.Ahead(r.Context(), s.place, c.now.Add(holdsAhead))
		if err != nil {
			return v, air, fmt.Errorf("outlook of %s: %w", s.place, err)
		}
		closes, foretold := limitsHold(ahead, felt(yard.Rules(s.Stage, air.place), air.place), c)
		v.Counts = append(closes, v.Counts...)
		v.Foretold = foretold
	}
	v.Do = doNow(s, verdict, len(yard.Checklist[s.Stage.Kind]) > 0, c)
	if wait := flashing(s, card, c); wait != "" && verdict == "yes" {
		v.Do = wait
	}
	if s.planned && !s.plan.Start.IsZero() {
		v.When = c.span(s.plan.Start, s.plan.End)
	}
	if !s.Done {
		v.Cautions = distinct(stageCautions(s.Stage.Kind, card, air.place))
	}
	if v.Pots, err = p.potClocks(r, s, card); err != nil {
		return v, air, err
	}
	if at := potReady(v.Pots); at != "" && goesOn(s.Progress) && verdict == "yes" && flashing(s, card, c) == "" {
		v.Do = fmt.Sprintf("Let the pot stand until %s, then put on pass %d.", at, len(s.Passes)+1)
	}
	v.Form, err = p.shiftForm(r, s, card, air, crew)
	return v, air, err
}

// stageCounts are the moments that matter to who is at a stage.
func stageCounts(s crewStage, card config.Card, c clock) []count {
	var all []count
	add := func(more []count) { all = append(all, more...) }
	switch {
	case s.Done || s.Held != "":
	case s.Running && s.Stage.Kind == config.Coat:
		if n := len(s.Passes); n > 0 && n < max(s.Stage.Passes, 1) {
			last := s.Passes[n-1].To
			add(c.countTo("Flash-off until", last.Add(card.FlashOff.Least.Std()), "is over", false))
			if card.FlashOff.Greatest > 0 {
				add(c.countTo("Next pass at the latest", last.Add(card.FlashOff.Greatest.Std()), "is past: ask before you go on", true))
			}
			for i := range all {
				all[i].Flash = true
			}
		}
		add(c.countTo("Planned until", s.plan.End, "is past", false))
	case s.Running:
		add(c.countTo("Planned until", s.plan.End, "is past", false))
	default:
		if s.plan.Start.After(c.now) {
			add(c.opening("Starts", s.plan.Start, "is due"))
		}
		if s.plan.Until.After(s.plan.Start) {
			add(c.countTo("Last start", s.plan.Until, "is past: shut", true))
		}
	}
	return all
}

// holdsAhead is how far a painter is told that the limits of what he puts on will hold.
const holdsAhead = 12 * time.Hour

// limitsHold counts to when the outlook has a coat that goes on outside its limits, or says
// that it is not so soon.
func limitsHold(ahead []conditions.Moment, rules conditions.Rules, c clock) ([]count, []string) {
	last := c.now
	for _, m := range ahead {
		if !m.At.After(c.now) {
			continue
		}
		holds := conditions.Judge(m, rules).Answer == conditions.Yes
		if !holds && last.Equal(c.now) {
			return nil, []string{"by the forecast the limits hold no longer: look at the margin"}
		}
		if !holds {
			return c.countTo("Limits hold, by the forecast, until", m.At, "is past: look at the margin", true), nil
		}
		last = m.At
	}
	hold := last.Sub(c.now).Truncate(time.Hour)
	if hold == 0 {
		return nil, []string{"no forecast says how long the limits hold"}
	}
	return nil, []string{"by the forecast the limits hold for " + length(hold) + " and more"}
}

// flashing says when the next pass of a coat may not go on yet, or no more.
func flashing(s crewStage, card config.Card, c clock) string {
	n := len(s.Passes)
	if !s.Running || s.Paused || s.Done || s.Stage.Kind != config.Coat || n == 0 || n >= max(s.Stage.Passes, 1) {
		return ""
	}
	last := s.Passes[n-1].To
	if from := last.Add(card.FlashOff.Least.Std()); from.After(c.now) {
		return fmt.Sprintf("Let it flash off until %s, then put on pass %d.", c.hour(from), n+1)
	}
	if to := last.Add(card.FlashOff.Greatest.Std()); card.FlashOff.Greatest > 0 && c.now.After(to) {
		return fmt.Sprintf("Pass %d was to go on by %s: ask the foreman before you go on.", n+1, c.hour(to))
	}
	return ""
}

// doNow is the one thing to do.
func doNow(s crewStage, verdict string, listed bool, c clock) string {
	coat := s.Stage.Kind == config.Coat
	switch {
	case s.Done:
		return "Done. Nothing is to do here."
	case s.Held != "":
		return "Leave it: " + s.Held + " holds it back."
	case s.Paused:
		return "Paused. Press resumed when you go on."
	case s.Running && coat && verdict == "no":
		return "Outside the limits now: stop at a whole pass and ask the foreman."
	case s.Running && coat:
		return fmt.Sprintf("Put on pass %d of %d, then press done.", len(s.Passes)+1, max(s.Stage.Passes, 1))
	case s.Running:
		return "Press finished when it is done."
	case s.first != "":
		return "Not yet: " + s.first + "."
	case s.draft:
		return "Ask the scheduler: it is planned anew, and not released."
	case coat && verdict == "no":
		return "Do not start: outside the limits now."
	case coat && verdict != "yes":
		return "Do not start: measure the hull first."
	case s.Stage.Kind == config.Hold:
		return "Wait. It ends by itself or by a word."
	case s.plan.Until.After(s.plan.Start) && c.now.After(s.plan.Until):
		return "The window is over: ask the scheduler."
	case s.plan.Start.After(c.now.Add(2 * time.Hour)):
		return "Not yet: it starts " + c.moment(s.plan.Start) + "."
	case s.plan.Start.After(c.now.Add(30 * time.Minute)):
		return "Get ready: it starts at " + c.hour(s.plan.Start) + "."
	case s.Stage.Kind == config.Inspect:
		return "Look it over, then press passed or rejected."
	case listed:
		return "Go through the list, then press started."
	}
	return "Begin, and press started."
}

// potClocks are the clocks of the pots that stand.
func (p *pages) potClocks(r *http.Request, s crewStage, card config.Card) ([]potClock, error) {
	c, u := p.clock(r), p.units(r)
	var all []potClock
	for i, pot := range s.Standing() {
		past, err := p.Air.Past(r.Context(), s.place, pot.Mixed.Add(-around), c.now)
		if err != nil {
			return nil, fmt.Errorf("past air of %s: %w", s.place, err)
		}
		stands, lasts := potTimes(card, past)
		v := potClock{Name: fmt.Sprintf("Pot %d for pass %d", i+1, pot.Pass), Mixed: "mixed " + c.hour(pot.Mixed)}
		if stands > 0 {
			v.Stands = c.opening("Not before", pot.Mixed.Add(stands), "has stood")
		}
		if lasts > 0 {
			v.Lasts = c.countTo("Use by", pot.Mixed.Add(lasts), "over: use no more of it", true)
		}
		v.Basis = "not measured: as the card has it"
		if warm := conditions.Warmest(past...); !math.IsNaN(float64(warm)) {
			v.Basis = "by the warmest it stood in, " + u.tempText(warm)
		}
		all = append(all, v)
	}
	return all, nil
}

// potReady is when the first pot may be used; empty if one may be already, or there is none.
func potReady(pots []potClock) string {
	first := count{}
	for _, pot := range pots {
		if len(pot.Stands) == 0 || pot.Stands[0].Over {
			return ""
		}
		if first.Until == 0 || pot.Stands[0].Until < first.Until {
			first = pot.Stands[0]
		}
	}
	return first.At
}

// potTimes are how long a pot must stand, by the coldest that was measured around it, and
// how long it lasts, by the warmest: each errs to the side of the paint.
func potTimes(card config.Card, past []conditions.Moment) (stands, lasts time.Duration) {
	coldest := math.NaN()
	for _, m := range past {
		for _, t := range []float64{float64(m.Air), float64(m.Coldest)} {
			if !math.IsNaN(t) && !(t >= coldest) {
				coldest = t
			}
		}
	}
	if math.IsNaN(coldest) {
		for _, in := range card.Induct {
			stands = max(stands, in.Stands.Std())
		}
	} else {
		stands = standsAt(card, coldest)
	}
	return stands, card.PotLife.LastsAt(conditions.Warmest(past...))
}
