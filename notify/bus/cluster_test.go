package bus

import (
	"context"
	"fmt"
	"math/rand/v2"
	"net"
	"net/url"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/nats-io/nats-server/v2/server"
	"github.com/nats-io/nats.go/jetstream"

	"fairwindow/notify"
)

// trio is three servers that make one cluster on loopback.
type trio struct {
	t       *testing.T
	options [3]*server.Options
	servers [3]*server.Server // nil: killed
}

func newTrio(t *testing.T) *trio {
	t.Helper()
	c := &trio{t: t}
	ports := freePorts(t, 6)
	var routes []*url.URL
	for i := range c.options {
		routes = append(routes, &url.URL{Scheme: "nats", Host: fmt.Sprintf("127.0.0.1:%d", ports[i])})
	}
	for i := range c.options {
		c.options[i] = &server.Options{
			ServerName: fmt.Sprintf("server-%d", i), Host: "127.0.0.1", Port: ports[3+i], NoSigs: true, NoLog: true,
			JetStream: true, StoreDir: t.TempDir(), JetStreamMaxMemory: 16 << 20, JetStreamMaxStore: 256 << 20,
			Cluster: server.ClusterOpts{Name: "yards", Host: "127.0.0.1", Port: ports[i]}, Routes: routes,
		}
		c.start(i)
	}
	t.Cleanup(func() {
		for i := range c.servers {
			c.stop(i)
		}
	})
	return c
}

// freePorts are ports nobody listens on; all are held until all are known. They are below those
// that systems give away by themselves, from 32768 or 49152 on: let go of, one of these may be
// another test's before a server of this one has it, or has it again.
func freePorts(t *testing.T, n int) []int {
	t.Helper()
	var ports []int
	for len(ports) < n {
		port := 10000 + rand.IntN(22000)
		l, err := net.Listen("tcp", net.JoinHostPort("127.0.0.1", strconv.Itoa(port)))
		if err != nil {
			continue // somebody's
		}
		defer l.Close()
		ports = append(ports, port)
	}
	return ports
}

func (c *trio) start(i int) {
	c.t.Helper()
	s, err := server.NewServer(c.options[i].Clone())
	if err != nil {
		c.t.Fatal(err)
	}
	s.Start()
	c.servers[i] = s
}

func (c *trio) stop(i int) {
	if c.servers[i] != nil {
		c.servers[i].Shutdown()
		c.servers[i].WaitForShutdown()
		c.servers[i] = nil
	}
}

func (c *trio) url() string {
	var all []string
	for _, o := range c.options {
		all = append(all, fmt.Sprintf("nats://%s:%d", o.Host, o.Port))
	}
	return strings.Join(all, ",")
}

// stopLeader ends the server that leads the stream of notices; on a busy machine nobody may do so
// for a while.
func (c *trio) stopLeader(ctx context.Context) int {
	c.t.Helper()
	for ctx.Err() == nil {
		for i, s := range c.servers {
			if s != nil && s.JetStreamIsStreamLeader(server.DEFAULT_GLOBAL_ACCOUNT, noticeStream) {
				c.stop(i)
				return i
			}
		}
		pause(ctx, 10*time.Millisecond)
	}
	c.t.Fatal("nobody leads the stream")
	return 0
}

// publishUntil publishes as the outbox does, one after the other and each until it is
// acknowledged, and returns the longest wait for one.
func publishUntil(t *testing.T, ctx context.Context, b *Bus, notices []notify.Notice) time.Duration {
	t.Helper()
	var longest time.Duration
	for _, n := range notices {
		began := time.Now()
		for {
			short, cancel := context.WithTimeout(ctx, time.Second)
			err := b.Publish(short, n, "A sentence.")
			cancel()
			if err == nil {
				break
			}
			if ctx.Err() != nil {
				t.Fatalf("notice %d: %v", n.Occurrence, err)
			}
			pause(ctx, 100*time.Millisecond)
		}
		longest = max(longest, time.Since(began))
	}
	return longest
}

// streamOf asks for the stream of notices until a cluster answers.
func streamOf(t *testing.T, ctx context.Context, b *Bus) *jetstream.StreamInfo {
	t.Helper()
	for {
		short, cancel := context.WithTimeout(ctx, 2*time.Second)
		stream, err := b.js.Stream(short, noticeStream)
		cancel()
		if err == nil {
			return stream.CachedInfo()
		}
		if ctx.Err() != nil {
			t.Fatal(err)
		}
		pause(ctx, 50*time.Millisecond)
	}
}

func numbered(from, to int) []notify.Notice {
	var all []notify.Notice
	for i := from; i < to; i++ {
		n := example("Auk", notify.WindowOpens)
		n.Occurrence = i
		n.ID = notify.ID(n)
		all = append(all, n)
	}
	return all
}

// Three servers keep each notice. With one killed, notices go on; with two killed publishing
// fails; and once they are back every notice is there, once and in order.
func TestClusterLosesNothing(t *testing.T) {
	if testing.Short() {
		t.Skip("starts and kills three servers")
	}
	t.Parallel()
	ctx := within(t)
	c := newTrio(t)
	b := open(t, ctx, Options{External: c.url(), Replicas: 3})
	publishUntil(t, ctx, b, numbered(1, 20))
	if n := streamOf(t, ctx, b).Config.Replicas; n != 3 {
		t.Fatalf("%d servers keep a notice, want 3", n)
	}

	first := c.stopLeader(ctx)
	gap := publishUntil(t, ctx, b, numbered(20, 40)) // measured: 7.5 s on an idle machine
	t.Logf("one of three killed: the longest wait for an acknowledgement was %v", gap)

	second := c.stopLeader(ctx)
	rest := numbered(40, 60)
	short, cancel := context.WithTimeout(ctx, time.Second)
	defer cancel()
	if err := b.Publish(short, rest[0], "A sentence."); err == nil {
		t.Error("one of three took a notice, which no majority keeps")
	} else if strings.Contains(err.Error(), "\n") {
		t.Errorf("several lines: %q", err)
	}
	late := open(t, ctx, Options{External: c.url(), Replicas: 3}) // a daemon starts all the same
	c.start(first)
	c.start(second)
	publishUntil(t, ctx, late, rest[:1])
	gap = publishUntil(t, ctx, b, rest)
	t.Logf("all three back: the longest wait was %v", gap)

	// What is stored is counted by itself: a listener would drop repeats.
	if n := streamOf(t, ctx, b).State.Msgs; n != 59 {
		t.Errorf("the stream holds %d notices, want 59, each once", n)
	}
	heard := listenTo(t, ctx, c.url(), Filter{FromStart: true})
	for i := 1; i < 60; i++ {
		if got := next(t, ctx, heard); got.Notice.Occurrence != i {
			t.Fatalf("notice %d came in the place of %d", got.Notice.Occurrence, i)
		}
	}
}
