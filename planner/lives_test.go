package planner

import (
	"testing"
	"time"

	"fairwindow/conditions/unit"
	"fairwindow/config"
)

// TestLives: of what is done before a coat the last time counts, until the coat is on;
// what is done once more is not old meanwhile.
func TestLives(t *testing.T) {
	begin := time.Date(2026, 5, 4, 8, 0, 0, 0, time.UTC)
	at := func(hours float64) time.Time { return begin.Add(time.Duration(hours * float64(time.Hour))) }
	stage := func(name string, kind config.StageKind, life time.Duration, ended float64) Progress {
		p := Progress{Key: Key{Boat: "B", Area: "a", Stage: name}, Done: ended > 0}
		p.Stage = config.Stage{Name: name, Kind: kind, Life: unit.Duration(life)}
		if p.Done {
			p.Ended = at(ended)
		}
		return p
	}
	running := stage("tack again for coat", config.Wipe, 2*time.Hour, 0)
	running.Running = true
	for _, c := range []struct {
		name   string
		stages []Progress
		want   string
	}{
		{"the first to grow old first", []Progress{stage("wipe", config.Wipe, 4*time.Hour, 1), stage("tack", config.Wipe, 2*time.Hour, 2)},
			"tack 12:00, wipe 13:00"},
		{"done once more", []Progress{stage("tack", config.Wipe, 2*time.Hour, 2), stage("tack again for coat", config.Wipe, 2*time.Hour, 5)},
			"tack 15:00"},
		{"a second time more", []Progress{stage("tack again for coat", config.Wipe, 2*time.Hour, 2), stage("tack again (2) for coat", config.Wipe, 2*time.Hour, 5)},
			"tack 15:00"},
		{"being done once more", []Progress{stage("tack", config.Wipe, 2*time.Hour, 2), running}, ""},
		{"not done yet", []Progress{stage("tack", config.Wipe, 2*time.Hour, 0)}, ""},
		{"without a life", []Progress{stage("sand", config.Sand, 0, 1)}, ""},
		{"the coat is on", []Progress{stage("sand", config.Sand, 8*time.Hour, 1), stage("coat", config.Coat, 0, 3)}, ""},
		{"after a coat", []Progress{stage("coat", config.Coat, 0, 1), stage("sand", config.Sand, 8*time.Hour, 3)}, "sand 19:00"},
	} {
		t.Run(c.name, func(t *testing.T) {
			w := Work{areas: []*areaWork{{boat: "B", area: "a", stages: c.stages}}}
			got := ""
			for _, l := range w.Lives("B", "a") {
				if got != "" {
					got += ", "
				}
				got += l.What() + l.Until.Format(" 15:04")
			}
			if got != c.want {
				t.Errorf("%s, want %s", got, c.want)
			}
		})
	}
}
