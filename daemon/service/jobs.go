package service

import (
	"context"
	"errors"
	"maps"
	"time"

	"github.com/go-co-op/gocron/v2"

	"fairwindow/daemon/store"
	"fairwindow/notify"
)

// job is one of the daemon's own recurring jobs. last is the time of its last
// run, so that Settled can tell whether one is still owed.
type job struct {
	name  string
	every time.Duration
	last  time.Time
	run   func(context.Context, time.Time) error
	timer gocron.Job
}

// openJobs hands the recurring jobs to the scheduler, which runs on the steady clock: a
// wall clock that is set forward or back brings no storm of missed runs, and no pause.
func (s *Service) openJobs() error {
	jobs, err := gocron.NewScheduler(
		gocron.WithClock(s.opt.Steady), gocron.WithLocation(time.UTC),
		gocron.WithLogger(cronLog{s.log.WithField("part", "jobs")}),
		gocron.WithStopTimeout(10*time.Second),
	)
	if err != nil {
		return err
	}
	s.jobs = jobs
	s.onClose("jobs", func(context.Context) error { return jobs.Shutdown() })
	s.due = []*job{
		{name: "tick", every: s.opt.Tick, run: s.lookAtTime},
		{name: "feeds", every: s.opt.Tick, run: s.readFeeds},
		{name: "retention", every: 24 * time.Hour, run: s.prune},
		{name: "learning", every: time.Hour, run: s.learn}, // it learns once a night, by the yard's clock
	}
	if s.opt.Played {
		// One after the other, so that a played clock tells one story. A real clock's
		// guard must not wait for an address that does not answer.
		s.due = []*job{{name: "feeds, learning, then tick", every: s.opt.Tick, run: s.look}, s.due[2]}
	}
	for _, j := range s.due {
		j.last = s.opt.Steady.Now()
		// Wait, not reschedule: a run whose time comes while the one before is just
		// ending must not be dropped, or a played clock would wait for it for ever.
		if j.timer, err = jobs.NewJob(gocron.DurationJob(j.every), gocron.NewTask(s.runJob, j),
			gocron.WithName(j.name), gocron.WithSingletonMode(gocron.LimitModeWait)); err != nil {
			return err
		}
	}
	return nil
}

// runJob runs a job once and says what went wrong: a job that fails is tried
// again at its next time.
func (s *Service) runJob(ctx context.Context, j *job) {
	now, ran := s.clock.Now(), s.opt.Steady.Now()
	if err := j.run(ctx, now); err != nil && ctx.Err() == nil {
		s.log.WithField("job", j.name).WithError(err).Error("a job failed; it runs again at its next time")
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	j.last = ran
	s.wake()
}

// planAtLeast is how often a plan is made though nobody reported anything: starts
// pass, forecasts age, and windows are looked for no more than days ahead.
const planAtLeast = 3 * time.Hour

// look reads what has come in files and at addresses, learns if it is night, then
// looks at the clock: one after the other, so that a played clock gives one story.
func (s *Service) look(ctx context.Context, now time.Time) error {
	return errors.Join(s.lookAtClock(ctx, now), s.readFeeds(ctx, now), s.learn(ctx, now), s.tick(ctx, now))
}

// lookAtTime looks at the clock itself, then at what time alone changes.
func (s *Service) lookAtTime(ctx context.Context, now time.Time) error {
	return errors.Join(s.lookAtClock(ctx, now), s.tick(ctx, now))
}

// tick looks at what time alone changes.
func (s *Service) tick(ctx context.Context, now time.Time) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	clocks := s.runClocks(now)
	s.cycle.review(&s.facts, &s.watch, now) // a stage becomes ready, or soon, with no new plan
	notices := s.guard(now, nil)
	memory, err := s.facts.settle(now)
	if err != nil {
		return err
	}
	topics, err := s.unasked.settle(now)
	if err != nil {
		return err
	}
	maps.Copy(memory, topics)
	if at := s.cycle.at; !at.IsZero() && now.Sub(at) >= planAtLeast {
		s.cycle.ask(now, "hours went by")
		s.wake()
	}
	if s.cycle.outlived(now) {
		s.cycle.ask(now, "what was done for a coat has become too old")
		s.wake()
	}
	if len(notices) == 0 && len(clocks) == 0 && !s.watch.dirty() && len(memory) == 0 {
		return nil
	}
	for _, n := range notices {
		switch n.Kind {
		case notify.RecoatLapsed, notify.WindowLapsed, notify.StageUnconfirmed:
			s.cycle.ask(now, notify.Title(n)) // the plan people have can no longer come true
		}
	}
	_, err = s.commit(ctx, store.Change{Notices: notices, Clocks: clocks, Memory: memory})
	return err
}

// prune forgets what retention no longer asks for.
func (s *Service) prune(ctx context.Context, now time.Time) error {
	s.mu.Lock()
	keep, set := s.facts.yard.Keep, s.leaps.lately()
	s.mu.Unlock()
	if set {
		// A clock that is years ahead for an hour must not make all that is kept look old.
		s.log.Info("nothing is thrown away for its age today: the clock was set")
		return nil
	}
	old := store.Keep{ReadingsBefore: now.Add(-keep.Readings.Std()), PlansBefore: now.Add(-keep.Plans.Std())}
	if keep.Hours > 0 {
		old.HoursBefore = now.Add(-keep.Hours.Std())
	}
	var err error
	if old.Over, err = s.warrantiesOver(ctx, now); err != nil {
		return err
	}
	_, err = s.store.Prune(ctx, old)
	s.pasts.forget()
	return err
}

// Settled returns when nothing is left to do at this time: every message
// stored, every job run, the plan made and every notice on the bus. A clock
// that is played step by step waits for it before each step.
func (s *Service) Settled(ctx context.Context) error {
	for {
		s.mu.Lock()
		owed, wait := s.owed(), s.changed
		s.mu.Unlock()
		if !owed {
			pending, err := s.bus.Pending(ctx)
			if err != nil {
				return err
			}
			s.mu.Lock()
			owed, wait = s.owed(), s.changed
			s.mu.Unlock()
			if pending == 0 && !owed && s.armed() {
				return nil
			}
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-wait:
		case <-time.After(time.Millisecond): // the broker tells nobody that its queue ran dry
			s.nudge()
		}
	}
}

// armed reports whether every job's timer is set for a time to come. A timer
// that is set only after a played clock has moved would ring a step late.
func (s *Service) armed() bool {
	now := s.opt.Steady.Now()
	for _, j := range s.due {
		if next, err := j.timer.NextRun(); err != nil || !next.After(now) {
			return false
		}
	}
	return true
}

// nudge has the cycle look at the clock again, for the same reason.
func (s *Service) nudge() {
	s.mu.Lock()
	defer s.mu.Unlock()
	if now := s.clock.Now(); !s.cycle.planning && s.cycle.owed(now) || s.post.owed(now) {
		s.wake()
	}
}

// owed reports whether something is still to be done at this time. Callers hold the turn.
func (s *Service) owed() bool {
	ran := s.opt.Steady.Now()
	for _, j := range s.due {
		if !j.last.Add(j.every).After(ran) {
			return true
		}
	}
	wall := s.clock.Now()
	return s.unsent > 0 || s.studies.open() > 0 || s.cycle.owed(wall) || s.post.owed(wall)
}
