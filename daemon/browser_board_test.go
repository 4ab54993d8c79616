package main

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"fairwindow/config"
	"fairwindow/planner"
)

// walls are screens that a board is made for: pixels, and how wide the glass is in mm.
// 32 and 43 inches across at 16 by 9 are 708 and 952 mm wide.
var walls = []struct {
	name          string
	width, height int64
	wide          float64
}{
	{"32 inches", 1920, 1080, 708.4},
	{"43 inches", 1920, 1080, 951.9},
	{"43 inches, small pixels", 3840, 2160, 951.9},
}

// readFrom is how far off a board is read, mm, and arc the least height of a capital or a
// figure for that, in minutes of arc (ISO 9241-303 and ANSI/HFES 100: 16 at least, 20 to 22
// rather; from memory): 37 mm.
const (
	readFrom = 8000
	arc      = 16
)

// TestBoardInABrowser holds a board's letters against the rule, sees that it fits its
// screen in each state, and that it says so when the server has gone, and when it is back.
func TestBoardInABrowser(t *testing.T) {
	browser := openBrowser(t)
	y := openPlayedYard(t)
	coat := planner.Key{Boat: "Boat Dunlin", Area: "topsides", Stage: "high-build primer"}
	damp := y.damp
	y.damp = false
	y.steps(t, time.Hour)
	press := func(p planner.Press) {
		t.Helper()
		p.Key, p.Happened, p.By, p.Once = coat, y.clock.Now(), "Ana", fmt.Sprint(p.Kind, p.Pass)
		if err := y.service.Press(t.Context(), p); err != nil {
			t.Fatal(err)
		}
	}
	var checks []planner.Point
	for _, p := range y.service.Yard().Checklist[config.Coat] {
		checks = append(checks, planner.Point{Words: p.Words, Go: true})
	}
	press(planner.Press{Kind: planner.Started, Checks: checks})
	y.steps(t, 2*step)
	press(planner.Press{Kind: planner.PassDone, Pass: 1})
	y.steps(t, step)

	for _, wall := range walls {
		b := openTab(t, browser, y.web.url, screen{wall.name, wall.width, wall.height, false})
		b.open("/board/booth 1")
		b.sees(".what", "Boat Dunlin topsides")
		b.sees(".pass", "2 of 2")
		b.sees(".word", "Within")
		b.sees(".figures", "next pass")
		legible(t, b, wall.wide, wall.width)
		filled(t, b)
		// The widest margin and age there are do not push the rest off the screen.
		get(b, chromedp.Evaluate[bool](`(document.querySelector(".huge").classList.add("wide"), document.querySelector(".huge").firstChild.textContent = "−13.2", document.querySelector(".age").textContent = "35 min ago, doubtful", true)`))
		filled(t, b)
	}

	w := runWire(t, strings.TrimSuffix(strings.TrimPrefix(y.web.url, "http://"), "/"))
	b := openTab(t, browser, w.url(), screen{"wall", 1920, 1080, false})
	b.open("/board/booth 1")
	y.damp = true
	y.steps(t, step)
	later(b, 20*time.Second) // it looks by itself
	b.sees("main.whole .word", "Stop")
	b.sees("main.whole .sentence", "Water stands on the hull's coldest spot.") // at 19.5 °C five minutes ago, under a dew point of 20.0
	legible(t, b, walls[0].wide, 1920)
	filled(t, b)
	y.damp = damp

	clock := b.text("#clock")
	b.waits(`ask().then(() => !asking && performance.now() - up < 5000)`) // its last answer is of now
	w.cut()
	later(b, 30*time.Second)
	if shown := get(b, chromedp.Evaluate[bool](`!document.getElementById("gone").hidden`)); shown {
		t.Error("not live after half a minute")
	}
	later(b, 31*time.Second)
	b.sees("#gone", "Not live since "+clock+". Take conditions as unknown.")
	over := get(b, chromedp.Evaluate[string](`document.elementFromPoint(innerWidth / 2, innerHeight / 2).closest("#gone, #wall").id`))
	if over != "gone" {
		t.Error("the last word still shows")
	}
	legible(t, b, walls[0].wide, 1920)

	w.mend(false)
	later(b, 20*time.Second)
	b.do(chromedp.WaitNotVisible(chromedp.CSS("#gone")))
	b.sees("main .word", "Stop")

	// A night of looks and ticks leaves no more behind than one.
	nodes := get(b, chromedp.Evaluate[int](`document.getElementsByTagName("*").length`))
	for range 20 {
		later(b, 20*time.Second)
		get(b, chromedp.Evaluate[bool](`ask().then(() => true)`, chromedp.EvalAwaitPromise))
	}
	if now := get(b, chromedp.Evaluate[int](`document.getElementsByTagName("*").length`)); now != nodes {
		t.Errorf("%d elements became %d", nodes, now)
	}
}

// later has a page's clocks go on by so much at once, and one tick pass.
func later(b *tab, by time.Duration) {
	b.t.Helper()
	get(b, chromedp.Evaluate[bool](fmt.Sprintf(`(() => {
		const was = Date.now, up = performance.now.bind(performance);
		Date.now = () => was() + %d;
		performance.now = () => up() + %d;
		tick();
		return true;
	})()`, by.Milliseconds(), by.Milliseconds())))
}

// legible measures each figure that is to be read from afar: the ink of its digits, or of
// a capital, against the screen's glass.
func legible(t *testing.T, b *tab, wide float64, pixels int64) {
	t.Helper()
	type letter struct {
		Text string
		Ink  float64
	}
	letters := get(b, chromedp.Evaluate[[]letter](`[...document.querySelectorAll(".fig, .fig b, .whole .sentence, #gone:not([hidden]) .word, #gone:not([hidden]) .sentence")].filter(e => e.getBoundingClientRect().height > 0).map(e => {
		const style = getComputedStyle(e), pen = document.createElement("canvas").getContext("2d");
		pen.font = style.fontWeight + " " + style.fontSize + " " + style.fontFamily;
		const ink = Math.min(pen.measureText("H").actualBoundingBoxAscent, pen.measureText("0").actualBoundingBoxAscent);
		const box = e.getBoundingClientRect();
		return {Text: e.textContent.trim(), Ink: Math.min(ink, box.height)};
	})`))
	least := readFrom * math.Tan(arc/60.0*math.Pi/180)
	if len(letters) < 3 {
		t.Errorf("only %d figures", len(letters))
	}
	for _, l := range letters {
		if mm := l.Ink * wide / float64(pixels); mm < least {
			t.Errorf("%q stands %.1f mm high, at %d m at least %.1f", l.Text, mm, readFrom/1000, least)
		}
	}
}

// filled checks that nothing is cut off or laid over another.
func filled(t *testing.T, b *tab) {
	t.Helper()
	for _, fault := range get(b, chromedp.Evaluate[[]string](`(() => {
		const faults = [], shown = [...document.querySelectorAll("#wall .fig, #wall .name, #wall .sentence, #wall .ask, #wall .air")].filter(e => e.getBoundingClientRect().height > 0);
		const box = e => { const r = document.createRange(); r.selectNodeContents(e); return r.getBoundingClientRect(); };
		for (const e of shown) {
			const r = box(e);
			if (r.left < 0 || r.top < -4 || r.right > innerWidth + 8 || r.bottom > innerHeight + 8) faults.push("cut off: " + e.textContent);
			for (const o of shown) {
				if (o === e || o.contains(e) || e.contains(o)) continue;
				const q = box(o);
				if (r.left + 4 < q.right && q.left + 4 < r.right && Math.min(r.bottom - .2 * r.height, q.bottom - .2 * q.height) > Math.max(r.top + .2 * r.height, q.top + .2 * q.height)) faults.push(e.textContent + " over " + o.textContent);
			}
		}
		return faults;
	})()`)) {
		t.Error(fault)
	}
}
