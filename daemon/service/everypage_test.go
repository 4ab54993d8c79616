package service

import (
	"slices"
	"testing"
	"time"

	"fairwindow/conditions"
	"fairwindow/config"
)

// TestPlacesUnknownForOneReasonAreOneSentence: on a first day most places are silent, and a
// page that begins with a line for each is not read.
func TestPlacesUnknownForOneReasonAreOneSentence(t *testing.T) {
	t.Parallel()
	var y config.Yard
	values := map[conditions.Variable]config.Field{conditions.AirTemperature: {Path: "t"}}
	for _, name := range []string{"shed", "tent", "slip", "yard end"} {
		y.Places = append(y.Places, config.Place{Name: name, Kind: config.Shed})
		y.Sensors = append(y.Sensors, config.Sensor{Name: name, Place: name, Values: values})
	}
	for _, tt := range []struct {
		places int
		says   string
	}{
		{1, "shed is unknown: no air temperature was measured; no humidity was measured."},
		{2, "shed and tent are unknown: no air temperature was measured; no humidity was measured."},
		{4, "shed, tent, slip and yard end are unknown: no air temperature was measured; no humidity was measured."},
	} {
		one := y
		one.Places = y.Places[:tt.places]
		s := &Service{facts: facts{yard: one.WithDefaults(), zone: time.UTC}}
		if got := s.ofPlaces(time.Date(2026, 4, 6, 8, 0, 0, 0, time.UTC)); !slices.Equal(got, []string{tt.says}) {
			t.Errorf("%d: %q", tt.places, got)
		}
	}
}
