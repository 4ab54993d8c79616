package service

import (
	"context"
	"encoding/json"
	"fmt"

	"fairwindow/daemon/store"
	"fairwindow/sensors"
	"fairwindow/sensors/payload"
)

// openFile is the feed of one file that grows, or of all files of a pattern,
// from where they were last read.
func (s *Service) openFile(name string) (feed, error) {
	f := sensors.File{Path: s.within(name), Zone: s.facts.zone, Decode: payload.Decode, Intake: s.TakeReadings, Clock: s.clock}
	for _, sensor := range s.facts.yard.Sensors {
		if sensor.File == name {
			sensor.File = f.Path
			f.Sensors = append(f.Sensors, sensor)
		}
	}
	if sensors.IsPattern(name) {
		return s.openDrop(name, f)
	}
	key := "file/" + name
	if err := s.readTo(key, &f.State); err != nil {
		return feed{}, fmt.Errorf("how far %s was read can't be recalled: %w", name, err)
	}
	file, err := sensors.NewGrowingFile(f)
	if err != nil {
		return feed{}, err
	}
	return feed{name: "file " + name, poll: func(ctx context.Context) error {
		before := file.State()
		err := file.Poll(ctx)
		if file.State() == before {
			return err
		}
		if kept := s.keepRead(ctx, key, file.State()); err == nil {
			err = kept
		}
		return err
	}}, nil
}

func (s *Service) openDrop(name string, f sensors.File) (feed, error) {
	key := "files/" + name
	drop := sensors.Drop{File: f, Keep: func(ctx context.Context, state sensors.DropState) error { return s.keepRead(ctx, key, state) }}
	if err := s.readTo(key, &drop.From); err != nil {
		return feed{}, fmt.Errorf("how far %s was read can't be recalled: %w", name, err)
	}
	folder, err := sensors.NewDropFolder(drop)
	if err != nil {
		return feed{}, err
	}
	return feed{name: "files " + name, poll: folder.Poll}, nil
}

// readTo recalls how far something was read; nothing if it never was.
func (s *Service) readTo(key string, state any) error {
	text, ok := s.remembered[key]
	if !ok {
		return nil
	}
	return json.Unmarshal(text, state)
}

// keepRead keeps how far something was read.
func (s *Service) keepRead(ctx context.Context, key string, state any) error {
	text, err := json.Marshal(state)
	if err != nil {
		return err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.remembered[key] = text
	_, err = s.commit(ctx, store.Change{Memory: map[string]json.RawMessage{key: text}})
	return err
}
