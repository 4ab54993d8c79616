package planner

import "fairwindow/planner/engine"

// redos bounds how often a plan is made again because Check found it wanting.
const redos = 3

// tightened is a start that Check did not let stand: the stage may begin after it.
type tightened struct {
	after engine.Slot
	why   string
}

// Checked makes the plan and has it checked. Where a stage breaks a rule of cure,
// air or conditions, worked out anew along the whole plan, its start is ruled out and
// the turns are taken again, three times at most; a coat that still fails is planned at
// risk, and says why. What is broken after that is returned: such a plan is not to
// be told to anybody.
func (d *Desk) Checked() (Plan, []Broken) {
	return d.m.checked(func(p Problem, plan Plan) []Broken { return check(p, plan, d.m.out) })
}

func (m *model) checked(check func(Problem, Plan) []Broken) (Plan, []Broken) {
	m.tight = map[Key]tightened{}
	best := m.best()
	plan := best.settled()
	broken := check(m.p, plan)
	for n := 0; n < redos && m.tighten(plan, broken); n++ {
		best = m.redone(best)
		plan = best.settled()
		broken = check(m.p, plan)
	}
	if atRisk(&plan, broken) {
		broken = check(m.p, plan)
	}
	m.last = best
	return plan, broken
}

// redone takes the turns of a schedule again, or those that people were told if that
// costs less now.
func (m *model) redone(s *schedule) *schedule {
	again := newSchedule(m, s.asTold)
	again.loose = s.loose
	again.takeTurns(m.ordered(s.turns), 0)
	if len(m.told) > 0 {
		if told, _ := m.asTold(); told.weighs() < again.weighs() {
			again = told
		}
	}
	again.kept = s.kept
	return again
}

// tighten rules out the starts of the stages that broke a rule of the air; false if
// there is none.
func (m *model) tighten(plan Plan, broken []Broken) bool {
	any := false
	for _, b := range broken {
		for _, s := range plan.Stages {
			if s.Key == b.Key && s.placed() && s.State != Running && ofTheAir(b.Rule) {
				m.tight[b.Key] = tightened{m.grid.Floor(s.Start) + perHour/4, b.What}
				any = true
			}
		}
	}
	return any
}

// ofTheAir are the rules that hang on the air and the hull as they will be along the plan.
func ofTheAir(rule string) bool {
	switch rule {
	case "order", "cure", "recoat", "life", "dust", "clearance", "conditions":
		return true
	}
	return false
}

// atRisk marks the coats that fail their conditions; false if there is none.
func atRisk(plan *Plan, broken []Broken) bool {
	any := false
	for _, b := range broken {
		for i := range plan.Stages {
			if s := &plan.Stages[i]; s.Key == b.Key && s.placed() && b.Rule == "conditions" && s.State != Running {
				s.State, s.Risk, any = AtRisk, b.What, true
			}
		}
	}
	return any
}
