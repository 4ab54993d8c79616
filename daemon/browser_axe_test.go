package main

import (
	_ "embed"
	"fmt"
	"net/url"
	"testing"

	"github.com/chromedp/chromedp"
)

//go:embed testdata/axe/axe.min.js
var axe string

// TestEverybodyCanReadThePages has axe-core look at each page, on a desk and on a phone, in
// light and dark, for what keeps somebody out: it knows the rules of WCAG 2.2 that a program
// can check. What it calls serious or critical fails.
func TestEverybodyCanReadThePages(t *testing.T) {
	browser := openBrowser(t)
	y := openPlayedYard(t)
	for _, screen := range screens {
		for _, light := range []string{"light", "dark"} {
			t.Run(screen.name+" "+light, func(t *testing.T) {
				b := openTab(t, browser, y.web.url)
				b.do(chromedp.EmulateViewport(screen.width, screen.height))
				b.open("/you")
				b.set("select[name=light]", light)
				b.press(".reads button")
				b.sees(".said", "Kept.")
				for _, path := range everyPage {
					b.do(chromedp.Navigate(b.base + path))
					for _, fault := range b.faults() {
						t.Errorf("%s: %s (%s): %v", path, fault.ID, fault.Help, fault.Nodes)
					}
				}
			})
		}
	}
}

// everyPage are the pages that people read, of the played yard.
var everyPage = []string{
	"/", "/?days=14", "/place/" + url.PathEscape("booth 1"), "/place/slip", "/boat/" + url.PathEscape("Boat Dunlin"),
	"/notices", "/mix", "/you", "/nowhere",
}

// fault is what axe finds: one rule, and where it is broken.
type fault struct {
	ID    string   `json:"id"`
	Help  string   `json:"help"`
	Nodes []string `json:"nodes"`
}

// faults are the serious and critical ones of the page that is open.
func (b *tab) faults() []fault {
	b.t.Helper()
	b.do(chromedp.Evaluate[chromedp.Void](axe))
	return get(b, chromedp.Evaluate[[]fault](fmt.Sprintf(`axe.run(document, {resultTypes: ["violations"]}).then(found => found.violations
		.filter(v => v.impact === "serious" || v.impact === "critical")
		.map(v => ({id: v.id, help: v.help, nodes: v.nodes.slice(0, %d).map(n => n.html)})))`, 5), chromedp.EvalAwaitPromise))
}
