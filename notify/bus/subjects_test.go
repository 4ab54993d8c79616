package bus

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"
)

// takeSubjects runs Subjects as take runs Intake.
func takeSubjects(t *testing.T, ctx context.Context, b *Bus, subjects []string, reply func([]Arrival) error) (arrivals <-chan Arrival, stop func()) {
	t.Helper()
	came := make(chan Arrival, 4096)
	ended := make(chan error, 1)
	ctx, cancel := context.WithCancel(ctx)
	go func() {
		ended <- b.Subjects(ctx, subjects, func(_ context.Context, batch []Arrival) error {
			for _, a := range batch {
				came <- a
			}
			return reply(batch)
		})
	}()
	stopped := false
	stop = func() {
		if stopped {
			return
		}
		stopped = true
		cancel()
		if err := <-ended; err != nil {
			t.Error(err)
		}
	}
	t.Cleanup(stop)
	return came, stop
}

// program is another program on this machine.
func program(t *testing.T, url string) jetstream.JetStream {
	t.Helper()
	conn, err := nats.Connect(url, nats.Timeout(hangs))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(conn.Close)
	js, err := jetstream.New(conn)
	if err != nil {
		t.Fatal(err)
	}
	return js
}

// asked publishes and waits for the stream's answer; before the stream is there nobody answers.
func asked(t *testing.T, ctx context.Context, js jetstream.JetStream, subject, text string, options ...jetstream.PublishOpt) *jetstream.PubAck {
	t.Helper()
	for {
		ack, err := js.Publish(ctx, subject, []byte(text), options...)
		if err == nil {
			return ack
		}
		if !errors.Is(err, jetstream.ErrNoStreamResponse) && !errors.Is(err, nats.ErrNoResponders) {
			t.Fatal(err)
		}
	}
}

// What a publisher was told is stored is handed over until it is committed: after a failed
// batch, and after a restart; once committed never again.
func TestSubjects(t *testing.T) {
	ctx := within(t)
	o := Options{StoreDir: t.TempDir(), NATSAddr: "127.0.0.1:0"}
	b := open(t, ctx, o)
	subjects := []string{"yard.booth.air", "yard.shed.air"}
	failed, stop := takeSubjects(t, ctx, b, subjects, func([]Arrival) error { return errors.New("disk full") })
	js := program(t, b.URL())
	if ack := asked(t, ctx, js, "yard.booth.air", "1"); ack.Stream != readingStream {
		t.Errorf("stored in %s", ack.Stream)
	}
	first := next(t, ctx, failed)
	if n, err := b.Pending(ctx); err != nil || n != 1 {
		t.Errorf("%d pending, %v", n, err)
	}
	stop()
	asked(t, ctx, js, "yard.shed.air", "2", jetstream.WithMsgID("a"))
	if ack := asked(t, ctx, js, "yard.shed.air", "2", jetstream.WithMsgID("a")); !ack.Duplicate {
		t.Error("a known id is stored twice")
	}
	if err := b.Close(ctx); err != nil {
		t.Fatal(err)
	}

	b = open(t, ctx, o)
	arrivals, stop := takeSubjects(t, ctx, b, subjects[:1], accept) // the other one is no longer asked for, but was accepted
	got := map[string]Arrival{}
	for len(got) < 2 {
		a := next(t, ctx, arrivals)
		got[a.Topic+" "+string(a.Payload)] = a
	}
	if again := got["yard.booth.air 1"]; again.Stored.IsZero() || !again.Stored.Equal(first.Stored) {
		t.Errorf("first %v, then %v", first.Stored, again.Stored)
	}
	if _, ok := got["yard.shed.air 2"]; !ok {
		t.Errorf("got %v", got)
	}
	drained(t, ctx, b)
	stop()
	if _, err := program(t, b.URL()).Publish(ctx, "yard.shed.air", []byte("3")); err == nil {
		t.Error("a subject that nobody asks for any more was accepted")
	}
	left, _ := takeSubjects(t, ctx, b, nil, accept)
	asked(t, ctx, program(t, b.URL()), "yard.booth.air", "4")
	if a := next(t, ctx, left); string(a.Payload) != "4" {
		t.Errorf("came again: %+v", a)
	}
}

// Another program can neither take readings away nor say that they are committed.
func TestStrangersMayNotTakeReadings(t *testing.T) {
	ctx := within(t)
	b := open(t, ctx, Options{StoreDir: t.TempDir(), NATSAddr: "127.0.0.1:0"})
	_, stop := takeSubjects(t, ctx, b, []string{"yard.air"}, accept)
	asked(t, ctx, program(t, b.URL()), "yard.air", "1")
	drained(t, ctx, b)
	stop()
	conn, err := nats.Connect(b.URL(), nats.Timeout(hangs), nats.ErrorHandler(func(*nats.Conn, *nats.Subscription, error) {}))
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	inbox, err := conn.SubscribeSync(nats.NewInbox())
	if err != nil {
		t.Fatal(err)
	}
	asked(t, ctx, program(t, b.URL()), "yard.air", "2")
	if err := conn.PublishRequest("$JS.API.CONSUMER.MSG.NEXT."+readingStream+"."+readingUser, inbox.Subject, nil); err != nil {
		t.Fatal(err)
	}
	for _, subject := range []string{"$JS.API.STREAM.PURGE." + readingStream, "$JS.API.CONSUMER.DELETE." + readingStream + "." + readingUser} {
		if err := conn.Publish(subject, nil); err != nil {
			t.Fatal(err)
		}
	}
	if err := conn.FlushWithContext(ctx); err != nil {
		t.Fatal(err)
	}
	arrivals, _ := takeSubjects(t, ctx, b, []string{"yard.air"}, accept)
	if a := next(t, ctx, arrivals); string(a.Payload) != "2" {
		t.Errorf("got %+v", a)
	}
	if n, _, _ := inbox.Pending(); n != 0 {
		t.Error("another program took a reading away")
	}
}

// A stream of others that has the subject is used as it is.
func TestSubjectsOfTheirStream(t *testing.T) {
	t.Parallel()
	ctx := within(t)
	url, _ := theirs(t)
	js := program(t, url)
	if _, err := js.CreateStream(ctx, jetstream.StreamConfig{Name: "PLANT", Subjects: []string{"plant.>"}}); err != nil {
		t.Fatal(err)
	}
	asked(t, ctx, js, "plant.air", "1")
	asked(t, ctx, js, "plant.other", "no reading")
	b := open(t, ctx, Options{External: url})
	arrivals, _ := takeSubjects(t, ctx, b, []string{"plant.air", "yard.air"}, accept)
	if a := next(t, ctx, arrivals); a.Topic != "plant.air" || string(a.Payload) != "1" {
		t.Errorf("got %+v", a)
	}
	asked(t, ctx, js, "yard.air", "2")
	if a := next(t, ctx, arrivals); a.Topic != "yard.air" || string(a.Payload) != "2" {
		t.Errorf("got %+v", a)
	}
}

// childOf says which child the test binary is.
const childOf = "FAIRWINDOW_BUS_TEST_CHILD_OF"

// subjectsChild commits readings from a subject to a file, synced before they are acknowledged.
func subjectsChild(dir string) error {
	ctx := context.Background()
	b, err := Open(ctx, Options{StoreDir: filepath.Join(dir, "bus"), NATSAddr: "127.0.0.1:0"})
	if err != nil {
		return err
	}
	keep, err := keepsIn(filepath.Join(dir, "committed"))
	if err != nil {
		return err
	}
	fmt.Println(b.URL())
	return b.Subjects(ctx, []string{"yard.air"}, keep)
}

// Killed in full flight, the daemon loses no message that its publisher was told is stored.
func TestSubjectsKilledInFullFlight(t *testing.T) {
	if testing.Short() {
		t.Skip("starts and kills processes")
	}
	t.Parallel()
	ctx := within(t)
	dir := t.TempDir()
	acknowledged := map[string]bool{}
	for round := range 2 {
		cmd := exec.CommandContext(ctx, os.Args[0])
		cmd.Env = append(os.Environ(), childDir+"="+dir, childOf+"=subjects")
		cmd.Stderr = os.Stderr
		out, err := cmd.StdoutPipe()
		if err != nil {
			t.Fatal(err)
		}
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		url, err := bufio.NewReader(out).ReadString('\n')
		if err != nil {
			t.Fatal(err)
		}
		js := program(t, strings.TrimSpace(url))
		asked(t, ctx, js, "yard.air", "begin")
		const flying, before = 300, 200
		futures := make([]jetstream.PubAckFuture, flying)
		for i := range flying {
			if futures[i], err = js.PublishAsync("yard.air", []byte(strconv.Itoa(round)+"-"+strconv.Itoa(i))); err != nil {
				t.Fatal(err)
			}
		}
		for i, f := range futures {
			if i == before {
				cmd.Process.Kill()
				cmd.Wait()
			}
			if i < before {
				select {
				case <-f.Ok():
				case err := <-f.Err():
					t.Fatal(err)
				}
			}
			select {
			case <-f.Ok():
			default:
				if i >= before {
					continue
				}
			}
			acknowledged[string(f.Msg().Data)] = true
		}
	}
	b := open(t, ctx, Options{StoreDir: filepath.Join(dir, "bus")})
	rest, _ := takeSubjects(t, ctx, b, []string{"yard.air"}, accept)
	for !b.taking.Load() {
		pause(ctx, time.Millisecond)
	}
	drained(t, ctx, b)
	committed, err := os.ReadFile(filepath.Join(dir, "committed"))
	if err != nil {
		t.Fatal(err)
	}
	got := map[string]bool{}
	for line := range strings.Lines(string(committed)) {
		got[strings.TrimSpace(line)] = true
	}
	for len(rest) > 0 {
		got[string((<-rest).Payload)] = true
	}
	for id := range acknowledged {
		if !got[id] {
			t.Errorf("%s of %d acknowledged readings is lost", id, len(acknowledged))
		}
	}
}
