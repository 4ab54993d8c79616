package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"time"

	mqtt "github.com/eclipse/paho.mqtt.golang"
	"github.com/jonboulle/clockwork"
	"github.com/sirupsen/logrus"

	"fairwindow/config"
	"fairwindow/config/file"
	"fairwindow/daemon/demo"
	"fairwindow/daemon/service"
	"fairwindow/notify"
	"fairwindow/planner"
)

// stage is what a play stands on: the real daemon on a played clock, its
// pages, and an MQTT client for the invented sensors.
type stage struct {
	service *service.Service
	clock   *clockwork.FakeClock
	web     *website
	sensors mqtt.Client
	ended   chan error
	stop    context.CancelFunc
}

// step is how far the played clock moves at a time.
const step = 5 * time.Minute

// foresight is how many days the weather reaches beyond the play, for the last forecasts.
const foresight = 5

func openStage(ctx context.Context, p *play, y config.Yard, start time.Time, log *logrus.Entry, heard func(notify.Notice, string)) (_ *stage, err error) {
	st := &stage{clock: clockwork.NewFakeClockAt(start), ended: make(chan error, 1)}
	defer func() {
		if err != nil {
			st.close()
		}
	}()
	st.service, err = service.New(ctx, service.Options{
		Yard: y, Folder: p.state, State: p.state, Clock: st.clock, Tick: step, Log: log, Heard: heard, Played: true,
	})
	if err != nil {
		return nil, usageError{err}
	}
	if st.web, err = openPages(st.service, y.Listen, log); err != nil {
		return nil, err
	}
	running, stop := context.WithCancel(context.WithoutCancel(ctx))
	st.stop = stop
	go func() { st.ended <- st.service.Run(running) }()

	st.sensors = mqtt.NewClient(mqtt.NewClientOptions().AddBroker("tcp://" + st.service.MQTTAddr()).SetClientID("demo-sensors").SetOrderMatters(true))
	if token := st.sensors.Connect(); token.Wait() && token.Error() != nil {
		return nil, fmt.Errorf("the invented sensors can't reach the bus: %w", token.Error())
	}
	return st, nil
}

// send publishes one sensor's message and returns when the bus has it on disk.
func (st *stage) send(ctx context.Context, m demo.Message) error {
	token := st.sensors.Publish(m.Topic, 1, false, m.Payload)
	select {
	case <-ctx.Done():
		return ctx.Err()
	case err := <-st.ended:
		st.ended <- err
		return fmt.Errorf("the daemon ended: %w", err)
	case <-token.Done():
		return token.Error()
	}
}

// play plays the days and adds what only the daemon knows to the summary.
func (st *stage) play(ctx context.Context, p *play, y config.Yard, boats []config.Boat, sky []demo.Hour) (demo.Summary, error) {
	start := st.clock.Now()
	boats, err := demo.Boats(boats, start)
	if err != nil {
		return demo.Summary{}, err
	}
	if err := st.service.PutBoats(ctx, boats, "the demo"); err != nil {
		return demo.Summary{}, err
	}
	summary, err := demo.Play(ctx, demo.Options{
		Daemon: played{st.service}, Clock: st.clock, Yard: y, Boats: boats, Sky: sky, Seed: p.seed, Days: p.days, Step: step,
		Send: st.send, ForecastDir: filepath.Join(p.state, "forecasts"), Pace: p.pace(ctx),
	})
	if err != nil && ctx.Err() == nil {
		return summary, err
	}
	after := context.WithoutCancel(ctx)
	waited, worse := st.service.Waited(after, start)
	counts, worst := st.service.NoticeCounts(after, start)
	summary.Waited, summary.Notices = map[planner.Cause]float64{}, counts
	for cause, d := range waited {
		summary.Waited[cause] = d.Hours()
	}
	return summary, errors.Join(err, worse, worst)
}

// played is the service as a play sees it.
type played struct{ *service.Service }

// Told is the plan people were last given, without its number.
func (p played) Told(ctx context.Context) (planner.Plan, error) {
	plan, _, err := p.Service.Told(ctx)
	return plan, err
}

// close ends what was begun, last thing first.
func (st *stage) close() error {
	if st.sensors != nil {
		st.sensors.Disconnect(100)
	}
	var err error
	if st.stop != nil {
		st.stop()
		err = <-st.ended
	}
	if st.web != nil {
		st.web.stop()
	}
	if st.service != nil {
		err = errors.Join(err, closed(st.service))
	}
	return err
}

// yard is the starter yard, on addresses that suit a play.
func (p *play) yard() (config.Yard, []config.Boat, error) {
	yardText, boatsText := file.Starter()
	y, mistakes := file.Yard("starter "+yardName, yardText)
	if err := mistakes.Err(); err != nil {
		return y, nil, err
	}
	boats, mistakes := file.BoatsFor(y, "starter "+boatsName, boatsText)
	if err := mistakes.Err(); err != nil {
		return y, nil, err
	}
	y = y.WithDefaults()
	// Any free ports: the play must not be in the way of a yard that runs here.
	y.Bus.Listen, y.Bus.MQTT = "127.0.0.1:0", "127.0.0.1:0"
	if p.once {
		y.Listen = "127.0.0.1:0"
	}
	if p.listen != "" {
		y.Listen = p.listen
	}
	return y, boats, nil
}

// sky is the weather to be played, hour by hour, and when the play begins. A
// yard in recorded weather stands where that was recorded.
func (p *play) sky(talk io.Writer, y *config.Yard) (time.Time, []demo.Hour, error) {
	var text []byte
	if p.weather != "" {
		var err error
		if text, err = os.ReadFile(p.weather); err != nil {
			return time.Time{}, nil, usage("the weather file %s can't be read: %w", p.weather, plain(err))
		}
		if station, ok := demo.StationOf(string(text), p.station); ok {
			p.station, y.Zone = station.Origin, station.Zone
			y.Latitude, y.Longitude = station.Site.Latitude, station.Site.Longitude
		}
	}
	zone, err := y.Location()
	if err != nil {
		return time.Time{}, nil, err
	}
	start := time.Date(2026, time.April, 6, 0, 0, 0, 0, zone)
	if p.start != "" {
		if start, err = time.ParseInLocation("2006-01-02", p.start, zone); err != nil {
			return start, nil, usage("--start: %q is not a day such as 2013-04-01", p.start)
		}
	}
	site := demo.Site{Latitude: y.Latitude, Longitude: y.Longitude}
	if p.weather == "" {
		return start, demo.Invent(p.seed, start, p.days+foresight, site), nil
	}
	sky, faults, err := demo.Recorded(p.weather, text, demo.Recording{
		Origin: p.station, From: start, To: start.AddDate(0, 0, p.days+foresight), Site: site, Zone: zone,
	})
	if err != nil {
		return start, nil, usage("%w", err)
	}
	fmt.Fprintf(talk, "%s: %d faults in this span, played to the instruments as recorded\n", p.weather, len(faults))
	year, _, err := demo.Recorded(p.weather, text, demo.Recording{
		Origin: p.station, From: time.Date(start.Year(), 1, 2, 0, 0, 0, 0, zone), To: time.Date(start.Year(), 12, 30, 0, 0, 0, 0, zone), Site: site, Zone: zone,
	})
	if err == nil {
		y.Season = demo.Season(year, zone)
	}
	return start, sky, nil
}

// truth names the weather that is played.
func (p *play) truth() string {
	if p.weather == "" {
		return fmt.Sprintf("invented, seed %d", p.seed)
	}
	return fmt.Sprintf("an invented yard in recorded weather, %s, seed %d", filepath.Base(p.weather), p.seed)
}

// newState is the folder named, or a new one under the user's state directory.
func (p *play) newState() (string, error) {
	if p.state != "" {
		return p.state, nil
	}
	base, err := stateFolder("", "demo")
	if err != nil {
		return "", err
	}
	if err := os.MkdirAll(base, 0o750); err != nil {
		return "", usage("the state folder %s can't be made: %w; name another with --state", base, plain(err))
	}
	return os.MkdirTemp(base, time.Now().Format("2006-01-02-1504-"))
}

// pace waits as long as the speed asks between two steps; nil for none.
func (p *play) pace(ctx context.Context) func(time.Duration) {
	if p.once {
		return nil
	}
	return func(played time.Duration) {
		select {
		case <-ctx.Done():
		case <-time.After(time.Duration(float64(played) / p.speed)):
		}
	}
}
