package main

import (
	"flag"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/sirupsen/logrus"

	"fairwindow/daemon/demo"
)

var waitsDays = flag.Int("days", 2, "days that BenchmarkWaits plays before it reads what was put off")

// BenchmarkWaits is how long the manager waits for his pages over a real store, with some
// days of the invented yard in it: the first time after a start, and again. The least of
// each is told, for others use the machine too.
func BenchmarkWaits(b *testing.B) {
	log := logrus.New()
	log.SetOutput(io.Discard)
	p := play{once: true, state: filepath.Join(b.TempDir(), "state"), days: *waitsDays, seed: 1}
	if err := os.MkdirAll(p.state, 0o700); err != nil {
		b.Fatal(err)
	}
	y, boats, err := p.yard()
	if err != nil {
		b.Fatal(err)
	}
	start, sky, err := p.sky(io.Discard, &y)
	if err != nil {
		b.Fatal(err)
	}
	st, err := openStage(b.Context(), &p, y, start, logrus.NewEntry(log), nil)
	if err != nil {
		b.Fatal(err)
	}
	if boats, err = demo.Boats(boats, start); err != nil {
		b.Fatal(err)
	}
	if _, err := st.play(b.Context(), &p, y, boats, sky); err != nil {
		b.Fatal(err)
	}
	end := st.clock.Now()
	if err := st.close(); err != nil {
		b.Fatal(err)
	}
	for _, page := range []string{"waits", "waits/lost", "waits/waits.json"} {
		b.Run(page, func(b *testing.B) {
			first, again := time.Hour, time.Hour
			size := int64(0)
			for range b.N {
				st, err := openStage(b.Context(), &p, y, end, logrus.NewEntry(log), nil)
				if err != nil {
					b.Fatal(err)
				}
				if err := st.service.Settled(b.Context()); err != nil {
					b.Fatal(err)
				}
				for _, took := range []*time.Duration{&first, &again} {
					asked := time.Now()
					answer, err := http.Get(st.web.url + page)
					if err != nil {
						b.Fatal(err)
					}
					if size, err = io.Copy(io.Discard, answer.Body); err != nil || answer.StatusCode != http.StatusOK {
						b.Fatal(answer.Status, err)
					}
					answer.Body.Close()
					*took = min(*took, time.Since(asked))
				}
				if err := st.close(); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(0, "ns/op")
			b.ReportMetric(float64(first.Microseconds())/1000, "ms-first")
			b.ReportMetric(float64(again.Microseconds())/1000, "ms-again")
			b.ReportMetric(float64(size)/1000, "kB")
		})
	}
}
