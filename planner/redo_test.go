package planner

import "testing"

// TestPlanIsMadeAgain: a start that the check does not let stand is ruled out, and
// the stage begins later; once the rounds are over a coat is planned at risk.
func TestPlanIsMadeAgain(t *testing.T) {
	p := problem(fleet(1)...)
	m, err := newModel(p)
	if err != nil {
		t.Fatal(err)
	}
	first := m.best().settled()
	prime := Key{p.Boats[0].Name, "topsides", "prime"}
	start := func(plan Plan) Planned {
		for _, s := range plan.Stages {
			if s.Key == prime {
				return s
			}
		}
		t.Fatal("no prime in the plan")
		return Planned{}
	}
	was := start(first)
	for _, c := range []struct {
		name  string
		fails func(Planned) bool
		made  int
		state State
	}{
		{"fails where it was", func(s Planned) bool { return s.Start.Equal(was.Start) }, 2, Firm},
		{"fails wherever it is", func(s Planned) bool { return s.State != AtRisk }, redos + 2, AtRisk},
	} {
		t.Run(c.name, func(t *testing.T) {
			m, err := newModel(p)
			if err != nil {
				t.Fatal(err)
			}
			made := 0
			plan, broken := m.checked(func(_ Problem, plan Plan) []Broken {
				made++
				if s := start(plan); c.fails(s) {
					return []Broken{{Key: prime, Rule: "conditions", What: "dew"}}
				}
				return nil
			})
			if is := start(plan); len(broken) > 0 || made != c.made || is.State != c.state || !is.Start.After(was.Start) {
				t.Errorf("checked %d times, %v after %v, %s, broken %v", made, is.Start, was.Start, is.State, broken)
			}
			if is := start(plan); (is.Risk == "dew") != (is.State == AtRisk) {
				t.Errorf("%s, at risk by %q", is.State, is.Risk)
			}
			for _, b := range Check(p, plan) {
				t.Error(b)
			}
		})
	}
}
