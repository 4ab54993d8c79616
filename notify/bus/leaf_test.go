package bus

import (
	"context"
	"encoding/json"
	"io"
	"net"
	"os"
	"path/filepath"
	"strconv"
	"sync"
	"testing"
	"time"

	"github.com/nats-io/nats-server/v2/server"
	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"
)

// link passes connections on to a server, until it is cut.
type link struct {
	listener net.Listener
	mu       sync.Mutex
	to       string
	cut      bool
	conns    map[net.Conn]bool
}

func newLink(t *testing.T) *link {
	t.Helper()
	l := &link{conns: map[net.Conn]bool{}}
	var err error
	if l.listener, err = net.Listen("tcp", "127.0.0.1:0"); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { l.listener.Close(); l.set(true) })
	go func() {
		for {
			in, err := l.listener.Accept()
			if err != nil {
				return
			}
			l.mu.Lock()
			out, err := net.Dial("tcp", l.to)
			if err != nil || l.cut {
				in.Close()
				if out != nil {
					out.Close()
				}
			} else {
				l.conns[in], l.conns[out] = true, true
				go io.Copy(in, out)
				go io.Copy(out, in)
			}
			l.mu.Unlock()
		}
	}()
	return l
}

func (l *link) set(cut bool) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.cut = cut
	if cut {
		for c := range l.conns {
			c.Close()
			delete(l.conns, c)
		}
	}
}

func (l *link) leads(to string) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.to = to
}

// hub starts the head office's server by the example's configuration, on ports of its own. It tells
// the yards no other way to itself than the link: they would take it when that is cut.
func hub(t *testing.T, by *link) (clientURL string) {
	t.Helper()
	opts, err := server.ProcessConfigFile(filepath.Join("testdata", "leaf", "hub.conf"))
	if err != nil {
		t.Fatal(err)
	}
	opts.Port, opts.LeafNode.Port, opts.StoreDir = server.RANDOM_PORT, freePorts(t, 1)[0], t.TempDir()
	opts.NoSigs, opts.NoLog = true, true
	opts.LeafNode.Advertise = by.listener.Addr().String()
	by.leads(net.JoinHostPort(opts.LeafNode.Host, strconv.Itoa(opts.LeafNode.Port)))
	s, err := server.NewServer(opts)
	if err != nil {
		t.Fatal(err)
	}
	s.Start()
	t.Cleanup(func() { s.Shutdown(); s.WaitForShutdown() })
	return s.ClientURL()
}

// gathered counts what the head office's stream holds, repeats and all.
func gathered(t *testing.T, ctx context.Context, js jetstream.JetStream) uint64 {
	t.Helper()
	stream, err := js.Stream(ctx, noticeStream)
	if err != nil {
		t.Fatal(err)
	}
	return stream.CachedInfo().State.Msgs
}

// Two yards in one hub: the link is cut, each works on alone, and when it is back the head office
// has every notice of both, once, and neither yard has one of the other.
func TestTwoYardsInOneHub(t *testing.T) {
	if testing.Short() {
		t.Skip("waits for a hub to try again")
	}
	t.Parallel()
	ctx := within(t)
	cable := newLink(t)
	url := hub(t, cable)
	yard := func(name string) *Bus {
		return open(t, ctx, Options{StoreDir: t.TempDir(), NATSAddr: "127.0.0.1:0", MQTTAddr: "127.0.0.1:0", Yard: name,
			Leaf: "nats-leaf://" + cable.listener.Addr().String(), Domain: name})
	}
	north, south := yard("north"), yard("south")
	office, err := nats.Connect(url, nats.Timeout(hangs))
	if err != nil {
		t.Fatal(err)
	}
	defer office.Close()
	js, err := jetstream.New(office)
	if err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(filepath.Join("testdata", "leaf", "hub-stream.json"))
	if err != nil {
		t.Fatal(err)
	}
	var config jetstream.StreamConfig
	if err := json.Unmarshal(text, &config); err != nil {
		t.Fatal(err)
	}
	if _, err := js.CreateStream(ctx, config); err != nil {
		t.Fatal(err)
	}
	publishUntil(t, ctx, north, numbered(1, 11))
	publishUntil(t, ctx, south, numbered(1, 11))
	heard := listenTo(t, ctx, url, Filter{FromStart: true})
	got := map[string]int{}
	hear := func(want int) {
		t.Helper()
		for range 2 * want {
			m := next(t, ctx, heard)
			if m.Notice.Occurrence != got[m.Source]+1 {
				t.Fatalf("%s: notice %d came after %d", m.Source, m.Notice.Occurrence, got[m.Source])
			}
			got[m.Source]++
		}
	}
	hear(10)

	cable.set(true)
	publishUntil(t, ctx, north, numbered(11, 31)) // each yard alone
	publishUntil(t, ctx, south, numbered(11, 31))
	arrivals := take(t, ctx, north, accept)
	send(t, device(t, north.MQTTAddr(), "", ""), "yard/booth1", "20.5")
	if a := next(t, ctx, arrivals); string(a.Payload) != "20.5" {
		t.Errorf("alone, a reading came as %q", a.Payload)
	}
	if n := gathered(t, ctx, js); n != 20 {
		t.Errorf("cut off, the head office holds %d notices, want the 20 from before", n)
	}
	cable.set(false)
	began := time.Now()
	hear(20)
	t.Logf("the head office had all %v after the link was back", time.Since(began).Round(100*time.Millisecond))

	for name, b := range map[string]*Bus{"north": north, "south": south} {
		stream, err := b.js.Stream(ctx, noticeStream)
		if err != nil {
			t.Fatal(err)
		}
		if n := stream.CachedInfo().State.Msgs; n != 30 {
			t.Errorf("%s holds %d notices, want its own 30", name, n)
		}
	}
	if n := gathered(t, ctx, js); n != 60 {
		t.Errorf("the head office holds %d notices, want 60, each once", n)
	}
	if got["/yards/north"] != 30 || got["/yards/south"] != 30 {
		t.Errorf("heard %v", got)
	}
}

func TestLeafMistakes(t *testing.T) {
	dir := t.TempDir()
	o := Options{StoreDir: dir, Leaf: "nats-leaf://127.0.0.1:1", Domain: "north"}
	o.Credentials = filepath.Join(dir, "yard.creds")
	wantOneLine(t, "no credentials", o, "the credentials file can't be read")
	o.Credentials, o.Leaf = "", "127.0.0.1"
	wantOneLine(t, "no address", o, "give one such as nats-leaf://")
}
