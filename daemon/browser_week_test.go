package main

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"fairwindow/config"
	"fairwindow/planner"
)

// TestTheWeekInABrowser lives through the scheduler's week in a real browser: he picks up
// stages by keys, by mouse and by finger, sees what that does, keeps it and releases it.
func TestTheWeekInABrowser(t *testing.T) {
	browser := openBrowser(t)
	for _, screen := range screens {
		t.Run(screen.name, func(t *testing.T) {
			y := openPlayedYard(t)
			one := &board{openTab(t, browser, y.web.url, screen), y}
			one.reads()
			one.movesByKeys()
			if screen.touch {
				one.movesByFinger()
			} else {
				one.movesByMouse()
				one.prints()
			}
			one.isRefused()
			one.keepsByForms()
			one.releases()
		})
	}
}

// board is the week in a tab.
type board struct {
	*tab
	y *playedYard
}

// later is a stage of some hours that people work at, the day after tomorrow or so.
func (b *board) later() planner.Planned {
	b.t.Helper()
	plan, _, err := b.y.service.Draft(b.t.Context())
	if err != nil {
		b.t.Fatal(err)
	}
	now := b.y.clock.Now()
	i := slices.IndexFunc(plan.Stages, func(s planner.Planned) bool {
		return s.Kind == config.Sand && s.Start.After(now.Add(20*time.Hour)) && s.Start.Before(now.Add(5*24*time.Hour)) && s.End.Sub(s.Start) > time.Hour
	})
	if i < 0 {
		b.t.Fatal("no sanding is planned in the next days, so the story has no subject")
	}
	return plan.Stages[i]
}

// link is a stage's bar on the board, as a script finds it.
func link(k planner.Key) string {
	return fmt.Sprintf(`[...document.querySelectorAll("#board section.row a[href*='stage=']")].find(a => {
		const u = new URL(a.getAttribute("href"), location.href); return decodeURIComponent(u.pathname) === %q && u.searchParams.get("area") === %q && u.searchParams.get("stage") === %q; })`,
		"/boat/"+k.Boat, k.Area, k.Stage)
}

// middle brings a stage's bar into sight and is where it is.
func (b *board) middle(k planner.Key) (x, y float64) {
	b.t.Helper()
	at := get(b.tab, chromedp.Evaluate[[]float64](fmt.Sprintf(`(() => {
		const a = %s, shape = a.querySelector("[x][width]"), board = document.querySelector("#board");
		a.scrollIntoView({block: "center"});
		const over = shape.getBoundingClientRect().x - board.getBoundingClientRect().x - board.querySelector(".name").offsetWidth - 20;
		board.scrollLeft += over;
		const r = shape.getBoundingClientRect();
		return [r.x + Math.min(r.width / 2, 4), r.y + r.height / 2];
	})()`, link(k))))
	return at[0], at[1]
}

func (b *board) script(text string) {
	b.t.Helper()
	get(b.tab, chromedp.Evaluate[bool]("(() => { "+text+"; return true; })()"))
}

func (b *board) presses() int {
	b.t.Helper()
	n := 0
	boats, err := b.y.service.Boats(b.t.Context())
	if err != nil {
		b.t.Fatal(err)
	}
	for _, boat := range boats {
		all, err := b.y.service.Presses(b.t.Context(), boat.Name)
		if err != nil {
			b.t.Fatal(err)
		}
		n += len(all)
	}
	return n
}

// reads: the week says what shuts each place and how likely, where now is, and what differs.
func (b *board) reads() {
	b.t.Helper()
	b.y.slip(b.t, "Boat Plover", "2026-04-14 08:00")
	b.open("/")
	b.sees(".which", "Draft and told differ in")
	if words := b.texts("#board .name .vh"); !slices.ContainsFunc(words, func(s string) bool { return strings.Contains(s, "too cold, chance up to") }) {
		b.t.Errorf("the places' words are %q", words)
	}
	if b.count(".nowline") == 0 || b.count("#grid .rest") != 2 {
		b.t.Error("the board shows neither now nor the weekend")
	}
	b.fits()
	b.press(".views a:last-child")
	b.sees(".which", "beneath what people were told")
	b.sees(".of", "told")
	b.sees(".of", "draft")
	if b.count("#board use[href='#flag']") == 0 {
		b.t.Error("nothing is marked as differing")
	}
	b.fits()
	b.press(".views a:first-child")
	b.sees("#pick", "Pick up a stage")
}

// movesByKeys: P picks up, arrows move, Enter looks, Escape puts back where it was.
func (b *board) movesByKeys() {
	b.t.Helper()
	s := b.later()
	before := b.presses()
	b.script(link(s.Key) + ".focus()")
	b.do(chromedp.KeyEvent("p"))
	b.sees("#hand h2", s.Key.Stage+" on "+s.Key.Boat)
	b.sees("#hand .to", "where it is")
	b.do(chromedp.KeyEvent(kb.PageDown), chromedp.KeyEvent(kb.ArrowRight))
	b.do(chromedp.KeyEvent(kb.Enter))
	b.sees("#wouldbe .effect", "It would start", "Launches", "Cost-minutes", "stages would move")
	if n := b.presses(); n != before {
		b.t.Errorf("looking kept %d presses", n-before)
	}
	// What is new comes in place, and he still holds it; what he has unfolded stays so, and the
	// draft that he is about to release is the one he has read.
	b.script(`document.querySelector("#after .costs").open = true; document.querySelector("#releases button").focus()`)
	const release = `document.querySelector("#releases input[name=plan]").value`
	read := get(b.tab, chromedp.Evaluate[string](release))
	b.hears()
	b.y.slip(b.t, "Boat Plover", "2026-04-16 08:00")
	b.sees("#hand h2", s.Key.Stage+" on "+s.Key.Boat)
	b.sees("#wouldbe", "The draft was made anew")
	b.deaf()
	if !get(b.tab, chromedp.Evaluate[bool](`document.querySelector("#after .costs").open`)) {
		b.t.Error("what he had unfolded was folded again")
	}
	if now := get(b.tab, chromedp.Evaluate[string](release)); now != read {
		b.t.Errorf("he was about to release draft %s and would release %s", read, now)
	}
	b.script(`document.querySelector("#hand button").blur(); document.activeElement.blur()`)
	b.do(chromedp.KeyEvent(kb.Escape))
	if !get(b.tab, chromedp.Evaluate[bool](`document.querySelector("#hand").hidden && !document.querySelector(".heldmark")`)) {
		b.t.Error("Escape did not put it back")
	}
	if got := get(b.tab, chromedp.Evaluate[string](`(document.activeElement.getAttribute("href") || "")`)); !strings.Contains(got, "stage=") {
		b.t.Errorf("after it was put back the focus is on %q", got)
	}
	b.fits()
}

// dragged: what he let go of two days later is shown, and kept once he wrote why.
func (b *board) dragged(s planner.Planned) {
	b.t.Helper()
	b.sees("#wouldbe .effect", "Pin "+s.Key.Stage)
	if b.count("#wouldbe .refused") > 0 {
		b.press("#wouldbe .nearest a:last-child")
		b.sees("#wouldbe .effect", "Launches")
	}
	b.set("#wouldbe input[name=by]", "Ines")
	b.set("#wouldbe input[name=note]", "the owner comes first")
	b.press("#wouldbe .keep button")
	b.sees(".said", "Pin: noted.")
	if is := b.y.reported(b.t, s.Key); is.Pinned.IsZero() || is.PinnedBy != "Ines" || !is.Pinned.After(s.Start) {
		b.t.Errorf("%s is pinned to %v by %q", s.Key, is.Pinned, is.PinnedBy)
	}
	b.y.steps(b.t, time.Hour)
}

func (b *board) movesByMouse() {
	b.t.Helper()
	s := b.later()
	x, y := b.middle(s.Key)
	held := chromedp.MouseOption(func(p *input.DispatchMouseEventParams) { p.Button, p.Buttons = input.MouseButtonLeft, 1 })
	b.do(chromedp.MouseEvent(input.DispatchMouseEventTypeMousePressed, x, y, held))
	for _, dx := range []float64{8, 60, 140, 330} {
		b.do(chromedp.MouseEvent(input.DispatchMouseEventTypeMouseMoved, x+dx, y, held))
	}
	b.do(chromedp.MouseEvent(input.DispatchMouseEventTypeMouseReleased, x+330, y, held))
	b.dragged(s)
}

func (b *board) movesByFinger() {
	b.t.Helper()
	s := b.later()
	touch := func(kind input.DispatchTouchEventType, points ...*input.TouchPoint) chromedp.Action[chromedp.Void] {
		return chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
			if points == nil {
				points = []*input.TouchPoint{}
			}
			_, err := cdp.Call(ctx, t, input.DispatchTouchEvent, input.DispatchTouchEventParams{Type: kind, TouchPoints: points})
			return err
		})
	}
	tap := func(x, y float64) {
		b.t.Helper()
		b.do(touch(input.DispatchTouchEventTypeTouchStart, &input.TouchPoint{X: x, Y: y}), touch(input.DispatchTouchEventTypeTouchEnd))
	}
	// The button, then the stage; then buttons move it.
	b.press("#pick")
	x, y := b.middle(s.Key)
	tap(x, y)
	b.sees("#hand h2", s.Key.Stage+" on "+s.Key.Boat)
	b.press("#hand button[aria-label='the next shift']")
	b.fits()
	b.press("#hand button[aria-label='Put back']")
	// A long press picks it up as well; buttons move it by shifts.
	x, y = b.middle(s.Key)
	b.do(touch(input.DispatchTouchEventTypeTouchStart, &input.TouchPoint{X: x, Y: y}))
	b.sees("#hand h2", s.Key.Stage+" on "+s.Key.Boat)
	b.do(touch(input.DispatchTouchEventTypeTouchEnd))
	for range 4 {
		b.press("#hand button[aria-label='the next shift']")
	}
	b.press("#hand button.main")
	b.dragged(s)
}

// prints: laid out for paper the week is as high as one sheet of A4 across, whatever is
// shown; it says whose it is and of which days.
func (b *board) prints() {
	b.t.Helper()
	media := func(of string) chromedp.Action[chromedp.Void] {
		return func(ctx context.Context, t *chromedp.Target) (chromedp.Void, error) {
			_, err := cdp.Call(ctx, t, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: of})
			return chromedp.Void{}, err
		}
	}
	// ISO 216: 297 mm by 210 mm and 420 mm by 297 mm, less the style sheet's 10 mm on each
	// side, at 96 pixels an inch. More than half of a sheet is used where there is enough to show.
	for _, sheet := range []screen{{"A4", 1047, 718, false}, {"A3", 1512, 1047, false}} {
		b.resize(sheet)
		for _, what := range []string{"/?days=42", "/?days=7&plan=side", "/?days=7"} {
			b.do(chromedp.Navigate(b.base+what), media("print"))
			high := int64(get(b.tab, chromedp.Evaluate[float64](`document.body.getBoundingClientRect().bottom`)))
			if high > sheet.height || what == "/?days=7&plan=side" && high < sheet.height*3/5 {
				b.t.Errorf("%s is %d pixels high on paper, a sheet of %s has %d", what, high, sheet.name, sheet.height)
			}
			b.sees(".brand span", b.y.service.Yard().Name)
			b.sees("h1", "Mon 6 Apr")
			b.do(media(""))
		}
	}
	b.resize(screens[0])
	b.open("/")
}

// isRefused: a pin at night is refused with why and what is nearest, and can't be kept.
func (b *board) isRefused() {
	b.t.Helper()
	s := b.later()
	b.open("/")
	b.script(link(s.Key) + ".focus()")
	b.do(chromedp.KeyEvent("p"))
	zone, err := b.y.service.Yard().Location()
	if err != nil {
		b.t.Fatal(err)
	}
	night := time.Date(s.Start.In(zone).Year(), s.Start.In(zone).Month(), s.Start.In(zone).Day(), 23, 0, 0, 0, zone)
	keys := strings.Repeat(kb.ArrowRight, int(night.Sub(s.Start)/(15*time.Minute)))
	b.do(chromedp.KeyEvent(keys))
	b.do(chromedp.KeyEvent(kb.Enter))
	b.sees("#wouldbe .refused", "It can't start", "nobody with the skill is on shift", "A pin is no leave to go outside a limit", "Nearest allowed start after")
	if b.count("#wouldbe .keep") != 0 {
		b.t.Error("a refused pin can be kept")
	}
	b.press("#wouldbe .nearest a:last-child")
	b.sees("#wouldbe .effect", "It would start")
	b.script(`document.activeElement.blur()`)
	b.do(chromedp.KeyEvent(kb.Escape))
}

// keepsByForms is the same without a script: a stage is held back, and freed again.
func (b *board) keepsByForms() {
	b.t.Helper()
	s := b.later()
	b.do(chromedp.Navigate(b.base + "/week/try?boat=" + strings.ReplaceAll(s.Key.Boat, " ", "+") + "&area=" + s.Key.Area + "&stage=" + strings.ReplaceAll(s.Key.Stage, " ", "+")))
	b.sees("h1", "Try")
	b.press("form:has(input[value=held]) button")
	b.sees("form:has(input[value=held]) [role=alert]", "The record needs it")
	b.fill("form:has(input[value=held]) textarea", "the owner has not paid")
	b.press("form:has(input[value=held]) button")
	b.sees(".effect", "Hold back", "Left without a start")
	b.fits()
	b.set(".keep input[name=by]", "Ines")
	b.press(".keep button")
	b.sees(".said", "Hold back: noted.")
	if is := b.y.reported(b.t, s.Key); is.Held != "Ines" {
		b.t.Errorf("it is held by %q", is.Held)
	}
}

// releases: after one press people have been told the draft.
func (b *board) releases() {
	b.t.Helper()
	b.y.steps(b.t, time.Hour)
	b.open("/")
	b.set(".release input[name=by]", "Ines")
	b.press(".release button.main")
	b.sees(".said", "Released.")
	b.sees(".which", "as people were told")
	_, draft, _ := b.y.service.Draft(b.t.Context())
	if _, told, err := b.y.service.Told(b.t.Context()); told != draft || err != nil {
		b.t.Errorf("told plan %d, draft %d, %v", told, draft, err)
	}
	b.open("/week/changes")
	b.sees("h1", "What changed")
	b.sees("main", "release: by hand")
	b.fits()
}

// The scheduler sees the week, with what shuts it, finds a draft that is not
// what people were told since a boat slips, reads what moves, and releases it.
func schedulerReleases(t *testing.T, y *playedYard, b *tab) {
	b.open("/")
	b.sees(".which", "as people were told")
	b.hears()
	y.slip(t, "Boat Plover", "2026-04-14 08:00")
	_, draft, err := y.service.Draft(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	b.sees(".which", "The draft of") // the page shows by itself what is new
	b.waits(fmt.Sprintf(`document.querySelector(".release input[name=plan]").value === "%d"`, draft))
	b.deaf()
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
