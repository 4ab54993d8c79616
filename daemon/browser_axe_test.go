package main

import (
	_ "embed"
	"fmt"
	"net/http"
	"net/url"
	"testing"

	"github.com/chromedp/chromedp"

	"fairwindow/config"
)

//go:embed testdata/axe/axe.min.js
var axe string

// TestEverybodyCanReadThePages has axe-core look at each page, on a desk in light and on a
// phone in the dark, for what keeps somebody out: it knows the rules of WCAG 2.2 that a program
// can check. What it calls serious or critical fails, and so does a page wider than its screen.
// Paper changes colours only and a screen the layout only, so two of the four tell for all.
func TestEverybodyCanReadThePages(t *testing.T) {
	browser := openBrowser(t)
	y := openPlayedYard(t)
	y.paints(t)
	y.slip(t, "Boat Plover", "2026-04-14 08:00")
	_, told, err := y.service.Told(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	system, _ := y.service.Yard().System("boot stripe")
	system.Name = "narrow stripe"
	if err := y.service.EditSystem(t.Context(), config.Edit[config.System]{To: system, By: "Rui", Once: "narrow"}); err != nil {
		t.Fatal(err)
	}
	change, err := y.service.TryChange(t.Context(), "take out Boat Plover", "Rui")
	if err != nil {
		t.Fatal(err)
	}
	// While an answer is still awaited its page loads itself anew, under the hand of who looks.
	if err := y.service.Settled(t.Context()); err != nil {
		t.Fatal(err)
	}
	stage := url.Values{"boat": {"Boat Plover"}, "area": {"topsides"}, "stage": {"mask"}}.Encode()
	paths := append([]string{
		fmt.Sprintf("/plan/%d", told), "/whatif/" + change, "/week/try?" + stage, "/week/try?" + stage + "&kind=held&note=away",
	}, everyPage...)
	for i, light := range []string{"light", "dark"} {
		screen := screens[i]
		t.Run(screen.name+" "+light, func(t *testing.T) {
			b := openTab(t, browser, y.web.url, screen)
			b.open("/you")
			b.set("select[name=light]", light)
			b.press(".reads button")
			b.sees(".said", "Kept.")
			for _, path := range paths {
				b.readable(path)
			}
			b.open("/boat/" + primer.Boat)
			b.press(`.reported a[aria-label*="pass 2"]`)
			b.press("form[action$='/strike'] button")
			b.sees("form[action$='/strike'] [role=alert]", "Write why")
			b.isReadable("a correction that lacks its reason")
		})
	}
}

// The pages of the way in are there where people have roles.
func TestEverybodyCanReadTheWayIn(t *testing.T) {
	browser := openBrowser(t)
	y := openPlayedYard(t, config.Person{Name: "Marta", Role: config.Manager}, config.Person{Name: "Ines", Role: config.Painter})
	for _, screen := range screens {
		t.Run(screen.name, func(t *testing.T) {
			word, _, err := y.web.doors.Invite(t.Context(), "Marta")
			if err != nil {
				t.Fatal(err)
			}
			b := openTab(t, browser, y.web.url, screen)
			b.readable("/signin")
			b.readable("/welcome?word=" + url.QueryEscape(word))
			b.fill("input[name='password']", "boat stone apple cloud")
			b.press("button.main")
			b.sees(".whois", "Marta, manager")
			for _, path := range []string{"/", "/you", "/people", "/tokens", "/changes", "/boat/Boat%20Dunlin", "/shift"} {
				b.readable(path)
			}
		})
	}
}

// everyPage are the pages that people read, of the played yard.
var everyPage = []string{
	"/", "/?days=14", "/?plan=told", "/?plan=side", "/week/days", "/week/changes", "/notices", "/mix", "/you",
	"/place/booth%201", "/place/slip", "/board", "/board/booth%201", "/board/slip",
	"/shift", "/boat/Boat%20Dunlin", "/boat/Boat%20Dunlin/record", "/boat/Boat%20Dunlin/edit", "/boat/Boat%20Dunlin/history",
	"/boats", "/boats/new", "/boats/import", "/systems", "/systems/new", "/systems/new?like=boot%20stripe", "/system/boot%20stripe",
	"/system/narrow%20stripe", "/system/narrow%20stripe/edit", "/system/narrow%20stripe/history", "/cards", "/waits", "/waits/lost", "/log", "/whatif",
}

// fault is what axe finds: one rule, and where it is broken.
type fault struct {
	ID    string   `json:"id"`
	Help  string   `json:"help"`
	Nodes []string `json:"nodes"`
}

// readable goes to a page, which must be there, and be readable.
func (b *tab) readable(path string) {
	b.t.Helper()
	b.do(chromedp.Navigate(b.base + path))
	if status := get(b, chromedp.Evaluate[int](`performance.getEntriesByType("navigation")[0].responseStatus`)); status != http.StatusOK {
		b.t.Errorf("%s is answered %d", path, status)
	}
	b.isReadable(path)
}

func (b *tab) isReadable(what string) {
	b.t.Helper()
	for _, fault := range b.faults() {
		b.t.Errorf("%s: %s (%s): %v", what, fault.ID, fault.Help, fault.Nodes)
	}
	if over := b.over(); over > 0 {
		b.t.Errorf("%s is %d px too wide", what, over)
	}
}

// faults are the serious and critical ones of the page that is open, five places of each.
func (b *tab) faults() []fault {
	b.t.Helper()
	b.do(chromedp.Evaluate[chromedp.Void](axe))
	return get(b, chromedp.Evaluate[[]fault](`axe.run(document, {resultTypes: ["violations"]}).then(found => found.violations
		.filter(v => v.impact === "serious" || v.impact === "critical")
		.map(v => ({id: v.id, help: v.help, nodes: v.nodes.slice(0, 5).map(n => n.html)})))`, chromedp.EvalAwaitPromise))
}
