package service

import (
	"context"
	"slices"

	"fairwindow/notify/bus"
	"fairwindow/sensors"
	"fairwindow/sensors/payload"
)

// openSubjects is the line of all sensors that publish on a subject of the bus.
// On our own server there is one without such sensors too: it takes in what was
// accepted for those of an earlier yard file.
func (s *Service) openSubjects() ([]line, error) {
	var subjects []string
	for _, sensor := range s.facts.yard.Sensors {
		if sensor.Subject != "" && !slices.Contains(subjects, sensor.Subject) {
			subjects = append(subjects, sensor.Subject)
		}
	}
	if len(subjects) == 0 && s.facts.yard.Bus.URL != "" {
		return nil, nil
	}
	intake, err := sensors.NewSubjects(sensors.Bus{
		Sensors: s.facts.yard.Sensors, Zone: s.facts.zone, Decode: payload.Decode,
		Intake: s.TakeReadings, Unmapped: s.unmapped,
	})
	if err != nil {
		return nil, err
	}
	return []line{{"subjects", func(ctx context.Context) error {
		return s.bus.Subjects(ctx, subjects, func(ctx context.Context, batch []bus.Arrival) error {
			return intake.Handle(ctx, s.messages(batch))
		})
	}}}, nil
}

// messages are arrivals as sensors know them. A message that comes again has the
// time at which it was stored first, and so is known by that.
func (s *Service) messages(batch []bus.Arrival) []sensors.Message {
	messages := make([]sensors.Message, len(batch))
	for i, a := range batch {
		messages[i] = sensors.Message{Topic: a.Topic, Payload: a.Payload, Received: a.Stored}
		if s.opt.Played {
			messages[i].Received = s.clock.Now()
		}
	}
	return messages
}
