package main

import (
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"fairwindow/conditions"
	"fairwindow/sensors"
)

// TestPlaceInABrowser reads a place's chart by keys alone and at the pointer, and looks at a
// past day, on a desk and on a phone.
func TestPlaceInABrowser(t *testing.T) {
	browser := openBrowser(t)
	y := openPlayedYard(t)
	y.damp = false
	y.steps(t, 3*time.Hour)
	signal := sensors.Reading{Source: "booth panel", Place: "booth 1", At: y.clock.Now(), Received: y.clock.Now(), Key: "panel", Values: map[conditions.Variable]float64{conditions.BoothMode: 0, conditions.Fan: 0}}
	if err := y.service.TakeReadings(t.Context(), []sensors.Reading{signal}); err != nil {
		t.Fatal(err)
	}
	y.steps(t, 2*step)
	zone, err := y.service.Yard().Location()
	if err != nil {
		t.Fatal(err)
	}
	for _, screen := range screens {
		t.Run(screen.name, func(t *testing.T) {
			b := openTab(t, browser, y.web.url, screen)
			b.open("/place/booth 1")
			b.fits()
			first := get(b, chromedp.Evaluate[[]float64](`[".gauge", ".verdict"].map(s => document.querySelector(s).getBoundingClientRect().bottom)`))
			if first[0] > float64(screen.height) || first[1] > float64(screen.height) {
				t.Errorf("margin and verdict end at %v, below the first view of %d", first, screen.height)
			}

			// Out of a pocket after hours it does not stand by what was measured then, and asks anew.
			shown := get(b, chromedp.Evaluate[string](`(() => {
				const is = Date.now;
				Date.now = () => is() + 3 * 3600000;
				document.dispatchEvent(new Event("visibilitychange"));
				return document.querySelector(".instruments").innerText;
			})()`))
			if !strings.Contains(shown, "Unknown: nothing was heard from the yard since") || strings.Contains(strings.ToLower(shown), "within the limits") || strings.Contains(shown, " ago") {
				t.Errorf("a page of hours ago reads %q", shown)
			}
			b.waits(`!document.querySelector(".instruments").textContent.includes("nothing was heard")`)

			// It opens at now, and what its lines are called can be read there.
			b.waits(`(() => {
				const view = document.getElementById("scroll").getBoundingClientRect();
				const cut = [...document.querySelectorAll(".chart .title, .chart .scale, .chart .limitname")].filter((e) => { const r = e.getBoundingClientRect(); return r.left < view.left || r.right > view.right; });
				return cut.length === 0 && document.querySelectorAll(".chart .limitname").length > 3;
			})()`)
			// One key back is what was measured a step before.
			now := b.text("#read")
			b.do(chromedp.Focus(chromedp.CSS("#reader")), chromedp.KeyEvent(kb.ArrowLeft))
			back := b.text("#read")
			if now == back || !strings.Contains(back, "measured") {
				t.Errorf("after a key %q reads %q", now, back)
			}
			if said := get(b, chromedp.Evaluate[string](`document.getElementById("reader").getAttribute("aria-valuetext")`)); strings.Join(strings.Fields(said), "") != strings.Join(strings.Fields(back), "") {
				t.Errorf("a screen reader hears %q, shown is %q", said, back)
			}
			agrees(t, b)
			b.do(chromedp.KeyEvent(kb.End))
			if last := b.text("#read"); !strings.Contains(last, "forecast") && !strings.Contains(last, "season") {
				t.Errorf("the last figure is %q", last)
			}
			agrees(t, b)
			if !screen.touch {
				at := get(b, chromedp.Evaluate[[]float64](`(() => { const d = document.getElementById("drawn"); d.scrollIntoView({block: "center"}); const r = d.getBoundingClientRect(); return [r.x + r.width * .2, r.y + r.height / 2]; })()`))
				b.do(chromedp.MouseEvent("mouseMoved", at[0], at[1]))
				if there := b.text("#read"); there == back {
					t.Errorf("at the pointer it still reads %q", there)
				}
				agrees(t, b)
			}

			// Left open, it goes on with what is measured now.
			b.waits(`window.stays = document.getElementById("drawn")`)
			at := b.text("#read")
			y.steps(t, step)
			b.waits(`document.dispatchEvent(new Event("visibilitychange"))`)
			b.sees(".top .now", y.clock.Now().In(zone).Format("15:04"))
			b.sees("#now", "measured 0 min ago")
			b.waits(`window.stays && window.stays !== document.getElementById("drawn")`)
			if is := b.text("#read"); strings.SplitN(is, ",", 2)[0] != strings.SplitN(at, ",", 2)[0] {
				t.Errorf("it read %q, and drawn anew %q", at, is)
			}
			agrees(t, b)
			b.do(chromedp.Focus(chromedp.CSS("#reader")), chromedp.KeyEvent(kb.Home))
			agrees(t, b)

			b.press(".figures summary")
			if n := b.count("#figures tbody tr"); n < 48 {
				t.Errorf("%d rows behind the chart", n)
			}
			b.sees("#figures tbody", "measured", "forecast")
			b.press(`.spans a[href*="span=3d"]`)
			b.sees("h2", "3 days past, 3 ahead")
			b.fits()
			b.set(".spans input[name=first]", "2026-04-06")
			b.press(".spans button")
			b.sees("h2", "Mon 6 Apr 2026")
			if did := b.texts(".mode title"); len(did) != 1 || !strings.HasPrefix(did[0], "idle, Mon 6 Apr 13:00") {
				t.Errorf("the booth did %q", did)
			}
			b.fits()
		})
	}
}

// agrees holds what is read out against the table's row, and the line against the row's place.
func agrees(t *testing.T, b *tab) {
	t.Helper()
	fault := get(b, chromedp.Evaluate[string](`(() => {
		const row = document.querySelectorAll("#figures tbody tr")[document.getElementById("reader").value], words = document.getElementById("read").textContent;
		for (const cell of row.cells) if (cell.textContent !== "–" && !words.includes(cell.textContent)) return cell.textContent + " is not in " + words;
		const line = document.getElementById("at");
		return line.getAttribute("x1") === row.dataset.x && line.getAttribute("visibility") === "visible" ? "" : "the line stands elsewhere";
	})()`))
	if fault != "" {
		t.Error(fault)
	}
}
