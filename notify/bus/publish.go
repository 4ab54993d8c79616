package bus

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"unicode"

	"fairwindow/notify"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"
)

const (
	noticeStream  = "NOTICES"
	noticeSubject = "fairwindow.notice."
)

// noticesOf is the stream of notices.
func noticesOf(o Options) jetstream.StreamConfig {
	return jetstream.StreamConfig{
		Name:        noticeStream,
		Description: "what people were told",
		Subjects:    []string{noticeSubject + ">"},
		Storage:     jetstream.FileStorage,
		Replicas:    o.Replicas,
		Discard:     jetstream.DiscardOld,
		MaxAge:      o.Retention.NoticeAge,
		MaxBytes:    o.Retention.NoticeBytes,
		Duplicates:  repeats,
	}
}

// openNotices makes the stream of notices. On an external server one that exists is left as its
// owner set it.
func (b *Bus) openNotices(ctx context.Context) error {
	ctx, stop := b.denied.watch(ctx)
	defer stop()
	err := settled(ctx, func(ctx context.Context) error { return b.makeStream(ctx, b.stored) })
	if err != nil {
		return fmt.Errorf("bus: stream %s: %w", noticeStream, advised(ctx, err))
	}
	b.there.Store(true)
	return nil
}

func (b *Bus) makeStream(ctx context.Context, config jetstream.StreamConfig) error {
	if b.server != nil {
		_, err := b.js.CreateOrUpdateStream(ctx, config)
		return err
	}
	_, err := b.js.Stream(ctx, noticeStream)
	if errors.Is(err, jetstream.ErrStreamNotFound) {
		_, err = b.js.CreateStream(ctx, config)
	}
	return err
}

// Publish stores a notice with its sentence and returns when it is on disk. The same id and
// revision within 24 hours is stored once. On an error publish again: the notice may or may not
// have been stored.
func (b *Bus) Publish(ctx context.Context, n notify.Notice, sentence string) error {
	if n.ID == "" {
		return errors.New("bus: a notice without an id cannot be published once: make it with notify.ID")
	}
	data, err := json.Marshal(eventOf(n, sentence, b.yard))
	if err != nil {
		return fmt.Errorf("bus: notice %s: %w", n.ID, err)
	}
	if !b.there.Load() {
		if err := b.openNotices(ctx); err != nil {
			return err
		}
	}
	msg := &nats.Msg{Subject: subject(n.Boat, n.Kind), Data: data, Header: nats.Header{"content-type": {contentType}}}
	ctx, stop := b.denied.watch(ctx)
	defer stop()
	if _, err := b.js.PublishMsg(ctx, msg, jetstream.WithMsgID(messageID(n))); err != nil {
		return fmt.Errorf("bus: publish notice %s: %w", n.ID, advised(ctx, err))
	}
	return nil
}

// subject is where a notice is published; what concerns no boat goes under yard.
func subject(boat string, kind notify.Kind) string {
	if boat == "" {
		boat = "yard"
	}
	return noticeSubject + token(boat) + "." + token(string(kind))
}

// token makes s one token of a subject: letters and digits stay, anything else is an underscore.
// Two boats may share one; the notice itself tells them apart.
func token(s string) string {
	if s == "" {
		return "_"
	}
	return strings.Map(func(r rune) rune {
		if r != unicode.ReplacementChar && (unicode.IsLetter(r) || unicode.IsDigit(r) || r == '-') {
			return r
		}
		return '_'
	}, s)
}
