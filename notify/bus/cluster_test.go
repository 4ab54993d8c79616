package bus

import (
	"context"
	"fmt"
	"net"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/nats-io/nats-server/v2/server"

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

// freePorts are ports nobody listens on; all are held until all are known.
func freePorts(t *testing.T, n int) []int {
	t.Helper()
	var ports []int
	for range n {
		l, err := net.Listen("tcp", "127.0.0.1:0")
		if err != nil {
			t.Fatal(err)
		}
		defer l.Close()
		ports = append(ports, l.Addr().(*net.TCPAddr).Port)
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

// stopLeader ends the server that leads the stream of notices.
func (c *trio) stopLeader() int {
	c.t.Helper()
	for i, s := range c.servers {
		if s != nil && s.JetStreamIsStreamLeader(server.DEFAULT_GLOBAL_ACCOUNT, noticeStream) {
			c.stop(i)
			return i
		}
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
	stream, err := b.js.Stream(ctx, noticeStream)
	if err != nil {
		t.Fatal(err)
	}
	if n := stream.CachedInfo().Config.Replicas; n != 3 {
		t.Fatalf("%d servers keep a notice, want 3", n)
	}
	publishUntil(t, ctx, b, numbered(1, 20))

	first := c.stopLeader()
	gap := publishUntil(t, ctx, b, numbered(20, 40))
	t.Logf("one of three killed: the longest wait for an acknowledgement was %v", gap)
	if gap > 15*time.Second { // measured before: 7.5 s
		t.Errorf("a notice waited %v for the two that live", gap)
	}

	second := c.stopLeader()
	rest := numbered(40, 60)
	short, cancel := context.WithTimeout(ctx, time.Second)
	defer cancel()
	if err := b.Publish(short, rest[0], "A sentence."); err == nil {
		t.Error("one of three took a notice, which no majority keeps")
	} else if strings.Contains(err.Error(), "\n") {
		t.Errorf("several lines: %q", err)
	}
	c.start(first)
	c.start(second)
	gap = publishUntil(t, ctx, b, rest)
	t.Logf("all three back: the longest wait was %v", gap)

	// What is stored is counted by itself: a listener would drop repeats.
	err = settled(ctx, func(ctx context.Context) (err error) {
		stream, err = b.js.Stream(ctx, noticeStream)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	if n := stream.CachedInfo().State.Msgs; n != 59 {
		t.Errorf("the stream holds %d notices, want 59, each once", n)
	}
	heard := listenTo(t, ctx, c.url(), Filter{FromStart: true})
	for i := 1; i < 60; i++ {
		if got := next(t, ctx, heard); got.Notice.Occurrence != i {
			t.Fatalf("notice %d came in the place of %d", got.Notice.Occurrence, i)
		}
	}
}
