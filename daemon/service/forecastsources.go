package service

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"fairwindow/conditions"
	"fairwindow/sensors"
)

// ForecastSource is how one source of forecasts does.
type ForecastSource struct {
	Name string `json:"name"`
	// Issued is the time of its newest forecast; zero if none was ever taken in.
	Issued time.Time     `json:"issued,omitzero"`
	Age    time.Duration `json:"age,omitempty"`   // since Issued
	Stale  bool          `json:"stale,omitempty"` // too old to plan by, or never there
	// Broken is what was wrong when it was last looked at, or with a file in its folder;
	// empty: nothing.
	Broken string `json:"broken,omitempty"`
	// Next is when its address is asked again; zero of a folder, which is looked at all the time.
	Next time.Time `json:"next,omitzero"`
	// Leads says that the plan goes by it now.
	Leads bool `json:"leads,omitempty"`
	// Skill is how right it was here, by leads, and how it did beside the one that was
	// ranked first, as of the last night.
	Skill conditions.Skill `json:"skill"`
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
		one := ForecastSource{Name: source.Name, Issued: is.Issued, Broken: s.brokenOf(source.Name), Leads: leading.Source == source.Name}
		if !is.Issued.IsZero() {
			one.Age = now.Sub(is.Issued)
		}
		one.Stale = !f.fresh(is, now)
		for _, feed := range s.sources.feeds {
			if feed.name == feedOf(source.Name) {
				one.Next = feed.next.Round(time.Minute) // looks are a minute apart
			}
		}
		one.Skill.Source = source.Name
		for _, skill := range f.learned.Ranking.Skills {
			if skill.Source == source.Name {
				one.Skill = skill
			}
		}
		out = append(out, one)
	}
	return out, nil
}

// brokenOf is what is wrong with a source, or with the first of its files that is no forecast.
func (s *Service) brokenOf(source string) string {
	if why, ok := s.sources.broken[feedOf(source)]; ok {
		return why
	}
	for _, name := range slices.Sorted(maps.Keys(s.sources.broken)) {
		if file, ok := strings.CutPrefix(name, badFile(source, "")); ok {
			return file + ": " + s.sources.broken[name]
		}
	}
	return ""
}

// feedOf names a forecast's source among the feeds and among what is broken.
func feedOf(source string) string { return "forecast " + source }

// Leading is the source whose forecast the plan goes by now, none if there is none, and
// how its sources were ranked in the last night.
func (s *Service) Leading(context.Context) (now string, by conditions.Ranking, err error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	leading, _ := s.facts.forecast(s.clock.Now())
	return leading.Source, s.facts.learned.Ranking, nil
}

// followLeader asks for a plan when another source's forecast leads than before: the one
// that led has become too old, has come back, or was less right than another.
func (s *Service) followLeader(now time.Time) {
	s.mu.Lock()
	defer s.mu.Unlock()
	leading, _ := s.facts.forecast(now)
	was := s.facts.leads
	s.facts.leads = leading.Source
	if was != "" && leading.Source != "" && was != leading.Source {
		s.cycle.ask(now, fmt.Sprintf("forecast %s leads, no longer %s", leading.Source, was))
		s.wake()
	}
}
