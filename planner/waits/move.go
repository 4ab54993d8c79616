// Package waits answers one question: what was put off, why, and what did it cost?
// It goes by what people were told, plan by plan, and by what they did; the evidence
// of a cause is what was known when they were told. It is pure.
package waits

import (
	"slices"
	"time"

	"fairwindow/config"
	"fairwindow/planner"
)

// Unreported is the cause of a start that passed while nobody said that it had begun.
const Unreported planner.Cause = "not reported"

// Move is a told start that was told anew: later, sooner, or no more.
type Move struct {
	ID    int64            `json:"id,omitempty"`   // given by the store; 0 where no plan told it
	Plan  int64            `json:"plan,omitempty"` // that told it; 0: it began later than was told
	At    time.Time        `json:"at"`             // when people were told, or when it began
	By    string           `json:"by,omitempty"`   // who let the plan out, or who began
	Key   planner.Key      `json:"key"`
	Kind  config.StageKind `json:"kind"`
	Place string           `json:"place,omitempty"` // it was to be done in
	Crew  string           `json:"crew,omitempty"`
	From  time.Time        `json:"from"`        // the start told before
	To    time.Time        `json:"to,omitzero"` // the start told now; zero: none within the plan
	Until time.Time        `json:"until,omitzero"`
	// Fixes says that by this plan the boat's launch hung on the stage.
	Fixes bool `json:"fixes_launch,omitempty"`
	// Waits are the causes. Of a later start they fill the time from From to To, each
	// hour once; of none at all there is one, with no end.
	Waits []planner.Wait `json:"waits,omitempty"`
	// Stood is when within From to To the boat held the place that it waited in.
	Stood []planner.Span `json:"stood,omitempty"`
}

// Later reports whether the move put the stage off.
func (m Move) Later() bool { return m.To.IsZero() || m.To.After(m.From) }

// Main is the one cause of a deferral: what stood in the way of the start that was told.
// Where that was only a stage before it, it is whatever else took longer than that.
func (m Move) Main() planner.Wait {
	if len(m.Waits) == 0 {
		return planner.Wait{From: m.From, To: m.To, Cause: planner.EarlierMoved}
	}
	first := m.Waits[0]
	if first.Cause != planner.EarlierMoved {
		return first
	}
	took := map[planner.Cause]time.Duration{}
	for _, w := range m.Waits {
		took[w.Cause] += w.To.Sub(w.From)
	}
	best := first
	for _, w := range m.Waits[1:] {
		if took[w.Cause] > took[best.Cause] {
			best = w
		}
	}
	return best
}

// Told is the start that people have of a stage now.
type Told struct {
	Start time.Time `json:"start"`
	Place string    `json:"place"`
	Gone  bool      `json:"gone,omitempty"` // told last: no start within the plan
}

// Moves are the told starts that a plan tells anew, in the plan's order. A stage that
// runs has begun: what people did tells of it, not the plan.
func Moves(told map[planner.Key]Told, plan planner.Plan) []Move {
	fixes := fixing(plan)
	var all []Move
	for i := range plan.Stages {
		s := &plan.Stages[i]
		was, ok := told[s.Key]
		if !ok || s.State == planner.Running || s.Start.Equal(was.Start) || s.Start.IsZero() && was.Gone {
			continue
		}
		m := Move{Key: s.Key, Kind: s.Kind, Place: s.Place, Crew: s.Crew, From: was.Start, To: s.Start, Until: plan.Until, Fixes: fixes[s.Key]}
		if m.Place == "" {
			m.Place = was.Place
		}
		switch {
		case s.Start.IsZero():
			m.Waits = endless(s, was.Start)
		case s.Start.After(was.Start):
			m.Waits = cover(s, was.Start, plan.At)
			m.Stood = stood(plan, s, was.Start)
		}
		all = append(all, m)
	}
	return all
}

// endless is the one cause of a stage without a start: what stands in the way at the
// told one, else what stands in the way first.
func endless(s *planner.Planned, at time.Time) []planner.Wait {
	if len(s.Waits) == 0 {
		return []planner.Wait{{From: at, Cause: planner.EarlierMoved}}
	}
	w := s.Waits[0]
	for _, one := range s.Waits {
		if !one.From.After(at) && one.To.After(at) {
			w = one
		}
	}
	w.From, w.To = at, time.Time{}
	return []planner.Wait{w}
}

// cover gives each hour between a told start and the new one its cause. Before the
// stage is ready that is the stage before it, unless the plan says more. Hours that were over
// when the plan was made, and of which it says nothing, nobody reported. A night or a weekend
// belongs to the cause of the shift before it: what was told lay in a shift, so the night alone
// put nothing off.
func cover(s *planner.Planned, from, made time.Time) []planner.Wait {
	var all []planner.Wait
	add := func(w planner.Wait) {
		if w.From.Before(from) {
			w.From = from
		}
		if w.To.After(s.Start) {
			w.To = s.Start
		}
		if !w.From.Before(w.To) {
			return
		}
		if n := len(all); n > 0 && all[n-1].Cause == w.Cause && all[n-1].Evidence == w.Evidence {
			all[n-1].To = w.To
			return
		}
		all = append(all, w)
	}
	// gap words what no wait covers; next is the wait after it.
	gap := func(at, to time.Time, next planner.Wait) {
		if end := earlier(to, s.Ready); at.Before(end) {
			add(planner.Wait{From: at, To: end, Cause: planner.EarlierMoved})
			at = end
		}
		if end := earlier(to, made); at.Before(end) {
			add(planner.Wait{From: at, To: end, Cause: Unreported})
			at = end
		}
		next.From, next.To = at, to
		add(next)
	}
	waits := slices.Clone(s.Waits)
	slices.SortStableFunc(waits, func(a, b planner.Wait) int { return a.From.Compare(b.From) })
	at, last := from, planner.Wait{Cause: planner.EarlierMoved}
	for _, w := range waits {
		if !w.To.After(at) || !w.From.Before(s.Start) {
			continue
		}
		if w.From.After(at) {
			gap(at, w.From, w)
		} else {
			w.From = at
		}
		at = w.To
		if w.Cause == planner.NoShift && len(all) > 0 {
			night := all[len(all)-1]
			w.Cause, w.Evidence = night.Cause, night.Evidence
		}
		add(w)
		last = w
	}
	if at.Before(s.Start) {
		gap(at, s.Start, last)
	}
	return all
}

func earlier(a, b time.Time) time.Time {
	if a.Before(b) {
		return a
	}
	return b
}

// stood is when a boat holds the place of its stage between two times.
func stood(plan planner.Plan, s *planner.Planned, from time.Time) []planner.Span {
	var all []planner.Span
	for _, b := range plan.Blocks {
		if b.Boat != s.Key.Boat || b.Place != s.Place {
			continue
		}
		if span, ok := within(planner.Span{From: b.From, To: b.To}, from, s.Start); ok {
			all = append(all, span)
		}
	}
	return all
}

// within is what of a span lies between two times.
func within(s planner.Span, from, to time.Time) (planner.Span, bool) {
	if s.From.Before(from) {
		s.From = from
	}
	if s.To.After(to) {
		s.To = to
	}
	return s, s.From.Before(s.To)
}
