package sensors

import (
	"context"
	"errors"
	"io"
	"net"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	mqtt "github.com/eclipse/paho.mqtt.golang"
	"github.com/jonboulle/clockwork"
	"github.com/nats-io/nats-server/v2/server"

	"fairwindow/config"
)

// outside starts a real MQTT broker as others would run it and gives its
// address. It delivers what is not acknowledged again after a second.
func outside(t testing.TB) string {
	t.Helper()
	opts := &server.Options{
		ServerName: "outside", DontListen: true, NoSigs: true, JetStream: true, StoreDir: t.TempDir(),
		JetStreamMaxMemory: 16 << 20, JetStreamMaxStore: 256 << 20,
		MQTT: server.MQTTOpts{Host: "127.0.0.1", Port: server.RANDOM_PORT, AckWait: time.Second},
	}
	srv, err := server.NewServer(opts)
	if err != nil {
		t.Fatal(err)
	}
	srv.Start()
	t.Cleanup(func() { srv.Shutdown(); srv.WaitForShutdown() })
	return net.JoinHostPort(opts.MQTT.Host, strconv.Itoa(opts.MQTT.Port))
}

// vacant is an address at which nobody listens, for a server to come and go. It is not of
// the host where all other tests take and leave ports, any of which may be next to get one
// that was let go of; where there is no other host, that is the one.
func vacant(t testing.TB) string {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.2:0")
	if err != nil {
		l, err = net.Listen("tcp", "127.0.0.1:0")
	}
	if err != nil {
		t.Fatal(err)
	}
	l.Close()
	return l.Addr().String()
}

// device is a real client that publishes.
func device(t testing.TB, addr string) mqtt.Client {
	t.Helper()
	c := mqtt.NewClient(mqtt.NewClientOptions().AddBroker("tcp://" + addr).SetClientID("device"))
	finished(t, c.Connect())
	t.Cleanup(func() { c.Disconnect(0) })
	return c
}

func finished(t testing.TB, token mqtt.Token) {
	t.Helper()
	if !token.WaitTimeout(time.Minute) || token.Error() != nil {
		t.Fatalf("the broker does not answer: %v", token.Error())
	}
}

// cable carries connections to a broker and can be cut.
type cable struct {
	listener net.Listener
	mu       sync.Mutex
	plugged  []net.Conn
}

func newCable(t testing.TB, to string) *cable {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	c := &cable{listener: l}
	t.Cleanup(func() { l.Close(); c.cut() })
	go func() {
		for {
			near, err := l.Accept()
			if err != nil {
				return
			}
			far, err := net.Dial("tcp", to)
			if err != nil {
				near.Close()
				continue
			}
			c.mu.Lock()
			c.plugged = append(c.plugged, near, far)
			c.mu.Unlock()
			go func() { io.Copy(far, near); far.Close() }()
			go func() { io.Copy(near, far); near.Close() }()
		}
	}()
	return c
}

// cut ends every connection with no word said, as a dead process or wire does.
func (c *cable) cut() {
	c.mu.Lock()
	defer c.mu.Unlock()
	for _, conn := range c.plugged {
		conn.Close()
	}
	c.plugged = nil
}

// daemon is our side of it: what it was handed, and what becomes of each batch.
type daemon struct {
	batches chan []Message
	reply   chan error
	states  chan error
	stop    func()
}

func connect(t testing.TB, addr string, topics ...string) *daemon {
	t.Helper()
	d := &daemon{batches: make(chan []Message), reply: make(chan error), states: make(chan error, 100)}
	ctx, cancel := context.WithCancel(context.Background())
	b := NewBroker(Subscription{
		URL: "mqtt://" + addr, Client: "fairwindow-test", Topics: topics, Clock: clockwork.NewRealClock(),
		Handle: func(_ context.Context, batch []Message) error {
			select {
			case d.batches <- batch:
			case <-ctx.Done():
				return ctx.Err()
			}
			select {
			case err := <-d.reply:
				return err
			case <-ctx.Done():
				return ctx.Err()
			}
		},
		State: func(err error) { d.states <- err },
	})
	ended := make(chan error, 1)
	go func() { ended <- b.Run(ctx) }()
	d.stop = sync.OnceFunc(func() {
		cancel()
		if err := <-ended; err != nil {
			t.Error(err)
		}
	})
	t.Cleanup(d.stop)
	return d
}

// became waits for the state.
func became[T any](t testing.TB, from <-chan T) T {
	t.Helper()
	var one T
	select {
	case one = <-from:
	case <-time.After(time.Minute):
		t.Fatal("nothing came")
	}
	return one
}

func texts(batch []Message) string {
	var out []string
	for _, m := range batch {
		word := m.Topic + " " + string(m.Payload)
		if m.Again {
			word += " again"
		}
		if m.Kept {
			word += " kept"
		}
		out = append(out, word)
	}
	return strings.Join(out, "\n")
}

// heard commits each batch until every wanted message has come, and gives all
// that came, a line each. A broker that hears no acknowledgement within its time
// repeats itself, so what else comes with them is a matter of the machine's load.
func heard(t testing.TB, d *daemon, wanted ...string) string {
	t.Helper()
	got := ""
	for {
		got += texts(became(t, d.batches)) + "\n"
		d.reply <- nil
		if !slices.ContainsFunc(wanted, func(w string) bool { return !strings.Contains(got, w) }) {
			return got
		}
	}
}

// TestBrokerDiesBeforeTheCommit: what was handed over and not committed comes
// again to the next run, marked as such; what was committed does not; and what
// was sent while nobody was there waits.
func TestBrokerDiesBeforeTheCommit(t *testing.T) {
	t.Parallel()
	addr := outside(t)
	dev := device(t, addr)
	d := connect(t, addr, "yard/a")
	if err := became(t, d.states); err != nil {
		t.Fatal(err)
	}
	finished(t, dev.Publish("yard/a", 1, false, "1"))
	if got := heard(t, d, "yard/a 1"); !strings.HasPrefix(got, "yard/a 1\n") {
		t.Fatalf("got %q", got)
	}
	finished(t, dev.Publish("yard/a", 1, false, "2"))
	got := texts(became(t, d.batches))
	for !strings.Contains(got, "yard/a 2") {
		d.reply <- nil
		got = texts(became(t, d.batches))
	}
	d.stop() // in the middle of its commit
	finished(t, dev.Publish("yard/a", 1, false, "3"))

	d = connect(t, addr, "yard/a")
	got = heard(t, d, "yard/a 2", "yard/a 3")
	// The third may be marked too: the broker may have sent it into the connection that was closing.
	if !strings.Contains(got, "2 again\n") || strings.Contains(got, "yard/a 1") {
		t.Errorf("after the restart came %q", got)
	}
}

// TestBrokerCutOff: a wire that is cut between delivery and commit loses
// nothing, and the line comes back by itself.
func TestBrokerCutOff(t *testing.T) {
	t.Parallel()
	addr := outside(t)
	wire := newCable(t, addr)
	dev := device(t, addr)
	d := connect(t, wire.listener.Addr().String(), "yard/a")
	if err := became(t, d.states); err != nil {
		t.Fatal(err)
	}
	finished(t, dev.Publish("yard/a", 1, false, "1"))
	became(t, d.batches)
	wire.cut()
	if err := became(t, d.states); err == nil || !strings.Contains(err.Error(), "cut off") {
		t.Errorf("state %v", err)
	}
	d.reply <- nil // committed, but nobody hears the acknowledgement
	for err := became(t, d.states); err != nil; err = became(t, d.states) {
		t.Log("not back yet:", err) // the broker may still hold the line that was cut
	}
	finished(t, dev.Publish("yard/a", 1, false, "2"))
	if got := heard(t, d, "yard/a 1", "yard/a 2"); !strings.Contains(got, "yard/a 1 again") {
		t.Errorf("what was not acknowledged did not come again: %q", got)
	}
}

// TestBrokerHoldsAFailedBatch: a commit that fails is tried again with the same
// batch, and nothing is acknowledged in between.
func TestBrokerHoldsAFailedBatch(t *testing.T) {
	t.Parallel()
	addr := outside(t)
	d := connect(t, addr, "yard/a", "yard/b")
	if err := became(t, d.states); err != nil {
		t.Fatal(err)
	}
	dev := device(t, addr)
	finished(t, dev.Publish("yard/b", 1, true, "1"))
	first := texts(became(t, d.batches))
	d.reply <- errors.New("disk full")
	if err := became(t, d.states); err == nil || !strings.Contains(err.Error(), "disk full") {
		t.Errorf("state %v", err)
	}
	if again := texts(became(t, d.batches)); again != first {
		t.Errorf("first %q, then %q", first, again)
	}
	d.reply <- nil
	if err := became(t, d.states); err != nil {
		t.Errorf("state %v", err)
	}
	d.stop()
	// The broker kept that message, and hands it to each new subscription; besides it may not have
	// heard the acknowledgement before the end, and then it repeats the first, before or after.
	d = connect(t, addr, "yard/b")
	got := heard(t, d, "yard/b 1 kept\n")
	if rest := strings.ReplaceAll(strings.Replace(got, "yard/b 1 kept\n", "", 1), "yard/b 1 again\n", ""); rest != "" {
		t.Errorf("got %q", got)
	}
}

// TestGather: as many as are there come at once, in order, a thousand at most.
func TestGather(t *testing.T) {
	waiting := make(chan int, 2*batch+batch/2)
	for i := range cap(waiting) {
		waiting <- i
	}
	n := 0
	for _, want := range []int{batch, batch, batch / 2} {
		got := gather(t.Context(), waiting)
		if len(got) != want || got[0] != n || got[want-1] != n+want-1 {
			t.Fatalf("%d of %d from %d", len(got), want, n)
		}
		n += want
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if got := gather(ctx, waiting); got != nil {
		t.Errorf("after the end: %v", got)
	}
}

func TestBrokerAway(t *testing.T) {
	t.Parallel()
	addr := vacant(t)
	d := connect(t, addr, "yard/a")
	if err := became(t, d.states); err == nil || !strings.Contains(err.Error(), addr) {
		t.Errorf("state %v", err)
	}
}

func TestBrokerAddress(t *testing.T) {
	for in, want := range map[string]string{
		"mqtt://a": "mqtt://a:1883", "mqtts://a": "mqtts://a:8883", "mqtt://a:1": "mqtt://a:1", "mqtts://[::1]": "mqtts://[::1]:8883",
	} {
		if got := withPort(in); got != want {
			t.Errorf("%s becomes %s, want %s", in, got, want)
		}
	}
}

// TestBusOfOneBroker: a topic of one broker is not that of another.
func TestBusOfOneBroker(t *testing.T) {
	all := []config.Sensor{{Name: "own", Topic: "x"}, {Name: "theirs", Topic: "x", Broker: "dock"}}
	for broker, want := range map[string]string{"": "own 1", "dock": "theirs 1"} {
		k := &kept{}
		m, err := NewMQTT(Bus{Sensors: all, Broker: broker, Zone: time.UTC, Decode: verbatim, Intake: k.take})
		if err != nil {
			t.Fatal(err)
		}
		if err := m.Handle(t.Context(), []Message{{Topic: "x", Payload: []byte("1")}}); err != nil {
			t.Fatal(err)
		}
		if got := raws(k.readings); got != want {
			t.Errorf("of %q: %q, want %q", broker, got, want)
		}
	}
}
