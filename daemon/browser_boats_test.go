package main

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"fairwindow/planner"
)

// TestWritingBoatsInABrowser: the scheduler writes a system and a boat down, on a desk
// and on a phone, and sees it planned; then two people change one boat at a time.
func TestWritingBoatsInABrowser(t *testing.T) {
	browser := openBrowser(t)
	y := openPlayedYard(t)
	for _, screen := range screens {
		t.Run(screen.name, func(t *testing.T) {
			open := func() *tab { return openTab(t, browser, y.web.url, screen) }
			schedulerAddsABoat(t, y, open(), "Heron of the "+screen.name, "stripe of the "+screen.name)
			twoChangeABoat(t, y, open(), open(), "Heron of the "+screen.name)
		})
	}
}

// schedulerAddsABoat copies a system, changes it, and adds a boat with two areas, one of
// which has it.
func schedulerAddsABoat(t *testing.T, y *playedYard, b *tab, boat, system string) {
	b.open("/system/boot stripe")
	b.press(".acts a.button")
	b.sees("h1", "A new system")
	b.set("form.writing input[name=name]", system)
	b.press("button[value='copy stages 1']")
	b.sees("legend", "3. sand 320")
	b.set("input[name='stages[2].name']", "sand 400")
	b.set("input[name='stages[2].grit']", "400")
	b.press("button[value='up stages 2']")
	b.sees("legend", "2. sand 400")
	b.press("button[value='down stages 1']")
	b.sees("legend", "3. sand 400")
	// Nothing is kept yet, and the form says who must put his name to it.
	b.press("form.writing button[name=keep]")
	b.sees(".fault", "Write who keeps it")
	b.set("form.writing input[name=by]", "Ines")
	b.fits()
	b.press("form.writing button[name=keep]")
	b.sees(".said", "Kept, and in force")
	b.sees("main", system)

	b.open("/boats")
	b.press(".acts a.button")
	b.sees("h1", "A new boat")
	b.writes(map[string]string{
		"boat": boat, "length": "14", "beam": "4.2 m", "arrives": "2026-04-08 08:00", "promised": "2026-05-29",
		"areas[0].area": "topsides", "areas[0].size": "40 m2", "areas[0].system": "topcoat only",
	})
	b.press("button[value='add areas']")
	b.sees("legend", "2. area")
	b.writes(map[string]string{"areas[1].area": "boot stripe", "areas[1].system": system, "areas[1].size": "5 m2"})
	b.press("form.writing button[name=keep]")
	b.sees("label .fault", `"14" has no unit`)
	b.fits()
	if got := b.value("input[name='areas[1].size']"); got != "5 m2" {
		t.Errorf("after a mistake the second area has a size of %q", got)
	}
	b.set("input[name=length]", "46 ft")
	b.press("button[value='foresee all']")
	b.sees(".foreseen", boat+" launches ")
	b.twice("form.writing button[name=keep]")
	b.sees(".said", "Kept. The plan is being redone.")
	b.sees("main", boat, "0 of 7 stages done")
	b.fits()
	all, err := y.service.BoatVersions(t.Context(), boat)
	if err != nil || len(all) != 1 || all[0].By != "Ines" {
		t.Fatalf("pressed twice it is kept as %+v, %v", all, err)
	}
	y.steps(t, 2*step)
	plan, _, err := y.service.Draft(t.Context())
	planned := func(stage string) bool {
		return slices.ContainsFunc(plan.Stages, func(p planner.Planned) bool {
			return p.Key == planner.Key{Boat: boat, Area: "boot stripe", Stage: stage} && !p.Start.IsZero()
		})
	}
	if err != nil || !planned("sand 400") || !planned("sand 320") {
		t.Errorf("the plan does not have the new stages of %s", boat)
	}
	b.open("/boat/" + boat)
	b.sees("main", "sand 400", "stripe")
}

// writes fills in fields as they stand at one moment: a form may be drawn anew between
// two steps of the driver.
func (b *tab) writes(texts map[string]string) {
	b.t.Helper()
	fields, err := json.Marshal(texts)
	if err != nil {
		b.t.Fatal(err)
	}
	get(b, chromedp.Evaluate[bool](fmt.Sprintf(`(() => {
		for (const [name, text] of Object.entries(%s)) {
			const field = document.querySelector(`+"`[name=\"${CSS.escape(name)}\"]`"+`);
			field.value = text;
			field.dispatchEvent(new Event("change", { bubbles: true }));
		}
		return true;
	})()`, fields)))
}

// twoChangeABoat has Rui keep his change while Ana is at hers.
func twoChangeABoat(t *testing.T, y *playedYard, rui, ana *tab, boat string) {
	ana.open("/boat/" + boat + "/edit")
	rui.open("/boat/" + boat + "/edit")
	for b, says := range map[*tab][2]string{ana: {"Ana", "2026-06-03"}, rui: {"Rui", "2026-06-01"}} {
		b.set("input[name=promised]", says[1])
		b.set("form.writing input[name=by]", says[0])
	}
	rui.set("input[name=owner]", "Owner Nine")
	ana.set("input[name=weight]", "12 t")
	rui.press("form.writing button[name=keep]")
	rui.sees(".said", "Kept.")
	ana.press("form.writing button[name=keep]")
	ana.sees("main", "Rui changed this boat", "yours: 2026-06-03", "Rui: 2026-06-01", "Rui: Owner Nine", "yours: 12 t")
	ana.fits()
	ana.press("input[name='take promised'][value=theirs]")
	ana.press("form.writing button[name=keep]")
	ana.sees(".said", "Kept.")
	all, err := y.service.BoatVersions(t.Context(), boat)
	if err != nil || len(all) != 3 {
		t.Fatalf("%d versions, %v", len(all), err)
	}
	if got := all[0].Of; got.Promised != "2026-06-01" || got.Owner != "Owner Nine" || got.Weight.String() != "12 t" || all[0].By != "Ana" {
		t.Errorf("kept %+v by %s", got, all[0].By)
	}
	ana.open("/boat/" + boat + "/history")
	ana.sees("main", "changed by Ana", "changed by Rui", "put in by Ines", "Owner Nine")
	ana.fits()
	if said := strings.Join(ana.texts("section h2"), "; "); !strings.Contains(said, "by Ana; ") || strings.Index(said, "by Ana") > strings.Index(said, "by Rui") {
		t.Errorf("the history reads %s", said)
	}
}
