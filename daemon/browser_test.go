package main

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
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

// TestPeopleInABrowser lives through the scheduler's and the manager's main story in a real
// browser, before the real daemon on a played clock.
func TestPeopleInABrowser(t *testing.T) {
	playStories(t, story{"scheduler", schedulerReleases}, story{"manager", managerAsksWhy})
}

// story is what one person lives through, on a yard that those before have left.
type story struct {
	person string
	live   func(*testing.T, *playedYard, *tab)
}

// playStories plays them one after the other, on each screen in a yard of its own.
func playStories(t *testing.T, stories ...story) {
	browser := openBrowser(t)
	for _, screen := range screens {
		t.Run(screen.name, func(t *testing.T) {
			y := openPlayedYard(t)
			for _, s := range stories {
				t.Run(s.person, func(t *testing.T) {
					s.live(t, y, openTab(t, browser, y.web.url, screen))
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

// tab is one page in the browser.
type tab struct {
	t    *testing.T
	ctx  context.Context
	base string
}

// patience is how long a page may take to show what is due, on any machine, however busy.
const patience = 90 * time.Second

// openTab opens one of its own on a screen: nobody's name is remembered in it.
func openTab(t *testing.T, browser context.Context, base string, on screen) *tab {
	t.Helper()
	ctx, shut := chromedp.NewContext(browser, chromedp.WithNewBrowserContext())
	t.Cleanup(shut)
	// A limit on the first call would shut the tab when it ends.
	if err := chromedp.Do(ctx, chromedp.Navigate("about:blank")); err != nil {
		t.Fatal(err)
	}
	return newTab(t, ctx, base, on)
}

// newTab is the page of a context, and watches each page that it shows.
func newTab(t *testing.T, ctx context.Context, base string, on screen) *tab {
	t.Helper()
	b := &tab{t, ctx, strings.TrimSuffix(base, "/")}
	b.do(func(ctx context.Context, t *chromedp.Target) (chromedp.Void, error) {
		_, err := cdp.Call(ctx, t, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: watches})
		return chromedp.Void{}, err
	})
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

// get asks the page, and again where it was replaced meanwhile.
func get[T any](b *tab, a chromedp.Action[T]) T {
	b.t.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, patience)
	defer cancel()
	var last error
	for {
		v, err := chromedp.Run(ctx, a)
		if err == nil {
			return v
		}
		if ctx.Err() != nil {
			b.t.Fatal(errors.Join(last, err))
		}
		last = err
	}
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
		for err != nil && ctx.Err() == nil { // the page was replaced meanwhile
			err = chromedp.Do(ctx, chromedp.WaitVisible(chromedp.JSPath(path)))
		}
		cancel()
		if err != nil {
			b.t.Fatalf("%s does not say %q but %q (%v)", selector, word, b.texts(selector), err)
		}
	}
}

// watches runs in each page before any script of its own. It notes what a click hit, and whether
// that leads away: nothing of the page's own took the link or the form over. And it keeps from
// the page that there is something newer, until the test lets it hear: a page that shows by
// itself what is new does so whenever it hears, in the midst of what the test does.
const watches = `(() => {
	window.leaves = false;
	addEventListener("click", e => {
		if (sessionStorage.aim && e.detail < 2 && e.target.closest(sessionStorage.aim)) sessionStorage.hit = "yes";
	}, true);
	addEventListener("click", e => {
		const to = e.target.closest("a[href]");
		if (to && to.href.split("#")[0] !== location.href.split("#")[0]) window.leaves = !e.defaultPrevented;
	});
	addEventListener("submit", e => { window.leaves = !e.defaultPrevented; });
	window.EventSource = class extends EventSource {
		addEventListener(kind, act) { super.addEventListener(kind, e => { if (sessionStorage.hears || kind === "notice") act(e); }); }
	};
})()`

// hears lets the page hear what is new; deaf is how it is at first.
func (b *tab) hears() { b.t.Helper(); b.waits(`(sessionStorage.hears = "yes")`) }
func (b *tab) deaf()  { b.t.Helper(); b.waits(`(delete sessionStorage.hears)`) }

// press clicks, and where that leads to another page waits for it: a word the old
// page has too must not be taken for the new one's.
func (b *tab) press(selector string) {
	b.t.Helper()
	b.hits(selector, func(ctx context.Context) error {
		return chromedp.Do(ctx, chromedp.Click(chromedp.CSS(selector)))
	})
}

// hits clicks until something was hit: what is to be clicked may move or be drawn anew between
// the look where it is and the click, which then goes beside it.
func (b *tab) hits(selector string, click func(context.Context) error) {
	b.t.Helper()
	b.do(chromedp.WaitVisible(chromedp.CSS(selector)))
	b.waits(fmt.Sprintf(`(delete sessionStorage.hit, sessionStorage.aim = %q)`, selector))
	ctx, cancel := context.WithTimeout(b.ctx, patience)
	defer cancel()
	for hit := false; !hit; {
		err := click(ctx)
		if ctx.Err() != nil {
			b.t.Fatalf("%s can't be pressed: %v", selector, err)
		}
		hit = get(b, chromedp.Evaluate[bool](`(sessionStorage.hit === "yes")`))
	}
	b.waits(`!window.leaves && document.readyState === "complete"`)
}

// twice presses as a hasty hand does: two clicks on one spot, whatever the page has become between them.
func (b *tab) twice(selector string) {
	b.t.Helper()
	b.hits(selector, func(ctx context.Context) error {
		at, err := chromedp.Run(ctx, chromedp.Evaluate[[]float64](fmt.Sprintf(`(() => {
			const e = document.querySelector(%q);
			e.scrollIntoView({block: "center"});
			const r = e.getBoundingClientRect();
			return [r.x + r.width / 2, r.y + r.height / 2];
		})()`, selector)))
		if err != nil {
			return err
		}
		return chromedp.Do(ctx, chromedp.MouseClickXY(at[0], at[1]), chromedp.MouseClickXY(at[0], at[1], chromedp.ClickCount(2)))
	})
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

// waits until an expression is true in the page.
func (b *tab) waits(expression string) {
	b.t.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, patience)
	defer cancel()
	for {
		is, err := chromedp.Run(ctx, chromedp.Evaluate[bool]("Promise.resolve("+expression+").then(Boolean)", chromedp.EvalAwaitPromise))
		if is && err == nil {
			return
		}
		if ctx.Err() != nil {
			b.t.Fatalf("%s does not become true (%v)", expression, err)
		}
	}
}

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
