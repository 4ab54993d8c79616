package bus

import (
	"context"
	"errors"
	"strconv"
	"testing"

	mqtt "github.com/eclipse/paho.mqtt.golang"
)

// take runs Intake and gives what arrives; reply says what becomes of each batch. It has ended
// when the test ends.
func take(t *testing.T, ctx context.Context, b *Bus, reply func([]Arrival) error) <-chan Arrival {
	t.Helper()
	arrivals := make(chan Arrival, 4096)
	ended := make(chan error, 1)
	go func() {
		ended <- b.Intake(ctx, func(_ context.Context, batch []Arrival) error {
			for _, a := range batch {
				arrivals <- a
			}
			return reply(batch)
		})
	}()
	t.Cleanup(func() {
		b.Close(ctx)
		if err := <-ended; err != nil {
			t.Error(err)
		}
	})
	return arrivals
}

func accept([]Arrival) error { return nil }

// drained waits until nothing is pending, as a fast clock does.
func drained(t *testing.T, ctx context.Context, b *Bus) {
	t.Helper()
	for {
		n, err := b.Pending(ctx)
		if err != nil {
			t.Fatal(err)
		}
		if n == 0 {
			return
		}
	}
}

func TestDeviceToIntake(t *testing.T) {
	ctx := within(t)
	b := open(t, ctx, Options{StoreDir: t.TempDir(), MQTTAddr: "127.0.0.1:0"})
	if b.URL() != "" {
		t.Errorf("a NATS port %s is open that nobody asked for", b.URL())
	}
	arrivals := take(t, ctx, b, accept)
	c, seen := device(t, b.MQTTAddr(), "", ""), map[string]bool{}
	for _, topic := range []string{"yard/booth1/readings", "a.b/c", "a//b", "/lead", "trail/", "plain", "ä/ö", "a/./b", "v1.2//x"} {
		send(t, c, topic, "of "+topic)
		got := fresh(t, ctx, arrivals, seen)
		if got.Topic != topic || string(got.Payload) != "of "+topic {
			t.Errorf("sent %q, got %q with %q", topic, got.Topic, got.Payload)
		}
		if got.Stored.IsZero() {
			t.Errorf("%q has no time", topic)
		}
	}
	drained(t, ctx, b)
}

func TestManyDrainInBatches(t *testing.T) {
	ctx := within(t)
	b := open(t, ctx, Options{StoreDir: t.TempDir(), MQTTAddr: "127.0.0.1:0"})
	c := device(t, b.MQTTAddr(), "", "")
	const many = 1000
	tokens := make([]mqtt.Token, many)
	for i := range tokens {
		tokens[i] = c.Publish("yard/booth1/readings", 1, false, strconv.Itoa(i))
	}
	for _, token := range tokens {
		if err := done(t, token); err != nil {
			t.Fatal(err)
		}
	}
	waiting(t, ctx, b, many)
	if n, err := b.Pending(ctx); err != nil || n != many {
		t.Fatalf("%d pending, %v, want %d before the intake runs", n, err, many)
	}
	batches := 0
	arrivals := take(t, ctx, b, func(batch []Arrival) error {
		if len(batch) > batch256 {
			t.Errorf("a batch of %d", len(batch))
		}
		batches++
		return nil
	})
	seen := map[string]bool{}
	for i := range many {
		if got := fresh(t, ctx, arrivals, seen); string(got.Payload) != strconv.Itoa(i) {
			t.Fatalf("message %d is %q: order is lost", i, got.Payload)
		}
	}
	drained(t, ctx, b)
	b.Close(ctx)
	if batches > many/10 {
		t.Errorf("%d batches for %d waiting messages", batches, many)
	}
}

// batch256 repeats what Intake promises, so that changing batch is noticed.
const batch256 = 256

func TestFailedBatchComesAgain(t *testing.T) {
	ctx := within(t)
	b := open(t, ctx, Options{StoreDir: t.TempDir(), MQTTAddr: "127.0.0.1:0"})
	fail := true
	arrivals := take(t, ctx, b, func([]Arrival) error {
		if fail {
			fail = false
			return errors.New("the disk is full")
		}
		return nil
	})
	send(t, device(t, b.MQTTAddr(), "", ""), "yard/booth1", "20.5")
	first, second := next(t, ctx, arrivals), next(t, ctx, arrivals)
	if string(second.Payload) != "20.5" || !second.Stored.Equal(first.Stored) {
		t.Errorf("first %+v, then %+v", first, second)
	}
	drained(t, ctx, b)
}

// What a device was told is stored survives: published before any intake ran, then failed by the
// handler, then taken after the second reopening.
func TestNothingAcknowledgedIsLost(t *testing.T) {
	t.Parallel()
	ctx := within(t)
	o := Options{StoreDir: t.TempDir(), MQTTAddr: "127.0.0.1:0"}

	b := open(t, ctx, o) // the very first boot, where interest must already be recorded
	send(t, device(t, b.MQTTAddr(), "", ""), "yard/booth1", "first")
	if err := b.Close(ctx); err != nil {
		t.Fatal(err)
	}

	b = open(t, ctx, o)
	failed := take(t, ctx, b, func([]Arrival) error { return errors.New("no database") })
	if got := next(t, ctx, failed); string(got.Payload) != "first" {
		t.Fatalf("got %q", got.Payload)
	}
	send(t, device(t, b.MQTTAddr(), "", ""), "yard/booth1", "second")
	if err := b.Close(ctx); err != nil {
		t.Fatal(err)
	}

	b = open(t, ctx, o)
	arrivals := take(t, ctx, b, accept)
	got := map[string]bool{}
	for len(got) < 2 {
		got[string(next(t, ctx, arrivals).Payload)] = true
	}
	if !got["first"] || !got["second"] {
		t.Errorf("got %v", got)
	}
	drained(t, ctx, b)
}

func TestIntakeWithoutMQTT(t *testing.T) {
	ctx := within(t)
	b := open(t, ctx, Options{StoreDir: t.TempDir()})
	if err := b.Intake(ctx, nil); !errors.Is(err, ErrNoMQTT) {
		t.Errorf("got %v", err)
	}
	if n, err := b.Pending(ctx); n != 0 || err != nil {
		t.Errorf("%d pending, %v", n, err)
	}
	b.Close(ctx)
	if err := b.Intake(ctx, nil); !errors.Is(err, ErrClosed) {
		t.Errorf("after Close: %v", err)
	}
}
