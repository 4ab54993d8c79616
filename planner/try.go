package planner

import (
	"errors"
	"slices"
	"time"

	"fairwindow/planner/engine"
)

// Tried is what a press would make of a plan, before anybody presses it.
type Tried struct {
	Press Press `json:"press"`
	// Stage is the pressed stage as it would be planned.
	Stage Planned `json:"stage"`
	// Refused says that the stage can't start when it was pinned to. Why is what stands in
	// the way then, Earlier and Later are the nearest starts that nothing refuses, all else
	// as planned; zero where there is none.
	Refused bool      `json:"refused,omitempty"`
	Why     Wait      `json:"why,omitzero"`
	Earlier time.Time `json:"earlier,omitzero"`
	Later   time.Time `json:"later,omitzero"`

	Difference Difference `json:"difference"`
	AtRisk     KeyPair    `json:"at_risk"` // coats that are planned although a limit may not hold
	Repairs    KeyPair    `json:"repairs"` // put in because a recoat window will have lapsed
}

// errBroken is a plan that Check did not let pass.
var errBroken = errors.New("the plan that would follow breaks a rule and is not shown")

// Try plans a problem with one press more, and holds it against the draft that was made
// of the problem without it. Its errors say what can't be pressed, and what could.
func Try(p Problem, draft Plan, press Press) (Tried, error) {
	work := Replay(p.Yard.WithDefaults(), p.Boats, p.Presses)
	if err := work.Accepts(press); err != nil {
		return Tried{}, err
	}
	p.Presses = append(slices.Clip(p.Presses), press)
	d, err := Open(p)
	if err != nil {
		return Tried{}, err
	}
	plan, broken := d.Checked()
	if len(broken) > 0 {
		return Tried{}, errBroken
	}
	t := Tried{
		Press: press, Difference: Compare(draft, plan),
		AtRisk:  KeyPair{keysOf(draft, atRiskNow), keysOf(plan, atRiskNow)},
		Repairs: KeyPair{keysOf(draft, putIn), keysOf(plan, putIn)},
	}
	for _, s := range plan.Stages {
		if s.Key == press.Key {
			t.Stage = s
		}
	}
	if press.Kind == Pinned {
		d.m.met(&t, draft)
	}
	return t, nil
}

func atRiskNow(s Planned) bool { return s.State == AtRisk }

func putIn(s Planned) bool { return s.Repair && s.placed() }

func keysOf(p Plan, is func(Planned) bool) []Key {
	keys := []Key{}
	for _, s := range p.Stages {
		if is(s) {
			keys = append(keys, s.Key)
		}
	}
	return keys
}

// lookBack is how far before a pin an allowed start is looked for. Our judgement.
const lookBack = 4 * 24 * perHour

// met says whether a pin is kept, and if not why, and what is nearest to it.
func (m *model) met(t *Tried, draft Plan) {
	s, j := m.last, m.openJob(t.Press.Key)
	if j == nil || j.at.Running {
		return
	}
	pin := max(s.grid.Ceil(t.Press.Until), s.now)
	if t.Press.Until.IsZero() {
		pin = s.now
	}
	n := slices.IndexFunc(s.areas[j.area].done, func(p *placed) bool { return p.job == j })
	if n < 0 {
		t.Refused = true
		if len(t.Stage.Waits) > 0 {
			t.Why = t.Stage.Waits[len(t.Stage.Waits)-1]
		}
		return
	}
	p := s.areas[j.area].done[n]
	if t.Press.Until.IsZero() || p.start <= pin {
		return
	}
	t.Refused, t.Later = true, s.grid.Time(p.start)
	for _, was := range draft.Stages { // what was planned is allowed, whatever is found below
		if was.Key == t.Press.Key && was.placed() && was.Start.Before(s.grid.Time(pin)) {
			t.Earlier = was.Start
		}
	}
	until := j.at.Pinned
	j.at.Pinned = time.Time{}
	defer func() { j.at.Pinned = until }()
	if pin < p.ready {
		t.Why = Wait{From: s.grid.Time(pin), To: s.grid.Time(p.ready), Cause: EarlierMoved, Evidence: s.readied(p)}
		// What is kept close to a coat waits with it: the coat's own limits are why.
		if j.coats() && p.place >= 0 {
			if o := s.coating(j, p.place, s.boats[s.model.areas[j.area].boat].way, pin); !o.ok {
				t.Why.Cause, t.Why.Evidence = OutOfLimits, o.evidence()
			}
		}
		return
	}
	s.take(p, -1)
	defer s.take(p, 1)
	if why := s.bars(p, pin); why.refused() {
		t.Why = Wait{From: s.grid.Time(pin), To: s.grid.Time(min(max(s.asked(j, pin, why), pin+1), p.start)), Cause: why.cause, Evidence: s.evidence(j, p.place, why)}
	}
	for at := pin - 1; at >= max(p.ready, pin-lookBack); at-- {
		if !s.bars(p, at).refused() {
			if found := s.grid.Time(at); found.After(t.Earlier) {
				t.Earlier = found
			}
			return
		}
	}
}

// bars is what forbids a start; that it costs more forbids none.
func (s *schedule) bars(p *placed, t engine.Slot) refusal {
	_, _, why := s.tryAt(p, t)
	if why.amount > 0 || why.cause == AsTold {
		return refusal{}
	}
	return why
}
