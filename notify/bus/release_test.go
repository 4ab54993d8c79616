package bus

import (
	"context"
	"errors"
	"fmt"
	"strconv"
	"sync"
	"testing"

	mqtt "github.com/eclipse/paho.mqtt.golang"
)

// sendMany publishes messages at once and waits until the server has them all.
func sendMany(t *testing.T, c mqtt.Client, many int) {
	t.Helper()
	tokens := make([]mqtt.Token, many)
	for i := range tokens {
		tokens[i] = c.Publish("yard/booth1", 1, false, strconv.Itoa(i))
	}
	for _, token := range tokens {
		if err := done(t, token); err != nil {
			t.Fatal(err)
		}
	}
}

func TestABatchIsLetGoOfTogether(t *testing.T) {
	ctx := within(t)
	b := open(t, ctx, Options{StoreDir: t.TempDir(), MQTTAddr: "127.0.0.1:0"})
	acks, err := b.conn.SubscribeSync("$JS.ACK." + mqttStream + ".>")
	if err != nil {
		t.Fatal(err)
	}
	const many = 100
	sendMany(t, device(t, b.MQTTAddr(), "", ""), many)
	waiting(t, ctx, b, many)
	arrivals, seen := take(t, ctx, b, accept), map[string]bool{}
	for range many {
		fresh(t, ctx, arrivals, seen)
	}
	drained(t, ctx, b)
	if n, _, err := acks.Pending(); err != nil || n > many/2 {
		t.Errorf("%d acknowledgements for %d messages, %v", n, many, err)
	}
}

// A message whose batch failed comes again though later ones were let go of, as they are together
// while it stays away.
func TestAFailedMessageOutlivesLaterOnes(t *testing.T) {
	t.Parallel()
	ctx := within(t)
	b := open(t, ctx, Options{StoreDir: t.TempDir(), MQTTAddr: "127.0.0.1:0"})
	sent, failed := make(chan struct{}), false
	arrivals := take(t, ctx, b, func([]Arrival) error {
		if !failed {
			failed = true
			<-sent
			return errors.New("the disk is full")
		}
		return nil
	})
	c := device(t, b.MQTTAddr(), "", "")
	send(t, c, "yard/booth1", "first")
	next(t, ctx, arrivals)
	const many = 20
	sendMany(t, c, many)
	close(sent)
	got := map[string]bool{}
	for len(got) < many+1 { // the first once more, in whatever order: the server has its own clock
		got[string(next(t, ctx, arrivals).Payload)] = true
	}
	if !got["first"] {
		t.Errorf("got %v", got)
	}
	drained(t, ctx, b)
}

// A device that listens and is away for a while finds what was sent meanwhile, though Intake
// has long committed it.
func TestWhatADeviceWaitsForIsNotLetGoOf(t *testing.T) {
	ctx := within(t)
	b := open(t, ctx, Options{StoreDir: t.TempDir(), MQTTAddr: "127.0.0.1:0"})
	const many = 20
	heard := make(chan string, many)
	listener := func() mqtt.Client {
		c := mqtt.NewClient(mqtt.NewClientOptions().AddBroker("tcp://" + b.MQTTAddr()).SetClientID("listener").SetCleanSession(false).
			SetDefaultPublishHandler(func(_ mqtt.Client, m mqtt.Message) { heard <- string(m.Payload()) }))
		if err := done(t, c.Connect()); err != nil {
			t.Fatal(err)
		}
		return c
	}
	away := listener()
	if err := done(t, away.Subscribe("yard/booth1", 1, nil)); err != nil {
		t.Fatal(err)
	}
	away.Disconnect(100)
	sendMany(t, device(t, b.MQTTAddr(), "", ""), many)
	arrivals, seen := take(t, ctx, b, accept), map[string]bool{}
	for range many {
		fresh(t, ctx, arrivals, seen)
	}
	for pending := many; pending > 0; { // of ours; the stream keeps them for the other
		info, err := b.js.Consumer(ctx, mqttStream, durable)
		if err != nil {
			t.Fatal(err)
		}
		pending = info.CachedInfo().NumAckPending
	}
	back := listener()
	defer back.Disconnect(0)
	for i := 0; i < many; {
		switch n, err := strconv.Atoi(next(t, ctx, heard)); {
		case err != nil || n > i:
			t.Fatalf("heard %d as number %d, %v", n, i, err)
		case n == i:
			i++ // else it came once more
		}
	}
}

// BenchmarkDevices is how many messages of four devices a second the server acknowledges:
// with nobody who takes them, as the baseline, and to the end, taken in and let go of.
func BenchmarkDevices(b *testing.B) {
	for _, taken := range []bool{false, true} {
		b.Run(fmt.Sprintf("taken %v", taken), func(b *testing.B) {
			const devices, each = 4, 250
			ctx := b.Context()
			bus, err := Open(ctx, Options{StoreDir: b.TempDir(), MQTTAddr: "127.0.0.1:0"})
			if err != nil {
				b.Fatal(err)
			}
			defer bus.Close(context.WithoutCancel(ctx))
			if taken {
				go bus.Intake(ctx, func(context.Context, []Arrival) error { return nil })
			}
			var clients [devices]mqtt.Client
			for i := range clients {
				clients[i] = mqtt.NewClient(mqtt.NewClientOptions().AddBroker("tcp://" + bus.MQTTAddr()).SetClientID(strconv.Itoa(i)))
				if token := clients[i].Connect(); token.Wait() && token.Error() != nil {
					b.Fatal(token.Error())
				}
				defer clients[i].Disconnect(0)
			}
			sent := 0
			for b.Loop() {
				var all sync.WaitGroup
				for _, client := range clients {
					all.Go(func() {
						var tokens []mqtt.Token
						for k := range each {
							tokens = append(tokens, client.Publish("a", 1, false, strconv.Itoa(k)))
						}
						for _, token := range tokens {
							if token.Wait(); token.Error() != nil {
								b.Error(token.Error())
							}
						}
					})
				}
				all.Wait()
				sent += devices * each
				for taken {
					if n, err := bus.Pending(ctx); err != nil {
						b.Fatal(err)
					} else if n == 0 {
						break
					}
				}
			}
			b.ReportMetric(float64(sent)/b.Elapsed().Seconds(), "messages/s")
			b.ReportMetric(0, "ns/op")
		})
	}
}
