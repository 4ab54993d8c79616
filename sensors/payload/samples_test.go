package payload

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"fairwindow/conditions"
	"fairwindow/config"
	"fairwindow/sensors"
)

// shared reads a file of ../shared beside the repository.
func shared(t *testing.T, path string) []byte {
	t.Helper()
	dir, err := os.Getwd()
	if err != nil {
		t.Fatal(err)
	}
	for {
		if _, err := os.Stat(filepath.Join(dir, "go.mod")); err == nil {
			break
		}
		if filepath.Dir(dir) == dir {
			t.Fatal("no go.mod above the test")
		}
		dir = filepath.Dir(dir)
	}
	body, err := os.ReadFile(filepath.Join(dir, "..", "shared", path))
	if err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatal(err)
		}
		t.Skipf("no ../shared/%s here: %v", path, err)
	}
	return body
}

type fields = map[conditions.Variable]config.Field

func field(path string) config.Field { return config.Field{Path: path} }

const (
	air  = conditions.AirTemperature
	rh   = conditions.RelHumidity
	dew  = conditions.DewPointTemp
	skin = conditions.Surface
)

// TestSamples reads every line of readings/samples.jsonl, real messages from
// public documentation and fault reports, and checks them as intake does.
func TestSamples(t *testing.T) {
	lines := bytes.Split(bytes.TrimSpace(shared(t, "readings/samples.jsonl")), []byte("\n"))
	flat := fields{air: field("temperature"), rh: field("humidity")}
	tests := []struct {
		name   string
		values fields
		time   string
		want   string // one reading a line: values, then flags
		at     string // of the first reading, if the device gave one
	}{
		{"nested", fields{air: field("AHT1X-0x38.Temperature"), rh: field("AHT1X-0x38.Humidity"), dew: field("AHT1X-0x38.DewPoint")}, "Time",
			"air=24.7 dew_point=16.8 humidity=61.9", "2020-01-01T00:00:00Z"},
		{"three probes, the third", fields{skin: field("DS18B20-3.Temperature")}, "Time", "surface=22.5", "2021-01-02T09:09:44Z"},
		{"a last will is no value", fields{air: {}}, "", "|unreadable", ""},
		{"unplugged", fields{air: field("AM2301.Temperature"), rh: field("AM2301.Humidity")}, "Time",
			"|air:missing humidity:missing", "2018-12-19T09:22:43Z"},
		{"bare nan", fields{air: field("DHT11.Temperature"), rh: field("DHT11.Humidity")}, "Time",
			"|air:not a number humidity:not a number", "2018-10-23T23:47:58Z"},
		{"nulls with a dew point of 0.0", fields{air: field("SI7021.Temperature"), rh: field("SI7021.Humidity"), dew: field("SI7021.DewPoint")}, "Time",
			"dew_point=0|air:missing dew_point:contradiction humidity:missing", "2020-05-10T00:00:00Z"},
		{"alternating nulls, temperature", flat, "", "air=28.2|humidity:missing", ""},
		{"alternating nulls, humidity", flat, "", "humidity=32.08|air:missing", ""},
		{"humidity tenfold", flat, "", "air=12.6 humidity=677|humidity:out of range", ""},
		{"−100 °C", flat, "", "air=-100 humidity=90.62|air:out of range", ""},
		{"SenML", fields{air: field("temp"), rh: field("urn:dev:ow:10e2073a01080063:rh")}, "",
			"air=23.1 humidity=67.3\nhumidity=67.5", "2011-10-31T13:24:24Z"},
	}
	if len(lines) != len(tests) {
		t.Fatalf("%d lines, %d expectations", len(lines), len(tests))
	}
	for i, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			var line struct{ Topic, Payload string }
			if err := json.Unmarshal(lines[i], &line); err != nil {
				t.Fatal(err)
			}
			received := time.Date(2026, 4, 6, 10, 0, 0, 0, time.UTC)
			if tt.at != "" {
				received, _ = time.Parse(time.RFC3339, tt.at)
				received = received.Add(time.Minute)
			}
			s := config.Sensor{Name: "s", Place: "booth", Values: tt.values, Time: tt.time}
			got := Decode(s, sensors.Message{Topic: line.Topic, Payload: []byte(line.Payload), Received: received}, time.UTC)
			var words []string
			for _, r := range got {
				if r.Raw != line.Payload {
					t.Errorf("raw %q", r.Raw)
				}
				words = append(words, say(sensors.Check(r, nil, s, received)))
			}
			if said := strings.Join(words, "\n"); said != tt.want {
				t.Errorf("got  %s\nwant %s", said, tt.want)
			}
			if got[0].FromDevice != (tt.at != "") {
				t.Errorf("from device %v", got[0].FromDevice)
			}
			if at := got[0].At.Format(time.RFC3339); tt.at != "" && at != tt.at {
				t.Errorf("at %s, want %s", at, tt.at)
			}
		})
	}
}

// TestTenfold: the yard file can mend a humidity that is sent tenfold.
func TestTenfold(t *testing.T) {
	s := config.Sensor{Name: "s", Values: fields{rh: {Path: "humidity", Scale: 0.1}}}
	r := Decode(s, sensors.Message{Payload: []byte(`{"humidity":677}`)}, nil)[0]
	if x, ok := r.Good(rh); !ok || x < 67.69 || x > 67.71 {
		t.Errorf("humidity %v %v", x, ok)
	}
}

// say words a reading's values and flags, sorted by variable.
func say(r sensors.Reading) string {
	var values, flags []string
	for _, v := range []conditions.Variable{air, dew, rh, skin, conditions.Fan} {
		if x, ok := r.Values[v]; ok {
			values = append(values, fmt.Sprintf("%s=%.6g", v, x))
		}
		for _, f := range r.Flags {
			if f.Of == v {
				flags = append(flags, fmt.Sprintf("%s:%s", v, f.Fault))
			}
		}
	}
	for _, f := range r.Flags {
		if f.Of == "" {
			flags = append(flags, string(f.Fault))
		}
	}
	out := strings.Join(values, " ")
	if len(flags) > 0 {
		out += "|" + strings.Join(flags, " ")
	}
	return out
}
