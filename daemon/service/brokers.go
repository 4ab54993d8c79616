package service

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"

	"fairwindow/config"
	"fairwindow/sensors"
	"fairwindow/sensors/payload"
)

// openBrokers makes a line of each broker that a sensor's topic comes from.
func (s *Service) openBrokers() ([]line, error) {
	var lines []line
	for _, b := range s.facts.yard.Brokers {
		var topics []string
		for _, sensor := range s.facts.yard.Sensors {
			if sensor.Broker == b.Name && sensor.Topic != "" {
				topics = append(topics, sensor.Topic)
			}
		}
		if len(topics) == 0 {
			continue
		}
		one, err := s.openBroker(b, topics)
		if err != nil {
			return nil, fmt.Errorf("broker %s: %w", b.Name, err)
		}
		lines = append(lines, one)
	}
	return lines, nil
}

func (s *Service) openBroker(b config.Broker, topics []string) (line, error) {
	password, err := s.secret(b.Password)
	if err != nil {
		return line{}, err
	}
	trust, err := s.trusted(b.CA)
	if err != nil {
		return line{}, err
	}
	var broker *sensors.Broker
	intake, err := sensors.NewMQTT(sensors.Bus{
		Sensors: s.facts.yard.Sensors, Broker: b.Name, Zone: s.facts.zone, Decode: payload.Decode, Intake: s.TakeReadings,
		Unmapped: func(m sensors.Message) {
			s.unmapped(m)
			broker.Drop(m.Topic) // an earlier yard file asked for it
		},
	})
	if err != nil {
		return line{}, err
	}
	name := "broker " + b.Name
	broker = sensors.NewBroker(sensors.Subscription{
		URL: b.URL, Client: client(s.facts.yard.Name, b), User: b.User, Password: password, TLS: trust, Topics: topics,
		Handle: intake.Handle, Clock: s.clock, State: func(err error) { s.state(name, err) },
	})
	return line{name, broker.Run}, nil
}

// client is the name by which a broker knows us again. A broker need not take
// more than 23 letters and digits (MQTT 3.1.1, 3.1.3.1).
func client(yard string, b config.Broker) string {
	if b.Client != "" {
		return b.Client
	}
	sum := sha256.Sum256([]byte(yard + "\x00" + b.Name))
	return "fairwindow" + hex.EncodeToString(sum[:6])
}
