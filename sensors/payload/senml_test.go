package payload

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"fairwindow/conditions"
	"fairwindow/config"
	"fairwindow/sensors"
)

// TestSenMLOfTheRFC reads the examples of RFC 8428 (from memory, by section).
func TestSenMLOfTheRFC(t *testing.T) {
	tests := []struct {
		section, body string
		values        fields
		want          string // a reading a line: its time behind noon's day, values, flags
	}{
		{"5.1.1, one value", `[{"n":"urn:dev:ow:10e2073a01080063","u":"Cel","v":23.1}]`,
			fields{air: field("urn:dev:ow:10e2073a01080063")}, "2026-04-06T12:00:00Z air=23.1"},
		{"5.1.3, one name over values of several units, at several times",
			`[{"bn":"urn:dev:ow:10e2073a01080063","bt":1.320067464e+09,"bu":"%RH","v":20},
			  {"u":"lon","v":24.30621},{"u":"lat","v":60.07965},
			  {"t":60,"v":20.3},{"u":"lon","t":60,"v":24.30622},{"u":"lat","t":60,"v":60.07965},
			  {"t":120,"v":20.7},{"u":"lon","t":120,"v":24.30623},{"u":"lat","t":120,"v":60.07966},
			  {"u":"%EL","t":150,"v":98},
			  {"t":180,"v":21.2},{"u":"lon","t":180,"v":24.30628},{"u":"lat","t":180,"v":60.07967}]`,
			fields{rh: field("urn:dev:ow:10e2073a01080063")},
			"2011-10-31T13:24:24Z humidity=20\n2011-10-31T13:25:24Z humidity=20.3\n2011-10-31T13:26:24Z humidity=20.7\n2011-10-31T13:27:24Z humidity=21.2"},
		{"5.1.2, times before the base's", `[{"bn":"d:","bt":1.276020076001e+09,"bu":"Cel","bver":5,"n":"a","v":20.1},{"n":"a","t":-5,"v":20.2}]`,
			fields{air: field("a")}, "2010-06-08T18:01:11.001Z air=20.2\n2010-06-08T18:01:16.001Z air=20.1"},
		{"5.1.5, a switch and a word", `[{"bn":"urn:dev:ow:10e2073a01080063:","n":"temp","u":"Cel","v":23.1},{"n":"label","vs":"Machine Room"},{"n":"open","vb":false}]`,
			fields{air: field("temp"), conditions.Fan: field("open")}, "2026-04-06T12:00:00Z air=23.1 fan=0"},
		{"5.1.5, a word is no number", `[{"n":"label","vs":"Machine Room"}]`, fields{air: field("label")}, "2026-04-06T12:00:00Z|air:unreadable"},
		{"4.5.3, a time that counts from now", `[{"n":"a","u":"K","t":-30,"v":293.15}]`, fields{air: field("a")}, "2026-04-06T11:59:30Z air=20"},
		{"4.2, a sum is no value", `[{"n":"a","u":"Cel","s":1234}]`, fields{air: field("a")}, "2026-04-06T12:00:00Z|air:missing"},
		{"4.4, a newer version", `[{"bver":11,"n":"a","u":"Cel","v":20}]`, fields{air: field("a")}, "2026-04-06T12:00:00Z|unreadable"},
		{"4.4, a field that must be understood", `[{"n":"a","u":"Cel","v":20,"half_":true}]`, fields{air: field("a")}, "2026-04-06T12:00:00Z|unreadable"},
		{"4.5.3, the first time that does not count from now", `[{"n":"a","u":"Cel","t":268435456,"v":20}]`, fields{air: field("a")}, "1978-07-04T21:24:16Z air=20"},
		{"4.5.3, a time in another unit is none", `[{"n":"a","u":"Cel","t":1.7e12,"v":20}]`, fields{air: field("a")}, "2026-04-06T12:00:00Z air=20"},
		{"4.5.4, a base value, also below zero, holds until another", `[{"bv":-2,"bu":"Cel","n":"a","t":-60,"v":22},{"n":"a","t":-30,"v":21},{"bv":0,"n":"a","v":18}]`,
			fields{air: field("a")}, "2026-04-06T11:59:00Z air=20\n2026-04-06T11:59:30Z air=19\n2026-04-06T12:00:00Z air=18"},
		{"12.1, a switch's share is no frequency", `[{"n":"open","u":"Hz","v":1}]`, fields{conditions.Fan: field("open")}, "2026-04-06T12:00:00Z|fan:unreadable"},
		{"12.1, another unit only", `[{"n":"a","u":"lm","v":20}]`, fields{air: field("a")}, "2026-04-06T12:00:00Z|air:unreadable"},
	}
	for _, tt := range tests {
		t.Run(tt.section, func(t *testing.T) {
			got := Decode(config.Sensor{Name: "s", Values: tt.values}, sensors.Message{Payload: []byte(tt.body), Received: noon}, nil)
			var lines []string
			for _, r := range got {
				text := say(r)
				line := r.At.Format(time.RFC3339Nano)
				if !strings.HasPrefix(text, "|") {
					line += " "
				}
				lines = append(lines, line+text)
			}
			if said := strings.Join(lines, "\n"); said != tt.want {
				t.Errorf("got\n%s\nwant\n%s", said, tt.want)
			}
		})
	}
}

// TestSenMLUnits: units of RFC 8428, 12.1 for what we read.
func TestSenMLUnits(t *testing.T) {
	for _, tt := range []struct {
		v    conditions.Variable
		unit string
		x    float64
		want float64
	}{
		{air, "Cel", 20, 20}, {air, "K", 273.15, 0}, {rh, "%RH", 61, 61}, {conditions.WindSpeed, "m/s", 5, 5},
		{conditions.AirPressure, "Pa", 101325, 101325}, {conditions.Cloud, "/", 0.5, 0.5}, {conditions.Shortwave, "W/m2", 800, 800},
	} {
		body := fmt.Sprintf(`[{"n":"x","u":%q,"v":%g}]`, tt.unit, tt.x)
		r := decodeOne(t, config.Sensor{Name: "s", Values: fields{tt.v: field("x")}}, body, nil)
		if x, ok := r.Good(tt.v); !ok || x < tt.want-1e-9 || x > tt.want+1e-9 {
			t.Errorf("%s in %s: %v %v", tt.v, tt.unit, x, r.Flags)
		}
	}
}

// TestSenMLAgain: a time that counts from receipt does not tell a message that
// comes again from a new one.
func TestSenMLAgain(t *testing.T) {
	s := config.Sensor{Name: "s", Values: fields{air: field("a")}}
	for body, want := range map[string]string{
		`[{"n":"a","u":"Cel","t":-30,"v":20}]`:        "air=20|possible repeat",
		`[{"n":"a","u":"Cel","t":1775473200,"v":20}]`: "air=20",
	} {
		got := Decode(s, sensors.Message{Payload: []byte(body), Received: noon, Again: true}, nil)[0]
		if said := say(got); said != want {
			t.Errorf("%s: got %s, want %s", body, said, want)
		}
	}
}
