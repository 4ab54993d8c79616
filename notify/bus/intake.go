package bus

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"
)

// ErrNoMQTT is returned by Intake when the built-in server has never had an MQTT port.
var ErrNoMQTT = errors.New("bus: no MQTT port was ever open here: give MQTTAddr, or do not run Intake")

// Arrival is one message from a device.
type Arrival struct {
	Topic   string // as the device wrote it
	Payload []byte
	Stored  time.Time // when the server took it in, by its clock; the same each time it comes
}

const (
	retryAfter = time.Second      // after a failed batch, doubled each time
	retryMost  = 30 * time.Second // and never more
	lookAgain  = 5 * time.Second  // for an external server's first MQTT connection
)

// Intake hands over device messages, up to 256 at a time and without waiting for more than there
// are, one batch after the other, until ctx ends or the bus closes; it then returns nil. Run it
// once at a time.
//
// When handle returns nil the whole batch is acknowledged and never comes again (but for a crash
// just then): so it returns nil only after its commit. When it returns an error the whole batch
// comes again after a second, later after up to 30; so a message that is merely wrong is no
// error: note it down and return nil. The context handed on is never cancelled: a batch once
// begun is finished, and Close waits for it.
func (b *Bus) Intake(ctx context.Context, handle func(context.Context, []Arrival) error) error {
	ctx, leave, err := b.enter(ctx)
	if err != nil {
		return err
	}
	defer leave()
	for ctx.Err() == nil {
		err := b.consume(ctx, handle)
		switch {
		case ctx.Err() != nil:
			return nil
		case errors.Is(err, jetstream.ErrStreamNotFound) && b.server != nil:
			return ErrNoMQTT
		case errors.Is(err, jetstream.ErrStreamNotFound):
			b.log.Info("no device has connected to the external server yet, looking again")
		default:
			b.log.WithError(err).Warn("intake is held up, trying again")
		}
		pause(ctx, lookAgain)
	}
	return nil
}

// consume takes batches until something is wrong with the way to the server.
func (b *Bus) consume(ctx context.Context, handle func(context.Context, []Arrival) error) error {
	consumer, err := intakeConsumer(ctx, b.js)
	if err != nil {
		return err
	}
	return b.take(ctx, consumer, arrival, handle)
}

// take hands over what a consumer has, batch after batch, and acknowledges each message by itself.
func (b *Bus) take(ctx context.Context, consumer jetstream.Consumer, arrival func(jetstream.Msg) Arrival, handle func(context.Context, []Arrival) error) error {
	for {
		messages, err := fetch(ctx, consumer)
		if err != nil {
			return err
		}
		if len(messages) == 0 {
			continue
		}
		arrivals := make([]Arrival, len(messages))
		for i, m := range messages {
			arrivals[i] = arrival(m)
		}
		if err := handle(context.WithoutCancel(ctx), arrivals); err != nil {
			b.log.WithError(err).WithField("messages", len(messages)).Warn("a batch of device messages failed and will come again")
			for _, m := range messages {
				b.settle(m, m.NakWithDelay(delay(m)))
			}
			continue
		}
		b.release(ctx, consumer, messages)
	}
}

// settle says so when an answer could not be sent; the message then comes again.
func (b *Bus) settle(m jetstream.Msg, err error) {
	if err != nil {
		b.log.WithError(err).WithField("subject", m.Subject()).Warn("a device message will come again")
	}
}

// fetch waits for one message and takes what else is there. None, without error: nothing came for
// a while.
func fetch(ctx context.Context, consumer jetstream.Consumer) ([]jetstream.Msg, error) {
	first, err := consumer.Next(jetstream.FetchContext(ctx))
	if errors.Is(err, nats.ErrTimeout) {
		return nil, ctx.Err()
	}
	if err != nil {
		return nil, fmt.Errorf("bus: intake: %w", err)
	}
	messages := []jetstream.Msg{first}
	more, err := consumer.FetchNoWait(batch - 1)
	if err != nil {
		return messages, nil // what is wrong shows at the next wait
	}
	for m := range more.Messages() {
		messages = append(messages, m)
	}
	return messages, nil
}

func arrival(m jetstream.Msg) Arrival {
	a := Arrival{Topic: topic(strings.TrimPrefix(m.Subject(), mqttSubject)), Payload: m.Data()}
	if meta, err := m.Metadata(); err == nil {
		a.Stored = meta.Timestamp
	}
	return a
}

// delay is how long a failed message stays away, by how often it has come.
func delay(m jetstream.Msg) time.Duration {
	d := retryAfter
	if meta, err := m.Metadata(); err == nil {
		for n := uint64(1); n < meta.NumDelivered && d < retryMost; n++ {
			d *= 2
		}
	}
	return min(d, retryMost)
}

// pause waits for d or the end of ctx.
func pause(ctx context.Context, d time.Duration) {
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-timer.C:
	case <-ctx.Done():
	}
}

// Pending counts device messages that the server has acknowledged and Intake has not yet: 0 means
// that all were committed. It counts at once what a device has been told is stored.
func (b *Bus) Pending(ctx context.Context) (int, error) {
	if n, err := b.waiting(ctx); n > 0 || err != nil {
		return n, err
	}
	stream, err := b.js.Stream(ctx, mqttStream)
	if errors.Is(err, jetstream.ErrStreamNotFound) {
		return 0, nil
	}
	if err != nil {
		return 0, fmt.Errorf("bus: pending: %w", err)
	}
	state := stream.CachedInfo().State
	consumer, err := stream.Consumer(ctx, durable)
	if errors.Is(err, jetstream.ErrConsumerNotFound) {
		return 0, nil // nobody has asked for them
	}
	if err != nil {
		return 0, fmt.Errorf("bus: pending: %w", err)
	}
	info := consumer.CachedInfo()
	// The consumer hears of a new message a moment after the stream has it, so the stream's last
	// number decides whether there is any.
	if state.Msgs == 0 || info.AckFloor.Stream >= state.LastSeq {
		return 0, nil
	}
	return max(1, int(info.NumPending)+info.NumAckPending), nil
}
