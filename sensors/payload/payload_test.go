package payload

import (
	"encoding/json"
	"math"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"fairwindow/conditions"
	"fairwindow/config"
	"fairwindow/sensors"
)

var noon = time.Date(2026, 4, 6, 12, 0, 0, 0, time.UTC)

func decodeOne(t testing.TB, s config.Sensor, body string, zone *time.Location) sensors.Reading {
	t.Helper()
	got := Decode(s, sensors.Message{Topic: "t", Payload: []byte(body), Received: noon}, zone)
	if len(got) != 1 {
		t.Fatalf("%d readings of %s", len(got), body)
	}
	return got[0]
}

func TestShapes(t *testing.T) {
	tests := []struct {
		name, body string
		values     fields
		want       string
	}{
		{"a bare number", "21.3", fields{air: {}}, "air=21.3"},
		{"a bare number with its unit", "70 F", fields{air: {}}, "air=21.1111"},
		{"a bare number with a decimal comma", "21,3", fields{air: {}}, "air=21.3"},
		{"a bare nan", "nan", fields{air: {}}, "|air:not a number"},
		{"nothing", "", fields{air: {}}, "|air:missing"},
		{"Fahrenheit by the yard file", `{"t":64.4}`, fields{air: {Path: "t", Unit: "F"}}, "air=18"},
		{"Fahrenheit by the message", `{"A":{"t":64.4},"TempUnit":"F"}`, fields{air: field("A.t")}, "air=18"},
		{"the key holds the dot", `{"a.b":1,"a":{"b":2}}`, fields{air: field("a.b")}, "air=1"},
		{"the inner key holds the dot", `{"a":{"b.c":3}}`, fields{air: field("a.b.c")}, "air=3"},
		{"a number as text", `{"t":"18.5"}`, fields{air: field("t")}, "air=18.5"},
		{"an absent key", `{"t":18}`, fields{air: field("t"), rh: field("h")}, "air=18|humidity:missing"},
		{"infinite", `{"t":-inf,"note":"nan is not infinity"}`, fields{air: field("t")}, "|air:not a number"},
		{"too large", `{"t":1e999}`, fields{air: field("t")}, "|air:not a number"},
		{"an object for a number", `{"t":{"x":1}}`, fields{air: field("t")}, "|air:unreadable"},
		{"an unknown unit", `{"t":"18 furlongs"}`, fields{air: field("t")}, "|air:unreadable"},
		{"cut off", `{"t":18`, fields{air: field("t")}, "|unreadable"},
		{"two documents", `{"t":18}{"t":19}`, fields{air: field("t")}, "|unreadable"},
		{"a number where an object should be", `18`, fields{air: field("t")}, "|unreadable"},
		{"an empty list", `[]`, fields{air: field("t")}, "|unreadable"},
		{"bytes that are no text", "\xff\xfe", fields{air: field("t")}, "|unreadable"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := decodeOne(t, config.Sensor{Name: "s", Values: tt.values}, tt.body, nil)
			if got := say(r); got != tt.want {
				t.Errorf("got %s, want %s; flags %v", got, tt.want, r.Flags)
			}
			if r.Raw == "" && tt.body != "" {
				t.Error("the message is lost")
			}
		})
	}
}

// TestSwitches: a contact says true or on, a register a number, a panel a word.
func TestSwitches(t *testing.T) {
	for _, tt := range []struct {
		of   conditions.Variable
		body string
		want float64 // −1: unreadable
	}{
		{conditions.Door, `{"f":true}`, 1}, {conditions.Door, `{"f":"Closed"}`, 0}, {conditions.Door, `{"f":"open"}`, 1},
		{conditions.Heater, `{"f":false}`, 0}, {conditions.Heater, `{"f":"ON"}`, 1}, {conditions.Heater, `{"f":"open"}`, -1},
		{conditions.BoothMode, `{"f":2}`, 2}, {conditions.BoothMode, `{"f":"spraying"}`, 1}, {conditions.BoothMode, `{"f":true}`, -1},
		{conditions.FilterPressure, `{"f":"2.5 hPa"}`, 250}, {conditions.FilterPressure, `{"f":"on"}`, -1},
		{conditions.AirTemperature, `{"f":true}`, -1},
	} {
		r := decodeOne(t, config.Sensor{Name: "s", Values: fields{tt.of: field("f")}}, tt.body, nil)
		if x, ok := r.Good(tt.of); ok != (tt.want >= 0) || ok && x != tt.want {
			t.Errorf("%s of %s: %v %v", tt.body, tt.of, x, ok)
		}
	}
}

func TestFan(t *testing.T) {
	for body, want := range map[string]float64{`{"f":true}`: 1, `{"f":"OFF"}`: 0, `{"f":1}`: 1} {
		r := decodeOne(t, config.Sensor{Name: "s", Values: fields{conditions.Fan: field("f")}}, body, nil)
		if x, ok := r.Good(conditions.Fan); !ok || x != want {
			t.Errorf("%s: %v %v", body, x, ok)
		}
	}
}

func TestDeviceTime(t *testing.T) {
	lisbon, err := time.LoadLocation("Europe/Lisbon")
	if err != nil {
		t.Fatal(err)
	}
	tests := []struct {
		name, time string
		at         string
		own        bool
		flag       sensors.Fault
	}{
		{"RFC 3339", `"2026-04-06T13:00:00+02:00"`, "2026-04-06T11:00:00Z", true, ""},
		{"seconds", `1775473200`, "2026-04-06T11:00:00Z", true, ""},
		{"milliseconds", `1775473200500`, "2026-04-06T11:00:00.5Z", true, ""},
		{"seconds as text", `"1775473200"`, "2026-04-06T11:00:00Z", true, ""},
		{"on the yard's clock", `"2026-04-06T12:00:00"`, "2026-04-06T11:00:00Z", true, ""},
		{"with a space", `"2026-04-06 12:00"`, "2026-04-06T11:00:00Z", true, ""},
		// Portugal's clocks go back at 01:00 UTC on 25 October 2026 and went forward
		// at 01:00 UTC on 29 March 2026 (EU directive 2000/84/EC).
		{"in the doubled hour", `"2025-10-26T01:30:00"`, "2025-10-26T01:30:00Z", true, sensors.NoZone},
		{"in the hour left out", `"2026-03-29T01:30:00"`, "2026-03-29T01:30:00Z", true, sensors.NoZone},
		{"never set", `"1970-01-01T00:02:11Z"`, "2026-04-06T12:00:00Z", false, ""},
		{"null", `null`, "2026-04-06T12:00:00Z", false, sensors.Missing},
		{"no time at all", `"yesterday"`, "2026-04-06T12:00:00Z", false, sensors.Unreadable},
		{"an object", `{}`, "2026-04-06T12:00:00Z", false, sensors.Unreadable},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s := config.Sensor{Name: "s", Time: "ts", Values: fields{air: field("t")}}
			r := decodeOne(t, s, `{"ts":`+tt.time+`,"t":18}`, lisbon)
			if got := r.At.Format(time.RFC3339Nano); got != tt.at || r.FromDevice != tt.own {
				t.Errorf("at %s from device %v", got, r.FromDevice)
			}
			var fault sensors.Fault
			if len(r.Flags) > 0 {
				fault = r.Flags[0].Fault
			}
			if fault != tt.flag {
				t.Errorf("flags %v, want %q", r.Flags, tt.flag)
			}
		})
	}
}

// TestKeys: a message that is sent again is known by its key; two messages in
// one second are two.
func TestKeys(t *testing.T) {
	s := config.Sensor{Name: "s", Time: "ts", Values: fields{air: field("t")}}
	key := func(body, sequence string, received time.Time) string {
		return Decode(s, sensors.Message{Payload: []byte(body), Received: received, Sequence: sequence}, nil)[0].Key
	}
	timed, later := `{"ts":1775473200,"t":18}`, noon.Add(time.Hour)
	if key(timed, "", noon) != key(timed, "", later) {
		t.Error("a resend with a device time has another key")
	}
	if key(timed, "", noon) == key(`{"ts":1775473200,"t":19}`, "", noon) {
		t.Error("two values of one second have one key")
	}
	bare := `{"t":18}`
	if key(bare, "", noon) == key(bare, "", later) {
		t.Error("two receipts without a time have one key")
	}
	if key(bare, "7", noon) != key(bare, "7", later) {
		t.Error("a resend with a sequence has another key")
	}
	if key("broken", "", noon) == key("broken too", "", noon) {
		t.Error("two unreadable messages have one key")
	}
}

// TestSenML follows RFC 8428: base fields (4.1), relative times (4.5.3), units (12.1).
func TestSenML(t *testing.T) {
	s := config.Sensor{Name: "s", Values: fields{air: field("t"), rh: field("h"), conditions.Fan: field("f")}}
	body := `[{"bn":"dev1:","bt":-60,"bu":"Cel","bv":20,"n":"t","v":1.5},{"n":"h","u":"%RH","bv":0,"v":50,"t":60},{"n":"f","vb":true},{"n":"other","v":9}]`
	got := Decode(s, sensors.Message{Payload: []byte(body), Received: noon}, nil)
	if len(got) != 2 {
		t.Fatalf("%d readings: %+v", len(got), got)
	}
	first, last := got[0], got[1]
	if !first.At.Equal(noon.Add(-time.Minute)) || first.Values[air] != 21.5 || !first.FromDevice {
		t.Errorf("first %+v", first)
	}
	// bt + t is 0: now, by our clock.
	if !last.At.Equal(noon) || last.Values[rh] != 50 || last.FromDevice {
		t.Errorf("last %+v", last)
	}
	nothing := Decode(s, sensors.Message{Payload: []byte(`[{"n":"x","v":1}]`), Received: noon}, nil)
	if say(nothing[0]) != "|unreadable" {
		t.Errorf("%+v", nothing)
	}
}

// TestAnyNumberComesBack: what a device measured is what the reading holds.
func TestAnyNumberComesBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.Float64Range(-1e6, 1e6).Draw(t, "x")
		path := rapid.StringMatching(`[A-Za-z0-9.\-]{1,12}`).Draw(t, "path")
		body, _ := json.Marshal(map[string]float64{path: x})
		r := Decode(config.Sensor{Name: "s", Values: fields{air: field(path)}}, sensors.Message{Payload: body, Received: noon}, nil)
		if y, ok := r[0].Good(air); !ok || y != x {
			t.Fatalf("%s: %v %v", body, y, ok)
		}
	})
}

func FuzzDecode(f *testing.F) {
	for _, seed := range []string{
		`{"Time":"2020-01-01T00:00:00","A":{"t":24.7,"h":61.9}}`, `{"A":{"t":nan,"h":-inf}}`, `[{"bn":"d:","bt":1.32e9,"n":"t","u":"Cel","v":23.1}]`,
		`[{"t":1},{"h":2}]`, "21.3", "nan", "", "[]", `[{"n":"t","bt":1e300,"v":1e308,"bv":1e308}]`, "\xff", `{"Time":1e99,"A":{"t":"1e999"}}`,
	} {
		f.Add([]byte(seed))
	}
	all := config.Sensor{Name: "s", Time: "Time", Values: fields{air: field("A.t"), rh: field("h"), dew: field("t")}}
	bare := config.Sensor{Name: "s", Values: fields{air: {}}}
	f.Fuzz(func(t *testing.T, body []byte) {
		for _, s := range []config.Sensor{all, bare} {
			got := Decode(s, sensors.Message{Payload: body, Received: noon}, time.UTC)
			if len(got) == 0 {
				t.Fatal("a message became nothing")
			}
			for _, r := range got {
				if _, err := json.Marshal(sensors.Check(r, nil, s, noon)); err != nil {
					t.Fatalf("cannot be stored: %v", err)
				}
				for v, x := range r.Values {
					if math.IsNaN(x) || math.IsInf(x, 0) {
						t.Fatalf("%s is %v", v, x)
					}
				}
				if r.Key == "" || len(r.Values) == 0 && len(r.Flags) == 0 {
					t.Fatalf("says nothing: %+v", r)
				}
			}
		}
	})
}

// TestDeliveredAgain: what a broker delivers again counts once where the device
// gives a time or a number, and is doubtful where it gives neither.
func TestDeliveredAgain(t *testing.T) {
	values := fields{air: field("t")}
	tests := []struct {
		name   string
		sensor config.Sensor
		body   string
		kept   bool
		same   bool // the key of both deliveries
		flag   sensors.Fault
	}{
		{"with a time", config.Sensor{Name: "s", Time: "ts", Values: values}, `{"ts":1775473200,"t":18}`, false, true, ""},
		{"with a number", config.Sensor{Name: "s", Sequence: "h.seq", Values: values}, `{"h":{"seq":7},"t":18}`, false, true, ""},
		{"with a number as a word", config.Sensor{Name: "s", Sequence: "seq", Values: values}, `{"seq":"a7","t":18}`, false, true, ""},
		{"a number is missing", config.Sensor{Name: "s", Sequence: "seq", Values: values}, `{"seq":null,"t":18}`, false, false, sensors.Repeated},
		{"with nothing", config.Sensor{Name: "s", Values: values}, `{"t":18}`, false, false, sensors.Repeated},
		{"kept by the broker, with a time", config.Sensor{Name: "s", Time: "ts", Values: values}, `{"ts":1775473200,"t":18}`, true, true, ""},
		{"kept by the broker, with a number", config.Sensor{Name: "s", Sequence: "seq", Values: values}, `{"seq":7,"t":18}`, true, true, sensors.Old},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			m := sensors.Message{Payload: []byte(tt.body), Received: noon, Kept: tt.kept}
			first := Decode(tt.sensor, m, nil)[0]
			m.Received, m.Again = noon.Add(time.Minute), true
			second := Decode(tt.sensor, m, nil)[0]
			if (first.Key == second.Key) != tt.same {
				t.Errorf("keys %q and %q", first.Key, second.Key)
			}
			var fault sensors.Fault
			for _, f := range second.Flags {
				fault = f.Fault
			}
			if fault != tt.flag || len(second.Flags) > 1 {
				t.Errorf("flags %v, want %q", second.Flags, tt.flag)
			}
			if !tt.kept && len(first.Flags) > 0 {
				t.Errorf("the first delivery is marked %v", first.Flags)
			}
		})
	}
}

// TestNumbersOfAnotherDay: a device that restarts counts from one again, and its
// readings are not taken for those of the days before.
func TestNumbersOfAnotherDay(t *testing.T) {
	s := config.Sensor{Name: "s", Sequence: "seq", Values: fields{air: field("t")}}
	m := sensors.Message{Payload: []byte(`{"seq":1,"t":18}`), Received: noon}
	today := Decode(s, m, nil)[0]
	m.Received = noon.AddDate(0, 0, 1)
	if tomorrow := Decode(s, m, nil)[0]; today.Key == tomorrow.Key {
		t.Error("the first reading of a day is taken for that of another")
	}
}

// TestWhatWouldBeRight: a note says where a message stood, what is wrong with it and
// what there is instead.
func TestWhatWouldBeRight(t *testing.T) {
	object := fields{air: field("t"), rh: field("h")}
	for _, tt := range []struct {
		values           fields
		where, body, bad string
		want             string
	}{
		{object, "", `{"t": 18, "rh": 61, "deep": {"er": 1}}`, "", `nothing at "h"; there are deep.er, rh, t`},
		{object, "", `{"t": 18}`, "", `nothing at "h"; there is t`},
		{object, "", `{"t": 18, "a": 1, "b": 1, "c": 1, "d": 1, "e": 1, "f": 1, "g": 1, "i": 1}`, "", `there are a, b, c, d, e, f, g, i and 1 more`},
		{object, "", `{}`, "", `nothing at "h"; there is nothing in it`},
		{object, "log.csv:12", `{"t": 18, "h": "damp"}`, "", `log.csv:12: "damp" is not a value; write a number, with a unit if it is not %`},
		{object, "log.csv:13", `18;61;x`, "3 cells under the 2 columns t, h", `log.csv:13: 3 cells under the 2 columns t, h`},
		{object, "", `[{"bn": "yard/", "n": "hum", "v": 1}]`, "", `no record has a name that the sensor asks for; there is yard/hum`},
		{fields{conditions.Door: {}}, "in.jsonl:2", "ajar", "", `in.jsonl:2: "ajar" is not a value; write 1 or open, 0 or shut`},
		{fields{conditions.Fan: field("f")}, "", `{"f": "1 Hz"}`, "", `"Hz" is no unit of fan, which has none; write 1 or on for running`},
	} {
		m := sensors.Message{Topic: "t", Payload: []byte(tt.body), Received: noon, Where: tt.where, Broken: tt.bad}
		r := Decode(config.Sensor{Name: "s", Values: tt.values}, m, nil)[0]
		if last := r.Flags[len(r.Flags)-1].Note; !strings.Contains(last, tt.want) {
			t.Errorf("%s: got %q, want %q", tt.body, last, tt.want)
		}
		if r.Raw != tt.body {
			t.Errorf("%s became %s", tt.body, r.Raw)
		}
	}
}
