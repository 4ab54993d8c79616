package main

import (
	"errors"
	"fmt"
	"net"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"fairwindow/planner"
)

// dunlin is the first coat of the boat that stands in booth 1.
var dunlin = planner.Key{Boat: "Boat Dunlin", Area: "topsides", Stage: "high-build primer"}

// TestShiftWithoutALine lives through an hour in which a painter's phone, or a desk beside
// the booth, has no line to the yard. The line is a wire that the test cuts, so that the
// page, its worker and its sending all lose it, as they would.
func TestShiftWithoutALine(t *testing.T) {
	for _, screen := range screens {
		t.Run(screen.name, func(t *testing.T) {
			y := openPlayedYard(t)
			y.damp = false
			// The other boat of this crew's is held back, so that the coat is what is at hand.
			for _, stage := range []string{"wipe", "tack", "topcoat"} {
				held := planner.Press{Kind: planner.Held, Key: planner.Key{Boat: "Boat Tern", Area: "topsides", Stage: stage}, By: "Ines", Note: "the owner is asked"}
				if err := y.service.Press(t.Context(), held); err != nil {
					t.Fatal(err)
				}
			}
			y.steps(t, time.Hour)
			home, wire := t.TempDir(), runWire(t, strings.TrimSuffix(strings.TrimPrefix(y.web.url, "http://"), "/"))
			one, quit := ownBrowser(t, home, wire.url(), screen)
			painterGoesOffline(t, y, wire, one)
			if screen.touch {
				// The browser is closed in the meantime, and the line breaks in the midst of sending.
				quit()
				wire.mend(true)
				again, quit := ownBrowser(t, home, wire.url(), screen)
				defer quit()
				again.open("/shift")
				sentOnce(t, y, wire, again)
				return
			}
			defer quit()
			somebodyWasFirst(t, y, wire, one)
		})
	}
}

const formAtHand = ".act form.press.shift"

// painterGoesOffline answers the list, starts and lays both passes without a line, with the
// page loaded anew in between.
func painterGoesOffline(t *testing.T, y *playedYard, w *wire, b *tab) {
	b.open("/shift")
	b.sees(".big", "Which crew are you with?")
	b.press(".crews a[href*=paint]")
	b.sees("#at", dunlin.Stage)
	b.sees(".margin.yes", "K")
	b.sees(".verdict.yes", "Within the limits of card High-build primer rev 1")
	b.sees("section[aria-labelledby=mix]", "whole kit", "left over", "kg", "ready to use")
	b.fits()
	outOfThePocket(b)
	keepsLooking(t, y, b)
	// A window whose end has passed is not called open by a page that was made before it.
	b.waits(`(() => {
		document.querySelector(".at .count.shuts").dataset.until = "1";
		return document.querySelector(".at .st").textContent === "shut" && document.querySelector(".at .do").textContent.includes("The window is over");
	})()`)
	b.waits(`(async () => navigator.serviceWorker.controller !== null && (await (await caches.open("fairwindow-shift")).keys()).length >= 7)()`)

	// A no-go blocks the start and says where to go from there.
	b.fill(formAtHand+" input[name=by]", "Ana")
	b.press(formAtHand + " button[value=started]")
	b.sees(formAtHand+" .check .own", "go or no-go?")
	points := b.count(formAtHand + " .check")
	if points != len(y.service.Yard().Checklist["coat"]) {
		t.Fatalf("%d points are asked, the yard file has %d", points, len(y.service.Yard().Checklist["coat"]))
	}
	for i := range points {
		b.press(fmt.Sprintf("%s .check:nth-of-type(%d) input[value=go]", formAtHand, i+1))
	}
	b.press(formAtHand + " .check:nth-of-type(2) input[value=no]")
	b.fill(formAtHand+" .check:nth-of-type(2) .why input", "clogged")
	b.press(formAtHand + " button[value=started]")
	b.sees(formAtHand+" .check:nth-of-type(2) .own", "is no-go: put it right, or press can’t")
	b.press(formAtHand + " .check:nth-of-type(2) input[value=go]")
	if y.reported(t, dunlin).Running {
		t.Fatal("it was started past a no-go")
	}

	w.cut()
	b.fill(formAtHand+" input[name=for]", "Rui")
	b.twice(formAtHand + " button[value=started]")
	b.sees("#waiting", "Waits to be sent (1)")
	b.sees(".at .st", "running, waits to be sent")
	zone, err := y.service.Yard().Location()
	if err != nil {
		t.Fatal(err)
	}
	mixed := y.clock.Now().In(zone).Add(-20 * time.Minute)
	b.press(formAtHand + " input[name=ago][value=at]")
	b.set(formAtHand+" input[name=at]", mixed.Format("2006-01-02T15:04"))
	b.press(formAtHand + " button[value=mixed]")
	b.sees("#waiting", "Waits to be sent (2)")
	b.sees("#queue li", "Pot mixed: high-build primer on Boat Dunlin topsides, "+mixed.Format("15:04"))
	b.press(formAtHand + " input[name=ago][value='0']")
	b.sees(".pot.own", "Not before", "Use by", "left")
	b.press(formAtHand + " button[value=pass_done]")
	b.sees("#waiting", "Waits to be sent (3)")
	b.sees(formAtHand+" button[value=pass_done]", "Pass 2 of 2 done")
	b.sees("section.at .count.own", "Flash-off until", "Next pass at the latest")
	b.sees("section.at .do", "Let it flash off until")

	b.do(chromedp.Reload())
	b.sees("#notlive", "not live: there is no line")
	b.sees("#at", dunlin.Stage)
	b.sees("#queue li", "Started: high-build primer on Boat Dunlin topsides", "Pot mixed", "Pass 1 of 2 done")
	b.sees(".at .st", "running, waits to be sent")
	b.waits(`getComputedStyle(document.querySelector("#air .fresh")).opacity < 1`)
	b.fits()
	// What was measured counts for as long as the yard says, and is unknown after it.
	b.waits(`document.getElementById("air").dataset.stale = "1", document.querySelector("#air .fresh").hidden && document.querySelector("#air .old").textContent.includes("Unknown")`)
	b.press(formAtHand + " button[value=pass_done]")
	b.sees("#waiting", "Waits to be sent (4)")
	if s := y.reported(t, dunlin); s.Running || len(s.Passes) > 0 {
		t.Fatalf("the line is cut and the yard has %+v", s)
	}
}

// keepsLooking: a page that is left open, with a form half filled in, shows what is measured
// now and keeps the form.
func keepsLooking(t *testing.T, y *playedYard, b *tab) {
	t.Helper()
	b.press(formAtHand + " .check:nth-of-type(1) input[value=go]")
	b.waits(`window.stays = true`)
	zone, err := y.service.Yard().Location()
	if err != nil {
		t.Fatal(err)
	}
	y.steps(t, step)
	b.waits(`document.dispatchEvent(new Event("visibilitychange"))`) // it comes out of a pocket
	b.sees(formAtHand+" .check small", "measured "+y.clock.Now().In(zone).Format("15:04"))
	b.sees(".top .now", y.clock.Now().In(zone).Format("15:04"))
	b.waits(`window.stays && document.querySelector(".act .check input[value=go]").checked`)
}

// outOfThePocket: a page that nothing was heard for since hours says so at once, before the
// yard can answer, and shows what is measured as soon as it has.
func outOfThePocket(b *tab) {
	b.t.Helper()
	shown := get(b, chromedp.Evaluate[string](`(() => {
		document.getElementById("shift").dataset.made = "1";
		for (const one of document.querySelectorAll(".next .st")) one.className = "st open";
		document.dispatchEvent(new Event("visibilitychange"));
		return document.querySelector(".at").innerText + document.getElementById("air").innerText;
	})()`))
	if !strings.Contains(shown, "Do not start by this page: nothing was heard from the yard since") || !strings.Contains(shown, "Unknown: nothing was heard") || strings.Contains(strings.ToLower(shown), "within the limits") {
		b.t.Errorf("a page of hours ago reads %q", shown)
	}
	b.sees(".fresh .verdict.yes", "Within the limits of card High-build primer rev 1")
	b.waits(`!document.querySelector(".at .do").textContent.includes("by this page")`)
	if b.count(".next .st") == 0 {
		b.t.Error("nothing is to come, so that nothing is told of it")
	}
	b.waits(`![...document.querySelectorAll(".next .st")].some(one => one.textContent === "unknown")`)
}

// sentOnce: after the browser was closed and the line broke while it was sent, the yard
// has each press once, in the order in which they were pressed.
func sentOnce(t *testing.T, y *playedYard, w *wire, b *tab) {
	b.waits(`(dispatchEvent(new Event("online")), document.querySelector(".said")?.textContent.includes("noted."))`) // else it asks each quarter of a minute
	b.waits(`document.getElementById("queue").hidden`)
	if w.dropped.Load() == 0 {
		t.Error("the line did not break while it was sent")
	}
	if got, want := y.pressesOf(t), []planner.PressKind{planner.Started, planner.Mixed, planner.PassDone, planner.PassDone}; !slices.Equal(got, want) {
		t.Errorf("the yard has %v, want %v", got, want)
	}
	if s := y.reported(t, dunlin); !s.Done || len(s.Passes) != 2 || s.By != "Ana" {
		t.Errorf("the yard has %+v", s)
	}
	answered, err := y.service.Presses(t.Context(), dunlin.Boat)
	answered = slices.DeleteFunc(answered, func(p planner.Press) bool { return len(p.Checks) == 0 })
	if err != nil || len(answered) != 1 || len(answered[0].Checks) != len(y.service.Yard().Checklist["coat"]) || answered[0].For != "Rui" {
		t.Errorf("the answers: %+v, %v", answered, err)
	}
}

// somebodyWasFirst: the start that waited was reported by somebody else meanwhile. It is
// refused in the yard's words, the rest waits, and goes once that one is dropped.
func somebodyWasFirst(t *testing.T, y *playedYard, w *wire, b *tab) {
	start := planner.Press{Kind: planner.Started, Key: dunlin, By: "Ines", Once: "from the office"}
	for _, p := range y.service.Yard().Checklist["coat"] {
		start.Checks = append(start.Checks, planner.Point{Words: p.Words, Go: true})
	}
	if err := y.service.Press(t.Context(), start); err != nil {
		t.Fatal(err)
	}
	w.mend(false)
	b.open("/shift")
	b.sees("#queue li .fault", "runs already")
	b.sees("#waiting", "Waits to be sent (4)")
	if s := y.reported(t, dunlin); len(s.Passes) > 0 {
		t.Error("what came after a refusal was sent")
	}
	// Another boat's news does not wait behind it.
	b.waits(`(() => {
		const form = document.querySelector(".next form.press.shift");
		form.querySelector("input[name=reason_cant]").checked = true;
		form.querySelector("button[value=cant]").click();
		return true;
	})()`)
	b.sees(".said", "noted.")
	b.sees("#waiting", "Refused: change it or drop it. Waits to be sent (4)")
	b.open("/shift")
	b.press("#queue li button:last-of-type")
	b.sees(".said", "noted.")
	b.waits(`document.getElementById("queue").hidden`)
	if got, want := y.pressesOf(t), []planner.PressKind{planner.Started, planner.Mixed, planner.PassDone, planner.PassDone}; !slices.Equal(got, want) {
		t.Errorf("the yard has %v, want %v", got, want)
	}
	if s := y.reported(t, dunlin); s.By != "Ines" || !s.Done {
		t.Errorf("the yard has %+v", s)
	}
}

// pressesOf are the kinds reported of the coat, in the order in which they came in.
func (y *playedYard) pressesOf(t *testing.T) []planner.PressKind {
	t.Helper()
	presses, err := y.service.Presses(t.Context(), dunlin.Boat)
	if err != nil {
		t.Fatal(err)
	}
	slices.SortFunc(presses, func(a, b planner.Press) int { return int(a.ID - b.ID) })
	var kinds []planner.PressKind
	for _, p := range presses {
		if p.Key == dunlin {
			kinds = append(kinds, p.Kind)
		}
	}
	return kinds
}

// ownBrowser is a browser that keeps what it has in a folder, and one tab of it.
func ownBrowser(t *testing.T, home, url string, on screen) (*tab, func()) {
	t.Helper()
	ctx, end := startBrowser(t, chromedp.UserDataDir(home))
	return newTab(t, ctx, url, on), sync.OnceFunc(func() {
		if err := chromedp.Cancel(ctx); err != nil { // in order: what it keeps is written
			t.Log("the browser did not close in order:", err)
		}
		end()
	})
}

// wire is a line to the yard that can be cut, and mended.
type wire struct {
	listener net.Listener
	to       string
	whole    atomic.Bool
	breaks   atomic.Bool  // the answer to the next form is lost, after the yard has it
	dropped  atomic.Int64 // answers that were lost
	mu       sync.Mutex
	open     map[net.Conn]bool
}

func runWire(t *testing.T, to string) *wire {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	w := &wire{listener: l, to: to, open: map[net.Conn]bool{}}
	w.whole.Store(true)
	go func() {
		for {
			c, err := l.Accept()
			if errors.Is(err, net.ErrClosed) {
				return
			}
			if err == nil {
				go w.carry(c)
			}
		}
	}()
	t.Cleanup(func() { l.Close(); w.cut() })
	return w
}

func (w *wire) url() string { return "http://" + w.listener.Addr().String() + "/" }

// cut breaks every connection, and each that is tried from now on.
func (w *wire) cut() {
	w.whole.Store(false)
	w.mu.Lock()
	defer w.mu.Unlock()
	for c := range w.open {
		c.Close()
	}
}

// mend lets the line carry again; if it breaks, the answer to the first form is lost.
func (w *wire) mend(breaks bool) {
	w.breaks.Store(breaks)
	w.whole.Store(true)
}

func (w *wire) carry(in net.Conn) {
	defer in.Close()
	if !w.whole.Load() {
		return
	}
	out, err := net.Dial("tcp", w.to)
	if err != nil {
		return
	}
	defer out.Close()
	w.mu.Lock()
	w.open[in], w.open[out] = true, true
	w.mu.Unlock()
	defer func() {
		w.mu.Lock()
		delete(w.open, in)
		delete(w.open, out)
		w.mu.Unlock()
	}()
	var lose atomic.Bool
	go func() {
		defer out.Close()
		buffer := make([]byte, 64<<10)
		for {
			n, err := in.Read(buffer)
			if strings.Contains(string(buffer[:n]), "POST /shift/press") && w.breaks.CompareAndSwap(true, false) {
				lose.Store(true)
			}
			if _, bad := out.Write(buffer[:n]); err != nil || bad != nil {
				return
			}
		}
	}()
	buffer := make([]byte, 64<<10)
	for {
		n, err := out.Read(buffer)
		if n > 0 && lose.Load() {
			w.dropped.Add(1)
			return // the yard has answered, so it has the press
		}
		if _, bad := in.Write(buffer[:n]); err != nil || bad != nil {
			return
		}
	}
}
