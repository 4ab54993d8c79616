package service

import (
	"context"
	"fmt"
	"math/rand/v2"
	"net"
	"strings"
	"testing"
	"time"

	"github.com/nats-io/nats-server/v2/server"
	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"

	"fairwindow/notify"
)

// theirBus is a server run by others, on a folder and an address.
func theirBus(t *testing.T, dir string, at *net.TCPAddr) *server.Server {
	t.Helper()
	s, err := server.NewServer(&server.Options{Host: at.IP.String(), Port: at.Port, JetStream: true, StoreDir: dir, NoSigs: true, NoLog: true})
	if err != nil {
		t.Fatal(err)
	}
	s.Start()
	if !s.ReadyForConnections(hangs) {
		t.Fatal("the outside bus does not start")
	}
	t.Cleanup(func() { s.Shutdown(); s.WaitForShutdown() })
	return s
}

// vacant is an address that nobody listens on, for a server to come and go, below the ports that
// systems give away by themselves: let go of, one of those may be another test's before it is
// taken again.
func vacant(t testing.TB) *net.TCPAddr {
	t.Helper()
	for {
		at := &net.TCPAddr{IP: net.IPv4(127, 0, 0, 1), Port: 10000 + rand.IntN(22000)}
		if l, err := net.ListenTCP("tcp", at); err == nil {
			l.Close()
			return at
		}
	}
}

// storedRaw counts what a stream holds, repeats and all.
func storedRaw(t *testing.T, url string) uint64 {
	t.Helper()
	conn, err := nats.Connect(url, nats.Timeout(hangs))
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	js, err := jetstream.New(conn)
	if err != nil {
		t.Fatal(err)
	}
	stream, err := js.Stream(patient(t), "NOTICES")
	if err != nil {
		t.Fatal(err)
	}
	return stream.CachedInfo().State.Msgs
}

// patient is a context that ends with a test that hangs; without one the bus is given five seconds.
func patient(t *testing.T) context.Context {
	ctx, cancel := context.WithTimeout(t.Context(), hangs)
	t.Cleanup(cancel)
	return ctx
}

// TestBusAwayForAnHour: the outbox runs, the bus goes away for an hour by the yard's clock, in
// which a window opens and closes time and again. Each notice waits in the store; when the bus is
// back all come, in the order in which they were committed, each once.
func TestBusAwayForAnHour(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	there := vacant(t)
	away := theirBus(t, dir, there)
	url := away.ClientURL()
	r, early := halfway(t, strings.Replace(yardText, `bus: {listen: "127.0.0.1:0", mqtt: "127.0.0.1:0"}`, `bus: {url: "`+url+`"}`, 1))
	ctx, stop := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	go func() { ended <- r.svc.runOutbox(ctx) }()
	defer func() { // before the server goes
		stop()
		if err := <-ended; err != nil {
			t.Error(err)
		}
		if err := r.svc.Close(context.Background()); err != nil {
			t.Error(err)
		}
	}()
	if got := onBus(t, r, len(early)); fmt.Sprint(got) != fmt.Sprint(named(early)) {
		t.Fatalf("on the bus %v, want %v", got, named(early))
	}

	waitSent(t, r) // that they are there is not yet that they are known to be
	away.Shutdown()
	away.WaitForShutdown()
	var late []notify.Notice
	for range 20 {
		r.clock.Advance(3 * time.Minute)
		air := good
		if r.clock.Now().Minute()%20 < 3 {
			air = humid
		}
		if code, answer := r.send(`{"source": "air", "values": {` + air.at(r.clock.Now()) + `}}`); code != 202 {
			t.Fatalf("while the bus is away: %d %s", code, answer)
		}
	}
	late, err := r.svc.store.Unsent(t.Context(), 1000)
	if err != nil {
		t.Fatal(err)
	}
	if kinds := said(late); strings.Count(kinds, "window_opens") < 2 || strings.Count(kinds, "window_closed") < 2 {
		t.Fatalf("in that hour: %s", kinds)
	}

	theirBus(t, dir, there)
	all := append(named(early), named(late)...)
	if got := onBus(t, r, len(all)); fmt.Sprint(got) != fmt.Sprint(all) {
		t.Errorf("on the bus %v, want %v", got, all)
	}
	if n := storedRaw(t, url); n != uint64(len(all)) {
		t.Errorf("the stream holds %d, want %d, each once", n, len(all))
	}
	waitSent(t, r)
}

// waitSent waits until the store knows that all are sent.
func waitSent(t *testing.T, r *rig) {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), hangs)
	defer cancel()
	for {
		r.svc.mu.Lock()
		changed, left := r.svc.changed, r.svc.unsent
		r.svc.mu.Unlock()
		if left == 0 {
			return
		}
		select {
		case <-changed:
		case <-ctx.Done():
			t.Fatalf("%d notices are not marked as sent", left)
		}
	}
}
