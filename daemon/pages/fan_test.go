package pages

import (
	"testing"
	"time"

	"fairwindow/conditions"
	"fairwindow/config"
	"fairwindow/planner"
	"fairwindow/sensors"
)

// TestFanStands: within its limits or not, no coat goes on while the fan stands; one
// that nobody has heard of lately, or of a booth that is not coated in, stops nothing.
func TestFanStands(t *testing.T) {
	fan := func(v float64, ago time.Duration) func(*fake) {
		return func(f *fake) {
			f.readings = append(f.readings, sensors.Reading{Source: "booth fan", Place: "Booth 1", At: now.Add(-ago), Values: map[conditions.Variable]float64{conditions.Fan: v}})
		}
	}
	const says = "Stop: the fan stands, and gloss coat on Kestrel topsides goes on."
	for _, c := range []struct {
		name  string
		with  func(*fake)
		stops bool
	}{
		{"stands", fan(0, 5*time.Minute), true},
		{"runs", fan(1, 5*time.Minute), false},
		{"not heard lately", fan(0, 40*time.Minute), false},
		{"not told", func(*fake) {}, false},
		{"nothing goes on", func(f *fake) {
			fan(0, time.Minute)(f)
			f.presses = append(f.presses, planner.Press{ID: 99, Kind: planner.Finished, Key: planner.Key{Boat: "Kestrel", Area: "topsides", Stage: "gloss coat"}, Happened: now})
		}, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			for _, page := range []string{"/place/Booth%201", "/boat/Kestrel"} {
				f := newFake()
				c.with(f)
				_, body := get(t, f, page)
				if c.stops {
					has(t, body, says, "Within the limits")
				} else {
					hasNot(t, body, "the fan stands")
				}
			}
		})
	}
}

// TestBoothOff: what stops a running coat stands on its page, and unknown is not on.
func TestBoothOff(t *testing.T) {
	f := newFake()
	f.yard.Sensors = append(f.yard.Sensors, config.Sensor{Name: "plant", Place: "Booth 1", Values: map[conditions.Variable]config.Field{conditions.Fan: {}}})
	_, body := get(t, f, "/place/Booth%201")
	has(t, body, "Stop: whether the fan runs is not known, and gloss coat on Kestrel topsides goes on.")
	f.readings = append(f.readings, sensors.Reading{Source: "plant", Place: "Booth 1", At: now, Values: map[conditions.Variable]float64{
		conditions.Fan: 1, conditions.Door: 1, conditions.BoothMode: 1, conditions.Heater: 0, conditions.FilterPressure: 120}})
	_, body = get(t, f, "/place/Booth%201")
	has(t, body, "Stop: the door is open, and gloss coat", "door open", "mode spraying", "heater off", "filters 120 Pa")
}
