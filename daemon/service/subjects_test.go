package service

import (
	"strings"
	"testing"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"
)

// TestSubject: a reading comes in on a subject of the bus; its publisher is
// answered by the stream, and a message sent again counts once. With a yard file
// that no longer has the subject, publishers are refused rather than ignored.
func TestSubject(t *testing.T) {
	t.Parallel()
	r := newRig(t, strings.Replace(yardText, "forecasts:\n", `  - {name: wall, place: booth, subject: yard.booth.wall, sequence: n, values: {surface: {path: s, unit: F}}}
forecasts:
`, 1))
	r.start()
	conn, err := nats.Connect(r.svc.BusURL(), nats.Timeout(hangs))
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	js, err := jetstream.New(conn)
	if err != nil {
		t.Fatal(err)
	}
	publish := func(text string) error {
		_, err := js.Publish(patient(t), "yard.booth.wall", []byte(text))
		return err
	}
	for end := time.Now().Add(hangs); ; {
		if err = publish(`{"n": 1, "s": 68}`); err == nil || time.Now().After(end) {
			break // the first is answered once the stream is there
		}
	}
	for _, text := range []string{`{"n": 1, "s": 68}`, `{"n": 2, "s": 69.8}`, "broken"} {
		if err := publish(text); err != nil {
			t.Fatal(err)
		}
	}
	got := r.arrived("wall", 3)
	if len(got) != 3 {
		t.Fatalf("%d readings", len(got))
	}
	if x, ok := got[0].Good("surface"); !ok || x != 20 || got[0].Place != "booth" {
		t.Errorf("got %+v", got[0])
	}
	if x, ok := got[1].Good("surface"); !ok || x != 21 {
		t.Errorf("got %+v", got[1])
	}
	if got[2].Raw != "broken" || len(got[2].Flags) == 0 {
		t.Errorf("what can't be read became %+v", got[2])
	}
	r.yard = strings.ReplaceAll(r.yard, "yard.booth.wall", "yard.booth.floor")
	if err := r.svc.Reload(t.Context()); err != nil {
		t.Fatal(err)
	}
	for end := time.Now().Add(hangs); publish(`{"n": 4, "s": 68}`) == nil; {
		if time.Now().After(end) {
			t.Fatal("still answered on the old subject")
		}
	}
}
