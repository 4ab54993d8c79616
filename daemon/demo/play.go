package demo

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"github.com/google/renameio/v2"
	"github.com/jonboulle/clockwork"

	"fairwindow/config"
	"fairwindow/planner"
)

// Daemon is what the play needs of the program it plays before.
type Daemon interface {
	// Settled returns once all that was sent is taken in and acted on.
	Settled(ctx context.Context) error
	// Told is the plan that people were last given; the zero plan before the first.
	Told(ctx context.Context) (planner.Plan, error)
	// OpenWindows are the coats that may be started now and the running coats
	// whose next pass may be: what is announced as open and not closed since.
	OpenWindows(ctx context.Context) ([]planner.Key, error)
	// Press takes what a person reports. An error ends the play.
	Press(ctx context.Context, p planner.Press) error
}

// Options are what a play needs. Everything but Pace and the defaulted figures
// is required.
type Options struct {
	Daemon Daemon
	Clock  *clockwork.FakeClock // the daemon's own; its time is where the play begins
	Yard   config.Yard
	Boats  []config.Boat // see Boats, which moves their dates to the play's
	Sky    []Hour        // from Invent or Recorded; forecasts reach only as far as it does
	Seed   uint64
	Days   int

	Step         time.Duration                        // default 5 min
	SensorsEvery time.Duration                        // default 10 min; a multiple of Step
	Send         func(context.Context, Message) error // publishes; returns when the broker has it
	ForecastDir  string                               // a document every 6 h, an hour after its issue
	Pace         func(simulated time.Duration)        // called after each step; nil: as fast as it can
}

func (o *Options) check() error {
	if o.Step == 0 {
		o.Step = 5 * time.Minute
	}
	if o.SensorsEvery == 0 {
		o.SensorsEvery = 10 * time.Minute
	}
	switch {
	case o.Daemon == nil, o.Clock == nil, o.Send == nil, o.ForecastDir == "":
		return errors.New("demo.Play needs Daemon, Clock, Send and ForecastDir")
	case o.Days < 1:
		return fmt.Errorf("demo.Play needs at least one day, not %d", o.Days)
	case o.Step < time.Minute || o.SensorsEvery < o.Step || o.SensorsEvery%o.Step != 0:
		return fmt.Errorf("demo.Play needs a step of a minute or more and sensors at a multiple of it, not %s and %s", o.Step, o.SensorsEvery)
	case len(o.Sky) < 2:
		return errors.New("demo.Play needs a sky of two hours or more")
	}
	start, end := o.Clock.Now(), o.Clock.Now().AddDate(0, 0, o.Days)
	if first, last := o.Sky[0].At, o.Sky[len(o.Sky)-1].At; start.Before(first) || end.After(last) {
		return fmt.Errorf("demo.Play: the sky reaches from %s to %s, the play from %s to %s",
			first.Format(time.RFC3339), last.Format(time.RFC3339), start.Format(time.RFC3339), end.Format(time.RFC3339))
	}
	return nil
}

// player is a play under way.
type player struct {
	Options
	world       *world
	crews       *crews
	instruments []*instrument
	forecasts   *forecaster
	begun       time.Time
	next        time.Time // issue to write
	sum         Summary
}

// Play lives through Days of the truth before a daemon: each step the truth
// moves on, instruments publish, forecasts appear, people look at the plan they
// were told and report what they did, and the clock advances; before and after
// it the daemon settles. It stops at a step's end when ctx is done.
func Play(ctx context.Context, o Options) (Summary, error) {
	if err := o.check(); err != nil {
		return Summary{}, err
	}
	o.Yard = o.Yard.WithDefaults()
	start := o.Clock.Now().UTC()
	w := newWorld(o.Seed, o.Yard, o.Sky, start)
	people, err := newCrews(o.Seed, o.Yard, o.Boats, w)
	if err != nil {
		return Summary{}, err
	}
	p := &player{
		Options: o, world: w, crews: people, begun: start,
		instruments: newInstruments(o.Seed, o.Yard.Sensors, start, o.Days),
		forecasts:   newForecaster(o.Seed, o.Sky, w.site),
		next:        start.Add(-issueDelay).Truncate(issueEvery),
	}
	p.sum = Summary{Seed: o.Seed, From: start}
	end := start.AddDate(0, 0, o.Days)
	for now := start; now.Before(end); now = o.Clock.Now().UTC() {
		if err := ctx.Err(); err != nil {
			return p.summary(now), err
		}
		if err := p.step(ctx, now); err != nil {
			return p.summary(now), fmt.Errorf("demo at %s: %w", now.Format(time.RFC3339), err)
		}
	}
	return p.summary(end), nil
}

// breath is the part of a step in which nothing new happens.
const breath = 10 * time.Second

// step lives through one step, beginning at now.
func (p *player) step(ctx context.Context, now time.Time) error {
	p.world.advance(now)
	p.crews.score.sample(p.world)
	if err := p.foretell(now); err != nil {
		return err
	}
	if now.Sub(p.begun)%p.SensorsEvery == 0 {
		if err := p.measure(ctx, now); err != nil {
			return err
		}
	}
	if err := p.Daemon.Settled(ctx); err != nil {
		return err
	}
	if err := p.people(ctx, now); err != nil {
		return err
	}
	if err := p.Daemon.Settled(ctx); err != nil {
		return err
	}
	// The daemon gathers facts for some seconds before it plans. It gets them
	// before the next step's own news, so that two plays tell one story.
	for _, d := range []time.Duration{breath, p.Step - breath} {
		p.Clock.Advance(d)
		if err := p.Daemon.Settled(ctx); err != nil {
			return err
		}
	}
	if p.Pace != nil {
		p.Pace(p.Step)
	}
	return nil
}

// foretell writes the forecasts that have come out by now.
func (p *player) foretell(now time.Time) error {
	for ; !p.next.Add(issueDelay).After(now); p.next = p.next.Add(issueEvery) {
		if err := os.MkdirAll(p.ForecastDir, 0o755); err != nil {
			return err
		}
		name := filepath.Join(p.ForecastDir, p.next.Format("20060102T1504Z")+".csv")
		if err := renameio.WriteFile(name, document(p.next, p.forecasts.issue(p.next)), 0o644); err != nil {
			return err
		}
		p.sum.Forecasts++
	}
	return nil
}

// measure has every instrument publish.
func (p *player) measure(ctx context.Context, now time.Time) error {
	for _, i := range p.instruments {
		m, ok, err := i.report(now, p.world.seen(i.Sensor))
		if err != nil {
			return err
		}
		if !ok {
			p.sum.Silent++
			continue
		}
		if err := p.Send(ctx, m); err != nil {
			return err
		}
		p.sum.Messages++
	}
	return nil
}

// people act on what they were told and report.
func (p *player) people(ctx context.Context, now time.Time) error {
	plan, err := p.Daemon.Told(ctx)
	if err != nil {
		return err
	}
	windows, err := p.Daemon.OpenWindows(ctx)
	if err != nil {
		return err
	}
	t := told{plan: plan, open: map[planner.Key]bool{}}
	for _, k := range windows {
		t.open[k] = true
	}
	presses, err := p.crews.act(now, p.Step, t)
	if err != nil {
		return err
	}
	for _, press := range presses {
		if err := p.Daemon.Press(ctx, press); err != nil {
			return fmt.Errorf("%s of %s, %s, %s was refused: %w", press.Kind, press.Key.Boat, press.Key.Area, press.Key.Stage, err)
		}
		p.sum.Presses++
	}
	return nil
}
