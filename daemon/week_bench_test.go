package main

import (
	"fmt"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"syscall"
	"testing"
	"time"

	"github.com/sirupsen/logrus"

	"fairwindow/config"
)

// BenchmarkWeek is how long the scheduler waits for his week over a real store: forty boats
// that come in over eight weeks, a day of readings and the plan of them. The least is told,
// and the processor's time, asking included, for others use the machine too; the first time
// after a start is left out.
func BenchmarkWeek(b *testing.B) {
	log := logrus.New()
	log.SetOutput(io.Discard)
	p := play{once: true, state: filepath.Join(b.TempDir(), "state"), days: 1, seed: 1}
	if err := os.MkdirAll(p.state, 0o700); err != nil {
		b.Fatal(err)
	}
	y, few, err := p.yard()
	if err != nil {
		b.Fatal(err)
	}
	start, sky, err := p.sky(io.Discard, &y)
	if err != nil {
		b.Fatal(err)
	}
	boats := few
	for i := len(few); i < 40; i++ {
		boat := few[i%len(few)]
		boat.Name, boat.Place = fmt.Sprintf("%s %d", boat.Name, i), "standing south"
		boat.Areas = append([]config.Area(nil), boat.Areas...)
		for k := range boat.Areas {
			boat.Areas[k].Done, boat.Areas[k].DoneAt = "", ""
		}
		comes := time.Date(2026, 4, 6+i*56/40, 8, 0, 0, 0, time.UTC)
		boat.Arrives, boat.Promised = comes.Format("2006-01-02 15:04"), comes.AddDate(0, 0, 40).Format("2006-01-02")
		boats = append(boats, boat)
	}
	st, err := openStage(b.Context(), &p, y, start, logrus.NewEntry(log), nil)
	if err != nil {
		b.Fatal(err)
	}
	if _, err := st.play(b.Context(), &p, y, boats, sky); err != nil {
		b.Fatal(err)
	}
	if err := st.service.Settled(b.Context()); err != nil {
		b.Fatal(err)
	}
	for _, page := range []string{"", "?plan=side", "?days=14", "?days=42"} {
		b.Run("/"+page, func(b *testing.B) {
			size, least := int64(0), time.Hour
			ask := func() {
				asked := time.Now()
				answer, err := http.Get(st.web.url + page)
				if err != nil {
					b.Fatal(err)
				}
				defer answer.Body.Close()
				if size, err = io.Copy(io.Discard, answer.Body); err != nil || answer.StatusCode != http.StatusOK {
					b.Fatal(answer.Status, err)
				}
				least = min(least, time.Since(asked))
			}
			ask()
			least = time.Hour
			before := worked(b)
			for b.Loop() {
				ask()
			}
			b.ReportMetric(0, "ns/op")
			b.ReportMetric(float64(least.Microseconds())/1000, "ms-least")
			b.ReportMetric(float64((worked(b)-before).Microseconds())/1000/float64(b.N), "ms-cpu")
			b.ReportMetric(float64(size)/1000, "kB")
		})
	}
	if err := st.close(); err != nil {
		b.Fatal(err)
	}
}

// worked is how long processors have worked for this process.
func worked(b *testing.B) time.Duration {
	var used syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &used); err != nil {
		b.Fatal(err)
	}
	return time.Duration(used.Utime.Nano() + used.Stime.Nano())
}
