// Package service is the program as a value: New, Run, Close. It takes in what
// sensors, forecasts and people hand over, guards what is being painted,
// plans what is open, and tells people. Everything it knows is in the store
// before it is acknowledged; everything it decides carries one time, from one
// clock.
package service

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"runtime/debug"
	"sync"
	"time"

	"github.com/go-co-op/gocron/v2"
	"github.com/jonboulle/clockwork"
	"github.com/sirupsen/logrus"

	"fairwindow/config"
	"fairwindow/daemon/store"
	"fairwindow/notify"
	"fairwindow/notify/bus"
	"fairwindow/planner"
)

// Options is what a service needs. Yard must have been checked.
type Options struct {
	Yard   config.Yard
	Folder string // where relative names in the yard file start
	State  string // folder of the database and the broker's store
	Clock  clockwork.Clock
	Steady clockwork.Clock // goes on evenly when Clock is set; default Clock, whose times on a real machine carry its own count
	Log    *logrus.Entry
	Tick   time.Duration // how often time alone is looked at; default a minute
	// Reload reads the yard file again; nil if there is none.
	Reload func() (config.Yard, error)
	// Heard is called with each notice once it is on the bus; nil for nobody.
	Heard func(notify.Notice, string)
	// Played says that the clock is played, so that the broker's own times mean nothing.
	Played bool
}

// Service is one yard's daemon.
type Service struct {
	opt   Options
	clock clockwork.Clock
	log   *logrus.Entry
	store *store.Store
	bus   *bus.Bus
	jobs  gocron.Scheduler
	due   []*job
	undo  []teardown

	gathering gathering // readings that wait for the turn

	changed chan struct{} // closed and remade whenever something settles

	mu         sync.Mutex // one turn at a time: all below
	facts      facts
	watch      watches
	cycle      cycle
	feeds      []feed
	lines      []line
	relined    chan struct{} // closed and remade when lines are others
	post       post
	unsent     int                        // notices committed and not yet on the bus
	remembered map[string]json.RawMessage // the store's memory that is not the guard's
	broken     map[string]string          // what is wrong with which source
	notKept    string                     // why the last change could not be kept; empty: it was
	badYard    string                     // what is wrong with the newest yard file; empty: it is in force
	health     health
	leaps      leaps
	solve      solver
}

// GCPercent is how much garbage a process with a service in it should let grow beside
// what is held, percent: a day of readings is held and changes slowly, and yards run on
// small machines.
const GCPercent = 30

// teardown undoes one thing that New or Run began.
type teardown struct {
	name string
	do   func(context.Context) error
}

// New opens the state folder and the bus and reads back what is known. Nothing
// runs before Run.
func New(ctx context.Context, opt Options) (*Service, error) {
	switch {
	case opt.State == "":
		return nil, errors.New("service: no state folder given")
	case opt.Clock == nil:
		return nil, errors.New("service: no clock given")
	case opt.Log == nil:
		return nil, errors.New("service: no log given")
	}
	if opt.Steady == nil {
		opt.Steady = opt.Clock
	}
	if opt.Tick == 0 {
		opt.Tick = time.Minute
	}
	opt.Yard = opt.Yard.WithDefaults()
	s := &Service{
		opt: opt, clock: opt.Clock, log: opt.Log, changed: make(chan struct{}), relined: make(chan struct{}),
		leaps: leaps{steady: opt.Steady}, solve: solve,
	}
	s.leaps.look(opt.Clock.Now())
	if err := s.open(ctx); err != nil {
		return nil, errors.Join(err, s.Close(ctx))
	}
	return s, nil
}

func (s *Service) open(ctx context.Context) error {
	zone, err := s.opt.Yard.Location()
	if err != nil {
		return err
	}
	if s.store, err = store.Open(s.opt.State); err != nil {
		return err
	}
	s.onClose("store", func(context.Context) error { return s.store.Close() })
	if s.store.LeftOpen() {
		s.log.Warn("the process before this one did not close the store; it was looked through, and what was committed is all there")
	}

	if err := s.openBus(ctx); err != nil {
		return err
	}
	s.onClose("bus", s.bus.Close)

	s.facts = facts{yard: s.opt.Yard, zone: zone}
	s.health = newHealth()
	s.broken = map[string]string{}
	if err := s.recall(ctx); err != nil {
		return err
	}
	if s.facts.records, err = s.season(s.opt.Yard); err != nil {
		return err
	}
	if s.feeds, err = s.openFeeds(); err != nil {
		return err
	}
	if s.lines, err = s.openLines(); err != nil {
		return err
	}
	if err := s.learn(ctx, s.clock.Now()); err != nil {
		return err
	}
	s.cycle.review(&s.facts, s.clock.Now())
	s.cycle.ask(s.clock.Now(), "started")
	if err := s.openAnswers(); err != nil {
		return err
	}
	debug.FreeOSMemory() // reading a day back leaves as much behind as is held
	return s.openJobs()
}

// within resolves a file named in the yard file.
func (s *Service) within(name string) string {
	if name == "" || filepath.IsAbs(name) {
		return name
	}
	return filepath.Join(s.opt.Folder, name)
}

func (s *Service) onClose(name string, do func(context.Context) error) {
	s.undo = append(s.undo, teardown{name, do})
}

// Run takes in, guards, plans and tells until ctx ends. It returns nil when it
// was asked to end, and the reason when it could not go on.
func (s *Service) Run(ctx context.Context) error {
	ctx, stop := context.WithCancelCause(ctx)
	defer stop(nil)
	var parts sync.WaitGroup
	part := func(name string, run func(context.Context) error) {
		parts.Add(1)
		go func() {
			defer parts.Done()
			if err := run(ctx); err != nil && ctx.Err() == nil {
				stop(fmt.Errorf("%s: %w", name, err))
			}
		}()
	}
	part("intake", func(ctx context.Context) error {
		if s.bus.MQTTAddr() == "" {
			return nil
		}
		return s.bus.Intake(ctx, s.takeMessages)
	})
	part("sources", s.runLines)
	part("outbox", s.runOutbox)
	part("cycle", s.runCycle)
	part("post", s.runPost)
	// What lies in the folders already is not news that may wait for the first tick.
	if err := s.readFeeds(ctx, s.clock.Now()); err != nil && ctx.Err() == nil {
		s.log.WithError(err).Warn("a source can't be read yet; it is tried again")
	}
	s.jobs.Start()
	<-ctx.Done()
	parts.Wait()
	if cause := context.Cause(ctx); !errors.Is(cause, context.Canceled) {
		return cause
	}
	return nil
}

// Close undoes what New did, last thing first.
func (s *Service) Close(ctx context.Context) error {
	var all error
	for i := len(s.undo) - 1; i >= 0; i-- {
		if err := s.undo[i].do(ctx); err != nil {
			all = errors.Join(all, fmt.Errorf("closing the %s: %w", s.undo[i].name, err))
		}
	}
	s.undo = nil
	return all
}

// MQTTAddr is where sensors publish; empty without an MQTT listener.
func (s *Service) MQTTAddr() string { return s.bus.MQTTAddr() }

// BusURL is where notices can be heard.
func (s *Service) BusURL() string { return s.bus.URL() }

// recall reads back what the store knows.
func (s *Service) recall(ctx context.Context) error {
	now := s.clock.Now()
	f := &s.facts
	rows, err := s.store.Boats(ctx)
	if err != nil {
		return err
	}
	f.boats, f.revisions = nil, map[string]int64{}
	for _, r := range rows {
		f.boats = append(f.boats, r.Boat)
		f.revisions[r.Boat.Name] = r.Revision
	}
	if f.presses, err = s.store.Presses(ctx); err != nil {
		return err
	}
	f.work = planner.Replay(f.yard, f.boats, f.presses)
	readings, err := s.store.LatestReadings(ctx, now.Add(-memoryOfReadings))
	if err != nil {
		return err
	}
	f.readings, f.histories = nil, nil
	for _, r := range readings {
		f.add(r, now)
	}
	if f.forecasts, err = s.store.LatestForecasts(ctx); err != nil {
		return err
	}
	clocks, err := s.store.Clocks(ctx)
	if err != nil {
		return err
	}
	f.clocks = map[planner.Key]planner.CoatNow{}
	for _, c := range clocks {
		f.clocks[c.Key] = c
	}
	if f.draft, _, err = s.store.LatestPlan(ctx); err != nil {
		return err
	}
	if f.told, _, err = s.store.LatestTold(ctx); err != nil {
		return err
	}
	if f.first, err = s.store.FirstTold(ctx); err != nil {
		return err
	}
	unsent, err := s.store.Unsent(ctx, math.MaxInt32)
	if err != nil {
		return err
	}
	s.unsent = len(unsent)
	if err := s.replan(ctx); err != nil {
		return err
	}
	memory, err := s.store.Memory(ctx)
	if err != nil {
		return err
	}
	s.remembered = memory
	if f.exposed, err = exposures(memory); err != nil {
		return err
	}
	if err := f.learned.recall(memory); err != nil {
		return err
	}
	if err := s.watch.recall(memory); err != nil {
		return err
	}
	for _, r := range readings {
		s.watch.heard(r.Source, earlier(r.At, now)) // a device's clock may be years ahead
	}
	return nil
}

// commit writes one change and, if that fails, forgets what memory had made of it.
func (s *Service) commit(ctx context.Context, c store.Change) (store.Committed, error) {
	c.At = s.clock.Now()
	memory, err := s.watch.changes()
	if err != nil {
		return store.Committed{}, err
	}
	if c.Memory == nil {
		c.Memory = map[string]json.RawMessage{}
	}
	for k, v := range memory {
		c.Memory[k] = v
	}
	var done store.Committed
	if err = s.address(ctx, &c); err == nil {
		done, err = s.store.Commit(ctx, c)
	}
	s.keeps(err)
	if err != nil {
		if again := s.recall(context.WithoutCancel(ctx)); again != nil {
			err = errors.Join(err, again)
		}
		return store.Committed{}, err
	}
	s.watch.saved()
	s.unsent += len(done.Notices)
	for _, d := range c.Deliveries {
		s.post.by(d.Due)
	}
	for _, h := range c.Hastened {
		s.post.by(h.Due)
	}
	s.wake()
	return done, nil
}

// wake lets whoever waits look again. Callers hold the turn.
func (s *Service) wake() {
	close(s.changed)
	s.changed = make(chan struct{})
}

// Writable tells in one line whether a state folder can be used.
func Writable(dir string) error {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return fmt.Errorf("the state folder %s can't be made: %w; name another with --state", dir, err)
	}
	return nil
}
