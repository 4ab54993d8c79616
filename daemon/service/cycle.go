package service

import (
	"context"
	"encoding/json"
	"errors"
	"time"

	"github.com/sirupsen/logrus"

	"fairwindow/config"
	"fairwindow/daemon/store"
	"fairwindow/notify"
	"fairwindow/planner"
)

// errRefused is a plan that never left the house.
var errRefused = errors.New("the plan broke a rule when it was checked; it was not kept")

// debounce is how long facts may go on arriving before a plan is made of them.
const debounce = 2 * time.Second

// tryAgain is the pause after a plan that could not be made.
const tryAgain = 10 * time.Minute

// byTheRule releases plans in a yard that releases each as it is made.
const byTheRule = "rule"

// cycle is what the planner is asked for and what its last answer left for the guard.
type cycle struct {
	asked    time.Time // zero: nothing asked
	why      string
	planning bool
	at       time.Time // of the last plan, made or not
	failed   error     // why the last one was not made

	problem    planner.Problem
	view       planner.View
	candidates []candidate
	coats      []coatWatch
	lapses     []lapse
	overtaken  []candidate // of which people know an open window, and whose turn it is no more
}

// ask wants a new plan; the first reason since the last plan is kept.
func (c *cycle) ask(now time.Time, why string) {
	if c.asked.IsZero() {
		c.asked, c.why = now, why
	}
}

// owed reports whether a plan should have been made by now.
func (c *cycle) owed(now time.Time) bool {
	return c.planning || !c.asked.IsZero() && !c.asked.Add(debounce).After(now)
}

// runCycle makes one plan at a time, from the newest facts, until ctx ends.
func (s *Service) runCycle(ctx context.Context) error {
	for {
		s.mu.Lock()
		asked, wait := s.cycle.asked, s.changed
		s.mu.Unlock()
		if asked.IsZero() {
			select {
			case <-ctx.Done():
				return nil
			case <-wait:
			}
			continue
		}
		if left := asked.Add(debounce).Sub(s.clock.Now()); left > 0 {
			// A played clock may move between the two lines above and below; whoever
			// waits for us then wakes us, and we look again.
			select {
			case <-ctx.Done():
				return nil
			case <-wait:
			case <-s.clock.After(left):
			}
			continue
		}
		if err := s.plan(ctx); err != nil && ctx.Err() == nil {
			s.log.WithError(err).Error("no new plan: the last one stands; it is tried again")
			s.mu.Lock()
			s.cycle.ask(s.clock.Now().Add(tryAgain), "the last plan failed")
			s.mu.Unlock()
		}
	}
}

// plan makes, checks, keeps and announces one plan. The guard goes on while it
// is being made.
func (s *Service) plan(ctx context.Context) error {
	s.mu.Lock()
	now := s.clock.Now()
	why := s.cycle.why
	s.cycle.asked, s.cycle.why, s.cycle.planning = time.Time{}, "", true
	clocks, solve := s.runClocks(now), s.solve
	problem, err := kept(s.facts.problem(now))
	s.mu.Unlock()

	begun := time.Now() // for the metric only
	made := make(chan solved, 1)
	go func() { made <- s.solved(solve, problem, err, now) }()
	var got solved
	select {
	case got = <-made:
	case <-ctx.Done():
		return nil // nobody waits for it: the next start plans anew, and another may be waiting to
	}
	s.health.planning.Observe(time.Since(begun).Seconds())
	plan, view, broken := got.plan, got.view, got.broken

	s.mu.Lock()
	defer s.mu.Unlock()
	defer s.wake()
	s.cycle.planning = false
	s.cycle.at = now
	s.cycle.failed = got.err
	if got.err != nil {
		return got.err
	}
	if len(broken) > 0 {
		s.cycle.failed = errRefused
		s.health.refused.Inc()
		for _, b := range broken {
			s.log.WithFields(logrus.Fields{"stage": b.Key.String(), "rule": b.Rule}).Error(b.What)
		}
		return errRefused
	}
	auto := s.facts.yard.Release == config.Auto
	var notices []notify.Notice
	if auto {
		notices = s.moves(plan, now)
	}
	fresh := store.NewPlan{Plan: plan, Problem: problem, Released: auto, By: byTheRule}
	done, err := s.commit(ctx, store.Change{Plan: &fresh, Notices: notices, Clocks: clocks})
	if err != nil {
		return err
	}
	s.health.plans.Inc()
	s.log.WithFields(logrus.Fields{"plan": done.Plan, "why": why, "stages": len(plan.Stages)}).Debug("planned")
	s.facts.draft = store.PlanRow{ID: done.Plan, Plan: plan, Released: auto, At: now}
	if auto {
		s.facts.told = s.facts.draft
		if s.facts.first, err = s.store.FirstTold(ctx); err != nil {
			return err
		}
	}
	s.cycle.problem, s.cycle.view = problem, view
	s.cycle.review(&s.facts, &s.watch, now)
	guarded := s.guard(now, nil)
	if len(guarded) == 0 && !s.watch.dirty() {
		return nil
	}
	_, err = s.commit(ctx, store.Change{Notices: guarded})
	return err
}

// solved is a plan with what was seen on the way.
type solved struct {
	plan   planner.Plan
	view   planner.View
	broken []planner.Broken
	err    error
}

// solved makes a plan of a problem, unless that is broken itself, and looks ahead with it.
func (s *Service) solved(solve solver, problem planner.Problem, err error, now time.Time) (m solved) {
	if err != nil {
		return solved{err: err}
	}
	var desk *planner.Desk
	if desk, m.plan, m.broken, m.err = solve(problem); m.err == nil && len(m.broken) == 0 {
		sure := problem.Yard.Confidence
		m.view, m.err = desk.Look(s.comingCoats(m.plan, now), float64(sure.Start.SI), float64(sure.Plan.SI))
	}
	return m
}

func (s *Service) comingCoats(plan planner.Plan, now time.Time) []planner.Key {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.facts.coats(plan, &s.watch, now)
}

// solver is solve, or what a test has instead of it.
type solver func(planner.Problem) (*planner.Desk, planner.Plan, []planner.Broken, error)

// solve makes a plan, checked with other code than made it.
func solve(p planner.Problem) (*planner.Desk, planner.Plan, []planner.Broken, error) {
	desk, err := planner.Open(p)
	if err != nil {
		return nil, planner.Plan{}, nil, err
	}
	plan, broken := desk.Checked()
	return desk, plan, broken, nil
}

// kept is a problem as the store will give it back: what is solved is what is
// kept, to the last digit, so that it can be solved again and compared.
func kept(p planner.Problem) (planner.Problem, error) {
	text, err := json.Marshal(p)
	if err != nil {
		return p, err
	}
	var back planner.Problem
	err = json.Unmarshal(text, &back)
	return back, err
}

// moves are the notices that a plan's release owes to people: what was told to
// start soon and now starts at another time or place.
func (s *Service) moves(plan planner.Plan, now time.Time) []notify.Notice {
	told := map[planner.Key]planner.Planned{}
	for _, was := range s.facts.told.Plan.Stages {
		told[was.Key] = was
	}
	soon := now.Add(s.facts.yard.Notice.Ahead.Std())
	inTheWay := map[planner.Key]planner.Wait{} // of the told start
	for _, r := range plan.Retold {
		inTheWay[r.Key] = r.Why
	}
	var out []notify.Notice
	seen := map[planner.Key]bool{} // areas whose first change is told: the rest follows from it
	for _, is := range plan.Stages {
		area := planner.Key{Boat: is.Key.Boat, Area: is.Key.Area}
		if is.Stage.Skill == "" || seen[area] {
			continue // nobody is called to a cure
		}
		was, ok := told[is.Key]
		progress, _ := s.facts.work.Stage(is.Key) // it may have begun while the plan was made
		if !ok || was.Start.IsZero() || was.Start.After(soon) || progress.Running || progress.Done {
			continue
		}
		n := notify.Notice{
			Boat: is.Key.Boat, Area: is.Key.Area, Stage: is.Key.Stage, Place: is.Place, Crew: is.Crew, From: is.Start,
			Cause: moved(is, inTheWay[is.Key]),
		}
		switch {
		case is.State == planner.Unconfirmed:
			continue // it is asked about, not told to be later
		case is.Start.IsZero() || is.Start.Sub(was.Start) >= 24*time.Hour:
			n.Kind = notify.StagePutOff
		case is.Start.Sub(was.Start).Abs() >= time.Hour || is.Place != was.Place:
			n.Kind = notify.StageMoved
		default:
			continue
		}
		seen[area] = true
		s.watch.renew(ofMove, is.Key)
		_, name := s.watch.of(ofMove, is.Key)
		out = append(out, s.watch.say(name, n, now)...)
	}
	return out
}
