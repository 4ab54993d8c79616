package service

import (
	"cmp"
	"fmt"
	"time"

	"fairwindow/conditions"
	"fairwindow/config"
	"fairwindow/notify"
	"fairwindow/planner"
)

const (
	// closingBefore is how long before its end a window is called closing.
	closingBefore = time.Hour
	// measureBefore is how long before a planned coat a missing surface reading is asked for.
	measureBefore = 2 * time.Hour
	// measureAgain is how long before an open window would be shut for want of a surface reading
	// the next one is asked for: to walk there and around the hull. Common practice, no source.
	measureAgain = 30 * time.Minute
	// askedAfter is how long after its told start an unreported stage is asked about.
	askedAfter = 30 * time.Minute
	// newlyTold is how far ahead a start must lie to be another one, which nobody owes yet.
	newlyTold = 4 * time.Hour
	// lastCallBefore is how long before a recoat window's end the last call goes out.
	lastCallBefore = 4 * time.Hour
)

// guard judges what runs and what was announced, by what is measured now. It
// closes and warns at once; a window it opens was planned with enough chance
// and is measured within its limits. Callers hold the turn and commit what it
// returns with the fact that caused it. With readings, only what these concern is
// looked at, as named by about; nil is all.
func (s *Service) guard(now time.Time, concerned map[string]bool) []notify.Notice {
	g := guarding{facts: &s.facts, watch: &s.watch, now: now, planning: s.cycle.planning || !s.cycle.asked.IsZero()}
	for _, c := range s.cycle.candidates {
		if s.facts.concerns(concerned, c.Key.Boat, c.Place) {
			g.candidate(c)
		}
	}
	for _, c := range s.cycle.coats {
		if s.facts.concerns(concerned, c.Key.Boat, "") {
			g.coat(c)
		}
	}
	for _, l := range s.cycle.lapses {
		g.lapse(l)
	}
	for _, c := range s.cycle.overtaken {
		g.overtaken(c)
	}
	g.sources()
	return g.out
}

// concerns reports whether readings say something of a boat, of where it stands, of
// where it is planned, or of the air outdoors, which every roof lets in.
func (f *facts) concerns(concerned map[string]bool, boat, planned string) bool {
	return concerned == nil || concerned["boat "+boat] || concerned[config.Outdoors] ||
		concerned[f.work.Place(boat).Place] || concerned[planned]
}

// guarding is one turn of the guard.
type guarding struct {
	facts *facts
	watch *watches
	now   time.Time
	// planning: facts have come that the last plan does not know.
	planning bool
	out      []notify.Notice
}

func (g *guarding) say(name string, n notify.Notice) {
	g.out = append(g.out, g.watch.say(name, n, g.now)...)
}

// candidate looks at one open stage that people were or may be told of.
func (g *guarding) candidate(c candidate) {
	progress, _ := g.facts.work.Stage(c.Key)
	g.unreported(c, progress)
	if progress.Running && c.Kind == config.Sand {
		g.notReady(c, "its sanding has begun", "")
	}
	if progress.Running || progress.Done {
		g.watch.renew(ofSanding, c.Key)
	}
	g.pots(c, progress)
	switch {
	case progress.Running:
		if c.Kind == config.Coat {
			g.running(c, progress)
		}
	case progress.Done:
	case c.Kind == config.Sand:
		g.sanding(c)
	case c.Kind == config.Coat:
		g.waiting(c)
	}
}

// unreported asks about a told start that passed without a word.
func (g *guarding) unreported(c candidate, p planner.Progress) {
	one, name := g.watch.of(ofStart, c.Key)
	switch {
	case one.Due.IsZero() && (c.Told.IsZero() || g.now.Before(c.Told) || p.Running || p.Done || p.Held != ""):
	case one.Due.IsZero():
		one.Due = c.Told
		g.watch.touch(name)
	case p.Running || p.Paused || p.Done || p.Held != "" || c.Start.Sub(g.now) > newlyTold:
		one.Due = time.Time{}
		if len(one.Known) > 0 {
			one.again()
		}
		g.watch.touch(name)
	case g.now.Sub(one.Due) >= askedAfter:
		n := c.notice(notify.StageUnconfirmed)
		n.From = one.Due
		g.say(name, n)
	}
}

// notice begins a notice about a stage.
func (c candidate) notice(kind notify.Kind) notify.Notice {
	return notify.Notice{Kind: kind, Boat: c.Key.Boat, Area: c.Key.Area, Stage: c.Key.Stage, Place: c.Place, Crew: c.Crew}
}

// sanding tells that a cured coat may be sanded. Sanded wet, the dust is driven into the
// film; whether it is wet a doubtful instrument does not tell.
func (g *guarding) sanding(c candidate) {
	m := g.facts.hull(c.Key.Boat, g.now)
	doubted := known(m.Coldest) && m.Sure == conditions.Unknown
	if c.AfterCoat && !doubted && !(m.Coldest <= m.DewPoint) {
		_, name := g.watch.of(ofSanding, c.Key)
		g.say(name, c.notice(notify.ReadyToSand))
	} else if m.Coldest <= m.DewPoint {
		g.notReady(c, "dew is on the hull", notify.Measured)
	}
}

// waiting steps the gate of a coat whose turn has come.
func (g *guarding) waiting(c candidate) {
	one, name := g.watch.of(ofWindow, c.Key)
	shift, onShift := spanAt(c.Shifts, g.now)
	lastStart := c.lastStart(shift)
	fits := onShift && (lastStart.IsZero() || !g.now.After(lastStart))
	moment := g.moment(c)
	verdict := conditions.Judge(moment, c.Rules)
	window, foretold := windowAt(c.Windows, g.now)
	if one.Gate.Open && !foretold {
		window, foretold = windowAt(c.Holds, g.now)
	}
	_, current := g.facts.forecast(g.now)
	off, unheard := g.fanUnknown(c.Place)
	open := fits && foretold && current && verdict.Answer == conditions.Yes && !unheard && c.mayStart(g.now)
	if old, is := c.tooOld(one, g.now); is && one.Gate.Open {
		g.lapsedBy(c, old, name)
		one.Gate, one.Aged = notify.Gate{}, old.Until // done again it begins anew: nothing was bad
		g.watch.touch(name)
		return
	}
	if !one.Gate.Open && (g.planning || open && g.brief(c, window, lastStart)) {
		open = false // a plan is on its way that may know better, or nobody could begin in time
	}
	was := one.Gate
	gate, change := was.Step(g.now, open, spare(verdict))
	if gate != was {
		one.Gate = gate
		g.watch.touch(name)
	}
	switch {
	case change == notify.Opened:
		one.again()
		n := c.notice(notify.WindowOpens)
		n.From = g.now
		n.Until, n.Cause = g.ends(c, window, lastStart)
		n.Mix, n.Do = g.mix(c, moment), c.before(g.now)
		c.aged(one, g.now)
		g.say(name, n)
	case change == notify.Closed && !fits:
		n := c.notice(notify.WindowLapsed)
		n.Cause = notify.Cause{Text: "the shift is too short for it now"}
		g.say(name, n)
		one.Gate = was.TakeBack(g.now) // the next shift begins anew: nothing was bad
	case change == notify.Closed:
		n := c.notice(notify.WindowClosed)
		n.Cause = because(verdict, moment)
		switch verdict.Answer {
		case conditions.Yes:
			n.Cause = c.shutBy(g.now)
		case conditions.Undecided:
			n.Do = "do not start, measure air, humidity and surface"
			if why := g.facts.surfaceDoubted(c.Key.Boat, g.now); why != "" && !known(moment.Coldest) && moment.Sure == conditions.Measured {
				n.Cause.Text = why
			}
		}
		stands := g.facts.work.Place(c.Key.Boat).Place
		switch {
		case stands != c.Place:
			n.Place, n.Do = "", ""
			n.Cause = notify.Cause{Text: fmt.Sprintf("the boat stands in %s, and the plan has it in %s", cmp.Or(stands, "no place"), c.Place)}
		case !current:
			n.Do = ""
			n.Cause = notify.Cause{Sure: notify.Unknown, Text: "no forecast that is new enough"}
		case unheard && verdict.Answer == conditions.Yes:
			n.Cause = unfit(off)
		}
		g.say(name, n)
	case gate.Open:
		g.standing(c, one, name, window, lastStart)
	}
	doubted := known(moment.Coldest) && moment.Sure == conditions.Unknown
	if known(moment.Coldest) && !doubted {
		if !one.Gate.Open || !g.ageing(c) {
			g.watch.renew(ofReading, c.Key)
		}
	} else if onShift && (doubted || c.Start.Sub(g.now) < measureBefore) {
		g.measure(c, moment)
	}
}

// overtaken takes back a window of a coat whose turn it is no more: it is held, has lost its start,
// or something else has come to be done first.
func (g *guarding) overtaken(c candidate) {
	one, name := g.watch.of(ofWindow, c.Key)
	progress, _ := g.facts.work.Stage(c.Key)
	if !one.Gate.Open || progress.Running || progress.Done {
		return
	}
	n := c.notice(notify.WindowClosed)
	n.Cause = notify.Cause{Text: "something else must be done before it"}
	switch {
	case progress.Held != "":
		n.Cause.Text = "it is held by " + progress.Held
	case c.Start.IsZero():
		n.Cause.Text = "the plan has no start for it now"
	}
	g.say(name, n)
	one.Gate = one.Gate.TakeBack(g.now) // nothing was bad, but plans may turn to and fro
	if progress.Held != "" {
		one.Gate = notify.Gate{} // who frees it means it
	}
	g.watch.touch(name)
}

// measure asks for the surface that nobody has read lately, or for what is doubted.
func (g *guarding) measure(c candidate, m conditions.Moment) {
	n := c.notice(notify.MeasureNow)
	stale := g.facts.yard.Notice.Stale
	n.Cause = notify.Cause{Text: "no surface reading within " + stale.String(), Sure: notify.Unknown}
	doubt := g.facts.surfaceDoubted(c.Key.Boat, g.now)
	switch stands := g.facts.work.Place(c.Key.Boat); {
	case known(m.Coldest):
		n.Cause = because(conditions.Verdict{Answer: conditions.Undecided, Why: m.Why}, m)
	case doubt != "":
		n.Cause.Text = doubt
	case stands.Place == c.Place && g.now.Sub(stands.Since) < stale.Std():
		n.Cause.Text = "no surface reading since it came"
	}
	_, name := g.watch.of(ofReading, c.Key)
	g.say(name, n)
}

// ageing asks for a surface reading while the last one still counts, so that an open window need
// not be told closed and opened again for want of it.
func (g *guarding) ageing(c candidate) bool {
	read := g.facts.surfaceRead(c.Key.Boat)
	until := read.Add(g.facts.yard.Notice.Stale.Std())
	if read.IsZero() || until.Sub(g.now) > min(measureAgain, g.facts.yard.Notice.Stale.Std()/2) || g.facts.probed(c.Key.Boat, read, g.now) {
		return false
	}
	n := c.notice(notify.MeasureNow)
	n.Cause = notify.Cause{Text: fmt.Sprintf("the surface reading of %s counts only until %s", read.In(g.facts.zone).Format("15:04"), until.In(g.facts.zone).Format("15:04"))}
	_, name := g.watch.of(ofReading, c.Key)
	g.say(name, n)
	return true
}

// standing tells how the end of an open window moves.
func (g *guarding) standing(c candidate, one *watch, name string, window planner.Window, lastStart time.Time) {
	n := c.notice(notify.WindowOpens)
	n.From, n.Do = g.now, c.before(g.now)
	n.Until, n.Cause = g.ends(c, window, lastStart)
	end, cause := n.Until, n.Cause
	switch decision := notify.Decide(one.Known[string(notify.WindowOpens)+" 0"], n, g.now); decision.Reason {
	case notify.Nearer:
		n.Kind = notify.WindowShortened
		g.say(name, n)
		one.endsNow(n.Until)
	case notify.Later, notify.Renewed:
		g.say(name, n)
		one.endsNow(n.Until)
	}
	// Of a window that was short from the first people heard its end when it opened.
	opened := one.Known[string(notify.WindowOpens)+" 0"]
	if end.Sub(g.now) <= closingBefore && end.Sub(opened.From) > closingBefore+closingBefore/2 {
		n := c.notice(notify.WindowClosing)
		n.Until, n.Cause = end, cause
		g.say(name, n)
	}
}
