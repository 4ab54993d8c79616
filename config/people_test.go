package config

import (
	"testing"
	"time"

	"fairwindow/conditions/unit"
)

// Quiet hours are on the yard's wall clock: from 20:00 to 06:00 in summer time they are an
// hour earlier in UTC than in winter. Two that meet are one.
func TestQuietHours(t *testing.T) {
	y := Yard{Zone: "Europe/Lisbon"}
	p := Person{Name: "Ines", Quiet: []Shift{
		{Starts: "0 20 * * *", Length: unit.Duration(10 * time.Hour)},
		{Starts: "0 6 * * 0", Length: unit.Duration(3 * time.Hour)}, // Sundays until 09:00
	}}
	at := func(month time.Month, day, hour int) time.Time {
		return time.Date(2026, month, day, hour, 0, 0, 0, time.UTC)
	}
	for _, tt := range []struct {
		name     string
		from, to time.Time
		want     []Span
	}{
		{"a night in January", at(1, 6, 12), at(1, 7, 12), []Span{{at(1, 6, 20), at(1, 7, 6)}}},
		{"a night in July", at(7, 7, 12), at(7, 8, 12), []Span{{at(7, 7, 19), at(7, 8, 5)}}},
		{"into a Sunday", at(7, 4, 12), at(7, 5, 12), []Span{{at(7, 4, 19), at(7, 5, 8)}}},
	} {
		got, err := y.QuietHours(p, tt.from, tt.to)
		if err != nil || len(got) != len(tt.want) || got[0] != tt.want[0] {
			t.Errorf("%s: %v, %v, want %v", tt.name, got, err, tt.want)
		}
	}
}
