package service

import (
	"slices"
	"time"

	"fairwindow/conditions"
	"fairwindow/config"
	"fairwindow/notify"
	"fairwindow/planner"
)

// candidate is an open stage that the guard looks at: one whose turn has come,
// or that starts soon.
type candidate struct {
	Key       planner.Key
	Kind      config.StageKind
	Place     string
	Crew      string
	Start     time.Time
	Lasts     time.Duration // from first drop to last
	Wipes     []wipeLeft    // what is still to be done right before it
	Lives     []life        // what was done for it and grows old, the first to do so first
	Told      time.Time     // the start people were given; zero for what nobody starts, as a cure
	Card      config.Card
	Rules     conditions.Rules
	Windows   []planner.Window // with enough chance to be announced as open
	Holds     []planner.Window // with enough to stay so
	Shifts    []config.Span
	Looked    time.Time // as far as shifts were looked for
	Recoat    time.Time // when the coat beneath may no longer be overcoated as it is; zero: not foreseen
	AfterCoat bool      // nothing but the last coat's cure came before
	Waits     []planner.Wait
}

const (
	// slot is the plan's: what is ready now it calls ready at the next full one.
	slot = 5 * time.Minute
	// lastStart is how long before its end a window may have its last start.
	lastStart = 2 * slot
	// shiftsAhead is how far ahead shifts are looked for: past the end of any that is on.
	shiftsAhead = 48 * time.Hour
)

// end is when a window ends, as far as anything ends it: one that is still open
// where the look ahead stops has no end that people need to hear of.
func (c candidate) end(w planner.Window) time.Time {
	recoat := !c.Recoat.IsZero() && c.Recoat.Sub(w.To) <= lastStart
	if w.Closes.Of == "" && !recoat {
		return time.Time{}
	}
	return w.To
}

// lastStart is the last start of the whole coat in a shift; zero of one that is not at its end
// where the look ahead stops, as where people work around the clock.
func (c candidate) lastStart(shift config.Span) time.Time {
	if !shift.To.Before(c.Looked) {
		return time.Time{}
	}
	return shift.To.Add(-c.Lasts)
}

// shutBy is what the last plan has against a start now, else what ends the next window.
func (c candidate) shutBy(now time.Time) notify.Cause {
	for _, w := range c.Waits {
		if !now.Before(w.From) && now.Before(w.To) && w.Cause == planner.OutOfLimits && w.Evidence.Bound.Of != "" {
			cause := bound(w.Evidence.Bound, w.Evidence.Value)
			cause.Sure, cause.Issued = notify.Sure(w.Evidence.Sure), w.Evidence.Issued
			return cause
		}
	}
	for _, w := range c.Windows {
		if w.From.After(now) {
			return ending(w)
		}
	}
	return notify.Cause{}
}

// coatWatch is the last coat of an area, watched while it cures.
type coatWatch struct {
	Key     planner.Key
	Card    config.Card
	Protect conditions.Rules
	Next    string // the stage that follows
	Crew    string
	Recoats bool      // the next coat goes on this one as it is
	Closes  time.Time // when the recoat window will close, as far as is known
	// ClosesOff: it closes while nobody who could coat is on shift, and the coat
	// is planned for after that.
	ClosesOff bool
}

// coats are the coats for which windows are looked for: those that start soon, and those of
// which people know an open one, whenever they start now.
func (f *facts) coats(plan planner.Plan, w *watches, now time.Time) []planner.Key {
	var keys []planner.Key
	soon := now.Add(f.yard.Notice.Ahead.Std())
	for _, s := range plan.Stages {
		if s.Kind == config.Coat && !s.Start.IsZero() && (!s.Start.After(soon) || w.open(s.Key)) {
			keys = append(keys, s.Key)
		}
	}
	return keys
}

// review works out from the last plan what the guard looks at.
func (c *cycle) review(f *facts, w *watches, now time.Time) {
	c.candidates, c.coats, c.lapses, c.overtaken = nil, nil, nil, nil
	told := map[planner.Key]time.Time{}
	for _, t := range toldBy(f.told.Plan) {
		told[t.Key] = t.Start
	}
	// After a start nobody has looked ahead yet: what runs and what cures is guarded
	// all the same, what waits is not judged before the first plan.
	blind := c.problem.At.IsZero()
	soon := now.Add(f.yard.Notice.Ahead.Std())
	wipes := map[planner.Key][]wipeLeft{} // what is left of it
	turn := map[planner.Key]bool{}        // by area: nothing but wiping is left before its next coat
	lives := map[planner.Key][]life{}
	for _, s := range f.draft.Plan.Stages {
		area := planner.Key{Boat: s.Key.Boat, Area: s.Key.Area}
		first, seen := turn[area]
		if !seen {
			first = !s.Ready.After(now) || s.Ready.Sub(c.problem.At) < slot
			lives[area] = f.lives(s.Key.Boat, s.Key.Area)
		}
		renewed, again := renews(lives[area], s)
		if again {
			renewed.Redo = s.Kind
		}
		turn[area] = first && (s.Kind == config.Wipe || again)
		progress, _ := f.work.Stage(s.Key)
		if s.Kind == config.Wipe && turn[area] && !progress.Done {
			wipes[area] = append(wipes[area], wipeLeft{s.Key.Stage, renewed})
		}
		announced := s.Kind == config.Coat && !progress.Running && !progress.Done && w.open(s.Key)
		if progress.Done || !progress.Running && (blind || !first || s.Start.IsZero() || s.Start.After(soon) && !announced) {
			if announced && !blind {
				c.overtaken = append(c.overtaken, candidate{Key: s.Key, Place: f.work.Place(s.Key.Boat).Place, Crew: s.Crew, Start: s.Start})
			}
			continue
		}
		stage, ok := f.stage(s.Key)
		if !ok {
			continue
		}
		one := candidate{Key: s.Key, Kind: s.Kind, Place: s.Place, Crew: s.Crew, Start: s.Start, Waits: s.Waits}
		if stage.Skill != "" {
			one.Told = told[s.Key]
		}
		one.Looked = now.Add(shiftsAhead)
		one.Shifts, _ = f.yard.ShiftsOf(s.Crew, now.Add(-24*time.Hour), one.Looked)
		coat, coated := f.work.LastCoat(s.Key.Boat, s.Key.Area)
		one.AfterCoat = coated && !coat.Sanded
		if place, ok := f.yard.Place(s.Place); ok && s.Kind == config.Coat {
			one.Card, _ = f.yard.Card(stage.Card)
			one.Rules = f.yard.Rules(stage, place)
			one.Windows = windowsIn(s.Place, c.view.Windows[s.Key])
			one.Holds = windowsIn(s.Place, c.view.Holds[s.Key])
			one.Recoat = c.view.Closes[coat.Key]
			one.Lasts = s.End.Sub(s.Start)
			one.Wipes, one.Lives = wipes[area], lives[area]
		}
		c.candidates = append(c.candidates, one)
	}
	c.lapses = f.lapses(f.draft.Plan)
	for _, k := range f.clocks {
		if w, ok := f.coatWatch(c, k); ok {
			c.coats = append(c.coats, w)
		}
	}
	sortBy(c.coats, func(w coatWatch) planner.Key { return w.Key })
}

// windowsIn are those of one place: a window where the boat stands now says
// nothing about the place it is planned for.
func windowsIn(place string, all []planner.Window) []planner.Window {
	return slices.DeleteFunc(slices.Clone(all), func(w planner.Window) bool { return w.Place != place })
}

// coatWatch is what the guard must know of a coat.
func (f *facts) coatWatch(c *cycle, k planner.CoatNow) (coatWatch, bool) {
	card, ok := f.card(k.Key)
	if !ok {
		return coatWatch{}, false
	}
	w := coatWatch{Key: k.Key, Card: card}
	coat, _ := f.work.LastCoat(k.Key.Boat, k.Key.Area)
	if coat.Key != k.Key {
		return coatWatch{}, false
	}
	if place, ok := f.yard.Place(f.work.Place(k.Key.Boat).Place); ok {
		w.Protect = f.yard.ProtectRules(card, place)
	}
	for _, s := range f.draft.Plan.Stages {
		if s.Key.Boat != k.Key.Boat || s.Key.Area != k.Key.Area {
			continue
		}
		if _, begun := f.work.Stage(s.Key); s.Repair && !begun {
			continue // planned because the window will lapse: people still hear that it does
		}
		if w.Next == "" {
			w.Next, w.Crew = s.Key.Stage, s.Crew
		}
		if s.Kind == config.Sand || s.Kind == config.Fair || coat.Sanded {
			break // sanding renews the surface: no recoat window to miss
		}
		if s.Kind != config.Coat {
			continue
		}
		if c.problem.At.IsZero() {
			break // nobody has looked ahead yet: its window's end is not known
		}
		w.Recoats, w.Next, w.Crew = true, s.Key.Stage, s.Crew
		w.Closes = c.view.Closes[k.Key]
		shifts, err := f.yard.ShiftsOf(s.Crew, w.Closes.Add(-time.Minute), w.Closes)
		w.ClosesOff = err == nil && !w.Closes.IsZero() && len(shifts) == 0 && s.Start.After(w.Closes)
		break
	}
	return w, true
}
