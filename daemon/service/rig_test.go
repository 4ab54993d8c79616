package service

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"runtime"
	"runtime/debug"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/jonboulle/clockwork"
	"github.com/sirupsen/logrus"

	"fairwindow/config"
	"fairwindow/config/file"
	"fairwindow/notify"
	"fairwindow/planner"
)

// Yard, boat and card of these tests are invented, and only for tests.

// TestMain has more tests run at once than there are processors, where nobody says otherwise:
// they wait for their disks, their buses and their timers. And it has rubbish collected less
// often: a fifth of the time went there. What is measured is left as the daemon has it.
func TestMain(m *testing.M) {
	flag.Parse()
	if f := flag.Lookup("test.parallel"); f.Value.String() == f.DefValue {
		if err := flag.Set("test.parallel", strconv.Itoa(3*runtime.GOMAXPROCS(0))); err != nil {
			panic(err)
		}
	}
	if flag.Lookup("test.bench").Value.String() == "" {
		debug.SetGCPercent(400)
		debug.SetMemoryLimit(1 << 30) // but not for the price of a small machine's memory
	}
	m.Run()
}

// monday is a working Monday in spring, an hour before the shift. The yard's
// zone has no summer time and no offset, so that a test can be read in UTC.
var monday = time.Date(2026, 5, 4, 6, 0, 0, 0, time.UTC)

// at is a time on the first days of a script: a day after monday and a clock time.
func at(day, hour, minute int) time.Time {
	return time.Date(2026, 5, 4+day, hour, minute, 0, 0, time.UTC)
}

// yardText is a yard with one heated booth. The card cures by the clock, the
// same at every temperature from 10 to 30 °C: protected after 4 h, overcoatable
// from 8 to 30 h, to be reactivated until 60 h, sandable after 16 h.
const yardText = `
yard: Test Yard
zone: Atlantic/Reykjavik
latitude: 38.7
profile: plain
longitude: -9.2
bus: {listen: "127.0.0.1:0", mqtt: "127.0.0.1:0"}
release: auto
places:
  - name: booth
    kind: booth
    length: 20 m
    width: 8 m
    height: 8 m
    booth: {heater: 400 kW, spraying_flow: 40000 m3/h, curing_flow: 4000 m3/h, set_point: 20 C, clearance: 5 min}
  - {name: row, kind: standing, length: 25 m, width: 8 m, boats: 3}
crews:
  - name: hands
    skills: [sand, paint, move]
    people: 2
    shifts:
      - {starts: "0 7 * * 1-5", length: 9 h}
profiles:
  - {name: plain, source: "made up, for tests", limits: {air_min: 10 C}}
cards:
  - name: Gloss
    revision: 2
    illustrative: true
    material: two-part polyurethane
    limits: {margin: 3 C, humidity_max: 80 %, surface_min: 12 C, surface_max: 28 C}
    protect_until: protected
    cure:
      dust_free: [{at: 10 C, takes: 1 h}, {at: 30 C, takes: 1 h}]
      protected: [{at: 10 C, takes: 4 h}, {at: 30 C, takes: 4 h}]
      taped: [{at: 10 C, takes: 6 h}, {at: 30 C, takes: 6 h}]
      recoat: [{at: 10 C, takes: 8 h}, {at: 30 C, takes: 8 h}]
      sandable: [{at: 10 C, takes: 16 h}, {at: 30 C, takes: 16 h}]
      movable: [{at: 10 C, takes: 12 h}, {at: 30 C, takes: 12 h}]
      last_recoat: [{at: 10 C, takes: 30 h}, {at: 30 C, takes: 30 h}]
      reactivate: [{at: 10 C, takes: 60 h}, {at: 30 C, takes: 60 h}]
      launch: [{at: 10 C, takes: 72 h}, {at: 30 C, takes: 72 h}]
    flash_off: {least: 15 min, greatest: 45 min}
    mix: {base: 2, hardener: 1}
    variants:
      - {name: only, from: 10 C, to: 30 C}
    spread: {solids: 50 %, dry_film: 25 um, loss: 40 %}
    pot_life: {lasts: 2 h, at: 20 C}
systems:
  - name: two coats
    stages:
      - {name: first, kind: coat, card: Gloss, passes: 1, skill: paint, takes: 1 h, people: 1, places: [booth], block: paint}
      - {name: second, kind: coat, card: Gloss, passes: 1, skill: paint, takes: 1 h, people: 1, places: [booth], block: paint}
      - {name: cure, kind: hold, until: launch, places: [booth, standing]}
  - name: sanded
    stages:
      - {name: first, kind: coat, card: Gloss, passes: 1, skill: paint, takes: 1 h, people: 1, places: [booth], block: paint}
      - {name: rub down, kind: sand, grit: 320, skill: sand, takes: 1 h, people: 1, places: [booth], block: paint}
      - {name: second, kind: coat, card: Gloss, passes: 1, skill: paint, takes: 1 h, people: 1, places: [booth], block: paint}
      - {name: cure, kind: hold, until: launch, places: [booth, standing]}
season:
  - {month: 1, air: 18 C, swing: 6 C, dew_point: 6 C, scatter: 1 C, wind: 3 m/s, rain_hours: 0 %}
  - {month: 2, air: 18 C, swing: 6 C, dew_point: 6 C, scatter: 1 C, wind: 3 m/s, rain_hours: 0 %}
  - {month: 3, air: 18 C, swing: 6 C, dew_point: 6 C, scatter: 1 C, wind: 3 m/s, rain_hours: 0 %}
  - {month: 4, air: 18 C, swing: 6 C, dew_point: 6 C, scatter: 1 C, wind: 3 m/s, rain_hours: 0 %}
  - {month: 5, air: 18 C, swing: 6 C, dew_point: 6 C, scatter: 1 C, wind: 3 m/s, rain_hours: 0 %}
  - {month: 6, air: 18 C, swing: 6 C, dew_point: 6 C, scatter: 1 C, wind: 3 m/s, rain_hours: 0 %}
  - {month: 7, air: 18 C, swing: 6 C, dew_point: 6 C, scatter: 1 C, wind: 3 m/s, rain_hours: 0 %}
  - {month: 8, air: 18 C, swing: 6 C, dew_point: 6 C, scatter: 1 C, wind: 3 m/s, rain_hours: 0 %}
  - {month: 9, air: 18 C, swing: 6 C, dew_point: 6 C, scatter: 1 C, wind: 3 m/s, rain_hours: 0 %}
  - {month: 10, air: 18 C, swing: 6 C, dew_point: 6 C, scatter: 1 C, wind: 3 m/s, rain_hours: 0 %}
  - {month: 11, air: 18 C, swing: 6 C, dew_point: 6 C, scatter: 1 C, wind: 3 m/s, rain_hours: 0 %}
  - {month: 12, air: 18 C, swing: 6 C, dew_point: 6 C, scatter: 1 C, wind: 3 m/s, rain_hours: 0 %}
sensors:
  - name: air
    place: booth
    every: 10 min
    values: {air: {path: air}, humidity: {path: humidity}, surface: {path: surface}, wet_bulb: {path: wet}}
forecasts:
  - {name: model, format: csv, folder: forecasts}
`

func boatText(system string) string {
	return `
boats:
  - boat: Boat One
    length: 14 m
    beam: 4.2 m
    arrives: 2026-05-04
    promised: 2026-05-20
    areas:
      - {area: topsides, system: ` + system + `, size: 40 m2}
`
}

var (
	first  = planner.Key{Boat: "Boat One", Area: "topsides", Stage: "first"}
	second = planner.Key{Boat: "Boat One", Area: "topsides", Stage: "second"}
)

// rig is a service with a played clock.
type rig struct {
	t      testing.TB
	state  string
	folder string
	yard   string // its text; Reload reads it again
	clock  *clockwork.FakeClock
	svc    *Service
	tick   time.Duration
	wall   clockwork.Clock // what the service is shown, while its timers run on clock; nil: clock

	mu    sync.Mutex
	heard []notify.Notice
	stop  func() // ends Run and closes; nil: not running
}

// newRig has its folders and clock, and does not run yet.
func newRig(t testing.TB, yard string) *rig {
	t.Helper()
	dir := t.TempDir()
	r := &rig{
		t: t, state: filepath.Join(dir, "state"), folder: dir, yard: yard,
		clock: clockwork.NewFakeClockAt(monday), tick: 5 * time.Minute,
	}
	t.Cleanup(r.halt)
	return r
}

// play is a rig that runs, with a boat of a system in the booth.
func play(t testing.TB, system string, changes ...string) *rig {
	t.Helper()
	return playEvery(t, 5*time.Minute, system, changes...)
}

// playEvery is play with another tick; a longer one plays days in less time.
func playEvery(t testing.TB, tick time.Duration, system string, changes ...string) *rig {
	t.Helper()
	r := newRig(t, strings.NewReplacer(changes...).Replace(yardText))
	r.tick = tick
	r.start()
	r.enter(boatText(system))
	r.press(planner.Press{Kind: planner.Arrived, Key: planner.Key{Boat: "Boat One"}, Place: "booth"})
	return r
}

func (r *rig) readYard() (config.Yard, error) {
	y, mistakes := file.Yard("yard.yaml", []byte(r.yard))
	return y, mistakes.Err()
}

func (r *rig) options() Options {
	r.t.Helper()
	y, err := r.readYard()
	if err != nil {
		r.t.Fatal(err)
	}
	log := logrus.New()
	log.SetOutput(io.Discard)
	var wall clockwork.Clock = r.clock
	if r.wall != nil {
		wall = r.wall
	}
	return Options{
		Yard: y, Folder: r.folder, State: r.state, Clock: wall, Steady: r.clock, Log: logrus.NewEntry(log), Tick: r.tick,
		Reload: r.readYard, Played: true,
		Heard: func(n notify.Notice, _ string) {
			r.mu.Lock()
			defer r.mu.Unlock()
			r.heard = append(r.heard, n)
		},
	}
}

// start opens the service on the rig's state and runs it.
func (r *rig) start() {
	r.t.Helper()
	svc, err := New(context.Background(), r.options())
	if err != nil {
		r.t.Fatal(err)
	}
	r.svc = svc
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- svc.Run(ctx) }()
	r.stop = func() {
		cancel()
		if err := errors.Join(<-ended, svc.Close(context.Background())); err != nil {
			r.t.Error(err)
		}
	}
	r.settle()
}

func (r *rig) halt() {
	if r.stop != nil {
		r.stop()
		r.stop = nil
	}
}

func (r *rig) restart() {
	r.t.Helper()
	r.halt()
	r.start()
}

// hangs is what no step of a test takes on any machine, however busy.
const hangs = 3 * time.Minute

// settle lets the service come to rest.
func (r *rig) settle() {
	r.t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), hangs)
	defer cancel()
	if err := r.svc.Settled(ctx); err != nil {
		r.t.Fatalf("not settled at %s: %v", r.clock.Now().Format("Mon 15:04"), err)
	}
}

// until plays the clock, tick by tick, up to a time.
func (r *rig) until(end time.Time) {
	r.t.Helper()
	r.during(end, func() {})
}

// during plays the clock up to a time and calls do after each tick.
func (r *rig) during(end time.Time, do func()) {
	r.t.Helper()
	r.settle()
	for now := r.clock.Now(); now.Before(end); now = r.clock.Now() {
		next := now.Truncate(r.tick).Add(r.tick)
		if r.asked() && now.Add(debounce).Before(end) {
			r.clock.Advance(debounce) // a plan made at a tick would race with what the tick brings
			r.settle()
			now = r.clock.Now()
		}
		if next.After(end) {
			next = end
		}
		r.clock.Advance(next.Sub(now))
		r.settle()
		do()
	}
}

// booth is what the booth's one sensor says.
type booth struct{ air, humidity, surface float64 }

var (
	// good is well within the card: 20 °C and 40 % give a dew point of 6.0 °C.
	good = booth{20, 40, 20}
	// humid is outside it, by the humidity alone: the dew point is 16.4 °C.
	humid = booth{20, 85, 20}
	// dewy is a hull at 17 °C in air whose dew point is 15.7 °C: 1.3 K of margin.
	dewy = booth{20, 76, 17}
)

// at is the values of a posted entry. No true instrument says the same to
// the last digit for hours, so they waver from tick to tick.
func (b booth) at(now time.Time) string {
	waver := 0.04 * float64(now.Unix()/300%2)
	return fmt.Sprintf(`"air": %g, "humidity": %g, "surface": %g`, b.air+waver, b.humidity+waver, b.surface+waver)
}

// measure posts what the booth's sensor says now.
func (r *rig) measure(b booth) {
	r.t.Helper()
	r.post(b.at(r.clock.Now()))
}

// asked reports whether a plan waits for its debounce.
func (r *rig) asked() bool {
	r.svc.mu.Lock()
	defer r.svc.mu.Unlock()
	return !r.svc.cycle.asked.IsZero()
}

// measuring plays the clock up to a time, with a reading of the booth at every tick before it.
func (r *rig) measuring(end time.Time, b booth) {
	r.t.Helper()
	r.measure(b)
	r.during(end, func() {
		if r.clock.Now().Before(end) {
			r.measure(b)
		}
	})
}

// post sends one reading of the booth's sensor to the real intake.
func (r *rig) post(values string) {
	r.t.Helper()
	if code, answer := r.send(`{"source": "air", "values": {` + values + `}}`); code != http.StatusAccepted {
		r.t.Fatalf("%s: %d %s", values, code, answer)
	}
	r.settle()
}

func (r *rig) send(body string) (int, string) {
	r.t.Helper()
	intake, err := r.svc.Intake()
	if err != nil {
		r.t.Fatal(err)
	}
	token, err := os.ReadFile(filepath.Join(r.state, TokenFile))
	if err != nil {
		r.t.Fatal(err)
	}
	request := httptest.NewRequest(http.MethodPost, "/v1/readings", strings.NewReader(body))
	request.Header.Set("Authorization", "Bearer "+strings.TrimSpace(string(token)))
	answer := httptest.NewRecorder()
	intake.ServeHTTP(answer, request)
	return answer.Code, answer.Body.String()
}

func (r *rig) enter(text string) {
	r.t.Helper()
	boats, mistakes := file.Boats("boats.yaml", []byte(text))
	if err := mistakes.Err(); err != nil {
		r.t.Fatal(err)
	}
	if err := r.svc.PutBoats(context.Background(), boats, "a test"); err != nil {
		r.t.Fatal(err)
	}
}

func (r *rig) press(p planner.Press) {
	r.t.Helper()
	if p.By == "" {
		p.By = "a painter"
	}
	if err := r.svc.Press(context.Background(), p); err != nil {
		r.t.Fatal(err)
	}
	r.settle()
}

// coat reports a coat with one pass, begun and ended.
func (r *rig) coat(k planner.Key, from, to time.Time) {
	r.t.Helper()
	r.press(planner.Press{Kind: planner.Started, Key: k, Happened: from})
	r.press(planner.Press{Kind: planner.PassDone, Key: k, Pass: 1, Happened: to})
}

// weather is one hour of a forecast.
type weather func(time.Time) (air, dew string)

// dry weather is as warm as the booth, so that no reading surprises anybody.
func dry(time.Time) (air, dew string) { return "20", "6" }

// forecast puts a document of five days into the folder.
func (r *rig) forecast(name string, issued time.Time, w weather) {
	r.t.Helper()
	var b bytes.Buffer
	fmt.Fprintf(&b, "# issued %s\ntime,air_C,dew_point_C,wind_m/s,rain_mm,rain_chance_%%\n", issued.Format(time.RFC3339))
	for h := range 120 {
		t := issued.Truncate(time.Hour).Add(time.Duration(h-3) * time.Hour)
		air, dew := w(t)
		fmt.Fprintf(&b, "%s,%s,%s,3,0,0\n", t.Format(time.RFC3339), air, dew)
	}
	r.document(name, b.String())
}

func (r *rig) document(name, text string) {
	r.t.Helper()
	dir := filepath.Join(r.folder, "forecasts")
	if err := os.MkdirAll(dir, 0o755); err != nil {
		r.t.Fatal(err)
	}
	path := filepath.Join(dir, name)
	if err := errors.Join(os.WriteFile(path, []byte(text), 0o600), os.Chtimes(path, r.clock.Now(), r.clock.Now())); err != nil {
		r.t.Fatal(err)
	}
}

// notices are all that were published, in order; of some kinds only, if given.
func (r *rig) notices(kinds ...notify.Kind) []notify.Notice {
	r.mu.Lock()
	defer r.mu.Unlock()
	var out []notify.Notice
	for _, n := range r.heard {
		if len(kinds) == 0 || slices.Contains(kinds, n.Kind) {
			out = append(out, n)
		}
	}
	return out
}

// said is a line for each notice: when, kind, stage and its revision.
func said(notices []notify.Notice) string {
	var lines []string
	for _, n := range notices {
		lines = append(lines, strings.TrimSpace(fmt.Sprintf("%s %s %s", n.At.Format("Mon 15:04"), n.Kind, n.Stage)))
	}
	return strings.Join(lines, "\n")
}

// wantSaid compares the notices of some kinds with what a script must bring.
func (r *rig) wantSaid(want string, kinds ...notify.Kind) {
	r.t.Helper()
	var lines []string
	for _, line := range strings.Split(strings.TrimSpace(want), "\n") {
		if line = strings.TrimSpace(line); line != "" {
			lines = append(lines, line)
		}
	}
	if got := said(r.notices(kinds...)); got != strings.Join(lines, "\n") {
		r.t.Errorf("notices:\n%s\nwant:\n%s", got, strings.Join(lines, "\n"))
	}
}

func (r *rig) healthSays(part string) {
	r.t.Helper()
	lines, err := r.svc.Health(context.Background())
	if err != nil {
		r.t.Fatal(err)
	}
	if !strings.Contains(strings.Join(lines, "\n"), part) {
		r.t.Errorf("health says %q, nothing of %q", lines, part)
	}
}

func (r *rig) open() int {
	r.t.Helper()
	open, err := r.svc.OpenWindows(context.Background())
	if err != nil {
		r.t.Fatal(err)
	}
	return len(open)
}

func asJSON(t testing.TB, v any) string {
	t.Helper()
	text, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// read is a document of the forecasts' folder.
func (r *rig) read(name string) string {
	r.t.Helper()
	text, err := os.ReadFile(filepath.Join(r.folder, "forecasts", name))
	if err != nil {
		r.t.Fatal(err)
	}
	return string(text)
}

// TestSameScriptTwice: one script gives the same notices to the last byte, with
// forecasts and readings arriving at the very ticks at which plans are made.
func TestSameScriptTwice(t *testing.T) {
	t.Parallel()
	script := func() string {
		r := play(t, "two coats")
		r.forecast("a.csv", monday, dry)
		r.measuring(at(0, 7, 30), good)
		r.forecast("b.csv", at(0, 7, 0), func(t time.Time) (string, string) {
			if t.After(at(0, 17, 0)) {
				return "20", "18"
			}
			return "20", "6"
		})
		r.press(planner.Press{Kind: planner.Held, Key: first, Note: "owner looks at it"})
		r.measuring(at(0, 8, 0), good)
		r.press(planner.Press{Kind: planner.Freed, Key: first})
		r.forecast("c.csv", at(0, 7, 30), dry)
		r.measuring(at(0, 9, 0), good)
		r.coat(first, at(0, 8, 0), at(0, 9, 0))
		r.measuring(at(0, 10, 0), dewy)
		r.until(at(0, 12, 0))
		r.measuring(at(0, 18, 0), good)
		var all []notify.Notice
		stored, err := r.svc.store.Notices(t.Context(), monday, 0)
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, stored...)
		text, err := json.MarshalIndent(all, "", " ")
		if err != nil || len(all) < 5 {
			t.Fatalf("%d notices, %v", len(all), err)
		}
		return string(text)
	}
	once := script()
	if again := script(); again != once {
		t.Fatalf("the second run says\n%s\nthe first\n%s", again, once)
	}
}
