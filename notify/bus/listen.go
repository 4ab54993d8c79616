package bus

import (
	"context"
	"errors"
	"fmt"
	"time"

	"fairwindow/notify"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"
)

// Filter says which notices to listen to. The zero Filter: all that come from now on.
type Filter struct {
	Boat      string      // empty: any, and what concerns no boat
	Kind      notify.Kind // empty: any
	FromStart bool        // also those stored before, oldest first
	Login     Login       // for the function Listen, if the server asks
	Ready     func()      // called, if set, when whatever is published from then on is sure to be heard
}

func (f Filter) subject() string {
	boat, kind := "*", "*"
	if f.Boat != "" {
		boat = token(f.Boat)
	}
	if f.Kind != "" {
		kind = token(string(f.Kind))
	}
	return noticeSubject + boat + "." + kind
}

// Message is one stored notice.
type Message struct {
	Source   string // whose it is: /yards/ and the yard's name, escaped as in a URL path
	Notice   notify.Notice
	Sentence string
	Sequence uint64    // in the stream, rising
	Stored   time.Time // by the server's clock
	Err      error     // what arrived could not be read; only Sequence and Stored hold
}

// Listen connects to the server at url and hands fn every notice that the filter lets through,
// one at a time, in the order stored, until ctx ends; it then returns nil. A notice that is stored
// again under its id and revision is dropped: a stream that gathers those of several yards, or an
// outside server with a shorter memory for ids than ours, may hold it twice.
func Listen(ctx context.Context, url string, f Filter, fn func(Message)) error {
	conn, err := dial(url, f.Login, nats.Name("fairwindow listen"), nats.Timeout(patience), nats.MaxReconnects(-1))
	if err != nil {
		return err
	}
	defer conn.Close()
	js, err := jetstream.New(conn)
	if err != nil {
		return fmt.Errorf("bus: %w", err)
	}
	return listen(ctx, js, f, fn)
}

// Listen is the function Listen on this bus; it also ends, with nil, when the bus closes.
func (b *Bus) Listen(ctx context.Context, f Filter, fn func(Message)) error {
	ctx, leave, err := b.enter(ctx)
	if err != nil {
		return err
	}
	defer leave()
	return listen(ctx, b.js, f, fn)
}

func listen(ctx context.Context, js jetstream.JetStream, f Filter, fn func(Message)) error {
	config := jetstream.OrderedConsumerConfig{FilterSubjects: []string{f.subject()}, DeliverPolicy: jetstream.DeliverNewPolicy}
	if f.FromStart {
		config.DeliverPolicy = jetstream.DeliverAllPolicy
	}
	var consumer jetstream.Consumer
	err := settled(ctx, func(ctx context.Context) (err error) {
		consumer, err = js.OrderedConsumer(ctx, noticeStream, config)
		return err
	})
	if err != nil {
		return ended(ctx, fmt.Errorf("bus: listen to %s: %w", noticeStream, err))
	}
	messages, err := consumer.Messages()
	if err != nil {
		return ended(ctx, fmt.Errorf("bus: listen to %s: %w", noticeStream, err))
	}
	defer messages.Stop()
	if f.Ready != nil {
		f.Ready()
	}
	var heard known
	for {
		msg, err := messages.Next(jetstream.NextContext(ctx))
		switch {
		case ctx.Err() != nil:
			return nil
		case errors.Is(err, jetstream.ErrMsgIteratorClosed):
			return fmt.Errorf("bus: listen to %s: %w", noticeStream, err)
		case err != nil:
			// A lost connection or heartbeat: the consumer is made anew behind the last one
			// heard.
			pause(ctx, retryAfter)
			continue
		}
		if m := read(msg); m.Err != nil || heard.first(m.Source+" "+messageID(m.Notice)) {
			fn(m)
		}
	}
}

// knownMost is how many ids a listener keeps: weeks of a busy yard, some 10 MB.
const knownMost = 1 << 16

// known is the ids already handed over, the oldest let go when there are too many.
type known struct {
	ids   map[string]bool
	order []string // a ring once it is full
	next  int
}

// first reports whether an id is new, and keeps it.
func (k *known) first(id string) bool {
	if k.ids[id] {
		return false
	}
	if k.ids == nil {
		k.ids = map[string]bool{}
	}
	if len(k.order) < knownMost {
		k.order = append(k.order, id)
	} else {
		delete(k.ids, k.order[k.next])
		k.order[k.next] = id
		k.next = (k.next + 1) % knownMost
	}
	k.ids[id] = true
	return true
}

// ended turns an error into nil when it only says that ctx has ended.
func ended(ctx context.Context, err error) error {
	if ctx.Err() != nil {
		return nil
	}
	return err
}

func read(msg jetstream.Msg) Message {
	var m Message
	if meta, err := msg.Metadata(); err == nil {
		m.Sequence, m.Stored = meta.Sequence.Stream, meta.Timestamp
	}
	e, err := decode(msg.Data())
	if err != nil {
		m.Err = fmt.Errorf("bus: notice %d on %s: %w", m.Sequence, msg.Subject(), err)
		return m
	}
	m.Source, m.Notice, m.Sentence = e.Source, e.Data.Notice, e.Data.Sentence
	return m
}
