package bus

import (
	"encoding/json"
	"strconv"
	"testing"

	"fairwindow/notify"
)

// A stream may hold a notice twice: one that gathers several yards, or one of a server that
// forgets ids sooner. Listeners hear it once, and two yards' notices under one id each.
func TestRepeatsInTheStreamAreHeardOnce(t *testing.T) {
	ctx := within(t)
	b := open(t, ctx, Options{StoreDir: t.TempDir(), NATSAddr: "127.0.0.1:0"})
	first, second := example("Auk", notify.WindowOpens), example("Auk", notify.WindowClosed)
	for _, e := range []event{
		eventOf(first, "Open.", "north"), eventOf(first, "Open.", "north"), eventOf(first, "Open.", "south"),
		eventOf(first, "Open.", "north"), eventOf(second, "Closed.", "north"),
	} {
		data, err := json.Marshal(e)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := b.js.Publish(ctx, subject(e.Data.Boat, e.Data.Kind), data); err != nil {
			t.Fatal(err)
		}
	}
	heard := listenTo(t, ctx, b.URL(), Filter{FromStart: true})
	for _, want := range []struct {
		source   string
		sequence uint64
	}{{"/yards/north", 1}, {"/yards/south", 3}, {"/yards/north", 5}} {
		if got := next(t, ctx, heard); got.Source != want.source || got.Sequence != want.sequence {
			t.Errorf("heard %d of %s, want %d of %s", got.Sequence, got.Source, want.sequence, want.source)
		}
	}
}

// A listener's memory for ids is bounded: the oldest is let go, the others are not.
func TestOldestIDIsForgotten(t *testing.T) {
	var k known
	for i := range knownMost + 1 {
		if !k.first(strconv.Itoa(i)) {
			t.Fatalf("%d is taken for known", i)
		}
	}
	if len(k.ids) != knownMost || k.first("1") || k.first(strconv.Itoa(knownMost)) || !k.first("0") {
		t.Errorf("it keeps %d ids", len(k.ids))
	}
}
