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
	putOff    putOff
	studies   studies

	foreseeing sync.Mutex // one plan of what might be at a time

	changed chan struct{} // closed and remade whenever something settles

	pasts      pasts
	accounts   accounts
	mu         sync.Mutex // one turn at a time: all below
	facts      facts
	watch      watches
	cycle      cycle
	sources    sources
	unasked    unasked
	post       post
	unsent     int                        // notices committed and not yet on the bus
	remembered map[string]json.RawMessage // the store's memory that is not the guard's
	trouble    troubles
	health     health
	leaps      leaps
	trials     trials
	solve      solver
	// reloaded is called with a new yard file in force; nil before the doors are open.
	reloaded func(context.Context, config.Yard) error
}

// sources is what hands over readings and forecasts.
type sources struct {
	feeds   []feed
	lines   []line
	relined chan struct{}     // closed and remade when lines are others
	broken  map[string]string // what is wrong with which
}

// troubles is what is said on every page until it is put right; empty: nothing.
type troubles struct {
	notKept string // why the last change could not be kept
	badYard string // what is wrong with the newest yard file, while the last good one is in force
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
		opt: opt, clock: opt.Clock, log: opt.Log, changed: make(chan struct{}),
		sources: sources{relined: make(chan struct{}), broken: map[string]string{}},
		leaps:   leaps{steady: opt.Steady}, solve: solve, studies: newStudies(),
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

	s.facts = factsOf(s.opt.Yard)
	s.facts.zone = zone
	s.health = newHealth()
	if err := s.recall(ctx); err != nil {
		return err
	}
	if s.facts.records, err = s.season(s.opt.Yard); err != nil {
		return err
	}
	if s.sources.feeds, err = s.openFeeds(); err != nil {
		return err
	}
	if s.sources.lines, err = s.openLines(); err != nil {
		return err
	}
	if err := s.learn(ctx, s.clock.Now()); err != nil {
		return err
	}
	s.cycle.review(&s.facts, &s.watch, s.clock.Now())
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
	part("studies", s.runStudies)
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
