package bus

import (
	"context"
	"strings"
	"testing"
	"time"

	"fairwindow/notify"
)

func example(boat string, kind notify.Kind) notify.Notice {
	n := notify.Notice{Kind: kind, Boat: boat, Area: "topsides", Stage: "topcoat", Pass: 1, Occurrence: 1, Revision: 1,
		At: time.Date(2026, 5, 12, 8, 30, 0, 0, time.UTC)}
	n.ID = notify.ID(n)
	return n
}

func TestPublishOnceAndListen(t *testing.T) {
	ctx := within(t)
	b := open(t, ctx, Options{StoreDir: t.TempDir(), NATSAddr: "127.0.0.1:0"})
	opens, closed := example("Petrel II", notify.WindowOpens), example("Auk", notify.WindowClosed)
	revised := opens
	revised.Revision = 2
	for _, n := range []notify.Notice{opens, opens, closed, revised, opens} {
		if err := b.Publish(ctx, n, "A sentence."); err != nil {
			t.Fatal(err)
		}
	}
	all := listenTo(t, ctx, b.URL(), Filter{FromStart: true})
	for i, want := range []notify.Notice{opens, closed, revised} {
		got := next(t, ctx, all)
		if got.Err != nil || got.Notice != want || got.Sentence != "A sentence." || got.Sequence != uint64(i+1) {
			t.Errorf("message %d: %+v, want %+v", i+1, got, want)
		}
	}
	auk := listenTo(t, ctx, b.URL(), Filter{Boat: "Auk", FromStart: true})
	if got := next(t, ctx, auk); got.Notice != closed {
		t.Errorf("filtered by boat: %+v", got)
	}
	fresh := listenTo(t, ctx, b.URL(), Filter{Kind: notify.PotLifeOver})
	over := example("Auk", notify.PotLifeOver)
	if err := b.Publish(ctx, over, "Stop."); err != nil {
		t.Fatal(err)
	}
	if got := next(t, ctx, fresh); got.Notice != over {
		t.Errorf("only new ones: %+v", got)
	}
	if err := b.Publish(ctx, notify.Notice{Kind: notify.WindowOpens}, ""); err == nil || !strings.Contains(err.Error(), "notify.ID") {
		t.Errorf("a notice without an id: %v", err)
	}
}

// listenTo listens over a real connection and returns once it is heard.
func listenTo(t *testing.T, ctx context.Context, url string, f Filter) <-chan Message {
	t.Helper()
	ctx, cancel := context.WithCancel(ctx)
	messages, ready, ended := make(chan Message, 64), make(chan struct{}), make(chan error, 1)
	f.Ready = func() { close(ready) }
	go func() { ended <- Listen(ctx, url, f, func(m Message) { messages <- m }) }()
	t.Cleanup(func() {
		cancel()
		if err := <-ended; err != nil {
			t.Error(err)
		}
	})
	select {
	case <-ready:
	case err := <-ended:
		ended <- nil
		t.Fatal(err)
	}
	return messages
}

func TestUnreadableNoticeIsHandedOver(t *testing.T) {
	ctx := within(t)
	b := open(t, ctx, Options{StoreDir: t.TempDir(), NATSAddr: "127.0.0.1:0"})
	if _, err := b.js.Publish(ctx, noticeSubject+"x.y", []byte("{")); err != nil {
		t.Fatal(err)
	}
	got := next(t, ctx, listenTo(t, ctx, b.URL(), Filter{FromStart: true}))
	if got.Err == nil || got.Sequence != 1 {
		t.Errorf("%+v", got)
	}
}
