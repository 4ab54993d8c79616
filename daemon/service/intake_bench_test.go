package service

import (
	"context"
	"fmt"
	"math"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	mqtt "github.com/eclipse/paho.mqtt.golang"
	"golang.org/x/sync/errgroup"
	"golang.org/x/time/rate"

	"fairwindow/conditions"
	"fairwindow/daemon/store"
	"fairwindow/notify"
	"fairwindow/notify/bus"
	"fairwindow/planner"
	"fairwindow/sensors"
)

// busySensors is how many instruments the benchmarks' yard has besides the booth's own.
const busySensors = 50

// busyYard is the tests' yard with fifty more sensors in five places; a fifth of them
// also stand as columns in one file, the others have a topic each.
func busyYard() string {
	places, instruments := "", ""
	for n := range 5 {
		places += fmt.Sprintf("\n  - {name: shed %d, kind: shed, length: 25 m, width: 8 m}", n+1)
	}
	for n := range busySensors {
		from := fmt.Sprintf("topic: s%02d", n)
		air, humidity := "air", "humidity"
		if n%5 == 0 {
			from = "file: log.csv, time: time"
			air, humidity = fmt.Sprintf("air%02d", n), fmt.Sprintf("humidity%02d", n)
		}
		instruments += fmt.Sprintf("\n  - {name: s%02d, place: shed %d, every: 1 min, %s, values: {air: {path: %s}, humidity: {path: %s}}}",
			n, n%5+1, from, air, humidity)
	}
	return strings.NewReplacer("\ncrews:", places+"\ncrews:", "\nsensors:", "\nsensors:"+instruments).Replace(yardText)
}

// busy is a rig whose memory is as full as after a day: fifty sensors each minute for
// 26 hours. It is eight on a Monday morning, and a coat goes on in the booth.
func busy(b *testing.B) *rig {
	b.Helper()
	r := newRig(b, busyYard())
	kept, err := store.Open(r.state)
	if err != nil {
		b.Fatal(err)
	}
	for from := at(0, 8, 0).Add(-memoryOfReadings); from.Before(at(0, 8, 0)); from = from.Add(time.Hour) {
		c := store.Change{At: from}
		for minute := range 60 {
			now := from.Add(time.Duration(minute) * time.Minute)
			for n := range busySensors {
				c.Readings = append(c.Readings, busyReading(n, minute, now))
			}
		}
		if _, err := kept.Commit(b.Context(), c); err != nil {
			b.Fatal(err)
		}
	}
	if err := kept.Close(); err != nil {
		b.Fatal(err)
	}
	r.start()
	r.enter(boatText("two coats"))
	r.press(planner.Press{Kind: planner.Arrived, Key: planner.Key{Boat: "Boat One"}, Place: "booth"})
	r.forecast("a.csv", monday, dry)
	r.measuring(at(0, 8, 0), damp)
	r.press(planner.Press{Kind: planner.Started, Key: first})
	return r
}

// damp is just within the card, damper just outside it: its humidity is at most 80 %.
var damp, damper = booth{20, 78, 20}, booth{20, 82, 20}

// busyReading is the n-th sensor's; no instrument says the same for hours.
func busyReading(n, count int, at time.Time) sensors.Reading {
	r := sensors.Reading{
		Source: fmt.Sprintf("s%02d", n), Place: fmt.Sprintf("shed %d", n%5+1), At: at, Received: at, FromDevice: true,
		Values: map[conditions.Variable]float64{conditions.AirTemperature: wavers(count), conditions.RelHumidity: 40 + wavers(count)/10},
	}
	r.Key = sensors.Key(r, "")
	return r
}

func wavers(count int) float64 { return 20 + float64(count%40)/100 }

// busyEntries is a body of one gateway's entries, its count-th and on, in turn from its
// six sensors, a millisecond of each from one to the next.
func busyEntries(r *rig, gateway, count, entries int) string {
	var text strings.Builder
	text.WriteString("[")
	for i := range entries {
		if i > 0 {
			text.WriteString(",")
		}
		k := count + i
		fmt.Fprintf(&text, `{"source": "s%02d", "time": %q, "values": {"air": %g, "humidity": %g}}`, gateway*6+k%6,
			r.clock.Now().Add(time.Duration(k/6)*time.Millisecond).Format(time.RFC3339Nano), wavers(k), 40+wavers(k)/10)
	}
	text.WriteString("]")
	return text.String()
}

// poster sends bodies to the real intake over the loopback.
func poster(b *testing.B, r *rig) func(body string) {
	b.Helper()
	intake, err := r.svc.Intake()
	if err != nil {
		b.Fatal(err)
	}
	token, err := os.ReadFile(filepath.Join(r.state, TokenFile))
	if err != nil {
		b.Fatal(err)
	}
	server := httptest.NewServer(intake)
	b.Cleanup(server.Close)
	client := &http.Client{Transport: &http.Transport{MaxIdleConnsPerHost: 16}}
	return func(body string) {
		request, err := http.NewRequest(http.MethodPost, server.URL, strings.NewReader(body))
		if err != nil {
			b.Error(err)
			return
		}
		request.Header.Set("Authorization", "Bearer "+strings.TrimSpace(string(token)))
		answer, err := client.Do(request)
		if err != nil {
			b.Error(err)
			return
		}
		answer.Body.Close()
		if answer.StatusCode != http.StatusAccepted {
			b.Errorf("answer %d", answer.StatusCode)
		}
	}
}

// keptAll checks that as many readings are in the store as were sent, and reports how
// many a second that was.
func keptAll(b *testing.B, r *rig, before, sent int) {
	b.Helper()
	took := b.Elapsed().Seconds()
	if got := r.stored() - before; got != sent {
		b.Fatalf("%d readings stored of %d", got, sent)
	}
	b.ReportMetric(float64(sent)/took, "readings/s")
	b.ReportMetric(0, "ns/op")
}

// stored counts what the store holds of the busy sensors.
func (r *rig) stored() int {
	r.t.Helper()
	readings, err := r.svc.store.Readings(context.Background(), store.Query{From: time.UnixMilli(0)})
	if err != nil {
		r.t.Fatal(err)
	}
	n := 0
	for _, reading := range readings {
		if strings.HasPrefix(reading.Source, "s") {
			n++
		}
	}
	return n
}

// BenchmarkTakeReadings is how many readings a second are on disk, guarded and
// acknowledged, by way and by size of batch. "one caller" is the baseline: each
// reading waits for the one before to be acknowledged.
func BenchmarkTakeReadings(b *testing.B) {
	b.Run("one caller, one by one", func(b *testing.B) {
		r := busy(b)
		before, sent := r.stored(), 0
		for b.Loop() {
			one := busyReading(sent%busySensors, sent, r.clock.Now().Add(time.Duration(sent/busySensors)*time.Millisecond))
			if err := r.svc.TakeReadings(b.Context(), []sensors.Reading{one}); err != nil {
				b.Fatal(err)
			}
			sent++
		}
		keptAll(b, r, before, sent)
	})
	for _, entries := range []int{1, 10, 100, 1000} {
		b.Run(fmt.Sprintf("HTTP, 8 gateways, batches of %d", entries), func(b *testing.B) {
			r := busy(b)
			post, before, sent := poster(b, r), r.stored(), 0
			for b.Loop() {
				var clients sync.WaitGroup
				for gateway := range 8 {
					body := busyEntries(r, gateway, sent/8, entries)
					clients.Go(func() { post(body) })
				}
				sent += 8 * entries
				clients.Wait()
			}
			keptAll(b, r, before, sent)
		})
	}
	b.Run("a CSV file, 1000 rows of 10 sensors", func(b *testing.B) {
		r := busy(b)
		before, sent, row := r.stored(), 0, 0
		log, err := os.Create(filepath.Join(r.folder, "log.csv"))
		if err != nil {
			b.Fatal(err)
		}
		defer log.Close()
		head := "time"
		for n := 0; n < busySensors; n += 5 {
			head += fmt.Sprintf(",air%02d,humidity%02d", n, n)
		}
		fmt.Fprintln(log, head)
		for b.Loop() {
			b.StopTimer()
			var rows strings.Builder
			for range 1000 {
				rows.WriteString(r.clock.Now().Add(time.Duration(row) * time.Millisecond).Format(time.RFC3339Nano))
				for n := 0; n < busySensors; n += 5 {
					fmt.Fprintf(&rows, ",%g,%g", wavers(row), 40+wavers(row)/10)
					sent++
				}
				rows.WriteString("\n")
				row++
			}
			if _, err := log.WriteString(rows.String()); err != nil {
				b.Fatal(err)
			}
			b.StartTimer()
			if err := r.svc.readFeeds(b.Context(), r.clock.Now()); err != nil {
				b.Fatal(err)
			}
		}
		keptAll(b, r, before, sent)
	})
	b.Run("the bus, batches of 256", func(b *testing.B) {
		r := busy(b)
		before, sent := r.stored(), 0
		for b.Loop() {
			batch := make([]bus.Arrival, 256)
			for i := range batch {
				n := sent % busySensors
				if n%5 == 0 {
					n++ // those have no topic
				}
				batch[i] = bus.Arrival{Topic: fmt.Sprintf("s%02d", n), Payload: busyPayload(sent)}
				r.clock.Advance(time.Microsecond) // no two messages are stored at once
				sent++
			}
			if err := r.svc.takeMessages(b.Context(), batch); err != nil {
				b.Fatal(err)
			}
		}
		keptAll(b, r, before, sent)
	})
	b.Run("MQTT, QoS 1, 4 devices", func(b *testing.B) {
		const devices = 4
		r := busy(b)
		before, sent := r.stored(), 0
		var clients [devices]mqtt.Client
		for i := range clients {
			clients[i] = mqtt.NewClient(mqtt.NewClientOptions().AddBroker("tcp://" + r.svc.MQTTAddr()).
				SetClientID(fmt.Sprintf("device-%d", i)))
			if token := clients[i].Connect(); token.Wait() && token.Error() != nil {
				b.Fatal(token.Error())
			}
			defer clients[i].Disconnect(0)
		}
		for b.Loop() {
			var all sync.WaitGroup
			for i, client := range clients {
				first := sent + i*250
				all.Go(func() {
					var tokens []mqtt.Token
					for k := first; k < first+250; k++ {
						tokens = append(tokens, client.Publish(fmt.Sprintf("s%02d", 5*i+1), 1, false, busyPayload(k)))
					}
					for _, token := range tokens {
						if token.Wait(); token.Error() != nil {
							b.Error(token.Error())
						}
					}
				})
			}
			all.Wait()
			sent += devices * 250
			r.drained()
		}
		keptAll(b, r, before, sent)
	})
}

func busyPayload(count int) []byte {
	// No two are alike, or they would pass for one that came twice.
	return fmt.Appendf(nil, `{"air": %g, "humidity": %g}`, wavers(count), 40+float64(count)/1e6)
}

// drained waits until every message that a device had acknowledged is in the store.
func (r *rig) drained() {
	r.t.Helper()
	for {
		pending, err := r.svc.bus.Pending(context.Background())
		if err != nil {
			r.t.Fatal(err)
		}
		if pending == 0 {
			return
		}
		time.Sleep(time.Millisecond) // the broker tells nobody that its queue ran dry
	}
}

// BenchmarkNotice is how long after a reading that breaks a limit was sent over HTTP
// its notice is with a client of the bus, while as many readings a second as are named
// flow in; with none as the baseline.
func BenchmarkNotice(b *testing.B) {
	for _, flow := range []int{0, 1000} {
		b.Run(fmt.Sprintf("%d readings a second", flow), func(b *testing.B) { benchmarkNotice(b, flow) })
	}
}

func benchmarkNotice(b *testing.B, flow int) {
	r := busy(b)
	post := poster(b, r)
	ctx, stop := context.WithCancel(b.Context())
	defer stop()
	ready, heard := make(chan struct{}), make(chan time.Time, 100)
	var parts sync.WaitGroup
	parts.Go(func() {
		err := bus.Listen(ctx, r.svc.BusURL(), bus.Filter{Kind: notify.WindowClosed, Ready: func() { close(ready) }}, func(bus.Message) { heard <- time.Now() })
		if err != nil {
			b.Error(err)
		}
	})
	<-ready
	flown, flowed := 0, 0.0
	if flow > 0 {
		const batch = 10
		parts.Go(func() {
			pace := rate.NewLimiter(rate.Limit(flow/batch), 1)
			var senders errgroup.Group
			senders.SetLimit(64) // a service that does not keep up shows in flown/s
			begun := time.Now()
			for pace.Wait(ctx) == nil {
				body := busyEntries(r, flown/batch%8, flown/batch/8*batch, batch)
				flown += batch
				senders.Go(func() error { post(body); return nil })
			}
			_ = senders.Wait()
			flowed = float64(flown) / time.Since(begun).Seconds()
		})
	}
	said := 0
	tell := func(is booth) {
		said++
		post(fmt.Sprintf(`{"source": "air", "time": %q, "values": {"air": %g, "humidity": %g, "surface": %g}}`,
			r.clock.Now().Add(time.Duration(said)*time.Millisecond).Format(time.RFC3339Nano), is.air, is.humidity, is.surface))
	}
	var took []time.Duration
	for b.Loop() {
		sent := time.Now()
		tell(damper)
		select {
		case at := <-heard:
			took = append(took, at.Sub(sent))
		case <-time.After(20 * time.Second):
			b.Fatal("no notice")
		}
		tell(damp)
		// Somebody begins anew: the next break is told again.
		r.svc.mu.Lock()
		r.svc.watch.renew(ofWindow, first)
		r.svc.mu.Unlock()
	}
	stop()
	parts.Wait()
	slices.Sort(took)
	ms := func(share float64) float64 {
		return float64(took[int(math.Ceil(share*float64(len(took))))-1].Microseconds()) / 1000
	}
	b.ReportMetric(flowed, "flown/s")
	b.ReportMetric(ms(0.5), "p50-ms")
	b.ReportMetric(ms(0.99), "p99-ms")
	b.ReportMetric(0, "ns/op")
}
