package bus

import (
	"context"
	"net"
	"strings"
	"testing"
	"time"

	mqtt "github.com/eclipse/paho.mqtt.golang"
)

// within bounds a whole test: nothing here takes that long, however busy the machine is, unless
// it hangs.
func within(t *testing.T) context.Context {
	t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), hangs)
	t.Cleanup(cancel)
	return ctx
}

// hangs is what no step of a test takes on any machine.
const hangs = 3 * time.Minute

func open(t *testing.T, ctx context.Context, o Options) *Bus {
	t.Helper()
	b, err := Open(ctx, o)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := b.Close(ctx); err != nil {
			t.Error(err)
		}
	})
	return b
}

// device connects a real MQTT client.
func device(t *testing.T, addr, user, password string) mqtt.Client {
	t.Helper()
	c := mqtt.NewClient(mqtt.NewClientOptions().AddBroker("tcp://" + addr).SetClientID("device").
		SetUsername(user).SetPassword(password).SetAutoReconnect(false).SetConnectRetry(false))
	if err := done(t, c.Connect()); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { c.Disconnect(0) })
	return c
}

func done(t *testing.T, token mqtt.Token) error {
	t.Helper()
	if !token.WaitTimeout(hangs) {
		t.Fatal("the MQTT server does not answer")
	}
	return token.Error()
}

// send publishes with QoS 1 and returns once the server has acknowledged.
func send(t *testing.T, c mqtt.Client, topic, payload string) {
	t.Helper()
	if err := done(t, c.Publish(topic, 1, false, payload)); err != nil {
		t.Fatal(err)
	}
}

// fresh is the next arrival that is none of the first seen, each named by its payload: the
// server repeats what was not acknowledged to it in time, as it does on a busy machine.
func fresh(t *testing.T, ctx context.Context, c <-chan Arrival, seen map[string]bool) Arrival {
	t.Helper()
	for {
		a := next(t, ctx, c)
		if name := string(a.Payload); !seen[name] {
			seen[name] = true
			return a
		}
	}
}

// waiting waits until so many messages wait for the intake: its consumer hears of each a moment
// after its device has been told that it is stored.
func waiting(t *testing.T, ctx context.Context, b *Bus, many int) {
	t.Helper()
	for {
		consumer, err := b.js.Consumer(ctx, mqttStream, durable)
		if err != nil {
			t.Fatal(err)
		}
		if consumer.CachedInfo().NumPending == uint64(many) {
			return
		}
	}
}

func next[T any](t *testing.T, ctx context.Context, c <-chan T) T {
	t.Helper()
	var v T
	select {
	case v = <-c:
	case <-ctx.Done():
		t.Fatal("nothing came")
	}
	return v
}

func TestPortInUseIsOneClearLine(t *testing.T) {
	ctx := within(t)
	held, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer held.Close()
	addr := held.Addr().String()
	for name, o := range map[string]Options{
		"MQTT": {MQTTAddr: addr},
		"NATS": {NATSAddr: addr},
	} {
		o.StoreDir = t.TempDir()
		_, err := Open(ctx, o)
		if err == nil {
			t.Fatalf("%s: opened on a port in use", name)
		}
		for _, want := range []string{addr, "address already in use", "give another address"} {
			if !strings.Contains(err.Error(), want) {
				t.Errorf("%s: %q does not say %q", name, err, want)
			}
		}
		if strings.Contains(err.Error(), "\n") {
			t.Errorf("%s: several lines: %q", name, err)
		}
		o.MQTTAddr, o.NATSAddr = "", ""
		open(t, ctx, o) // the folder was freed
	}
}

func TestFolderInUse(t *testing.T) {
	ctx := within(t)
	o := Options{StoreDir: t.TempDir()}
	b := open(t, ctx, o)
	if _, err := Open(ctx, o); err == nil || !strings.Contains(err.Error(), "in use by another process") {
		t.Errorf("second opening: %v", err)
	}
	if err := b.Close(ctx); err != nil {
		t.Fatal(err)
	}
	open(t, ctx, o)
}
