package main

import (
	"io"
	"net/http"
	"testing"
	"time"

	"github.com/sirupsen/logrus"

	"fairwindow/conditions"
	"fairwindow/config"
	"fairwindow/daemon/demo"
	"fairwindow/planner"
	"fairwindow/sensors"
)

// A page that listens for changes does not hold up the end of the daemon.
func TestListenersEndWithTheWebsite(t *testing.T) {
	y := openPlayedYard(t)
	answer, err := http.Get(y.web.url + "events")
	if err != nil {
		t.Fatal(err)
	}
	defer answer.Body.Close()
	if _, err := io.ReadAtLeast(answer.Body, make([]byte, 64), len("event: stands")); err != nil {
		t.Fatal(err)
	}
	y.web.stop()
	// A stream that its own end did not end is cut off when patience does.
	if _, err := io.ReadAll(answer.Body); err != nil {
		t.Errorf("the website's end waited for who listened, and cut him off: %v", err)
	}
}

// playedYard is the starter yard in the hands of a scheduler who releases each
// plan himself, on a clock that stands until it is stepped.
type playedYard struct {
	*stage
	boats []config.Boat
	damp  bool // what the sensors say
	state string
}

func openPlayedYard(t *testing.T, people ...config.Person) *playedYard {
	t.Helper()
	p := play{once: true, state: t.TempDir()}
	yard, boats, err := p.yard()
	if err != nil {
		t.Fatal(err)
	}
	yard.Release, yard.People = config.ByHand, people
	zone, err := yard.Location()
	if err != nil {
		t.Fatal(err)
	}
	start := time.Date(2026, time.April, 6, 9, 0, 0, 0, zone) // a Monday
	if boats, err = demo.Boats(boats, start); err != nil {
		t.Fatal(err)
	}
	log := logrus.New()
	log.SetOutput(io.Discard)
	ctx := t.Context()
	st, err := openStage(ctx, &p, yard, start, logrus.NewEntry(log), nil)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := st.close(); err != nil {
			t.Error(err)
		}
	})
	y := &playedYard{st, boats, true, p.state}
	if err := st.service.PutBoats(ctx, boats, "Ines"); err != nil {
		t.Fatal(err)
	}
	err = st.service.Press(ctx, planner.Press{
		Kind: planner.Arrived, Key: planner.Key{Boat: "Boat Dunlin"}, Place: "booth 1", Happened: start.Add(-48 * time.Hour), By: "Ines", Once: "came in",
	})
	if err != nil {
		t.Fatal(err)
	}
	if err := st.service.TakeForecast(ctx, changing(start), nil); err != nil {
		t.Fatal(err)
	}
	y.measure(t)
	y.steps(t, time.Hour)
	_, draft, err := st.service.Draft(ctx)
	if err != nil || draft == 0 {
		t.Fatalf("no draft: %v", err)
	}
	if err := st.service.Release(ctx, draft, "Ines"); err != nil {
		t.Fatal(err)
	}
	return y
}

// changing is a forecast of a day too damp even for a booth, then of mild days
// with nights too cold to paint in outdoors.
func changing(issued time.Time) sensors.Forecast {
	f := sensors.Forecast{Source: "model", Issued: issued.Add(-time.Hour).UTC(), Received: issued.UTC()}
	for at := issued.UTC().Truncate(time.Hour).Add(-time.Hour); at.Before(issued.AddDate(0, 0, 7)); at = at.Add(time.Hour) {
		w := conditions.Weather{At: at, Air: 5, DewPoint: 4, Wind: 2, Gust: 3, Cloud: .5, Sure: conditions.Foretold, AirError: .5, DewError: .5}
		switch hour := at.Hour(); {
		case at.Before(issued.Add(9 * time.Hour)):
			w.Air, w.DewPoint = 21, 20
		case hour >= 6 && hour < 19:
			w.Air, w.DewPoint, w.Shortwave = 16, 8, 300
		}
		f.Points = append(f.Points, w)
	}
	return f
}

// measure has every place's sensor report.
func (y *playedYard) measure(t *testing.T) {
	t.Helper()
	now := y.clock.Now().UTC()
	values := map[conditions.Variable]float64{
		conditions.AirTemperature: 20, conditions.RelHumidity: 55, conditions.Surface: 19.5, conditions.WindSpeed: 2, conditions.GustSpeed: 3,
	}
	if y.damp {
		values[conditions.AirTemperature], values[conditions.RelHumidity], values[conditions.Surface] = 21, 94, 20.5
	}
	var readings []sensors.Reading
	for _, s := range y.service.Yard().Sensors {
		readings = append(readings, sensors.Reading{
			Source: s.Name, Place: s.Place, At: now, Received: now, FromDevice: true, Key: s.Name + "/" + now.Format(time.RFC3339), Values: values,
		})
	}
	if err := y.service.TakeReadings(t.Context(), readings); err != nil {
		t.Fatal(err)
	}
}

// steps moves the clock on, measuring as it goes.
func (y *playedYard) steps(t *testing.T, span time.Duration) {
	t.Helper()
	for until := y.clock.Now().Add(span); y.clock.Now().Before(until); {
		y.clock.Advance(step)
		y.measure(t)
		if err := y.service.Settled(t.Context()); err != nil {
			t.Fatal(err)
		}
	}
}

// slip has a boat come in later than it was said to.
func (y *playedYard) slip(t *testing.T, name, arrives string) {
	t.Helper()
	for _, b := range y.boats {
		if b.Name == name {
			b.Arrives = arrives
			if err := y.service.PutBoats(t.Context(), []config.Boat{b}, "Ines"); err != nil {
				t.Fatal(err)
			}
		}
	}
	y.steps(t, 2*step)
}

func (y *playedYard) reported(t *testing.T, k planner.Key) planner.Progress {
	t.Helper()
	work, err := y.service.Work(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	s, ok := work.Stage(k)
	if !ok {
		t.Fatalf("there is no stage %s", k)
	}
	return s
}
