package service

import (
	"context"
	"time"

	"fairwindow/sensors"
)

// ForecastSource is how one source of forecasts does.
type ForecastSource struct {
	Name string `json:"name"`
	// Issued is the time of its newest forecast; zero if none was ever taken in.
	Issued time.Time     `json:"issued,omitzero"`
	Age    time.Duration `json:"age,omitempty"`   // since Issued
	Stale  bool          `json:"stale,omitempty"` // too old to plan by, or never there
	// Broken is what was wrong when it was last looked at; empty: nothing.
	Broken string `json:"broken,omitempty"`
	// Next is when its address is asked again; zero of a folder, which is looked at all the time.
	Next time.Time `json:"next,omitzero"`
	// Leads says that the plan goes by it now.
	Leads bool `json:"leads,omitempty"`
}

// ForecastSources are the sources of the yard file, in its order.
func (s *Service) ForecastSources(context.Context) ([]ForecastSource, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	f, now := &s.facts, s.clock.Now()
	leading, _ := f.forecast(now)
	newest := map[string]sensors.Forecast{}
	for _, c := range f.forecasts {
		newest[c.Source] = c
	}
	var out []ForecastSource
	for _, source := range f.yard.Forecasts {
		is := newest[source.Name]
		one := ForecastSource{Name: source.Name, Issued: is.Issued, Broken: s.broken[feedOf(source.Name)], Leads: leading.Source == source.Name}
		if !is.Issued.IsZero() {
			one.Age = now.Sub(is.Issued)
		}
		one.Stale = !f.fresh(is, now)
		for _, feed := range s.feeds {
			if feed.name == feedOf(source.Name) {
				one.Next = feed.next
			}
		}
		out = append(out, one)
	}
	return out, nil
}

// feedOf names a forecast's source among the feeds and among what is broken.
func feedOf(source string) string { return "forecast " + source }
