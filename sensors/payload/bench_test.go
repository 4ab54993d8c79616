package payload

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/jonboulle/clockwork"

	"fairwindow/config"
	"fairwindow/sensors"
)

// BenchmarkDecode is one message of each shape to readings, on one core.
func BenchmarkDecode(b *testing.B) {
	inside := fields{air: field("temperature"), rh: field("humidity"), skin: field("surface")}
	for _, bb := range []struct {
		name, body string
		sensor     config.Sensor
	}{
		{"number", "21.3", config.Sensor{Name: "s", Values: fields{air: {}}}},
		{"flat", `{"time": "2026-04-06T07:00:00Z", "temperature": 15.2, "humidity": 74, "surface": 14.1}`, config.Sensor{Name: "s", Time: "time", Values: inside}},
		{"nested", `{"Time":"2026-04-06T07:00:00","AHT1X-0x38":{"Temperature":24.7,"Humidity":61.9,"DewPoint":16.8},"TempUnit":"C"}`,
			config.Sensor{Name: "s", Time: "Time", Values: fields{air: field("AHT1X-0x38.Temperature"), rh: field("AHT1X-0x38.Humidity")}}},
		{"senml", `[{"bn":"d:","bt":1.7754732e9,"n":"t","u":"Cel","v":23.1},{"n":"h","u":"%RH","v":61}]`,
			config.Sensor{Name: "s", Values: fields{air: field("t"), rh: field("h")}}},
	} {
		b.Run(bb.name, func(b *testing.B) {
			m := sensors.Message{Payload: []byte(bb.body), Received: noon}
			b.ReportAllocs()
			for b.Loop() {
				if r := Decode(bb.sensor, m, time.UTC); len(r[0].Values) == 0 {
					b.Fatalf("%+v", r)
				}
			}
			b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "messages/s")
		})
	}
}

// BenchmarkFiles is a file of ten thousand rows to readings, on one core.
func BenchmarkFiles(b *testing.B) {
	for _, ending := range []string{"csv", "jsonl"} {
		b.Run(ending, func(b *testing.B) { readFile(b, ending) })
	}
}

func readFile(b *testing.B, ending string) {
	const rows = 10000
	path := filepath.Join(b.TempDir(), "log."+ending)
	var text strings.Builder
	if ending == "csv" {
		text.WriteString("time,air,humidity\n")
	}
	for i := range rows {
		at := noon.Add(time.Duration(i) * time.Second).Format(time.RFC3339)
		if ending == "csv" {
			fmt.Fprintf(&text, "%s,%d.5,61\n", at, i%30)
		} else {
			fmt.Fprintf(&text, `{"time":%q,"air":%d.5,"humidity":61}`+"\n", at, i%30)
		}
	}
	if err := os.WriteFile(path, []byte(text.String()), 0o600); err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		n := 0
		f, err := sensors.NewGrowingFile(sensors.File{
			Path: path, Sensors: []config.Sensor{{Name: "s", File: path, Time: "time", Values: fields{air: field("air"), rh: field("humidity")}}},
			Zone: time.UTC, Decode: Decode, Clock: clockwork.NewFakeClockAt(noon),
			Intake: func(_ context.Context, rs []sensors.Reading) error { n += len(rs); return nil },
		})
		if err == nil {
			err = f.Poll(b.Context())
		}
		if err != nil || n != rows {
			b.Fatalf("%d rows, %v", n, err)
		}
	}
	b.ReportMetric(float64(b.N)*rows/b.Elapsed().Seconds(), "rows/s")
}

// TestFilesComeInBatches: a long file is handed over a thousand readings at a time.
func TestFilesComeInBatches(t *testing.T) {
	path := filepath.Join(t.TempDir(), "log.jsonl")
	if err := os.WriteFile(path, []byte(strings.Repeat(`{"air":20}`+"\n", 2500)), 0o600); err != nil {
		t.Fatal(err)
	}
	var batches []int
	f, err := sensors.NewGrowingFile(sensors.File{
		Path: path, Sensors: []config.Sensor{{Name: "s", File: path, Values: fields{air: field("air")}}},
		Zone: time.UTC, Decode: Decode, Clock: clockwork.NewFakeClockAt(noon),
		Intake: func(_ context.Context, rs []sensors.Reading) error { batches = append(batches, len(rs)); return nil },
	})
	if err == nil {
		err = f.Poll(t.Context())
	}
	if err != nil || !slices.Equal(batches, []int{1000, 1000, 500}) {
		t.Errorf("batches %v, %v", batches, err)
	}
}
