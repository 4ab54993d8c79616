package bus

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"sync"

	"github.com/nats-io/nats.go/jetstream"
)

const (
	readingStream = "READINGS"
	readingUser   = "fairwindow-readings" // the durable consumer
	// readingBytes is how much may wait to be committed. Beyond it a publisher is refused, since
	// what it was told is stored must not make room for something newer.
	readingBytes = 64 << 20
)

// Subjects hands over the messages published on some subjects, as Intake does those of devices:
// each is kept until handle has returned nil for it, and may come more than once, with the same
// Stored each time.
//
// A publisher that asks (a request, as JetStream's publish is one) is answered when the message
// is in the stream, on the built-in server on disk; one that does not ask is promised nothing. A
// message with the Nats-Msg-Id of one within the last 24 hours is stored once. On a server run by
// others a stream that has a subject already is used as its owner set it. Without subjects only
// what an earlier run left behind is handed over. Run it once at a time.
func (b *Bus) Subjects(ctx context.Context, subjects []string, handle func(context.Context, []Arrival) error) error {
	ctx, leave, err := b.enter(ctx)
	if err != nil {
		return err
	}
	defer leave()
	for ctx.Err() == nil {
		err := b.subjects(ctx, subjects, handle)
		if ctx.Err() != nil || err == nil {
			return nil
		}
		b.log.WithError(err).Warn("readings from subjects are held up, trying again")
		pause(ctx, lookAgain)
	}
	return nil
}

// subjects takes batches of every stream concerned until something is wrong with one.
func (b *Bus) subjects(ctx context.Context, subjects []string, handle func(context.Context, []Arrival) error) error {
	consumers, err := b.subjectConsumers(ctx, subjects)
	if err != nil || len(consumers) == 0 {
		return err
	}
	b.taking.Store(true)
	ctx, stop := context.WithCancelCause(ctx)
	defer stop(nil)
	var takers sync.WaitGroup
	for _, consumer := range consumers {
		takers.Add(1)
		go func() {
			defer takers.Done()
			stop(b.take(ctx, consumer, bySubject, handle))
		}()
	}
	takers.Wait()
	return context.Cause(ctx)
}

// subjectConsumers finds or makes a durable consumer for each stream that has some of the subjects.
func (b *Bus) subjectConsumers(ctx context.Context, subjects []string) ([]jetstream.Consumer, error) {
	theirs := map[string][]string{}
	var ours []string
	for _, subject := range subjects {
		name, err := b.js.StreamNameBySubject(ctx, subject)
		switch {
		case errors.Is(err, jetstream.ErrStreamNotFound) || name == readingStream:
			ours = append(ours, subject)
		case err != nil:
			return nil, fmt.Errorf("bus: which stream has %s: %w", subject, err)
		default:
			theirs[name] = append(theirs[name], subject)
		}
	}
	var all []jetstream.Consumer
	stream, err := b.readings(ctx, ours)
	if err != nil {
		return nil, err
	}
	if stream != "" {
		theirs[stream] = nil // all of it, also what was asked for by an earlier yard file
	}
	for name, filters := range theirs {
		slices.Sort(filters)
		consumer, err := b.js.CreateOrUpdateConsumer(ctx, name, jetstream.ConsumerConfig{
			Durable:        readingUser,
			Description:    "readings not yet committed by fairwindow",
			FilterSubjects: filters,
			AckPolicy:      jetstream.AckExplicitPolicy,
			AckWait:        ackWait,
			MaxAckPending:  8 * batch,
		})
		if err != nil {
			return nil, fmt.Errorf("bus: consumer on %s: %w", name, err)
		}
		all = append(all, consumer)
	}
	return all, nil
}

// readings makes our own stream carry the subjects and gives its name; empty if there are none
// and never were.
func (b *Bus) readings(ctx context.Context, subjects []string) (string, error) {
	if len(subjects) == 0 {
		_, err := b.js.Stream(ctx, readingStream)
		if errors.Is(err, jetstream.ErrStreamNotFound) {
			return "", nil
		}
		if err != nil {
			return "", fmt.Errorf("bus: stream %s: %w", readingStream, err)
		}
		return readingStream, nil
	}
	_, err := b.js.CreateOrUpdateStream(ctx, jetstream.StreamConfig{
		Name:        readingStream,
		Description: "readings until they are committed",
		Subjects:    subjects,
		Storage:     jetstream.FileStorage,
		Retention:   jetstream.WorkQueuePolicy,
		Discard:     jetstream.DiscardNew,
		MaxBytes:    readingBytes,
		Duplicates:  repeats,
	})
	if err != nil {
		return "", fmt.Errorf("bus: stream %s: %w", readingStream, err)
	}
	return readingStream, nil
}

func bySubject(m jetstream.Msg) Arrival {
	a := Arrival{Topic: m.Subject(), Payload: m.Data()}
	if meta, err := m.Metadata(); err == nil {
		a.Stored = meta.Timestamp
	}
	return a
}

// waiting counts what is in our stream of readings and not committed yet.
func (b *Bus) waiting(ctx context.Context) (int, error) {
	if !b.taking.Load() {
		return 0, nil
	}
	stream, err := b.js.Stream(ctx, readingStream)
	if errors.Is(err, jetstream.ErrStreamNotFound) {
		return 0, nil // all come from streams of others
	}
	if err != nil {
		return 0, fmt.Errorf("bus: pending: %w", err)
	}
	return int(stream.CachedInfo().State.Msgs), nil
}
