package sensors

import (
	"context"
	"time"

	"fairwindow/config"
)

// Mapping turns messages of a bus into readings.
type Mapping struct {
	options Bus
	topics  map[string][]config.Sensor
	zones   map[string]*time.Location
}

// Bus is what a Mapping needs.
type Bus struct {
	Sensors  []config.Sensor // those without a topic, or of another broker, are ignored
	Broker   string          // the yard file's name of it; empty: our own
	Zone     *time.Location  // the yard's
	Decode   Decode
	Intake   Intake
	Unmapped func(Message) // told of each message that no sensor asks for; may be nil
}

// NewMQTT maps the topics of one broker. It checks the sensors' zones.
func NewMQTT(b Bus) (*Mapping, error) {
	return newMapping(b, func(s config.Sensor) string {
		if s.Broker != b.Broker {
			return ""
		}
		return s.Topic
	})
}

// NewSubjects maps subjects of NATS.
func NewSubjects(b Bus) (*Mapping, error) {
	return newMapping(b, func(s config.Sensor) string { return s.Subject })
}

func newMapping(b Bus, topic func(config.Sensor) string) (*Mapping, error) {
	m := &Mapping{options: b, topics: map[string][]config.Sensor{}}
	for _, s := range b.Sensors {
		if t := topic(s); t != "" {
			m.topics[t] = append(m.topics[t], s)
		}
	}
	var err error
	m.zones, err = zones(b.Sensors, b.Zone)
	return m, err
}

// Handle takes one batch in. The batch may be acknowledged when it returns nil:
// all of its readings are then on disk. Several sensors may ask for one topic;
// each gets its reading of each message. A message of a topic that nobody asks
// for is not a reading: it is handed to Unmapped and counts as taken in.
func (m *Mapping) Handle(ctx context.Context, batch []Message) error {
	var readings []Reading
	for _, msg := range batch {
		wanted := m.topics[msg.Topic]
		if len(wanted) == 0 && m.options.Unmapped != nil {
			m.options.Unmapped(msg)
		}
		for _, s := range wanted {
			readings = append(readings, m.options.Decode(s, msg, m.zones[s.Name])...)
		}
	}
	if len(readings) == 0 {
		return nil
	}
	return m.options.Intake(ctx, readings)
}
