package sensors

import (
	"context"
	"errors"
	"strings"
	"testing"
	"time"

	"fairwindow/config"
)

// kept is an Intake that remembers, and refuses while full is set.
type kept struct {
	readings []Reading
	full     error
}

func (k *kept) take(_ context.Context, rs []Reading) error {
	if k.full != nil {
		return k.full
	}
	k.readings = append(k.readings, rs...)
	return nil
}

// verbatim decodes nothing: the transports are tested for what they hand over.
func verbatim(s config.Sensor, m Message, zone *time.Location) []Reading {
	return []Reading{{Source: s.Name, Key: s.Name + "#" + m.Sequence, Raw: string(m.Payload), Received: m.Received, Place: zone.String()}}
}

func raws(rs []Reading) string {
	var out []string
	for _, r := range rs {
		out = append(out, r.Source+" "+r.Raw)
	}
	return strings.Join(out, "\n")
}

func TestMQTT(t *testing.T) {
	k := &kept{}
	var unmapped []string
	m, err := NewMQTT(Bus{
		Sensors: []config.Sensor{{Name: "a", Topic: "x/1"}, {Name: "b", Topic: "x/1", Zone: "Asia/Tokyo"}, {Name: "posted"}},
		Zone:    time.UTC, Decode: verbatim, Intake: k.take,
		Unmapped: func(m Message) { unmapped = append(unmapped, m.Topic) },
	})
	if err != nil {
		t.Fatal(err)
	}
	batch := []Message{{Topic: "x/1", Payload: []byte("1")}, {Topic: "", Payload: []byte("2")}, {Topic: "y", Payload: []byte("3")}}
	k.full = errors.New("disk full")
	if err := m.Handle(t.Context(), batch); !errors.Is(err, k.full) {
		t.Errorf("acknowledged: %v", err)
	}
	k.full, unmapped = nil, nil
	if err := m.Handle(t.Context(), batch); err != nil {
		t.Fatal(err)
	}
	if got := raws(k.readings); got != "a 1\nb 1" {
		t.Errorf("got %s", got)
	}
	if k.readings[1].Place != "Asia/Tokyo" {
		t.Errorf("zone %s", k.readings[1].Place)
	}
	if strings.Join(unmapped, ",") != ",y" {
		t.Errorf("unmapped %q", unmapped)
	}
}

func TestUnknownZone(t *testing.T) {
	s := []config.Sensor{{Name: "a", File: "f", Zone: "Mars/Olympus"}}
	if _, err := NewMQTT(Bus{Sensors: s}); err == nil || !strings.Contains(err.Error(), "sensor a") {
		t.Errorf("%v", err)
	}
	if _, err := NewGrowingFile(File{Path: "f", Sensors: s}); err == nil {
		t.Error("no error")
	}
}
