package bus

import (
	"context"

	"github.com/nats-io/nats.go/jetstream"
)

// fewAcks is how many messages are acknowledged one by one as quickly as together.
const fewAcks = 4

// release lets go of messages that were committed. The server syncs each acknowledgement by
// itself, as it does each message; a purge of many costs it as much as a few of them.
func (b *Bus) release(ctx context.Context, consumer jetstream.Consumer, messages []jetstream.Msg) {
	ctx = context.WithoutCancel(ctx)
	if last := b.last(ctx, consumer, messages); last != nil && b.purgeBefore(ctx, consumer, last) {
		messages = []jetstream.Msg{last}
	}
	for _, m := range messages {
		b.settle(m, m.Ack())
	}
}

// last is the newest of the messages, if nobody needs those before it: no other consumer wants
// any, and of all that ours was ever handed only these are not yet acknowledged. Else it is nil.
// A consumer that is made after the look begins with what comes later.
func (b *Bus) last(ctx context.Context, consumer jetstream.Consumer, messages []jetstream.Msg) jetstream.Msg {
	name := consumer.CachedInfo().Stream
	if !b.alone || len(messages) <= fewAcks || name != mqttStream && name != readingStream {
		return nil
	}
	stream, err := b.js.Stream(ctx, name)
	if err != nil || stream.CachedInfo().State.Consumers != 1 {
		return nil
	}
	var last jetstream.Msg
	var newest uint64
	numbers := map[uint64]bool{}
	for _, m := range messages {
		meta, err := m.Metadata()
		if err != nil {
			return nil
		}
		if numbers[meta.Sequence.Stream] = true; meta.Sequence.Stream >= newest {
			last, newest = m, meta.Sequence.Stream
		}
	}
	info, err := consumer.Info(ctx)
	if err != nil || info.NumAckPending != len(numbers) {
		return nil
	}
	return last
}

// purgeBefore removes what is before a message from its stream. The message itself stays, so that
// the stream never runs empty by it, and with it the number of the next.
func (b *Bus) purgeBefore(ctx context.Context, consumer jetstream.Consumer, m jetstream.Msg) bool {
	meta, err := m.Metadata()
	if err != nil {
		return false
	}
	stream, err := b.js.Stream(ctx, consumer.CachedInfo().Stream)
	if err != nil {
		return false
	}
	return stream.Purge(ctx, jetstream.WithPurgeSequence(meta.Sequence.Stream)) == nil
}
