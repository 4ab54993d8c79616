package sensors

import (
	"math"
	"strings"
	"testing"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
)

// twoProbes are three days of a booth with two sensors, of a shed and of the open air,
// a reading an hour; warp changes what one says.
func twoProbes(warp func(hour int, source string, v values)) (config.Yard, []Reading) {
	y := config.Yard{Zone: "UTC", Places: []config.Place{{Name: "booth", Kind: config.Booth}, {Name: "shed", Kind: config.Shed}}}
	for _, s := range [][2]string{{"low", "booth"}, {"high", "booth"}, {"shed", "shed"}, {"station", config.Outdoors}} {
		y.Sensors = append(y.Sensors, config.Sensor{Name: s[0], Place: s[1], Every: unit.Duration(time.Hour), Values: map[conditions.Variable]config.Field{air: {}, rh: {}}})
	}
	var all []Reading
	for h := 71; h >= 0; h-- {
		for _, s := range y.Sensors {
			day := math.Sin(float64(h) * math.Pi / 12)
			v := values{air: 15 + 3*day, rh: 70 - 10*day}
			warp(h, s.Name, v)
			r := by(s.Name, time.Duration(h)*time.Hour+5*time.Minute, v)
			r.Place = s.Place
			all = append(all, r)
		}
	}
	return y, all
}

func asks(all []Account) string {
	var words []string
	for _, a := range all {
		for _, f := range a.Asks {
			words = append(words, strings.TrimSpace(a.Source+" "+string(f.Of)+" "+string(f.Fault)))
		}
	}
	return strings.Join(words, "; ")
}

// TestDrift: a steady offset between two sensors of one place is asked about, one
// that comes and goes is not; so is the dew point of an open shed at night.
func TestDrift(t *testing.T) {
	for _, tt := range []struct {
		name string
		warp func(hour int, source string, v values)
		want string
	}{
		{"none", func(int, string, values) {}, ""},
		// √2 times 3 % is 4.24 %, √2 times 0.5 K is 0.71 K.
		{"4.3 % for three days", func(_ int, s string, v values) {
			if s == "high" {
				v[rh] += 4.3
			}
		}, "low humidity drifting from the instrument beside it; high humidity drifting from the instrument beside it"},
		{"4.2 %", func(_ int, s string, v values) {
			if s == "high" {
				v[rh] += 4.2
			}
		}, ""},
		{"0.8 K the other way", func(_ int, s string, v values) {
			if s == "low" {
				v[air] -= 0.8
			}
		}, "low air drifting from the instrument beside it; high air drifting from the instrument beside it"},
		{"5.9 % in every other hour, and as much the other way", func(h int, s string, v values) {
			if s == "high" {
				v[rh] += 5.9 * float64(h%2*2-1)
			}
		}, ""},
		{"23 hours only", func(h int, s string, v values) {
			if s == "high" && h >= 23 {
				delete(v, rh)
			} else if s == "high" {
				v[rh] += 5
			}
		}, ""},
		// 10 % more at 12 to 15 °C and 80 % are 1.9 to 2.3 K of dew point.
		{"a shed's probe at night", func(_ int, s string, v values) {
			if s == "shed" {
				v[rh] += 14
			}
		}, "shed humidity drifting from the instrument beside it"},
		{"a warm shed is no drift", func(_ int, s string, v values) {
			if s == "shed" {
				dew := conditions.DewPoint(unit.Temperature(v[air]), unit.Humidity(v[rh]))
				v[air] += 3
				v[rh] = float64(conditions.RelativeHumidity(unit.Temperature(v[air]), dew))
			}
		}, ""},
	} {
		t.Run(tt.name, func(t *testing.T) {
			y, readings := twoProbes(tt.warp)
			if got := asks(Accounts(y, readings, nil, noon)); got != tt.want {
				t.Errorf("got %q, want %q", got, tt.want)
			}
		})
	}
	y, readings := twoProbes(func(_ int, s string, v values) {
		if s == "shed" {
			v[rh] += 14
		}
	})
	y.Places[1].Dehumidifier = &config.Dehumidifier{}
	if got := asks(Accounts(y, readings, nil, noon)); got != "" {
		t.Errorf("dried air is not outdoors': %q", got)
	}
}

// TestByHand: what a person reads beside a probe checks it.
func TestByHand(t *testing.T) {
	typed := func(ago time.Duration, v values, flags ...Flag) Reading {
		r := by("P with meter", ago, v, flags...)
		r.Place = "booth"
		return r
	}
	for _, tt := range []struct {
		name    string
		hand    []Reading
		want    string
		checked bool
	}{
		{"agrees", []Reading{typed(65*time.Minute, values{air: 15.8, rh: 67})}, "", true},
		{"apart", []Reading{typed(5*time.Minute, values{air: 16.5, rh: 70})}, "low air apart from the instrument beside it; high air apart from the instrument beside it", false},
		{"set right since", []Reading{typed(65*time.Minute, values{air: 20, rh: 77}), typed(5*time.Minute, values{air: 15, rh: 71})}, "", true},
		{"doubted", []Reading{typed(5*time.Minute, values{air: 20, rh: 30}, Flag{Fault: Uncalibrated})}, "", false},
		{"a surface only", []Reading{typed(5*time.Minute, values{surface: 20})}, "", false},
	} {
		t.Run(tt.name, func(t *testing.T) {
			y, readings := twoProbes(func(int, string, values) {})
			all := Accounts(y, append(readings, tt.hand...), nil, noon)
			if got := asks(all); got != tt.want {
				t.Errorf("got %q, want %q", got, tt.want)
			}
			if all[0].Checked.IsZero() == tt.checked || !all[2].Checked.IsZero() {
				t.Errorf("checked: booth %v, shed %v", all[0].Checked, all[2].Checked)
			}
		})
	}
}

// Whoever looks for a sensor that was never heard is told where its word is waited for.
func TestAwaited(t *testing.T) {
	register := 3
	for want, s := range map[string]config.Sensor{
		"asked at 192.0.2.7:502, unit 1, for holding register 3; the pages": {Modbus: &config.Modbus{Address: "192.0.2.7:502"}, Values: map[conditions.Variable]config.Field{air: {Register: &register}}},
		"topic booth/air of broker hall,":                                   {Topic: "booth/air", Broker: "hall"},
		"topic booth/air of the program's own MQTT port,":                   {Topic: "booth/air"},
		"subject booth.air,":                                                {Subject: "booth.air"},
		"in file air.csv":                                                   {File: "air.csv"},
		`POST /v1/readings as source "low"`:                                 {},
	} {
		s.Name, s.Place = "low", "booth"
		all := Accounts(config.Yard{Zone: "UTC", Sensors: []config.Sensor{s}}, nil, nil, noon)
		if len(all) != 1 || len(all[0].Asks) != 1 || !strings.Contains(all[0].Asks[0].Note, want) {
			t.Errorf("%+v, want %q", all, want)
		}
	}
}
