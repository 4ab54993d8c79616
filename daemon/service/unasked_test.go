package service

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"fairwindow/notify/bus"
)

// TestUnasked: a topic one letter apart from a sensor's own is told to who asks how the
// sources stand, after a restart too, until the yard file has it or a day without a word.
func TestUnasked(t *testing.T) {
	t.Parallel()
	r := newRig(t, yardText)
	r.start()
	message := bus.Arrival{Topic: "yard/boooth", Payload: []byte("{}"), Stored: r.clock.Now()}
	for range 2 {
		if err := r.svc.takeMessages(t.Context(), []bus.Arrival{message}); err != nil {
			t.Fatal(err)
		}
	}
	if got := r.metric("unmapped_messages_total"); got != 2 {
		t.Errorf("%v messages are counted, want 2", got)
	}
	r.until(r.clock.Now().Add(r.tick))
	r.restart()
	memory, err := r.svc.store.Memory(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	y := r.svc.Yard()
	mapped := y
	mapped.Sensors = slices.Clone(y.Sensors)
	mapped.Sensors[0].Topic = message.Topic
	for _, tt := range []struct {
		name string
		got  func() ([]string, error)
		want []string
	}{
		{"none has it", func() ([]string, error) { return Unasked(memory, y, r.clock.Now()) }, []string{message.Topic}},
		{"a sensor has it now", func() ([]string, error) { return Unasked(memory, mapped, r.clock.Now()) }, nil},
		{"two days later", func() ([]string, error) { return Unasked(memory, y, r.clock.Now().Add(48*time.Hour)) }, nil},
	} {
		if got, err := tt.got(); err != nil || !slices.Equal(got, tt.want) {
			t.Errorf("%s: %v, %v, want %v", tt.name, got, err, tt.want)
		}
	}
}

// TestUnaskedMakesRoom: topics that fell silent are forgotten, so that whoever once sent to very
// many does not hide the next slip for ever.
func TestUnaskedMakesRoom(t *testing.T) {
	u := unasked{heard: map[string]time.Time{}}
	for n := range unaskedMost {
		u.heard[fmt.Sprint("old/", n)] = monday
	}
	for _, tt := range []struct {
		after time.Duration
		left  int
		saves bool
	}{{0, unaskedMost, true}, {unaskedFor, unaskedMost, false}, {unaskedFor + time.Second, 0, true}, {2 * unaskedFor, 0, false}} {
		memory, err := u.settle(monday.Add(tt.after))
		if err != nil || len(u.heard) != tt.left || (memory != nil) != tt.saves {
			t.Errorf("after %s: %d left, saved %t, %v; want %d, %t", tt.after, len(u.heard), memory != nil, err, tt.left, tt.saves)
		}
	}
}
