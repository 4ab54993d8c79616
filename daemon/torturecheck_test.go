package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"

	"fairwindow/daemon/store"
	"fairwindow/notify"
	"fairwindow/planner"
)

// busReader is a durable reader of the notices, as a program beside the daemon is: it
// acknowledges what it has noted down, and what it hears again it drops by its id.
type busReader struct {
	addr string

	mu      sync.Mutex
	stored  map[uint64]notify.Notice // by number in the stream
	repeats int                      // heard again under its number
}

// read hears notices until ctx ends or the bus dies.
func (r *busReader) read(ctx context.Context) {
	conn, err := nats.Connect("nats://"+r.addr, nats.NoReconnect())
	if err != nil {
		return
	}
	defer conn.Close()
	js, err := jetstream.New(conn)
	if err != nil {
		return
	}
	short, end := context.WithTimeout(ctx, 3*time.Second)
	defer end()
	consumer, err := js.CreateOrUpdateConsumer(short, "NOTICES", jetstream.ConsumerConfig{
		Durable: "torture", AckPolicy: jetstream.AckExplicitPolicy, DeliverPolicy: jetstream.DeliverAllPolicy, AckWait: time.Second,
	})
	if err != nil {
		return
	}
	for ctx.Err() == nil && conn.IsConnected() {
		batch, err := consumer.Fetch(50, jetstream.FetchMaxWait(100*time.Millisecond))
		if err != nil {
			return
		}
		for m := range batch.Messages() {
			r.note(m)
		}
	}
}

func (r *busReader) note(m jetstream.Msg) {
	meta, err := m.Metadata()
	if err != nil {
		return
	}
	var heard struct{ Data notify.Notice } // CloudEvents: the notice is the event's data
	if json.Unmarshal(m.Data(), &heard) != nil {
		heard.Data = notify.Notice{ID: "unreadable"} // shows as one that the store does not know
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.stored == nil {
		r.stored = map[uint64]notify.Notice{}
	}
	if _, again := r.stored[meta.Sequence.Stream]; again {
		r.repeats++
	}
	r.stored[meta.Sequence.Stream] = heard.Data
	m.Ack()
}

// heard are the notices as the stream has them, in its order.
func (r *busReader) heard() []notify.Notice {
	r.mu.Lock()
	defer r.mu.Unlock()
	var numbers []uint64
	for n := range r.stored {
		numbers = append(numbers, n)
	}
	slices.Sort(numbers)
	var all []notify.Notice
	for _, n := range numbers {
		all = append(all, r.stored[n])
	}
	return all
}

// noticeName is what a notice is known by.
func noticeName(n notify.Notice) string { return fmt.Sprintf("%s revision %d", n.ID, n.Revision) }

// judgeNotices compares what was committed with what the durable reader heard: each
// once, and those of one boat in the order of their commits.
func judgeNotices(kept, heard []notify.Notice) []string {
	var wrong []string
	times := map[string]int{}
	for _, n := range heard {
		times[noticeName(n)]++
	}
	known := map[string]bool{}
	for _, n := range kept {
		known[noticeName(n)] = true
		if times[noticeName(n)] != 1 {
			wrong = append(wrong, fmt.Sprintf("%s was heard %d times", noticeName(n), times[noticeName(n)]))
		}
	}
	orders := [2]map[string][]string{{}, {}}
	for i, list := range [][]notify.Notice{kept, heard} {
		for _, n := range list {
			orders[i][n.Boat] = append(orders[i][n.Boat], noticeName(n))
		}
	}
	for boat, order := range orders[0] {
		if got := orders[1][boat]; len(wrong) == 0 && !slices.Equal(order, got) {
			wrong = append(wrong, fmt.Sprintf("of %s was heard %v, committed %v", boat, got, order))
		}
	}
	for _, n := range heard {
		if !known[noticeName(n)] {
			wrong = append(wrong, fmt.Sprintf("%s was heard, and the store does not know it", noticeName(n)))
		}
	}
	return wrong
}

// missing says what of all that was acknowledged the store and the bus do not have yet.
func (tt *torture) missing() string {
	kept, err := store.Read(tt.f.state)
	if err != nil {
		return err.Error()
	}
	defer kept.Close()
	for _, c := range tt.load.channels() {
		readings, err := kept.Readings(tt.t.Context(), store.Query{Source: c.source})
		if err != nil {
			return err.Error()
		}
		if len(readings) < len(c.acked) {
			return fmt.Sprintf("%d readings %s of %d", len(readings), c.source, len(c.acked))
		}
	}
	unsent, err := kept.Unsent(tt.t.Context(), 0)
	if err != nil {
		return err.Error()
	}
	notices, err := kept.Notices(tt.t.Context(), time.Time{}, 0)
	if err != nil {
		return err.Error()
	}
	if heard := tt.bus.heard(); len(unsent) > 0 || len(heard) < len(notices) {
		return fmt.Sprintf("%d notices heard of %d, %d of them unsent", len(heard), len(notices), len(unsent))
	}
	return owed(tt.t.Context(), kept, time.Now())
}

// judge holds what the store has against what was acknowledged and heard.
func (tt *torture) judge(kills int, took time.Duration) {
	t := tt.t
	kept, err := store.Open(tt.f.state)
	if err != nil {
		t.Fatal(err)
	}
	defer kept.Close()
	if kept.LeftOpen() {
		t.Error("the last daemon ended without closing the store")
	}
	if err := kept.Sound(t.Context()); err != nil {
		t.Error(err)
	}
	table := [][2]any{{"kills", kills + tt.cutLogs}, {"took", took.Round(time.Second)}}
	for _, c := range tt.load.channels() {
		table = append(table, [2]any{"readings " + c.source, fmt.Sprintf("%d acknowledged, %d sendings repeated", len(c.acked), c.retries)})
		tt.judgeReadings(kept, c)
	}
	presses, err := kept.Presses(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	var ids []string
	for _, p := range presses {
		ids = append(ids, p.Once)
	}
	slices.Sort(ids)
	want := slices.Sorted(slices.Values(tt.load.press.acked))
	if !slices.Equal(ids, want) {
		t.Errorf("%d presses are kept, %d were acknowledged", len(ids), len(want))
	}
	notices, err := kept.Notices(t.Context(), time.Time{}, 0)
	if err != nil {
		t.Fatal(err)
	}
	heard := tt.bus.heard()
	for _, wrong := range judgeNotices(notices, heard) {
		t.Error(wrong)
	}
	wrong, letters := tt.hook.judgeLetters(kept, t.Context())
	for _, w := range wrong {
		t.Error(w)
	}
	plans := tt.judgePlans(kept)
	if tt.away != nil {
		table = append(table, [2]any{"times the bus went away", tt.away.left})
	}
	slices.Sort(tt.starts)
	tt.table(append(table, [][2]any{
		{"presses", fmt.Sprintf("%d acknowledged, %d repeated", len(want), tt.load.press.retries)},
		{"notices", fmt.Sprintf("%d committed, %d heard, %d of those again", len(notices), len(heard), tt.bus.repeats)},
		{"told to people", letters},
		{"plans", plans},
		{"starts", fmt.Sprintf("%d, ready in %v as a rule, %v at most; %d found the store left open", len(tt.starts),
			tt.starts[len(tt.starts)/2].Round(time.Millisecond), tt.starts[len(tt.starts)-1].Round(time.Millisecond), tt.leftOpen)},
		{"logs cut off", tt.cutLogs},
		{"backups", tt.backups},
		{"forecasts that were none", tt.mangled},
	}...))
}

// judgeReadings: what was acknowledged is there, once.
func (tt *torture) judgeReadings(kept *store.Store, c *channel) {
	readings, err := kept.Readings(tt.t.Context(), store.Query{Source: c.source})
	if err != nil {
		tt.t.Fatal(err)
	}
	times := map[time.Time]int{}
	for _, r := range readings {
		times[r.At.UTC()]++
	}
	lost, twice := 0, 0
	for _, at := range c.acked {
		switch times[at] {
		case 0:
			lost++
		case 1:
		default:
			twice++
		}
	}
	if lost > 0 || twice > 0 || len(readings) != len(c.acked) {
		tt.t.Errorf("readings %s: %d acknowledged, %d kept, %d lost, %d more than once", c.source, len(c.acked), len(readings), lost, twice)
	}
}

// judgePlans goes through the journal: every plan has the problem it was made from, each
// was made after the one before, the released ones say by whom, and some of them, made
// again, are the same to the last byte.
func (tt *torture) judgePlans(kept *store.Store) string {
	t := tt.t
	rows, err := kept.Plans(t.Context(), 0)
	if err != nil {
		t.Fatal(err)
	}
	slices.SortFunc(rows, func(a, b store.PlanRow) int { return int(a.ID - b.ID) })
	released, again := 0, 0
	for i, row := range rows {
		problem, err := kept.Problem(t.Context(), row.Problem)
		if err != nil {
			t.Errorf("plan %d: %v", row.ID, err)
			continue
		}
		if i > 0 && row.At.Before(rows[i-1].At) {
			t.Errorf("plan %d of %s follows one of %s", row.ID, row.At, rows[i-1].At)
		}
		if row.Released {
			released++
		}
		if !row.Released || row.ReleasedBy != "rule" {
			t.Errorf("plan %d is released: %v, by %q; each goes out by the yard's rule", row.ID, row.Released, row.ReleasedBy)
		}
		if i%max(1, len(rows)/5) != 0 {
			continue
		}
		again++
		if !sameAgain(t, problem, row.Plan) {
			t.Errorf("plan %d, made again, is another", row.ID)
		}
	}
	told, ok, err := kept.LatestTold(t.Context())
	if err != nil || !ok || told.ID != rows[len(rows)-1].ID {
		t.Errorf("told last is plan %d (%v, %v), of %d plans", told.ID, ok, err, len(rows))
	}
	return fmt.Sprintf("%d kept, %d released, %d made again", len(rows), released, again)
}

func sameAgain(t *testing.T, problem planner.Problem, plan planner.Plan) bool {
	t.Helper()
	again, err := planner.Solve(problem)
	if err != nil {
		t.Fatal(err)
	}
	texts := [2][]byte{}
	for i, p := range []planner.Plan{again, plan} {
		if texts[i], err = json.Marshal(p); err != nil {
			t.Fatal(err)
		}
	}
	return bytes.Equal(texts[0], texts[1])
}

// TestJudgeNotices: what the torture calls lost, repeated, strange or out of order is so.
func TestJudgeNotices(t *testing.T) {
	of := func(boat, id string) notify.Notice { return notify.Notice{Boat: boat, ID: id, Revision: 1} }
	kept := []notify.Notice{of("One", "a"), of("Two", "b"), of("One", "c")}
	for _, c := range []struct {
		what  string
		heard []notify.Notice
		says  string
	}{
		{"as committed", kept, ""},
		{"another order, each boat's kept", []notify.Notice{kept[1], kept[0], kept[2]}, ""},
		{"lost", kept[:2], "c revision 1 was heard 0 times"},
		{"repeated", append(slices.Clone(kept), kept[0]), "a revision 1 was heard 2 times"},
		{"out of order", []notify.Notice{kept[2], kept[1], kept[0]}, "of One was heard"},
		{"strange", append(slices.Clone(kept), of("Two", "d")), "does not know it"},
	} {
		wrong := strings.Join(judgeNotices(kept, c.heard), "; ")
		if (c.says == "") != (wrong == "") || !strings.Contains(wrong, c.says) {
			t.Errorf("%s: %q, want %q", c.what, wrong, c.says)
		}
	}
}
