package service

import (
	"context"
	"encoding/json"
	"fmt"
	"time"

	"github.com/sirupsen/logrus"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
	"fairwindow/daemon/store"
	"fairwindow/sensors"
)

// What the forecast's errors are learned from. Our judgement, no source.
const (
	// lookBack is two of the times in which a pair comes to count half.
	lookBack = 60 * 24 * time.Hour
	// Errors last for hours: issues and hours that are closer teach nearly the same.
	issueEach = 6 * time.Hour
	hourEach  = 3 * time.Hour
	// farthest is the lead beyond which the plan is redone many times before it counts.
	farthest = 72 * time.Hour
	// lately is how old a reading may be to stand for the hour.
	lately = 30 * time.Minute
	// night is the yard's hour at which it learns.
	night = 3
)

// learned is what the forecasts' errors have taught, as it is remembered.
type learned struct {
	At time.Time `json:"at"`
	// What was remembered of all sources together, before each had its own.
	taught
	Sources map[string]taught  `json:"sources,omitempty"`
	Ranking conditions.Ranking `json:"ranking,omitzero"`
}

// taught is what one source's errors have taught.
type taught struct {
	Pairs      map[string]int        `json:"pairs,omitempty"` // how many, by place
	Experience conditions.Experience `json:"experience,omitzero"`
}

// of is what a source's errors have taught.
func (l *learned) of(source string) taught {
	if own, ok := l.Sources[source]; ok {
		return own
	}
	return l.taught
}

// memoryOfLearned is its name in the store's memory.
const memoryOfLearned = "learned"

// recall takes back what the store remembers; nothing was learned where it has none.
func (l *learned) recall(memory map[string]json.RawMessage) error {
	*l = learned{}
	text, ok := memory[memoryOfLearned]
	if !ok {
		return nil
	}
	if err := json.Unmarshal(text, l); err != nil {
		return fmt.Errorf("what was learned of the forecast can't be read: %w", err)
	}
	return nil
}

// habit reports whether a place's own errors were learned.
func (t taught) habit(place string) bool {
	h, ok := t.Experience.Places[place]
	return ok && (h.Air.Pairs > 0 || h.DewPoint.Pairs > 0)
}

// learn learns anew from what the store keeps, once a night: it is called often and
// does nothing if it has learned since. The guard goes on meanwhile.
func (s *Service) learn(ctx context.Context, now time.Time) error {
	s.mu.Lock()
	yard, due := s.facts.yard, s.facts.learned.At.Before(lastNight(now, s.facts.zone)) ||
		s.facts.learned.At.After(now) // learned when the clock ran ahead
	leader := s.facts.learned.Ranking.Leader
	s.mu.Unlock()
	if !due {
		return nil
	}
	begun := time.Now() // for the log only
	pairs, err := s.pairs(ctx, yard, now)
	if err != nil {
		return fmt.Errorf("learning of the forecast: %w", err)
	}
	is := learned{At: now, Sources: map[string]taught{}, Ranking: conditions.Rank(spoken(pairs), sourceNames(yard), leader, now)}
	for source, experience := range conditions.LearnEach(pairs) {
		is.Sources[source] = taught{Pairs: map[string]int{}, Experience: experience}
	}
	for _, p := range pairs {
		is.Sources[p.Source].Pairs[p.Place]++
	}
	text, err := json.Marshal(is)
	if err != nil {
		return err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.facts.learned = is
	if _, err := s.commit(ctx, store.Change{Memory: map[string]json.RawMessage{memoryOfLearned: text}}); err != nil {
		return err
	}
	s.log.WithFields(logrus.Fields{
		"pairs": len(pairs), "sources": len(is.Sources), "leader": is.Ranking.Leader, "took": time.Since(begun).Round(time.Millisecond),
	}).Info("learned of the forecasts' errors")
	return nil
}

// spoken are the pairs that sources are ranked by: those of the weather station, whose
// air is nobody's shelter, or all where there is none.
func spoken(pairs []conditions.Pair) []conditions.Pair {
	var out []conditions.Pair
	for _, p := range pairs {
		if p.Place == config.Outdoors {
			out = append(out, p)
		}
	}
	if len(out) == 0 {
		return pairs
	}
	return out
}

// sourceNames are the sources of forecasts in the yard file's order.
func sourceNames(y config.Yard) []string {
	var names []string
	for _, source := range y.Forecasts {
		names = append(names, source.Name)
	}
	return names
}

// lastNight is when the yard last had to learn.
func lastNight(now time.Time, zone *time.Location) time.Time {
	local := now.In(zone)
	at := time.Date(local.Year(), local.Month(), local.Day(), night, 0, 0, 0, zone)
	if at.After(now) {
		at = time.Date(local.Year(), local.Month(), local.Day()-1, night, 0, 0, 0, zone)
	}
	return at
}

// pairs are the forecasts as they were issued beside what was measured since:
// outdoors, and in each place that follows the weather and has a sensor of its own.
func (s *Service) pairs(ctx context.Context, y config.Yard, now time.Time) ([]conditions.Pair, error) {
	issues, err := s.store.Issues(ctx, now.Add(-lookBack), now, issueEach)
	if err != nil || len(issues) == 0 {
		return nil, err
	}
	from := issues[0].Issued
	station, err := s.observed(ctx, y, config.Outdoors, from, now)
	if err != nil {
		return nil, err
	}
	places := []string{config.Outdoors}
	observed := map[string]map[time.Time]conditions.Weather{config.Outdoors: station}
	for _, place := range y.Places {
		if y.Enclosure(place).OwnAir || !sensed(y, place.Name) {
			continue
		}
		here, err := s.observed(ctx, y, place.Name, from, now)
		if err != nil {
			return nil, err
		}
		for at, w := range here {
			// Shelter is the enclosure's part of the forecast, not an error of it.
			if place.Roofed() || !unit.Known(w.Wind) {
				w.Wind = unit.NaN[unit.Speed]()
				if out, ok := station[at]; ok {
					w.Wind = out.Wind
				}
				here[at] = w
			}
		}
		places, observed[place.Name] = append(places, place.Name), here
	}
	var pairs []conditions.Pair
	for _, issue := range issues {
		end := issue.Issued.Add(farthest)
		for at := nextHour(issue.Issued); !at.After(end) && !at.After(now); at = at.Add(hourEach) {
			foretold := conditions.At(issue.Points, at)
			if foretold.Sure != conditions.Foretold {
				continue
			}
			for _, place := range places {
				if w, ok := observed[place][at]; ok {
					pairs = append(pairs, conditions.Pair{Source: issue.Source, Place: place, Issued: issue.Issued, At: at, Forecast: foretold, Observed: w})
				}
			}
		}
	}
	return pairs, nil
}

// observed is what a place's instruments said at every third hour, where it was good.
func (s *Service) observed(ctx context.Context, y config.Yard, place string, from, to time.Time) (map[time.Time]conditions.Weather, error) {
	readings, err := s.store.Readings(ctx, store.Query{Place: place, From: from, To: to, Each: hourEach, Before: lately})
	if err != nil {
		return nil, err
	}
	spot := sensors.Spot{Place: place, Pressure: conditions.StandardPressure(y.Elevation.SI)}
	out := map[time.Time]conditions.Weather{}
	for len(readings) > 0 {
		at := nextHour(readings[0].At)
		n := 1
		for n < len(readings) && !readings[n].At.After(at) {
			n++
		}
		if m := sensors.Merge(readings[:n], spot, at, lately); m.Sure == conditions.Measured {
			w := conditions.At(nil, at)
			w.Air, w.DewPoint, w.Wind, w.Sure = m.Air, m.DewPoint, m.Wind, m.Sure
			out[at] = w
		}
		readings = readings[n:]
	}
	return out, nil
}

// nextHour is the first of the hours learned from that is not before a time.
func nextHour(t time.Time) time.Time {
	return t.UTC().Add(hourEach - 1).Truncate(hourEach)
}

// sensed reports whether a place has a sensor at all.
func sensed(y config.Yard, place string) bool {
	for _, sensor := range y.Sensors {
		if sensor.Place == place {
			return true
		}
	}
	return false
}
