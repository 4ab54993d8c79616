package sensors

import (
	"fmt"
	"strings"
	"time"

	"fairwindow/conditions"
)

// why words what is missing, and what there is of it: the newest value, its
// source, its age and its doubt.
func (s sifted) why(hasAir, hasMoisture bool) string {
	var parts []string
	if !hasAir {
		parts = append(parts, s.lacking("air temperature", conditions.AirTemperature))
	}
	if !hasMoisture {
		parts = append(parts, s.lacking("humidity", conditions.RelHumidity, conditions.DewPointTemp, conditions.WetBulbTemp))
	}
	return strings.Join(parts, "; ")
}

// noGood begins what is said of a value that was heard and is doubted.
const noGood = "no good "

func (s sifted) lacking(name string, vs ...conditions.Variable) string {
	var newest *Reading
	var of conditions.Variable
	for _, source := range s.sources {
		for i := range s.by[source] {
			for _, v := range vs {
				if r := &s.by[source][i]; speaks(*r, v) && (newest == nil || r.At.After(newest.At)) {
					newest, of = r, v
				}
			}
		}
	}
	if newest == nil {
		return "no " + name + " was measured"
	}
	age := s.now.Sub(spoken(*newest)).Round(time.Minute)
	if f, doubted := newest.doubt(of); doubted {
		return fmt.Sprintf(noGood+"%s from %s %s: %s", name, newest.Source, ago(age), aloud(f.Fault))
	}
	return fmt.Sprintf("no %s within %s: the last is %s's, %s old", name, elapsed(s.stale), newest.Source, elapsed(age))
}

// SurfaceDoubted words why a spot's newest surface value does not count; empty where none was
// heard or none is doubted.
func SurfaceDoubted(readings []Reading, at Spot, now time.Time, stale time.Duration) string {
	why := sift(readings, at, now, stale).lacking("surface temperature", conditions.Surface)
	if !strings.HasPrefix(why, noGood) {
		return ""
	}
	return why
}

// whole is a length of time as people say it: 20 s, 5 h 10 min, 12 d.
func whole(d time.Duration) string {
	switch {
	case d < time.Minute:
		return fmt.Sprintf("%.0f s", d.Seconds())
	case d >= 100*time.Hour:
		return fmt.Sprintf("%.0f d", d.Hours()/24)
	}
	return elapsed(d.Round(time.Minute))
}

// ago writes 5 min ago, and what is no minute old as one says it.
func ago(d time.Duration) string {
	if d < time.Minute {
		return "just now"
	}
	return elapsed(d) + " ago"
}

// aloud is a doubt's word for one who is no instrument maker.
func aloud(f Fault) string {
	switch f {
	case Spike:
		return "a sudden leap"
	case Contradiction:
		return "its values contradict each other"
	}
	return string(f)
}

// elapsed writes 5 h 10 min.
func elapsed(d time.Duration) string {
	h, m := int(d/time.Hour), int(d%time.Hour/time.Minute)
	switch {
	case h == 0:
		return fmt.Sprintf("%d min", m)
	case m == 0:
		return fmt.Sprintf("%d h", h)
	}
	return fmt.Sprintf("%d h %d min", h, m)
}
