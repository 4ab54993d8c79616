package planner

import (
	"encoding/json"
	"slices"
	"strings"
	"testing"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
)

// planted is one thing done wrong in a plan that keeps the rules, or one fact of its
// problem changed after it; false if there is nothing there to do it to.
type planted func(p *Problem, plan *Plan) bool

// stageWith is the first placed stage, not running, of a kind (any, if none is named)
// for which more holds.
func stageWith(plan *Plan, kind config.StageKind, more func(i int, s *Planned) bool) bool {
	for i := range plan.Stages {
		s := &plan.Stages[i]
		if s.State != Unplaced && s.State != Running && (kind == "" || s.Kind == kind) && more(i, s) {
			return true
		}
	}
	return false
}

// shiftBy has a stage done at another time, its waits left as they are.
func shiftBy(s *Planned, by time.Duration) {
	s.Start, s.End, s.Protected = s.Start.Add(by), s.End.Add(by), s.Protected.Add(by)
	for _, spans := range [][]Span{s.Work, s.Passes} {
		for i := range spans {
			spans[i] = Span{spans[i].From.Add(by), spans[i].To.Add(by)}
		}
	}
}

// follows is the stage after another one in its area, as planned.
func follows(plan *Plan, s *Planned) *Planned {
	var next *Planned
	for i := range plan.Stages {
		o := &plan.Stages[i]
		if o.Key.Boat == s.Key.Boat && o.Key.Area == s.Key.Area && o.State != Unplaced && !o.Start.Before(s.End) && o.Key != s.Key && (next == nil || o.Start.Before(next.Start)) {
			next = o
		}
	}
	return next
}

// plants are faults by the rule that they break.
func plants() map[string]map[string]planted {
	always := func(change func(i int, s *Planned)) func(int, *Planned) bool {
		return func(i int, s *Planned) bool { change(i, s); return true }
	}
	worked := func(i int, s *Planned) bool { return s.Stage.Skill != "" }
	return map[string]map[string]planted{
		"complete": {
			"a stage is left out": func(_ *Problem, plan *Plan) bool { plan.Stages = plan.Stages[1:]; return true },
			"a stage twice": func(_ *Problem, plan *Plan) bool {
				plan.Stages = append(plan.Stages, plan.Stages[0])
				return true
			},
			"a stage that is done": func(p *Problem, plan *Plan) bool {
				p.Presses = append(p.Presses, Press{Kind: Finished, Key: plan.Stages[0].Key, Happened: p.At})
				return true
			},
		},
		"order": {
			"before the one before it": func(_ *Problem, plan *Plan) bool {
				return stageWith(plan, config.Sand, func(i int, s *Planned) bool {
					next := follows(plan, s)
					if next == nil {
						return false
					}
					shiftBy(next, s.Start.Sub(next.Start)-time.Hour)
					return true
				})
			},
		},
		"time": {
			"in the past": func(p *Problem, plan *Plan) bool {
				return stageWith(plan, config.Wash, always(func(_ int, s *Planned) { shiftBy(s, p.At.Sub(s.Start)-72*time.Hour) }))
			},
		},
		"where": {
			"in a place that the boat is not in": func(_ *Problem, plan *Plan) bool {
				return stageWith(plan, config.Coat, func(_ int, s *Planned) bool {
					s.Place = map[string]string{"booth 1": "tent 1"}[s.Place]
					return s.Place != ""
				})
			},
			"while the boat is brought in": func(_ *Problem, plan *Plan) bool {
				return stageWith(plan, "", func(_ int, s *Planned) bool {
					for i, b := range plan.Blocks {
						if b.Boat == s.Key.Boat && b.Place == s.Place && b.Move > 0 && s.Start.Equal(b.From.Add(b.Move)) {
							plan.Blocks[i].Move += 2 * time.Hour
							return true
						}
					}
					return false
				})
			},
			"in a closed place": func(p *Problem, plan *Plan) bool {
				return stageWith(plan, config.Coat, always(func(_ int, s *Planned) {
					zone, _ := p.Yard.Location()
					day := s.Start.In(zone).Format("2006-01-02")
					p.Yard.Closures = append(p.Yard.Closures, config.Closure{Place: s.Place, From: day, Why: "repairs"})
				}))
			},
		},
		"fit": {
			"in a place too short": func(p *Problem, plan *Plan) bool {
				for _, b := range plan.Blocks {
					for i := range p.Yard.Places {
						if p.Yard.Places[i].Name == b.Place && b.From.After(p.At) {
							p.Yard.Places[i].Length = unit.Of(unit.Length(10))
							return true
						}
					}
				}
				return false
			},
		},
		"room": {
			"two boats in a booth": func(p *Problem, plan *Plan) bool {
				for _, a := range plan.Blocks {
					for i, b := range plan.Blocks {
						if place, _ := p.Yard.Place(a.Place); place.Kind == config.Booth && a.Boat != b.Boat && b.From.After(a.From) && b.From.Before(a.To) && b.From.After(p.At) {
							plan.Blocks[i].Place = a.Place
							return true
						}
					}
				}
				return false
			},
		},
		"stay": {
			"nowhere for an hour": func(_ *Problem, plan *Plan) bool {
				for i, a := range plan.Blocks {
					for _, b := range plan.Blocks {
						if a.Boat == b.Boat && a.To.Equal(b.From) {
							plan.Blocks[i].To = a.To.Add(-time.Hour)
							return true
						}
					}
				}
				return false
			},
			"nowhere before its launch": func(_ *Problem, plan *Plan) bool {
				for _, l := range plan.Launches {
					for i, b := range plan.Blocks {
						if b.Boat == l.Boat && !l.Likely.IsZero() && !b.To.Before(l.Likely) {
							plan.Blocks[i].To = l.Likely.Add(-2 * time.Hour)
							return true
						}
					}
				}
				return false
			},
		},
		"move": {
			"by painters": func(_ *Problem, plan *Plan) bool {
				i := slices.IndexFunc(plan.Blocks, func(b Block) bool { return b.Mover != "" })
				if i >= 0 {
					plan.Blocks[i].Mover = "paint A"
				}
				return i >= 0
			},
			"in no time": func(_ *Problem, plan *Plan) bool {
				i := slices.IndexFunc(plan.Blocks, func(b Block) bool { return b.Move > 0 })
				if i >= 0 {
					plan.Blocks[i].Move = 0
				}
				return i >= 0
			},
		},
		"crew": {
			"more people than it has": func(_ *Problem, plan *Plan) bool {
				return stageWith(plan, config.Sand, always(func(_ int, s *Planned) { s.People = 40 }))
			},
			"without the skill": func(_ *Problem, plan *Plan) bool {
				return stageWith(plan, config.Coat, always(func(_ int, s *Planned) { s.Crew = "prep A" }))
			},
		},
		"shift": {
			"at night": func(_ *Problem, plan *Plan) bool {
				return stageWith(plan, config.Sand, always(func(_ int, s *Planned) { shiftBy(s, 12*time.Hour) }))
			},
		},
		"area": {
			"two areas at once": func(_ *Problem, plan *Plan) bool {
				return stageWith(plan, "", func(_ int, s *Planned) bool {
					return worked(0, s) && stageWith(plan, "", func(_ int, o *Planned) bool {
						if !worked(0, o) || o.Key.Boat != s.Key.Boat || o.Key.Area == s.Key.Area {
							return false
						}
						shiftBy(o, s.Start.Sub(o.Start))
						return true
					})
				})
			},
		},
		"whole": {
			"half the time": func(_ *Problem, plan *Plan) bool {
				return stageWith(plan, config.Wipe, always(func(_ int, s *Planned) { s.End = s.Start.Add(s.End.Sub(s.Start) / 2) }))
			},
			"without flash-off": func(_ *Problem, plan *Plan) bool {
				return stageWith(plan, config.Coat, func(_ int, s *Planned) bool {
					if len(s.Passes) < 2 {
						return false
					}
					last := &s.Passes[1]
					*last = Span{s.Passes[0].To, s.Passes[0].To.Add(last.To.Sub(last.From))}
					return true
				})
			},
			"paused coat": func(_ *Problem, plan *Plan) bool {
				return stageWith(plan, config.Coat, always(func(_ int, s *Planned) {
					s.Work = []Span{{s.Start, s.Start.Add(grain)}, {s.End.Add(-grain), s.End}}
				}))
			},
		},
		"said": {
			"held":   saidOf(Press{Kind: Held, Note: "colour"}),
			"pinned": saidOf(Press{Kind: Pinned}),
		},
		"cure": {
			"straight after the coat": afterCoat(0, func(next *Planned) bool { return next.Kind == config.Sand || next.Kind == config.Unmask }),
		},
		"recoat": {
			"weeks later": afterCoat(21*24*time.Hour, func(next *Planned) bool { return next.Kind == config.Coat }),
		},
		"clearance": {
			"before the booth is clear": afterCoat(0, func(next *Planned) bool {
				return strings.HasPrefix(next.Place, "booth") && next.Stage.Skill != "" && next.Stage.Places != nil
			}),
		},
		"life": {
			"wiped the day before": func(_ *Problem, plan *Plan) bool {
				return stageWith(plan, config.Wipe, func(_ int, s *Planned) bool {
					shiftBy(s, -24*time.Hour)
					return s.Stage.Life > 0
				})
			},
		},
		"dust": {
			"sanding beside a wet coat": func(p *Problem, plan *Plan) bool {
				return stageWith(plan, config.Coat, func(_ int, coat *Planned) bool {
					return stageWith(plan, config.Sand, func(_ int, s *Planned) bool {
						a, _ := p.Yard.Place(coat.Place)
						b, _ := p.Yard.Place(s.Place)
						if s.Key.Boat == coat.Key.Boat || a.Name != b.Name && (a.Air == "" || a.Air != b.Air) {
							return false
						}
						shiftBy(s, coat.Start.Sub(s.Start))
						return true
					})
				})
			},
		},
		"limits": {
			"in the fog": func(p *Problem, plan *Plan) bool {
				for i := range p.Outdoors {
					p.Outdoors[i].DewPoint = p.Outdoors[i].Air
				}
				return stageWith(plan, config.Coat, func(int, *Planned) bool { return true })
			},
			"without a forecast": func(p *Problem, plan *Plan) bool {
				for i := range p.Outdoors {
					p.Outdoors[i].Sure = conditions.Unknown
				}
				return stageWith(plan, config.Coat, func(int, *Planned) bool { return true })
			},
		},
		"protect": {
			"protected at once": func(_ *Problem, plan *Plan) bool {
				return stageWith(plan, config.Coat, always(func(_ int, s *Planned) { s.Protected = s.End }))
			},
		},
		"launch": {
			"before it is done": func(_ *Problem, plan *Plan) bool {
				for i, l := range plan.Launches {
					if !l.Likely.IsZero() {
						plan.Launches[i].Likely = l.Likely.AddDate(0, 0, -9)
						return true
					}
				}
				return false
			},
		},
		"ledger": {
			"an hour that nobody answers for": waitedFor(2, func(s *Planned) { s.Waits = s.Waits[1:] }),
			"an hour told twice":              waitedFor(2, func(s *Planned) { s.Waits[1].From = s.Waits[0].From }),
			"a cause of its own":              waitedFor(1, func(s *Planned) { s.Waits[0].Cause = "bad luck" }),
			"ready late":                      waitedFor(1, func(s *Planned) { s.Ready = s.Start.Add(time.Hour) }),
		},
	}
}

func saidOf(press Press) planted {
	return func(p *Problem, plan *Plan) bool {
		return stageWith(plan, config.Sand, func(_ int, s *Planned) bool {
			press.Key, press.Happened, press.By, press.Until = s.Key, p.At, "owner", s.Start.AddDate(0, 0, 3)
			p.Presses = append(p.Presses, press)
			return true
		})
	}
}

// afterCoat has what follows a coat start so long after it.
func afterCoat(by time.Duration, is func(*Planned) bool) planted {
	return func(_ *Problem, plan *Plan) bool {
		return stageWith(plan, config.Coat, func(_ int, s *Planned) bool {
			next := follows(plan, s)
			if next == nil || !is(next) {
				return false
			}
			shiftBy(next, s.End.Add(by).Sub(next.Start))
			return true
		})
	}
}

// waitedFor changes the second ledger of a stage with at least so many waits after ready.
func waitedFor(n int, change func(*Planned)) planted {
	return func(_ *Problem, plan *Plan) bool {
		return stageWith(plan, "", func(_ int, s *Planned) bool {
			if len(s.Waits) < n || s.Waits[0].From.Before(s.Ready) {
				return false
			}
			change(s)
			return true
		})
	}
}

// TestRulesFindPlantedFaults: the rulebook that judges the planner is judged itself.
// Each fault, planted in a plan without any, is found by its rule.
func TestRulesFindPlantedFaults(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("one rulebook is like another: judged where tests may be long")
	}
	type good struct{ problem, plan []byte }
	var all []good
	for seed := uint64(0); len(all) < 4 && seed < 12; seed++ {
		p := generated(t, 4, seed)
		p.Horizon = 28 * 24 * time.Hour
		for i := range p.Boats { // alike in their skins, which saves the test half its time
			p.Boats[i].Build, p.Boats[i].Colour = "laminate", "white"
		}
		plan, err := Solve(p)
		if err != nil {
			t.Fatal(err)
		}
		if len(faults(p, plan)) > 0 {
			continue
		}
		problem, _ := json.Marshal(p)
		text, _ := json.Marshal(plan)
		all = append(all, good{problem, text})
	}
	for rule, ways := range plants() {
		for name, plant := range ways {
			t.Run(rule+"/"+name, func(t *testing.T) {
				for _, g := range all {
					var p Problem
					var plan Plan
					if err := json.Unmarshal(g.problem, &p); err != nil {
						t.Fatal(err)
					}
					if err := json.Unmarshal(g.plan, &plan); err != nil {
						t.Fatal(err)
					}
					if !plant(&p, &plan) {
						continue
					}
					found := faults(p, plan)
					if !slices.ContainsFunc(found, func(f fault) bool { return f.rule == rule }) {
						t.Errorf("found only %v", found)
					}
					return
				}
				t.Fatal("none of the plans has what this fault needs")
			})
		}
	}
}
