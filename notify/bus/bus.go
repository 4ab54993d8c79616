package bus

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"sync/atomic"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"
	"github.com/sirupsen/logrus"
)

// ErrClosed is returned by what needs a Bus that Close has begun to close.
var ErrClosed = errors.New("bus: it is closed")

// flushWait is how long a server that no longer answers is waited for.
const flushWait = 5 * time.Second

// Bus is an open connection to the built-in or an external server. Its methods may be called from
// several goroutines.
type Bus struct {
	log    *logrus.Entry
	conn   *nats.Conn
	js     jetstream.JetStream
	server *embedded // nil: external
	alone  bool      // no other server can reach the built-in one's streams
	unlock func() error
	url    string
	yard   string // whose notices these are
	denied denials
	taking atomic.Bool            // Subjects has run
	stored jetstream.StreamConfig // of the notices
	there  atomic.Bool            // the stream of notices is

	mu     sync.Mutex
	closed bool
	stop   context.CancelCauseFunc // ends the loops
	ctx    context.Context         // of the loops
	loops  sync.WaitGroup
}

// Open connects, first starting the built-in server if External is empty. It fails in one line
// that names what is wrong: a field of o, a folder in use, a port in use, a server that refuses
// us. What it had begun is then undone. An external server that can't be reached is tried again
// for as long as the Bus is open; until then Publish fails.
func Open(ctx context.Context, o Options) (*Bus, error) {
	o, err := o.checked()
	if err != nil {
		return nil, err
	}
	b := &Bus{log: o.Log, url: redacted(o.External), yard: o.Yard}
	b.ctx, b.stop = context.WithCancelCause(context.Background())
	if err := b.open(ctx, o); err != nil {
		return nil, errors.Join(err, b.Close(context.WithoutCancel(ctx)))
	}
	return b, nil
}

func (b *Bus) open(ctx context.Context, o Options) (err error) {
	if o.External != "" {
		b.conn, err = b.connectExternal(o)
	} else {
		err = b.openEmbedded(ctx, o)
	}
	if err != nil {
		return err
	}
	if b.js, err = jetstream.New(b.conn); err != nil {
		return fmt.Errorf("bus: %w", err)
	}
	b.stored = noticesOf(o)
	if !b.conn.IsConnected() {
		return nil // it is made when the first notice is published
	}
	if b.server != nil {
		return b.openNotices(ctx)
	}
	short, cancel := context.WithTimeout(ctx, clusterReady/5)
	defer cancel()
	err = b.openNotices(short)
	if starting(err) && ctx.Err() == nil {
		b.log.WithError(err).Warn("the bus keeps nothing yet; we go on without it, and try again")
		return nil // a cluster that has no leader yet, or has lost its majority, perhaps for hours
	}
	return err
}

func (b *Bus) openEmbedded(ctx context.Context, o Options) (err error) {
	if b.unlock, err = lock(o.StoreDir); err != nil {
		return err
	}
	if o.MQTTAddr != "" {
		if err := prepare(ctx, o); err != nil {
			return err
		}
	}
	if b.server, err = start(o, newServerLog(o.Log)); err != nil {
		return err
	}
	b.url, b.alone = b.server.url, o.Leaf == ""
	b.conn, err = b.server.connect(o, &b.denied)
	return err
}

// connOptions are those of every connection of ours: it never gives up, and says when it is cut.
func connOptions(o Options, denied *denials) []nats.Option {
	return []nats.Option{
		nats.Name(o.ServerName),
		nats.MaxReconnects(-1),
		// Nothing is held back for a server that is away: the caller hears at once that it is, and
		// what he has given up on does not go out later.
		nats.ReconnectBufSize(-1),
		nats.DisconnectErrHandler(func(_ *nats.Conn, err error) {
			if err != nil {
				o.Log.WithError(err).Warn("the bus is cut off, trying again")
			}
		}),
		nats.ReconnectHandler(func(*nats.Conn) { o.Log.Info("the bus is back") }),
		nats.ErrorHandler(func(_ *nats.Conn, _ *nats.Subscription, err error) {
			denied.add(err)
			o.Log.WithError(err).Warn("bus")
		}),
	}
}

// Conn is the connection itself, for sources of readings that subscribe on it. Close closes it.
func (b *Bus) Conn() *nats.Conn { return b.conn }

// URL is where others reach the server, without its password; empty when it has no NATS port.
func (b *Bus) URL() string { return b.url }

// MQTTAddr is the host:port where devices connect, with the port really taken; empty when there
// is none.
func (b *Bus) MQTTAddr() string {
	if b.server == nil {
		return ""
	}
	return b.server.mqttAddr
}

// enter counts a loop in and returns the context it runs under, which ends with ctx or with
// Close.
func (b *Bus) enter(ctx context.Context) (context.Context, func(), error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.closed {
		return nil, nil, ErrClosed
	}
	b.loops.Add(1)
	ctx, cancel := context.WithCancelCause(ctx)
	unhook := context.AfterFunc(b.ctx, func() { cancel(ErrClosed) })
	return ctx, func() { unhook(); cancel(nil); b.loops.Done() }, nil
}

// Close ends Intake and Listen, waits for handlers under way and their acknowledgements, closes
// the connection, stops the built-in server and frees its folder, in this order. When ctx ends
// first the rest is still begun, the folder stays locked until the process ends, and the error
// names the step that was late. A second Close does nothing.
func (b *Bus) Close(ctx context.Context) error {
	b.mu.Lock()
	again := b.closed
	b.closed = true
	b.mu.Unlock()
	if again {
		return nil
	}
	b.stop(ErrClosed)

	var late []error
	ended := make(chan struct{})
	go func() {
		b.loops.Wait()
		close(ended)
	}()
	select {
	case <-ended:
	case <-ctx.Done():
		late = append(late, fmt.Errorf("bus: wait for handlers: %w", ctx.Err()))
	}
	if b.conn != nil {
		if err := flush(ctx, b.conn); err != nil {
			late = append(late, err)
		}
		b.conn.Close()
	}
	if b.server != nil {
		if err := b.server.stop(ctx); err != nil {
			return errors.Join(append(late, err)...)
		}
	}
	if b.unlock != nil {
		if err := b.unlock(); err != nil {
			late = append(late, fmt.Errorf("bus: free the store folder: %w", err))
		}
	}
	return errors.Join(late...)
}

// flush sends what is still to be sent, such as the last acknowledgements; a connection that is
// cut has nothing to send to.
func flush(ctx context.Context, conn *nats.Conn) error {
	if !conn.IsConnected() {
		return nil
	}
	ctx, cancel := context.WithTimeout(ctx, flushWait)
	defer cancel()
	if err := conn.FlushWithContext(ctx); err != nil && !errors.Is(err, nats.ErrConnectionClosed) { // cut meanwhile
		return fmt.Errorf("bus: flush: %w", err)
	}
	return nil
}
