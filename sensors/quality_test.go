package sensors

import (
	"encoding/json"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
)

var noon = time.Date(2026, 4, 6, 12, 0, 0, 0, time.UTC)

type values = map[conditions.Variable]float64

const (
	air     = conditions.AirTemperature
	rh      = conditions.RelHumidity
	dew     = conditions.DewPointTemp
	wet     = conditions.WetBulbTemp
	surface = conditions.Surface
)

// reading is one of source s in booth 1, received when measured.
func reading(at time.Time, v values) Reading {
	return Reading{Source: "s", Place: "booth 1", At: at, Received: at, Key: at.String(), Values: v, Raw: "raw"}
}

func TestCheck(t *testing.T) {
	flat := func(v values, from, every time.Duration) (rs []Reading) {
		for d := from; d > 0; d -= every {
			rs = append(rs, reading(noon.Add(-d), v))
		}
		return rs
	}
	counted := func(r Reading) Reading { r.Key = Key(r, "2026-04-06.118"); return r }
	device := func(r Reading) Reading { r.FromDevice = true; return r }
	late := reading(noon.Add(-5*time.Hour-10*time.Minute), values{air: 18})
	late.Received = noon
	ahead := reading(noon.Add(10*time.Minute), values{air: 18})
	ahead.Received = noon
	again := reading(noon, values{air: 18})
	lags := func(minutes int, lag time.Duration) Reading {
		r := device(reading(noon.Add(-time.Duration(minutes)*time.Minute), values{air: 18 + float64(minutes)/10}))
		r.At = r.At.Add(-lag)
		return r
	}
	tests := []struct {
		name   string
		r      Reading
		before []Reading
		sensor config.Sensor
		want   []string // of:fault
	}{
		{name: "good", r: reading(noon, values{air: 18, rh: 61, surface: 17})},
		// TRADE.md 7, case 24.
		{name: "wet bulb over dry", r: reading(noon, values{air: 19.0, wet: 19.5}), want: []string{"wet_bulb:contradiction", "air:contradiction"}},
		{name: "humidity 104", r: reading(noon, values{air: 18, rh: 104}), want: []string{"humidity:out of range"}},
		{name: "calibration 12 days over", r: reading(noon, values{air: 18}), sensor: config.Sensor{Due: "2026-03-25"}, want: []string{":calibration expired"}},
		{name: "calibration due today", r: reading(noon, values{air: 18}), sensor: config.Sensor{Due: "2026-04-06"}},
		{name: "calibration day that is none", r: reading(noon, values{air: 18}), sensor: config.Sensor{Due: "soon"}, want: []string{":calibration expired"}},
		{name: "wet bulb a tenth over by rounding", r: reading(noon, values{air: 19.0, wet: 19.1})},
		{name: "humidity 100.4 by rounding", r: reading(noon, values{air: 18, rh: 100.4})},
		{name: "power-on", r: reading(noon, values{surface: 85}), want: []string{"surface:power-on value"}},
		{name: "power-on of an air sensor", r: reading(noon, values{air: 85}), want: []string{"air:power-on value", "air:out of range"}},
		{name: "disconnected", r: reading(noon, values{surface: -127}), want: []string{"surface:out of range"}},
		{name: "−100 °C", r: reading(noon, values{air: -100}), want: []string{"air:out of range"}},
		// 1048.36 mph, one hour of weather/newark_2013_hourly.csv (EWR, public record).
		{name: "a gale of 1048 mph", r: reading(noon, values{conditions.WindSpeed: 468.66}), want: []string{"wind:out of range"}},
		{name: "dew point over air", r: reading(noon, values{air: 10, dew: 10.5}), want: []string{"dew_point:contradiction"}},
		{name: "humidity and dew point apart", r: reading(noon, values{air: 20, dew: 9.3, rh: 78}), want: []string{"humidity:contradiction", "dew_point:contradiction"}},
		{name: "clock ahead", r: ahead, want: []string{":clock ahead"}},
		{name: "old", r: late, want: []string{":old"}},
		{name: "out of order", r: device(reading(noon, values{air: 18})), before: []Reading{func() Reading {
			p := device(reading(noon.Add(time.Minute), values{air: 18}))
			p.Received = noon.Add(-time.Second)
			return p
		}()}, want: []string{":out of order"}},
		{name: "spike", r: reading(noon, values{air: 26}), before: []Reading{reading(noon.Add(-time.Minute), values{air: 18})}, want: []string{"air:spike"}},
		{name: "a rise that lasts is believed", r: reading(noon, values{air: 26}), before: []Reading{reading(noon.Add(-2*time.Minute), values{air: 18})}},
		{name: "another source's value is no spike", r: reading(noon, values{air: 26}), before: []Reading{func() Reading {
			p := reading(noon.Add(-31*time.Minute), values{air: 18})
			p.Source = "other"
			return p
		}()}},
		{name: "a hull's spots are no spikes", r: reading(noon, values{surface: 31}), before: []Reading{reading(noon.Add(-time.Minute), values{surface: 14})}},
		{name: "stuck", r: reading(noon, values{air: 18.25}), before: flat(values{air: 18.25}, 6*time.Hour, time.Hour), want: []string{"air:stuck"}},
		{name: "not yet stuck", r: reading(noon, values{air: 18.25}), before: flat(values{air: 18.25}, 5*time.Hour, time.Hour)},
		{name: "moved meanwhile", r: reading(noon, values{air: 18.25}), before: append(flat(values{air: 18.25}, 8*time.Hour, time.Hour), reading(noon.Add(-150*time.Minute), values{air: 18.27}))},
		{name: "wetted", r: reading(noon, values{rh: 100}), before: flat(values{rh: 100}, 2*time.Hour, 20*time.Minute), want: []string{"humidity:saturated"}},
		{name: "wetted, its last digit moving", r: reading(noon, values{rh: 99.6}), before: flat(values{rh: 100.2}, 2*time.Hour, 20*time.Minute), want: []string{"humidity:saturated"}},
		{name: "fog for an hour", r: reading(noon, values{rh: 100}), before: flat(values{rh: 100}, time.Hour, 10*time.Minute)},
		{name: "dried meanwhile", r: reading(noon, values{rh: 100}), before: append(flat(values{rh: 100}, 3*time.Hour, 20*time.Minute), reading(noon.Add(-90*time.Minute), values{rh: 97}))},
		{name: "a tenth of a humidity", r: reading(noon, values{air: 18, rh: 9.9}), want: []string{"humidity:out of range"}},
		{name: "a leap in ten minutes", r: reading(noon, values{air: 34}), before: []Reading{reading(noon.Add(-10*time.Minute), values{air: 18})}, want: []string{"air:spike"}},
		{name: "a booth begins to spray", r: reading(noon, values{air: 10}), before: []Reading{reading(noon.Add(-10*time.Minute), values{air: 22})}},
		{name: "a leap told twice", r: reading(noon, values{air: 34}), before: []Reading{reading(noon.Add(-20*time.Minute), values{air: 18}), func() Reading {
			p := reading(noon.Add(-10*time.Minute), values{air: 34})
			p.Flags = []Flag{{Of: air, Fault: Spike}}
			return p
		}()}},
		{name: "a wind that never changes", r: reading(noon, values{conditions.WindSpeed: 3.2}), before: flat(values{conditions.WindSpeed: 3.2}, 3*time.Hour, 20*time.Minute), want: []string{"wind:stuck"}},
		{name: "gusts under their mean", r: reading(noon, values{conditions.WindSpeed: 8, conditions.GustSpeed: 6}), want: []string{"wind:contradiction", "gust:contradiction"}},
		{name: "gusts as rounded", r: reading(noon, values{conditions.WindSpeed: 6.4, conditions.GustSpeed: 6})},
		// 20 °C dry and 17 °C wet is 74 % (TRADE.md 7, case 23).
		{name: "humidity and wet bulb apart", r: reading(noon, values{air: 20, wet: 17, rh: 61}), want: []string{"humidity:contradiction", "wet_bulb:contradiction"}},
		{name: "humidity and wet bulb together", r: reading(noon, values{air: 20, wet: 17, rh: 71})},
		{name: "a wet bulb that no air makes", r: reading(noon, values{air: 20, wet: 2, rh: 61}), want: []string{"wet_bulb:contradiction"}},
		{name: "a clock an hour behind", r: lags(0, time.Hour), before: []Reading{lags(10, time.Hour), lags(20, time.Hour), lags(30, time.Hour)}, want: []string{":clock behind"}},
		{name: "a queue that is worked off", r: lags(0, time.Hour), before: []Reading{lags(10, 80*time.Minute), lags(20, 100*time.Minute), lags(30, 2*time.Hour)}},
		{name: "apart from the one beside it", r: reading(noon, values{air: 18, rh: 61}), before: []Reading{by("other", 20*time.Minute, values{air: 19.1, rh: 68})},
			want: []string{"air:apart from the instrument beside it", "humidity:apart from the instrument beside it"}},
		{name: "within both doubts", r: reading(noon, values{air: 18, rh: 61}), before: []Reading{by("other", 20*time.Minute, values{air: 19, rh: 67})}},
		{name: "apart from what the other said before", r: reading(noon, values{air: 18}), before: []Reading{by("other", 20*time.Minute, values{air: 30}), by("other", 10*time.Minute, values{air: 18})}},
		{name: "apart from a doubtful one", r: reading(noon, values{air: 18}), before: []Reading{by("other", 20*time.Minute, values{air: 30}, Flag{Of: air, Fault: Stuck})}},
		// TRADE.md 7, case 23.
		{name: "a booth sensor and a whirled psychrometer", r: reading(noon, values{air: 20, wet: 17}), before: []Reading{by("other", time.Minute, values{air: 20, rh: 61})},
			want: []string{"humidity:apart from the instrument beside it"}},
		{name: "calm for a day", r: reading(noon, values{conditions.WindSpeed: 0}), before: flat(values{conditions.WindSpeed: 0}, 24*time.Hour, time.Hour)},
		{name: "came twice", r: again, before: []Reading{reading(noon.Add(-time.Millisecond), values{air: 18})}, want: []string{":possible repeat"}},
		{name: "the same a minute later", r: again, before: []Reading{reading(noon.Add(-time.Minute), values{air: 18})}},
		{name: "sooner than the sensor sends", r: again, before: []Reading{reading(noon.Add(-time.Minute), values{air: 18})},
			sensor: config.Sensor{Every: unit.Duration(10 * time.Minute)}, want: []string{":possible repeat"}},
		{name: "of another number", r: counted(again), before: []Reading{reading(noon.Add(-time.Minute), values{air: 18})},
			sensor: config.Sensor{Every: unit.Duration(10 * time.Minute)}},
		{name: "a fan that says again that it runs", r: reading(noon, values{conditions.Fan: 1}), before: []Reading{reading(noon.Add(-time.Minute), values{conditions.Fan: 1})},
			sensor: config.Sensor{Every: unit.Duration(10 * time.Minute)}},
		{name: "a fan and the filters as before", r: reading(noon, values{conditions.Fan: 1, conditions.FilterPressure: 120}), before: []Reading{reading(noon.Add(-time.Minute), values{conditions.Fan: 1, conditions.FilterPressure: 120})},
			sensor: config.Sensor{Every: unit.Duration(10 * time.Minute)}, want: []string{"filter_pressure:possible repeat"}},
	}
	machine := regexp.MustCompile(`\dm\d|\d(ms|s)\b`) // a duration as Go writes it: 6h0m0s
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got := Check(tt.r, tt.before, tt.sensor, noon)
			var flags []string
			for _, f := range got.Flags {
				flags = append(flags, string(f.Of)+":"+string(f.Fault))
				if machine.MatchString(f.Note) {
					t.Errorf("people are told %q", f.Note)
				}
			}
			if !slices.Equal(flags, tt.want) {
				t.Errorf("got %q, want %q: %+v", flags, tt.want, got.Flags)
			}
			if kept := got.Raw != ""; kept != (len(tt.want) > 0) {
				t.Errorf("raw kept: %v", kept)
			}
			if !same(got.Values, tt.r.Values) {
				t.Errorf("values changed to %v", got.Values)
			}
		})
	}
}

func anyReading(t *rapid.T, source string) Reading {
	v := values{}
	for _, of := range order {
		if rapid.Bool().Draw(t, "has "+string(of)) {
			v[of] = rapid.Float64Range(-150, 150).Draw(t, string(of))
		}
	}
	at := noon.Add(-time.Duration(rapid.IntRange(-30, 600).Draw(t, "age")) * time.Minute)
	r := reading(at, v)
	r.Source = source
	return r
}

// TestCheckMarksOnce: nothing is dropped, nothing is forgotten, and a second
// check of the same reading changes nothing.
func TestCheckMarksOnce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := anyReading(t, "s")
		before := []Reading{anyReading(t, "s"), anyReading(t, "s")}
		r.Flags = []Flag{{Of: air, Fault: Missing}}
		once := Check(r, before, config.Sensor{}, noon)
		if !same(once.Values, r.Values) || once.Flags[0] != r.Flags[0] || len(r.Flags) != 1 {
			t.Fatal("a value or a flag was lost, or the argument was changed")
		}
		twice := Check(once, before, config.Sensor{}, noon)
		a, _ := json.Marshal(once)
		b, _ := json.Marshal(twice)
		if string(a) != string(b) {
			t.Fatalf("%s\n%s", a, b)
		}
	})
}

// TestWhole: a length of time in a note is one that people say.
func TestWhole(t *testing.T) {
	for d, want := range map[time.Duration]string{
		20066705386 * time.Nanosecond: "20 s", 90 * time.Second: "2 min", 310 * time.Minute: "5 h 10 min", 27081 * time.Hour: "1128 d",
	} {
		if got := whole(d); got != want {
			t.Errorf("%s is %q, want %q", d, got, want)
		}
	}
}

// What is out of range names the unit that may be missing, and a clock ahead the zone, of a sensor
// of the yard file; of what somebody typed it can't be that.
func TestDoubtSaysWhatToWrite(t *testing.T) {
	ahead := by("low", -time.Hour, values{air: 20, rh: 50})
	ahead.Received = noon
	for _, tt := range []struct {
		r      Reading
		sensor config.Sensor
		fault  Fault
		want   string
		says   bool
	}{
		{by("low", 0, values{air: 292}), config.Sensor{Name: "low"}, OutOfRange, "write that at unit:", true},
		{by("low", 0, values{air: 292}), config.Sensor{}, OutOfRange, "write that at unit:", false},
		{ahead, config.Sensor{Name: "low"}, FromFuture, "write at zone: by which it goes", true},
	} {
		found := false
		for _, f := range Check(tt.r, nil, tt.sensor, noon).Flags {
			if f.Fault == tt.fault {
				found = true
				if strings.Contains(f.Note, tt.want) != tt.says {
					t.Errorf("%s of %q: %q", tt.fault, tt.sensor.Name, f.Note)
				}
			}
		}
		if !found {
			t.Errorf("%+v is not doubted: %s", tt.r, tt.fault)
		}
	}
}
