package service

import (
	"context"
	"fmt"
	"math"
	"time"

	"fairwindow/conditions"
	"fairwindow/daemon/store"
	"fairwindow/notify/bus"
	"fairwindow/sensors"
	"fairwindow/sensors/payload"
)

func earlier(a, b time.Time) time.Time {
	if a.Before(b) {
		return a
	}
	return b
}

// surpriseAfter is how often a reading outside the outlook's spread may ask for
// a new plan: an outlook that was wrong stays wrong until the next cycle corrects it.
const surpriseAfter = time.Hour

// leastSurprise is the least miss that counts, K: about two standard deviations
// of a forecast for the next hours (published: 1.2 to 1.3 K).
const leastSurprise = 2.5

// surprised tells which reading left the spread of the outlook that the last
// plan was made from: two standard deviations, about one hour in twenty.
func (s *Service) surprised(readings []sensors.Reading, now time.Time) string {
	if now.Sub(s.cycle.at) < surpriseAfter {
		return ""
	}
	for _, r := range readings {
		ahead, ok := s.cycle.view.Ahead[r.Place]
		if !ok {
			continue
		}
		m := nearest(ahead, r.At)
		air, ok := r.Good(conditions.AirTemperature)
		doubt := math.Max(2*float64(m.AirError), leastSurprise)
		if ok && known(m.Air) && math.Abs(air-float64(m.Air)) > doubt {
			return fmt.Sprintf("%s measured %.1f °C in %s where %.1f was expected", r.Source, air, r.Place, m.Air)
		}
	}
	return ""
}

// nearest is the moment of a series closest to a time.
func nearest(series []conditions.Moment, t time.Time) conditions.Moment {
	best := nobody(t)
	gap := time.Hour
	for _, m := range series {
		if d := m.At.Sub(t).Abs(); d <= gap {
			best, gap = m, d
		}
	}
	return best
}

// nobody is a moment at which nobody measured or foretold anything.
func nobody(t time.Time) conditions.Moment {
	w := conditions.At(nil, t)
	return conditions.Moment{
		At: t, Air: w.Air, DewPoint: w.DewPoint, Coldest: w.Air, Warmest: w.Air, Wind: w.Wind, Gust: w.Gust,
		Rain: w.Rain, RainChance: w.RainChance, Sure: conditions.Unknown,
	}
}

// TakeForecast keeps a forecast and asks for a new plan if it is the newest.
func (s *Service) TakeForecast(ctx context.Context, f sensors.Forecast, raw []byte) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	now := s.clock.Now()
	_, err := s.commit(ctx, store.Change{Forecasts: []store.NewForecast{{Forecast: f, Raw: raw}}})
	if err != nil {
		return err
	}
	if s.facts.forecasts, err = s.store.LatestForecasts(ctx); err != nil {
		return err
	}
	s.health.forecasts.Inc()
	s.watch.heard("forecast "+f.Source, earlier(f.Issued, now))
	if newest, _ := s.facts.forecast(now); newest.Source == f.Source && newest.Issued.Equal(f.Issued) {
		s.cycle.ask(now, fmt.Sprintf("forecast %s of %s", f.Source, f.Issued.In(s.facts.zone).Format("Mon 15:04")))
	}
	return nil
}

// takeMessages turns a batch of device messages into readings, by the yard
// file as it stands now, and takes them in.
func (s *Service) takeMessages(ctx context.Context, batch []bus.Arrival) error {
	s.mu.Lock()
	intake, err := sensors.NewMQTT(sensors.Bus{
		Sensors: s.facts.yard.Sensors, Zone: s.facts.zone, Decode: payload.Decode,
		Intake: s.TakeReadings, Unmapped: s.unmapped,
	})
	s.mu.Unlock()
	if err != nil {
		return err
	}
	return intake.Handle(ctx, s.messages(batch))
}
