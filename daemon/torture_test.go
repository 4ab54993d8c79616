package main

import (
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"
	"text/tabwriter"
	"time"
)

// tortureEnv is how often the daemon is killed; tortureSeedEnv draws another run.
const (
	tortureEnv     = "FAIRWINDOW_TORTURE"
	tortureSeedEnv = "FAIRWINDOW_TORTURE_SEED"
)

// torture is one long run of a daemon that is killed time and again under load.
type torture struct {
	t    *testing.T
	f    processFolder
	draw *rand.Rand // of the kills only; each load draws for itself
	load *load
	bus  *busReader
	hook *hook
	away *awayBus // where their bus is that of others, else nil

	starts   []time.Duration
	cutLogs  int // started from a copy whose log was cut off
	mangled  int // forecasts that were none
	leftOpen int // starts that said that the store was left open
	backups  int // taken, restored and opened
}

// TestTorture kills the real daemon with kill -9 at random moments, under readings by
// HTTP, MQTT, NATS and files, presses through the pages, and forecasts good and bad, while
// it tells people and is copied, and holds what is there in the end against what was
// acknowledged. Some of the kills are of a daemon on a bus of others, which goes away too:
//
//	FAIRWINDOW_TORTURE=100 go test ./daemon -run Torture -v
//
// It takes about two seconds for each kill.
func TestTorture(t *testing.T) {
	kills, err := strconv.Atoi(os.Getenv(tortureEnv))
	if err != nil || kills < 1 {
		t.Skipf("runs for minutes: set %s to how often the daemon is to be killed", tortureEnv)
	}
	seed := uint64(time.Now().UnixNano())
	if text := os.Getenv(tortureSeedEnv); text != "" {
		if seed, err = strconv.ParseUint(text, 10, 64); err != nil {
			t.Fatalf("%s: %v", tortureSeedEnv, err)
		}
	}
	t.Logf("%s=%d draws the same kills again", tortureSeedEnv, seed)
	outside := kills * 15 / 100
	t.Run("own bus", func(t *testing.T) { newTorture(t, seed, nil).run(kills - outside) })
	if outside > 0 {
		t.Run("bus of others", func(t *testing.T) { newTorture(t, seed+1, newAwayBus(t)).run(outside) })
	}
}

func newTorture(t *testing.T, seed uint64, away *awayBus) *torture {
	hook := newHook(t, seed)
	f := tortureFolder(t, hook.url, away)
	return &torture{t: t, f: f, draw: rand.New(rand.NewPCG(seed, 1)), load: newLoad(f, seed), bus: &busReader{addr: f.bus}, hook: hook, away: away}
}

// run kills the daemon so often, and judges what is left.
func (tt *torture) run(kills int) {
	reading, stop := context.WithCancel(tt.t.Context())
	var reader sync.WaitGroup
	reader.Go(func() { each(reading, 20*time.Millisecond, func() { tt.bus.read(reading) }) })
	defer func() { stop(); reader.Wait() }()
	began := time.Now()
	for round := range kills {
		tt.drop(round)
		if round >= kills*2/3 {
			tt.hook.mend() // so that the last letters are not waited for too long
		}
		tt.round(fmt.Sprintf("start %d", round+1), tt.moment(), round%10 == 7)
		if round%10 == 4 {
			tt.judgeBackup(tt.backup("between kills", round), tt.load.post.acked)
		}
		if round%10 == 9 {
			tt.t.Logf("%d kills after %v; the last start took %v", round+1, time.Since(began).Round(time.Second), tt.starts[len(tt.starts)-1].Round(time.Millisecond))
			tt.startFromCutLog(round)
		}
		if tt.t.Failed() {
			return
		}
	}
	tt.drain()
	tt.judge(kills, time.Since(began))
}

// moment is how long the daemon runs before it is killed: half of the time it is killed
// while it starts to take things in, half of the time around its first plan, made two
// seconds after the start, and the notices that follow it.
func (tt *torture) moment() time.Duration {
	if tt.draw.IntN(2) == 0 {
		return time.Duration(tt.draw.Int64N(int64(800 * time.Millisecond)))
	}
	return 1900*time.Millisecond + time.Duration(tt.draw.Int64N(int64(1300*time.Millisecond)))
}

// start starts the daemon and waits until it is ready, which it must be without help.
func (tt *torture) start(what string, f processFolder) *child {
	tt.t.Helper()
	began := time.Now()
	c := f.run(tt.t)
	if c.says("ready", 20*time.Second) == nil {
		tt.t.Fatalf("%s: it does not start:\n%s", what, c.log())
	}
	tt.starts = append(tt.starts, time.Since(began))
	if strings.Contains(c.log(), "did not close the store") {
		tt.leftOpen++
	}
	return c
}

// round runs the daemon for a while under load, copies its store meanwhile if asked to,
// and kills it. A bus of others goes away and comes back at moments of its own.
func (tt *torture) round(what string, lasts time.Duration, copied bool) {
	tt.t.Helper()
	c := tt.start(what, tt.f)
	ctx, end := context.WithCancel(tt.t.Context())
	var parts sync.WaitGroup
	loads := []func(context.Context){tt.load.posts, tt.load.rows, tt.load.drops, tt.load.subjects, tt.load.presses}
	if tt.away == nil {
		loads = append(loads, tt.load.messages)
	} else {
		leaves := time.Duration(tt.draw.Int64N(int64(lasts) + 1))
		loads = append(loads, func(ctx context.Context) { tt.away.flap(ctx, leaves, leaves/4) })
	}
	for _, part := range loads {
		parts.Go(func() { part(ctx) })
	}
	file := ""
	if copied {
		file = tt.backup(what, len(tt.starts))
	}
	select {
	case <-time.After(lasts):
	case <-c.ended:
		tt.t.Errorf("%s: it ended by itself:\n%s", what, c.log())
	}
	c.kill()
	end()
	parts.Wait()
	if tt.away != nil {
		tt.away.start() // without it a daemon does not start
	}
	if file != "" {
		tt.judgeBackup(file, nil)
	}
	if err := tt.load.wrong(); err != nil {
		tt.t.Errorf("%s: %v\n%s", what, err, c.log())
	}
	if strings.Contains(c.log(), "panic") || strings.Contains(c.log(), `"level":"error"`) {
		tt.t.Errorf("%s: its log says\n%s", what, c.log())
	}
}

// drop puts a forecast into the folder now and then, and what is none.
func (tt *torture) drop(round int) {
	tt.t.Helper()
	name := filepath.Join("forecasts", fmt.Sprintf("%04d.csv", round))
	if err := os.MkdirAll(filepath.Join(tt.f.dir, "forecasts"), 0o755); err != nil {
		tt.t.Fatal(err)
	}
	switch {
	case round%7 == 0:
		tt.f.write(tt.t, name, fiveDays(time.Now()))
	case round%7 == 3:
		tt.mangled++
		whole := fiveDays(time.Now())
		tt.f.write(tt.t, name, []string{
			whole[:tt.draw.IntN(len(whole))], "\x00\xff\x17", "", strings.ReplaceAll(whole, "20", "NaN"), strings.Repeat(whole[:400], 50),
		}[tt.draw.IntN(5)])
	}
}

// fiveDays is a forecast of five days, as warm as the booth.
func fiveDays(issued time.Time) string {
	var b strings.Builder
	fmt.Fprintf(&b, "# issued %s\ntime,air_C,dew_point_C,wind_m/s,rain_mm,rain_chance_%%\n", issued.UTC().Format(time.RFC3339))
	for h := range 120 {
		fmt.Fprintf(&b, "%s,20,6,3,0,0\n", issued.UTC().Truncate(time.Hour).Add(time.Duration(h-3)*time.Hour).Format(time.RFC3339))
	}
	return b.String()
}

// startFromCutLog starts the daemon from a copy of what the kill left, with the store's
// log cut off at a random point. That loses commits by definition; it must start from
// there without help, say that the store was left open, and have lost only the last.
func (tt *torture) startFromCutLog(round int) {
	tt.t.Helper()
	copied := tt.f
	copied.state = filepath.Join(tt.t.TempDir(), "state")
	if err := os.CopyFS(copied.state, os.DirFS(tt.f.state)); err != nil {
		tt.t.Fatal(err)
	}
	wal := filepath.Join(copied.state, "fairwindow.db-wal")
	info, err := os.Stat(wal)
	if err != nil {
		tt.t.Fatal(err)
	}
	cut := 1 + tt.draw.Int64N(info.Size())
	if err := os.Truncate(wal, cut); err != nil {
		tt.t.Fatal(err)
	}
	what := fmt.Sprintf("after kill %d, with the log cut at %d of %d bytes", round+1, cut, info.Size())
	c := tt.start(what, copied)
	if !strings.Contains(c.log(), "did not close the store") {
		tt.t.Errorf("%s: it does not say that the store was left open:\n%s", what, c.log())
	}
	c.kill()
	tt.cutLogs++
	if gap := tt.load.gap(copied.readings(tt.t)); gap != "" {
		tt.t.Errorf("%s: %s", what, gap)
	}
}

// drain runs the daemon once more, without a kill, until all that was sent is there and
// every notice was heard, and ends it.
func (tt *torture) drain() {
	tt.t.Helper()
	c := tt.start("the last start", tt.f)
	ctx, end := context.WithTimeout(tt.t.Context(), 90*time.Second)
	defer end()
	tt.load.rest(ctx)
	if err := tt.load.wrong(); err != nil {
		tt.t.Errorf("the last start: %v", err)
	}
	for left := "?"; left != ""; {
		select {
		case <-ctx.Done():
			tt.t.Errorf("not all is there: %s", left)
			left = ""
		case <-time.After(100 * time.Millisecond):
			left = tt.missing()
		}
	}
	if code := c.end(tt.t); code != exitYes {
		tt.t.Errorf("the last end: exit code %d:\n%s", code, c.log())
	}
}

// table prints what was counted.
func (tt *torture) table(rows [][2]any) {
	var b strings.Builder
	w := tabwriter.NewWriter(&b, 0, 0, 2, ' ', 0)
	for _, r := range rows {
		fmt.Fprintf(w, "%v\t%v\n", r[0], r[1])
	}
	w.Flush()
	tt.t.Logf("\n%s", b.String())
}
