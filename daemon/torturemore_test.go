package main

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/nats-io/nats-server/v2/server"
	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"

	"fairwindow/daemon/store"
)

var tortureBoats = []string{"Boat One", "Boat Two", "Boat Three", "Boat Four"}

// tortureSensors are more ways for readings to come in, and torturePeople whom notices are
// told; %s is the address of their programs.
const (
	tortureSensors = `  - {name: by drop, place: booth, file: "drop/*.jsonl", time: time, values: {air: {path: air}, humidity: {path: humidity}}}
  - {name: by subject, place: booth, subject: yard.booth.wall, time: time, values: {air: {path: air}, humidity: {path: humidity}}}
`
	torturePeople = `people:
  - {name: Ines, webhook: {url: "%[1]s/ines", secret_file: board.key}}
  - {name: Rui, hears: {boats: [Boat One, Boat Three]}, webhook: {url: "%[1]s/rui", secret_file: board.key}}
  - {name: Vera, hears: {kinds: [stage_put_off]}, webhook: {url: "%[1]s/vera", secret_file: board.key}}
`
)

// tortureFolder is a yard with all that the torture uses.
func tortureFolder(t *testing.T, hook string, away *awayBus) processFolder {
	t.Helper()
	f := newProcessFolder(t)
	yard := fmt.Sprintf(processYard, f.pages, f.bus, f.mqtt)
	yard = strings.Replace(yard, "forecasts:\n", tortureSensors+fmt.Sprintf(torturePeople, hook)+"forecasts:\n", 1)
	if away != nil {
		yard = strings.Replace(yard, fmt.Sprintf("{listen: %q, mqtt: %q}", f.bus, f.mqtt), fmt.Sprintf("{url: %q}", "nats://"+away.addr), 1)
		f.bus, f.mqtt = away.addr, ""
	}
	boats := "boats:\n"
	for _, boat := range tortureBoats {
		boats += fmt.Sprintf("  - {boat: %s, length: 9 m, beam: 3 m, arrives: %s, promised: %s, areas: [{area: topsides, system: one coat, size: 20 m2}]}\n",
			boat, time.Now().AddDate(0, 0, -1).Format(time.DateOnly), time.Now().AddDate(0, 0, 20).Format(time.DateOnly))
	}
	f.write(t, yardName, yard)
	f.write(t, boatsName, boats)
	f.write(t, "board.key", hookSecret)
	if err := os.Mkdir(filepath.Join(f.dir, "drop"), 0o700); err != nil {
		t.Fatal(err)
	}
	return f
}

// awayBus is a NATS server that others run, and stop.
type awayBus struct {
	t    *testing.T
	dir  string
	addr string
	srv  *server.Server // nil while it is away
	left int            // how often it went away
}

func newAwayBus(t *testing.T) *awayBus {
	t.Helper()
	b := &awayBus{t: t, dir: t.TempDir(), addr: freeAddr(t)}
	b.start()
	t.Cleanup(b.stop)
	return b
}

func (b *awayBus) start() {
	if b.srv != nil {
		return
	}
	host, port, _ := strings.Cut(b.addr, ":")
	o := &server.Options{Host: host, JetStream: true, StoreDir: b.dir, NoSigs: true, NoLog: true}
	fmt.Sscan(port, &o.Port)
	srv, err := server.NewServer(o)
	if err != nil {
		b.t.Error(err)
		return
	}
	srv.Start()
	if !srv.ReadyForConnections(hangs) {
		b.t.Error("the bus of others does not start")
	}
	b.srv = srv
}

func (b *awayBus) stop() {
	if b.srv != nil {
		b.srv.Shutdown()
		b.srv.WaitForShutdown()
		b.srv = nil
	}
}

// flap goes away after a while, and comes back after another unless ctx ends before.
func (b *awayBus) flap(ctx context.Context, after, away time.Duration) {
	select {
	case <-ctx.Done():
		return
	case <-time.After(after):
	}
	b.stop()
	b.left++
	select {
	case <-ctx.Done():
	case <-time.After(away):
		b.start()
	}
}

// subjects publishes readings on a subject of the bus and waits for each to be stored.
func (l *load) subjects(ctx context.Context) {
	each(ctx, 40*time.Millisecond, func() {
		if len(l.subject.pending) > 0 {
			l.subject.retries++
		} else {
			l.subject.next(1 + l.subject.draw.IntN(3))
		}
		l.subjectOnce(ctx)
	})
}

// subjectOnce sends what is pending until one is not acknowledged.
func (l *load) subjectOnce(ctx context.Context) {
	conn, err := nats.Connect("nats://"+l.f.bus, nats.NoReconnect())
	if err != nil {
		return
	}
	defer conn.Close()
	js, err := jetstream.New(conn)
	if err != nil {
		return
	}
	c := &l.subject
	for len(c.pending) > 0 {
		at := c.pending[0]
		short, end := context.WithTimeout(ctx, 2*time.Second)
		_, err := js.Publish(short, "yard.booth.wall", fmt.Appendf(nil, `{"time": %q, "air": %g, "humidity": 45}`, at.Format(time.RFC3339Nano), air(at)))
		end()
		if err != nil {
			return
		}
		c.pending, c.acked = c.pending[1:], append(c.acked, at)
	}
}

// drops puts a file of JSON lines into a folder, lets it grow, some lines in two pieces, and
// in the end gives it another name. What is in it is as good as acknowledged.
func (l *load) drops(ctx context.Context) {
	c := &l.dropped
	l.files++
	name := filepath.Join(l.f.dir, "drop", fmt.Sprintf("%04d.jsonl", l.files))
	file, err := os.OpenFile(name, os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o600)
	if err != nil {
		l.fault("%v", err)
		return
	}
	defer file.Close()
	each(ctx, 60*time.Millisecond, func() {
		at := c.next(1)[0]
		line := fmt.Sprintf(`{"time": %q, "air": %g, "humidity": 45}`+"\n", at.Format(time.RFC3339Nano), air(at))
		half := c.draw.IntN(len(line))
		for _, piece := range []string{line[:half], line[half:]} {
			if _, err := file.WriteString(piece); err != nil {
				l.fault("%v", err)
			}
		}
		c.done()
	})
	if l.files%2 == 0 {
		if err := os.Rename(name, filepath.Join(l.f.dir, "drop", fmt.Sprintf("done-%04d.jsonl", l.files))); err != nil {
			l.fault("%v", err)
		}
	}
}

// backup copies the store as a person does, with or without a daemon on it.
func (tt *torture) backup(what string, n int) string {
	tt.t.Helper()
	to := filepath.Join(tt.t.TempDir(), fmt.Sprintf("%d.db", n))
	c := startChild(tt.t, "backup", tt.f.dir, to, "--state", tt.f.state)
	if code := c.code(tt.t); code != exitYes {
		tt.t.Errorf("backup at %s: exit code %d:\n%s", what, code, c.log())
	}
	return to
}

// judgeBackup restores a backup: it is sound, has each reading that was acknowledged before
// it was taken, and of those acknowledged later the earlier ones first.
func (tt *torture) judgeBackup(file string, before []time.Time) {
	tt.t.Helper()
	f := tt.f
	f.state = filepath.Join(tt.t.TempDir(), "restored")
	if err := store.Restore(tt.t.Context(), file, f.state); err != nil {
		tt.t.Error(err)
		return
	}
	kept, err := store.Open(f.state)
	if err != nil {
		tt.t.Error(err)
		return
	}
	if err := kept.Sound(tt.t.Context()); err != nil {
		tt.t.Errorf("%s: %v", file, err)
	}
	if err := kept.Close(); err != nil {
		tt.t.Error(err)
	}
	tt.backups++
	readings := f.readings(tt.t)
	if gap := tt.load.gap(readings); gap != "" {
		tt.t.Errorf("%s: %s", file, gap)
	}
	var posted []time.Time
	for _, r := range readings {
		if r.Source == tt.load.post.source {
			posted = append(posted, r.At.UTC())
		}
	}
	slices.SortFunc(posted, time.Time.Compare)
	for _, at := range before {
		if _, there := slices.BinarySearchFunc(posted, at, time.Time.Compare); !there {
			tt.t.Errorf("%s has not the reading of %s, which was acknowledged before", file, at)
			return
		}
	}
}

// TestAwayBusComesBack: the bus of others that the torture stops is itself again on the same
// address with what it held.
func TestAwayBusComesBack(t *testing.T) {
	t.Parallel()
	b := newAwayBus(t)
	l := newLoad(processFolder{bus: b.addr}, 1)
	conn, err := nats.Connect("nats://"+b.addr, nats.Timeout(hangs))
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	js, err := jetstream.New(conn)
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithTimeout(t.Context(), hangs)
	defer cancel()
	if _, err := js.CreateStream(ctx, jetstream.StreamConfig{Name: "X", Subjects: []string{"yard.>"}}); err != nil {
		t.Fatal(err)
	}
	l.subject.next(3)
	l.subjectOnce(t.Context())
	b.flap(t.Context(), 0, 0)
	l.subject.next(2)
	for t.Context().Err() == nil && len(l.subject.pending) > 0 {
		l.subjectOnce(t.Context())
	}
	again, err := nats.Connect("nats://"+b.addr, nats.Timeout(hangs))
	if err != nil {
		t.Fatal(err)
	}
	defer again.Close()
	if js, err = jetstream.New(again); err != nil {
		t.Fatal(err)
	}
	s, err := js.Stream(ctx, "X")
	if err != nil {
		t.Fatal(err)
	}
	// More than five if one was stored and its acknowledgement came late.
	if n := s.CachedInfo().State.Msgs; n < 5 || len(l.subject.acked) != 5 || b.left != 1 {
		t.Errorf("%d messages are kept of %d acknowledged, away %d times; want 5, 5 and 1", n, len(l.subject.acked), b.left)
	}
}
