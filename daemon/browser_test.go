package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/sirupsen/logrus"

	"fairwindow/conditions"
	"fairwindow/config"
	"fairwindow/daemon/demo"
	"fairwindow/daemon/pages"
	"fairwindow/planner"
	"fairwindow/sensors"
)

// screen is what somebody reads the pages on.
type screen struct {
	name          string
	width, height int64
	touch         bool
}

// screens are those the pages are made for.
var screens = []screen{
	{"desktop", 1400, 900, false},
	{"phone", 390, 844, true},
}

// TestPeopleInABrowser lives through each person's main story in a real
// browser, before the real daemon on a played clock.
func TestPeopleInABrowser(t *testing.T) {
	browser := openBrowser(t)
	for _, screen := range screens {
		t.Run(screen.name, func(t *testing.T) {
			y := openPlayedYard(t)
			for _, story := range []struct {
				person string
				live   func(*testing.T, *playedYard, *tab)
			}{
				{"scheduler", schedulerReleases},
				{"manager", managerAsksWhy},
				{"place", somebodyMeasures},
				{"painter", painterPaints},
			} {
				t.Run(story.person, func(t *testing.T) {
					story.live(t, y, openTab(t, browser, y.web.url, screen))
				})
			}
		})
	}
}

// openBrowser is a browser for one test.
func openBrowser(t *testing.T) context.Context {
	t.Helper()
	browser, end := startBrowser(t)
	t.Cleanup(end)
	return browser
}

// chromium is the path of the browser. Where none is named the test is skipped, but in CI,
// which must have one.
func chromium(t *testing.T) string {
	t.Helper()
	if testing.Short() {
		t.Skip("a browser is no quick test, and the race detector has nothing to learn from it")
	}
	path := os.Getenv("FAIRWINDOW_CHROMIUM")
	if path == "" {
		if os.Getenv("CI") == "true" {
			t.Fatal("FAIRWINDOW_CHROMIUM is not set: CI needs a browser")
		}
		t.Skip("FAIRWINDOW_CHROMIUM is not set to the path of a chromium: no page was tried in a browser")
	}
	return path
}

// startBrowser starts it, so that it asks for nothing from outside; what is returned ends it.
func startBrowser(t *testing.T, more ...chromedp.ExecAllocatorOption) (context.Context, func()) {
	t.Helper()
	options := append([]chromedp.ExecAllocatorOption{chromedp.ExecPath(chromium(t)), chromedp.Headless, chromedp.NoSandbox, chromedp.DisableGPU, chromedp.NoFirstRun}, more...)
	for _, name := range []string{"disable-quic", "disable-background-networking", "disable-component-update", "disable-sync"} {
		options = append(options, chromedp.Flag(name, true))
	}
	allocator, end := chromedp.NewExecAllocator(context.Background(), options...)
	browser, quit := chromedp.NewContext(allocator)
	if err := chromedp.Do(browser); err != nil {
		end()
		t.Fatalf("the browser %s does not start: %v", chromium(t), err)
	}
	return browser, func() {
		quit()
		end()
	}
}

// A page that listens for changes does not hold up the end of the daemon.
func TestListenersEndWithTheWebsite(t *testing.T) {
	y := openPlayedYard(t)
	answer, err := http.Get(y.web.url + "events")
	if err != nil {
		t.Fatal(err)
	}
	defer answer.Body.Close()
	if _, err := io.ReadAtLeast(answer.Body, make([]byte, 64), len("event: stands")); err != nil {
		t.Fatal(err)
	}
	began := time.Now()
	y.web.stop()
	if took := time.Since(began); took > 2*time.Second {
		t.Errorf("the end took %s while a page listened", took)
	}
}

// The scheduler sees the week, with what shuts it, finds a draft that is not
// what people were told since a boat slips, reads what moves, and releases it.
func schedulerReleases(t *testing.T, y *playedYard, b *tab) {
	b.open("/")
	b.sees(".which", "as people were told")
	y.slip(t, "Boat Plover", "2026-04-14 08:00")
	_, draft, err := y.service.Draft(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	b.sees(".which", "The draft of") // the page shows by itself what is new
	for selector, least := range map[string]int{".board .row": 9, ".board use[href='#b-stay']": 4, ".board a[href*='/boat/']": 12, ".board .shut rect": 6} {
		if n := b.count(selector); n < least {
			t.Errorf("the board has %d of %s, at least %d are due", n, selector, least)
		}
	}
	b.sees(".board", "Boat Dunlin", "booth 1", "slip")
	b.sees(".legend", "too cold", "margin: the hull too near the dew point", "firm: within the forecast")
	if words := b.texts(".board .shut title"); !slices.ContainsFunc(words, func(s string) bool { return strings.HasPrefix(s, "too cold") }) {
		t.Errorf("cold nights are shaded with the words %q", words)
	}
	b.sees(".release", "The draft differs from what people were told", "Boat Plover topsides", "later")
	b.fits()

	b.press(".release button.main")
	b.sees(".release [role=alert]", "Write who releases it")
	b.fill(".release input[name=by]", "Ines")
	b.press(".release button.main")
	b.sees(".said", "Released. The crews are being told.")
	b.sees(".which", "as people were told")
	if _, told, err := y.service.Told(t.Context()); err != nil || told != draft {
		t.Errorf("people were told plan %d, draft %d was released (%v)", told, draft, err)
	}
}

// The manager asks why a stage waits and reads the cause with its evidence.
func managerAsksWhy(t *testing.T, y *playedYard, b *tab) {
	plan, _, err := y.service.Draft(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	key, wait, ok := weatherWait(plan)
	if !ok {
		t.Fatal("nothing waits for the weather in the plan, so the story has no subject")
	}
	zone, err := y.service.Yard().Location()
	if err != nil {
		t.Fatal(err)
	}
	b.open("/boat/" + key.Boat)
	b.press(fmt.Sprintf(`section[aria-labelledby=stages] a[href*=%q]`, strings.ReplaceAll("stage="+key.Stage, " ", "+")))
	b.sees(".hand.chosen h3", key.Stage, key.Area)
	b.press(".hand.chosen .why summary")
	b.sees(".hand.chosen .why li", pages.Why(wait, zone))
	b.sees(".hand.chosen .why", "outside the limits of", "wanted", "forecast")
	b.fits()
}

// weatherWait is the first wait for the weather that the forecast explains.
func weatherWait(plan planner.Plan) (planner.Key, planner.Wait, bool) {
	for _, s := range plan.Stages {
		for _, w := range s.Waits {
			if w.Cause == planner.OutOfLimits && w.Evidence.Sure == conditions.Foretold {
				return s.Key, w, true
			}
		}
	}
	return planner.Key{}, planner.Wait{}, false
}

// Somebody reads a place's margin and types in what his own probe says.
func somebodyMeasures(t *testing.T, y *playedYard, b *tab) {
	b.open("/place/booth 1")
	if figure := b.text(".gauge .figure"); !strings.HasSuffix(figure, "K") || strings.Contains(figure, "–") {
		t.Errorf("the margin reads %q", figure)
	}
	b.sees(".verdict", "limits of")
	b.sees(".head", "Boat Dunlin")
	b.fits()

	b.fill(".reading input[name=surface]", "18.5")
	b.fill(".reading input[name=instrument]", "probe 2")
	b.set(".reading input[name=valid]", "2027-01-31")
	b.fill(".reading input[name=by]", "Ines")
	b.press(".reading button.main")
	b.sees(".reading [role=alert]", "no unit")
	if kept := b.value(".reading input[name=instrument]"); kept != "probe 2" {
		t.Errorf("after a mistake the instrument reads %q", kept)
	}
	b.set(".reading input[name=surface]", "18.5 C")
	b.press(".reading button.main")
	b.sees(".said", "Reading kept.")
	b.sees("section[aria-labelledby=sensors]", "Ines with probe 2", "hull surface 18.5 °C")

	readings, err := y.service.Readings(t.Context(), "booth 1", y.clock.Now().Add(-time.Hour), y.clock.Now().Add(time.Minute))
	if err != nil || !slices.ContainsFunc(readings, func(r sensors.Reading) bool {
		return r.Source == "Ines with probe 2" && r.Values[conditions.Surface] == 18.5 && r.Boat == "Boat Dunlin" && len(r.Flags) == 0
	}) {
		t.Errorf("the reading is not in the store: %v", err)
	}

	seen := "form[action$='/signals'] "
	b.press(seen + "button.main")
	b.sees(seen+"[role=alert]", "Choose at least one thing that you saw.")
	b.set(seen+"select[name=fan]", "runs")
	b.press(seen + "button.main")
	b.sees("section[aria-labelledby=sensors]", "Ines by eye", "fan runs")
}

// The painter reports a coat on the boat's page: first a form that lacks a word
// comes back as it was filled in; then he starts, with the time it was; then a
// pass, pressed twice in a hurry.
func painterPaints(t *testing.T, y *playedYard, b *tab) {
	coat := planner.Key{Boat: "Boat Dunlin", Area: "topsides", Stage: "high-build primer"}
	y.damp = false
	y.steps(t, time.Hour)
	b.open("/boat/Boat Dunlin")
	b.sees(".hand h3", coat.Stage)
	b.sees(".hand .verdict.yes", "Within the limits of card High-build primer rev 1")
	b.sees(".decides", "they decide, this page advises")
	b.fits()

	can := ".hand details:has(button[value=cant])"
	form := ".hand form:has(input[value='high-build primer'])"
	b.fill(form+" input[name=by]", "Ana")
	b.press(can + " summary")
	b.press(can + " button")
	b.sees(can+" [role=alert]", "The record needs it")
	if who := b.value(form + " input[name=by]"); who != "Ana" {
		t.Errorf("after a mistake the name reads %q", who)
	}

	// It is started on the shift page, once the yard's list is answered.
	b.press(".hand .press a[href*='high-build']")
	form = ".act form.press.shift"
	b.sees("#at", coat.Stage)
	for i := range b.count(form + " .check") {
		b.press(fmt.Sprintf("%s .check:nth-of-type(%d) input[value=go]", form, i+1))
	}
	b.fill(form+" input[name=by]", "Ana")
	began := y.clock.Now().Add(-20 * time.Minute)
	zone, err := y.service.Yard().Location()
	if err != nil {
		t.Fatal(err)
	}
	b.press(form + " input[name=ago][value=at]")
	b.set(form+" input[name=at]", began.In(zone).Format("2006-01-02T15:04"))
	b.press(form + " button[value=started]")
	b.sees(".said", "Started: noted.")
	b.open("/boat/Boat Dunlin")
	form = ".hand form:has(input[value='high-build primer'])"
	b.sees(".hand h3", "running")
	if s := y.reported(t, coat); !s.Running || !s.Started.Equal(began) || s.By != "Ana" {
		t.Errorf("the daemon has it started %s by %q, running %t", s.Started, s.By, s.Running)
	}

	done := form + " button[value=pass_done]"
	b.sees(done, "Pass 1 of 2 done")
	b.twice(done)
	b.sees(".said", "Pass done: noted.")
	b.sees(done, "Pass 2 of 2 done")
	if n := len(y.reported(t, coat).Passes); n != 1 {
		t.Errorf("a pass pressed twice on one page counts %d times", n)
	}
	// The same form sent twice past the script, as a browser on a bad line may.
	b.sends(form, "pass_done", 2)
	b.open("/boat/Boat Dunlin")
	b.sees("section[aria-labelledby=record]", "high-build primer: pass 2", "Ana")
	presses, err := y.service.Presses(t.Context(), coat.Boat)
	if err != nil {
		t.Fatal(err)
	}
	passes := 0
	for _, p := range presses {
		if p.Kind == planner.PassDone {
			passes++
		}
	}
	if passes != 2 {
		t.Errorf("two passes, each sent twice, are kept as %d", passes)
	}
}

// playedYard is the starter yard in the hands of a scheduler who releases each
// plan himself, on a clock that stands until it is stepped.
type playedYard struct {
	*stage
	boats []config.Boat
	damp  bool // what the sensors say
	state string
}

func openPlayedYard(t *testing.T, people ...config.Person) *playedYard {
	t.Helper()
	p := play{once: true, state: t.TempDir()}
	yard, boats, err := p.yard()
	if err != nil {
		t.Fatal(err)
	}
	yard.Release, yard.People = config.ByHand, people
	zone, err := yard.Location()
	if err != nil {
		t.Fatal(err)
	}
	start := time.Date(2026, time.April, 6, 9, 0, 0, 0, zone) // a Monday
	if boats, err = demo.Boats(boats, start); err != nil {
		t.Fatal(err)
	}
	log := logrus.New()
	log.SetOutput(io.Discard)
	ctx := t.Context()
	st, err := openStage(ctx, &p, yard, start, logrus.NewEntry(log), nil)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := st.close(); err != nil {
			t.Error(err)
		}
	})
	y := &playedYard{st, boats, true, p.state}
	if err := st.service.PutBoats(ctx, boats, "Ines"); err != nil {
		t.Fatal(err)
	}
	err = st.service.Press(ctx, planner.Press{
		Kind: planner.Arrived, Key: planner.Key{Boat: "Boat Dunlin"}, Place: "booth 1", Happened: start.Add(-48 * time.Hour), By: "Ines", Once: "came in",
	})
	if err != nil {
		t.Fatal(err)
	}
	if err := st.service.TakeForecast(ctx, changing(start), nil); err != nil {
		t.Fatal(err)
	}
	y.measure(t)
	y.steps(t, time.Hour)
	_, draft, err := st.service.Draft(ctx)
	if err != nil || draft == 0 {
		t.Fatalf("no draft: %v", err)
	}
	if err := st.service.Release(ctx, draft, "Ines"); err != nil {
		t.Fatal(err)
	}
	return y
}

// changing is a forecast of a day too damp even for a booth, then of mild days
// with nights too cold to paint in outdoors.
func changing(issued time.Time) sensors.Forecast {
	f := sensors.Forecast{Source: "model", Issued: issued.Add(-time.Hour).UTC(), Received: issued.UTC()}
	for at := issued.UTC().Truncate(time.Hour).Add(-time.Hour); at.Before(issued.AddDate(0, 0, 7)); at = at.Add(time.Hour) {
		w := conditions.Weather{At: at, Air: 5, DewPoint: 4, Wind: 2, Gust: 3, Cloud: .5, Sure: conditions.Foretold, AirError: .5, DewError: .5}
		switch hour := at.Hour(); {
		case at.Before(issued.Add(9 * time.Hour)):
			w.Air, w.DewPoint = 21, 20
		case hour >= 6 && hour < 19:
			w.Air, w.DewPoint, w.Shortwave = 16, 8, 300
		}
		f.Points = append(f.Points, w)
	}
	return f
}

// measure has every place's sensor report.
func (y *playedYard) measure(t *testing.T) {
	t.Helper()
	now := y.clock.Now().UTC()
	values := map[conditions.Variable]float64{
		conditions.AirTemperature: 20, conditions.RelHumidity: 55, conditions.Surface: 19.5, conditions.WindSpeed: 2, conditions.GustSpeed: 3,
	}
	if y.damp {
		values[conditions.AirTemperature], values[conditions.RelHumidity], values[conditions.Surface] = 21, 94, 20.5
	}
	var readings []sensors.Reading
	for _, s := range y.service.Yard().Sensors {
		readings = append(readings, sensors.Reading{
			Source: s.Name, Place: s.Place, At: now, Received: now, FromDevice: true, Key: s.Name + "/" + now.Format(time.RFC3339), Values: values,
		})
	}
	if err := y.service.TakeReadings(t.Context(), readings); err != nil {
		t.Fatal(err)
	}
}

// steps moves the clock on, measuring as it goes.
func (y *playedYard) steps(t *testing.T, span time.Duration) {
	t.Helper()
	for until := y.clock.Now().Add(span); y.clock.Now().Before(until); {
		y.clock.Advance(step)
		y.measure(t)
		if err := y.service.Settled(t.Context()); err != nil {
			t.Fatal(err)
		}
	}
}

// slip has a boat come in later than it was said to.
func (y *playedYard) slip(t *testing.T, name, arrives string) {
	t.Helper()
	for _, b := range y.boats {
		if b.Name == name {
			b.Arrives = arrives
			if err := y.service.PutBoats(t.Context(), []config.Boat{b}, "Ines"); err != nil {
				t.Fatal(err)
			}
		}
	}
	y.steps(t, 2*step)
}

func (y *playedYard) reported(t *testing.T, k planner.Key) planner.Progress {
	t.Helper()
	work, err := y.service.Work(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	s, ok := work.Stage(k)
	if !ok {
		t.Fatalf("there is no stage %s", k)
	}
	return s
}

// tab is one page in the browser.
type tab struct {
	t    *testing.T
	ctx  context.Context
	base string
}

// patience is how long a page may take to show what is due.
const patience = 20 * time.Second

// openTab opens one of its own on a screen: nobody's name is remembered in it.
func openTab(t *testing.T, browser context.Context, base string, on screen) *tab {
	t.Helper()
	ctx, shut := chromedp.NewContext(browser, chromedp.WithNewBrowserContext())
	t.Cleanup(shut)
	// A limit on the first call would shut the tab when it ends.
	if err := chromedp.Do(ctx, chromedp.Navigate("about:blank")); err != nil {
		t.Fatal(err)
	}
	b := &tab{t, ctx, strings.TrimSuffix(base, "/")}
	b.resize(on)
	return b
}

// resize makes the tab's screen another one.
func (b *tab) resize(to screen) {
	b.t.Helper()
	var options []chromedp.EmulateViewportOption
	if to.touch {
		options = append(options, chromedp.EmulateMobile, chromedp.EmulateTouch)
	}
	b.do(chromedp.EmulateViewport(to.width, to.height, options...))
}

// do acts on the page, and again where the page was replaced meanwhile: pages
// show by themselves what is new.
func (b *tab) do(actions ...chromedp.Action[chromedp.Void]) {
	b.t.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, patience)
	defer cancel()
	var last error
	for err := chromedp.Do(ctx, actions...); err != nil; err = chromedp.Do(ctx, actions...) {
		if ctx.Err() != nil {
			b.t.Fatal(errors.Join(last, err))
		}
		last = err
	}
}

func get[T any](b *tab, a chromedp.Action[T]) T {
	b.t.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, patience)
	defer cancel()
	v, err := chromedp.Run(ctx, a)
	if err != nil {
		b.t.Fatal(err)
	}
	return v
}

// open goes to a page of the yard's.
func (b *tab) open(path string) {
	b.t.Helper()
	b.do(chromedp.Navigate(b.base + (&url.URL{Path: path}).EscapedPath()))
}

// sees waits until something that can be seen says each of the words.
func (b *tab) sees(selector string, words ...string) {
	b.t.Helper()
	for _, word := range words {
		path := fmt.Sprintf(`[...document.querySelectorAll(%q)].find(e => e.textContent.replace(/\s+/g, " ").includes(%q)) || null`, selector, word)
		ctx, cancel := context.WithTimeout(b.ctx, patience)
		err := chromedp.Do(ctx, chromedp.WaitVisible(chromedp.JSPath(path)))
		cancel()
		if err != nil {
			b.t.Fatalf("%s does not say %q but %q (%v)", selector, word, b.texts(selector), err)
		}
	}
}

func (b *tab) press(selector string) { b.t.Helper(); b.do(chromedp.Click(chromedp.CSS(selector))) }

// twice presses as a hasty hand does: two clicks on one spot, whatever the page has become between them.
func (b *tab) twice(selector string) {
	b.t.Helper()
	at := get(b, chromedp.Evaluate[[]float64](fmt.Sprintf(`(() => {
		const e = document.querySelector(%q);
		e.scrollIntoView({block: "center"});
		const r = e.getBoundingClientRect();
		return [r.x + r.width / 2, r.y + r.height / 2];
	})()`, selector)))
	b.do(chromedp.MouseClickXY(at[0], at[1]), chromedp.MouseClickXY(at[0], at[1], chromedp.ClickCount(2)))
}

// fill types behind what a field holds; set puts a value in its place.
func (b *tab) fill(selector, text string) {
	b.t.Helper()
	b.do(chromedp.SendKeys(chromedp.CSS(selector), text))
}

func (b *tab) set(selector, value string) {
	b.t.Helper()
	b.do(chromedp.SetValue(chromedp.CSS(selector), value))
}

func (b *tab) value(selector string) string {
	b.t.Helper()
	return get(b, chromedp.Value(chromedp.CSS(selector)))
}

func (b *tab) text(selector string) string {
	b.t.Helper()
	return get(b, chromedp.Text(chromedp.CSS(selector)))
}

func (b *tab) texts(selector string) []string {
	b.t.Helper()
	return get(b, chromedp.Evaluate[[]string](fmt.Sprintf(`[...document.querySelectorAll(%q)].map(e => e.textContent.replace(/\s+/g, " ").trim())`, selector)))
}

func (b *tab) count(selector string) int { b.t.Helper(); return len(b.texts(selector)) }

// fits checks that nothing makes the page scroll sideways.
func (b *tab) fits() {
	b.t.Helper()
	if over := b.over(); over > 0 {
		b.t.Errorf("the page is %d px too wide", over)
	}
}

// over is how much wider than its screen the page is, px.
func (b *tab) over() int {
	b.t.Helper()
	return get(b, chromedp.Evaluate[int](`document.documentElement.scrollWidth - document.documentElement.clientWidth`))
}

// sends posts one form, as handed out, several times at once.
func (b *tab) sends(form, kind string, times int) {
	b.t.Helper()
	statuses := get(b, chromedp.Evaluate[[]int](fmt.Sprintf(`(() => {
		const form = document.querySelector(%q), body = new URLSearchParams(new FormData(form));
		body.set("kind", %q);
		return Promise.all(Array.from({length: %d}, () => fetch(form.action, {method: "POST", body}).then(r => r.status)));
	})()`, form, kind, times), chromedp.EvalAwaitPromise))
	for _, status := range statuses {
		if status != http.StatusOK {
			b.t.Errorf("the form sent %d times is answered %v", times, statuses)
		}
	}
}
