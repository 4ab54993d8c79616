package service

import (
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"time"

	"fairwindow/config"
	"fairwindow/sensors"
)

// unasked are the topics and subjects on which messages came that no sensor of the yard
// file asks for, by when each last did: one letter apart from a sensor's own they look like
// its silence. They are remembered, so that fairwindow sources can tell.
type unasked struct {
	heard map[string]time.Time
	saved map[string]time.Time // as it is remembered
}

const memoryOfUnasked = "unasked"

// unaskedMost is how many topics are remembered; others of one who sends to thousands are only counted.
const unaskedMost = 50

// unmapped notes a message that no sensor asks for, and says so once for each topic.
func (s *Service) unmapped(m sensors.Message) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.health.unmapped.Inc()
	_, known := s.unasked.heard[m.Topic]
	if !known && len(s.unasked.heard) >= unaskedMost {
		return
	}
	s.unasked.heard[m.Topic] = s.clock.Now().UTC().Truncate(time.Second)
	if !known {
		s.log.WithField("topic", m.Topic).Warn("messages come on a topic that no sensor of the yard file has; they are not kept")
	}
}

// unaskedFor is how long a topic is told of after its last message, and then makes room.
const unaskedFor = 24 * time.Hour

func (u *unasked) forget(now time.Time) {
	maps.DeleteFunc(u.heard, func(_ string, at time.Time) bool { return now.Sub(at) > unaskedFor })
}

// settle is what is to be remembered: new topics at once, and others hour by hour.
func (u *unasked) settle(now time.Time) (map[string]json.RawMessage, error) {
	u.forget(now)
	due := len(u.heard) < len(u.saved)
	for topic, at := range u.heard {
		due = due || at.Sub(u.saved[topic]) >= time.Hour
	}
	if !due {
		return nil, nil
	}
	text, err := json.Marshal(u.heard)
	if err != nil {
		return nil, fmt.Errorf("the topics that nobody asks for: %w", err)
	}
	u.saved = maps.Clone(u.heard)
	return map[string]json.RawMessage{memoryOfUnasked: text}, nil
}

func (u *unasked) recall(memory map[string]json.RawMessage) error {
	heard := map[string]time.Time{}
	if text, ok := memory[memoryOfUnasked]; ok {
		if err := json.Unmarshal(text, &heard); err != nil {
			return fmt.Errorf("the topics that nobody asks for can't be recalled: %w", err)
		}
	}
	u.heard, u.saved = heard, maps.Clone(heard)
	return nil
}

// Unasked are the topics on which messages came in the last day that no sensor of a yard asks
// for, in order, from what a store remembers.
func Unasked(remembered map[string]json.RawMessage, y config.Yard, now time.Time) ([]string, error) {
	var u unasked
	if err := u.recall(remembered); err != nil {
		return nil, err
	}
	for _, s := range y.Sensors {
		delete(u.heard, s.Topic)
		delete(u.heard, s.Subject)
	}
	u.forget(now)
	return slices.Sorted(maps.Keys(u.heard)), nil
}
