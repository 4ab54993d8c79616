package main

import (
	"bufio"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"fairwindow/daemon/store"
	"fairwindow/sensors"
)

// The yard, boats and card of the tests with real processes are invented, and only for
// tests. Its crew is always on shift, so that a test may run at any hour.
const processYard = `
yard: Process Yard
zone: Atlantic/Reykjavik
latitude: 38.7
longitude: -9.2
listen: "%s"
bus: {listen: "%s", mqtt: "%s"}
release: auto
profile: plain
places:
  - name: booth
    kind: booth
    length: 20 m
    width: 8 m
    height: 8 m
    boats: 2
    booth: {heater: 400 kW, spraying_flow: 40000 m3/h, curing_flow: 4000 m3/h, set_point: 20 C, clearance: 5 min}
  - {name: row, kind: standing, length: 40 m, width: 8 m, boats: 3}
crews:
  - {name: hands, skills: [sand, paint, move], people: 4, shifts: [{starts: "0 0 * * *", length: 24 h}]}
profiles:
  - {name: plain, source: "made up, for tests", limits: {air_min: 10 C}}
cards:
  - name: Gloss
    revision: 1
    illustrative: true
    material: two-part polyurethane
    limits: {margin: 3 C, humidity_max: 80 %%, surface_min: 12 C, surface_max: 28 C}
    protect_until: protected
    cure:
      dust_free: [{at: 10 C, takes: 1 h}, {at: 30 C, takes: 1 h}]
      protected: [{at: 10 C, takes: 4 h}, {at: 30 C, takes: 4 h}]
      recoat: [{at: 10 C, takes: 8 h}, {at: 30 C, takes: 8 h}]
      movable: [{at: 10 C, takes: 12 h}, {at: 30 C, takes: 12 h}]
      last_recoat: [{at: 10 C, takes: 30 h}, {at: 30 C, takes: 30 h}]
      reactivate: [{at: 10 C, takes: 60 h}, {at: 30 C, takes: 60 h}]
      launch: [{at: 10 C, takes: 72 h}, {at: 30 C, takes: 72 h}]
    flash_off: {least: 15 min, greatest: 45 min}
    mix: {base: 2, hardener: 1}
    variants:
      - {name: only, from: 10 C, to: 30 C}
    spread: {solids: 50 %%, dry_film: 25 um, loss: 40 %%}
    pot_life: {lasts: 2 h, at: 20 C}
systems:
  - name: one coat
    stages:
      - {name: coat, kind: coat, card: Gloss, passes: 1, skill: paint, takes: 1 h, people: 1, places: [booth], block: paint}
      - {name: cure, kind: hold, until: launch, places: [booth, standing]}
sensors:
  - name: by post
    place: booth
    values: {air: {path: air}, humidity: {path: humidity}, surface: {path: surface}, wet_bulb: {path: wet}}
  - name: by bus
    place: booth
    topic: yard/booth/air
    time: time
    values: {air: {path: air}, humidity: {path: humidity}}
  - name: by file
    place: booth
    file: logger.csv
    time: time
    values: {air: {path: air}, humidity: {path: humidity}}
forecasts:
  - {name: model, format: csv, folder: forecasts}
`

// processBoats are two boats that have just arrived.
const processBoats = `
boats:
  - {boat: Boat One, length: 10 m, beam: 3 m, arrives: %[1]s, promised: %[2]s, areas: [{area: topsides, system: one coat, size: 20 m2}]}
  - {boat: Boat Two, length: 9 m, beam: 3 m, arrives: %[1]s, promised: %[2]s, areas: [{area: topsides, system: one coat, size: 20 m2}]}
`

// freeAddr is an address on this machine that nobody listens on. Its port is below those that
// systems give away by themselves, from 32768 or 49152 on: between two processes of a test one of
// those may become another test's.
func freeAddr(t *testing.T) string {
	t.Helper()
	for {
		addr := net.JoinHostPort("127.0.0.1", strconv.Itoa(10000+rand.IntN(22000)))
		if l, err := net.Listen("tcp", addr); err == nil {
			l.Close()
			return addr
		}
	}
}

// hangs is what no step of a test takes on any machine, however busy.
const hangs = 3 * time.Minute

// processFolder is a folder with a yard on ports of its own, as a person keeps it.
type processFolder struct {
	dir, state       string
	pages, bus, mqtt string
}

func newProcessFolder(t *testing.T) processFolder {
	t.Helper()
	dir := t.TempDir()
	f := processFolder{dir: dir, state: filepath.Join(dir, "state"), pages: freeAddr(t), bus: freeAddr(t), mqtt: freeAddr(t)}
	now := time.Now()
	boats := fmt.Sprintf(processBoats, now.AddDate(0, 0, -1).Format(time.DateOnly), now.AddDate(0, 0, 20).Format(time.DateOnly))
	f.write(t, yardName, fmt.Sprintf(processYard, f.pages, f.bus, f.mqtt))
	f.write(t, boatsName, boats)
	return f
}

func (f processFolder) write(t *testing.T, name, text string) {
	t.Helper()
	if err := os.WriteFile(filepath.Join(f.dir, name), []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
}

// token is what posted readings carry; the daemon has made it at its first start.
func (f processFolder) token() string {
	text, _ := os.ReadFile(filepath.Join(f.state, "token"))
	return strings.TrimSpace(string(text))
}

// child is the real daemon as a process of its own: this test's binary under the
// command's name. What it logs is kept.
type child struct {
	cmd   *exec.Cmd
	ended chan struct{} // closed when it has ended and all it logged is here

	mu    sync.Mutex
	lines []string
	news  chan struct{} // closed and remade at every line
}

func startChild(t *testing.T, args ...string) *child {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	c := &child{cmd: exec.Command(self), ended: make(chan struct{}), news: make(chan struct{})}
	c.cmd.Args = append([]string{"fairwindow"}, args...) // see TestMain
	out, err := c.cmd.StderrPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := c.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { c.kill() })
	go c.follow(out)
	return c
}

func (f processFolder) run(t *testing.T, more ...string) *child {
	t.Helper()
	return startChild(t, append([]string{"run", f.dir, "--state", f.state, "--log-format", "json"}, more...)...)
}

func (c *child) follow(out io.Reader) {
	for lines := bufio.NewScanner(out); lines.Scan(); {
		c.mu.Lock()
		c.lines = append(c.lines, lines.Text())
		close(c.news)
		c.news = make(chan struct{})
		c.mu.Unlock()
	}
	c.cmd.Wait() // the state is asked for
	close(c.ended)
}

// says waits for a line of the log with a message and gives it; nil: it ended first, or
// did not say so in time.
func (c *child) says(message string, within time.Duration) map[string]any {
	deadline := time.After(within)
	for next, last := 0, false; ; {
		c.mu.Lock()
		for ; next < len(c.lines); next++ {
			line := map[string]any{}
			if json.Unmarshal([]byte(c.lines[next]), &line) == nil && strings.HasPrefix(fmt.Sprint(line["msg"]), message) {
				c.mu.Unlock()
				return line
			}
		}
		news := c.news
		c.mu.Unlock()
		if last {
			return nil
		}
		select {
		case <-news:
		case <-c.ended:
			last = true
		case <-deadline:
			return nil
		}
	}
}

func (c *child) log() string {
	c.mu.Lock()
	defer c.mu.Unlock()
	return strings.Join(c.lines, "\n")
}

// kill is kill -9: nothing of the process runs any more.
func (c *child) kill() {
	c.cmd.Process.Kill()
	<-c.ended
}

// end asks it to end and gives its exit code.
func (c *child) end(t *testing.T) int {
	t.Helper()
	if err := c.cmd.Process.Signal(syscall.SIGTERM); err != nil && !errors.Is(err, os.ErrProcessDone) {
		t.Fatal(err)
	}
	return c.code(t)
}

func (c *child) code(t *testing.T) int {
	t.Helper()
	select {
	case <-c.ended:
	case <-time.After(hangs):
		t.Fatalf("it does not end:\n%s", c.log())
	}
	return c.cmd.ProcessState.ExitCode()
}

// post sends readings and reports whether they were acknowledged.
func (f processFolder) post(body string) bool {
	request, err := http.NewRequest(http.MethodPost, "http://"+f.pages+"/v1/readings", strings.NewReader(body))
	if err != nil {
		return false
	}
	request.Header.Set("Authorization", "Bearer "+f.token())
	answer, err := http.DefaultClient.Do(request)
	if err != nil {
		return false
	}
	defer answer.Body.Close()
	_, err = io.Copy(io.Discard, answer.Body)
	return err == nil && answer.StatusCode == http.StatusAccepted
}

// TestSecondDaemonTakesOver: a second daemon on one yard waits, and when the first is
// killed, or ends, it serves on the same addresses within ten seconds, with all that
// the first acknowledged. One that must not wait fails at once, in one line.
func TestSecondDaemonTakesOver(t *testing.T) {
	if testing.Short() {
		t.Skip("starts and kills processes")
	}
	t.Parallel()
	for name, stop := range map[string]func(*child){
		"killed": func(c *child) { c.kill() },
		"ended": func(c *child) {
			if code := c.end(t); code != exitYes {
				t.Errorf("exit code %d:\n%s", code, c.log())
			}
		},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			f := newProcessFolder(t)
			began := time.Now()
			first := f.run(t)
			if first.says("ready", hangs) == nil {
				t.Fatalf("the first does not start:\n%s", first.log())
			}
			start := time.Since(began) // on this machine, as busy as it is
			if !f.post(`{"source": "by post", "sequence": "before", "values": {"air": 20, "humidity": 50}}`) {
				t.Fatal("a reading was refused")
			}
			hasty := f.run(t, "--no-wait")
			if code := hasty.code(t); code != exitUsage || !strings.Contains(hasty.log(), fmt.Sprintf("used by another fairwindow (process %d)", first.cmd.Process.Pid)) {
				t.Errorf("--no-wait: exit code %d:\n%s", code, hasty.log())
			}
			second := f.run(t)
			waits := second.says("waiting:", hangs)
			if waits == nil || waits["process"] != fmt.Sprint(first.cmd.Process.Pid) {
				t.Fatalf("it does not say whom it waits for:\n%s", second.log())
			}
			began = time.Now()
			stop(first)
			if second.says("ready", hangs) == nil {
				t.Fatalf("it has not taken over after %v:\n%s", time.Since(began), second.log())
			}
			took := time.Since(began)
			t.Logf("took over in %v, the first start took %v", took.Round(time.Millisecond), start.Round(time.Millisecond))
			if took > 10*time.Second+10*start { // a start is asked to take a second
				t.Errorf("took over after %v, and a start takes %v", took, start)
			}
			if !f.post(`{"source": "by post", "sequence": "after", "values": {"air": 20.1, "humidity": 50}}`) {
				t.Error("after taking over a reading was refused")
			}
			if code := second.end(t); code != exitYes {
				t.Errorf("exit code %d:\n%s", code, second.log())
			}
			var sequences []string
			for _, r := range f.readings(t) {
				sequences = append(sequences, r.Key)
			}
			if len(sequences) != 2 {
				t.Errorf("kept %v, want one before and one after", sequences)
			}
		})
	}
}

// TestEndedWhileWaiting: a daemon that waits ends when it is asked to, as one that runs.
func TestEndedWhileWaiting(t *testing.T) {
	if testing.Short() {
		t.Skip("starts processes")
	}
	t.Parallel()
	f := newProcessFolder(t)
	first := f.run(t)
	if first.says("ready", hangs) == nil {
		t.Fatalf("the first does not start:\n%s", first.log())
	}
	second := f.run(t)
	if second.says("waiting:", hangs) == nil {
		t.Fatalf("it does not wait:\n%s", second.log())
	}
	if code := second.end(t); code != exitYes || second.says("asked to end while it waited", time.Second) == nil {
		t.Errorf("exit code %d:\n%s", code, second.log())
	}
	if !f.post(`{"source": "by post", "values": {"air": 20, "humidity": 50}}`) {
		t.Error("the first no longer takes readings")
	}
	if code := first.end(t); code != exitYes {
		t.Errorf("exit code %d:\n%s", code, first.log())
	}
}

// readings are all that the store keeps, read when no daemon runs.
func (f processFolder) readings(t *testing.T) []sensors.Reading {
	t.Helper()
	kept, err := store.Open(f.state)
	if err != nil {
		t.Fatal(err)
	}
	defer kept.Close()
	readings, err := kept.Readings(t.Context(), store.Query{})
	if err != nil {
		t.Fatal(err)
	}
	return readings
}
