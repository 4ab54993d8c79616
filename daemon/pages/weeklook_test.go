package pages

import (
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"fairwindow/config"
	"fairwindow/planner"
)

// Who may not schedule has nothing to pick a stage up with; nor has anybody where stages
// are marks, and there each day leads to its list.
func TestWhoPicksStagesUp(t *testing.T) {
	handler, _ := doored(t, newFake(), newFakeDoor())
	for _, tt := range []struct {
		as, page string
		picks    bool
	}{
		{"viewer", "/", false}, {"painter", "/", false}, {"scheduler", "/", true}, {"manager", "/?days=14", true}, {"scheduler", "/?days=28", false}, {"manager", "/?days=42", false},
	} {
		_, body := do(t, handler, asking("GET", tt.page, nil, tt.as))
		check := hasNot
		if tt.picks {
			check = has
		}
		check(t, body, `id="pick"`)
		has(t, body, `<a href="/week/days?from=2026-04-08">Wed 8`)
	}
	_, body := do(t, handler, asking("GET", "/?days=42&plan=told", nil, "viewer"))
	has(t, body, "stages are marks without words", `href="/week/days?from=2026-05-11&amp;plan=told"`)
}

// The list goes on to other days.
func TestTheListGoesOn(t *testing.T) {
	_, body := get(t, newFake(), "/week/days?from=2026-05-11&plan=told")
	has(t, body, `href="/week/days?from=2026-05-04&amp;plan=told"`, `href="/week/days?from=2026-05-18&amp;plan=told"`)
}

// A boat's page leads to what was written of it, and those who may to its change.
func TestABoatsPageLeadsToTheBook(t *testing.T) {
	f, _ := bookFake()
	handler, _ := doored(t, f, newFakeDoor())
	_, body := do(t, handler, asking("GET", "/boat/Kestrel", nil, "painter"))
	has(t, body, `href="/boat/Kestrel/history"`)
	hasNot(t, body, `href="/boat/Kestrel/edit"`)
	_, body = do(t, handler, asking("GET", "/boat/Kestrel", nil, "scheduler"))
	has(t, body, `href="/boat/Kestrel/history"`, `href="/boat/Kestrel/edit"`)
}

// A second boat of one name is told that, whatever else speaks against it.
func TestANameThatIsTaken(t *testing.T) {
	f, s := bookFake()
	form := boatForm(s, "Kestrel")
	form.Set("revision", "0")
	before := len(s.boats["Kestrel"])
	answer, body := post(t, f, "/boats/new", form)
	if answer.StatusCode != http.StatusConflict || len(s.boats["Kestrel"]) != before {
		t.Fatalf("status %d, %d kept", answer.StatusCode, len(s.boats["Kestrel"]))
	}
	if said := faultBeside(t, body, "boat"); said != "A boat of that name is there already; give this one another name, or change that one." {
		t.Errorf("beside the name stands %q", said)
	}
}

// Work that runs began before the hold that is planned on from now; it stands within it.
func TestRunningWorkStandsInItsStay(t *testing.T) {
	plan := planner.Plan{
		Blocks: []planner.Block{{Boat: "A", Place: "Shed", From: now, To: now.Add(20 * time.Hour)}},
		Stages: []planner.Planned{{Key: planner.Key{Boat: "A", Area: "hull", Stage: "sand"}, Place: "Shed", Start: now.Add(-2 * time.Hour), End: now.Add(3 * time.Hour), State: planner.Running}},
	}
	l := newLane(config.Place{Name: "Shed"}, axis{now.Add(-8 * time.Hour), now.Add(40 * time.Hour)}, plan, planner.Plan{}, clock{now: now, zone: time.UTC})
	if len(l.Stays) != 1 || l.Stays[0].X != l.Bars[0].X {
		t.Errorf("the stay begins at %v, its work at %v", l.Stays, l.Bars)
	}
}

// A boat's name stands past the end of a short stay while nothing is there.
func TestNamesSpill(t *testing.T) {
	block := func(boat string, from, hours int) planner.Block {
		return planner.Block{Boat: boat, Place: "Shed", From: now.Add(time.Duration(from) * time.Hour), To: now.Add(time.Duration(from+hours) * time.Hour)}
	}
	plan := planner.Plan{Blocks: []planner.Block{block("Long Name", 0, 3), block("Long Word", 4, 3), block("Last", 160, 8), block("B", 60, 48)}}
	l := newLane(config.Place{Name: "Shed"}, axis{now, now.AddDate(0, 0, 7)}, plan, planner.Plan{}, clock{now: now, zone: time.UTC})
	for i, want := range []bool{false, true, false, false} {
		if l.Stays[i].Spill != want {
			t.Errorf("%s spills: %v, want %v", l.Stays[i].Boat, l.Stays[i].Spill, want)
		}
	}
}

// Where a boat is not planned, what people were told of it there is one outline: nothing
// says that it holds the place. A label ends where the next boat's stay begins.
func TestToldStaysAreOutlines(t *testing.T) {
	at := func(h int) time.Time { return now.Add(time.Duration(h) * time.Hour) }
	stage := func(boat, name, place string, from, to int) planner.Planned {
		return planner.Planned{Key: planner.Key{Boat: boat, Area: "hull", Stage: name}, Place: place, Start: at(from), End: at(to)}
	}
	hold := func(boat, place string, from, to int) planner.Block {
		return planner.Block{Boat: boat, Place: place, From: at(from), To: at(to)}
	}
	told := planner.Plan{
		Blocks: []planner.Block{hold("A", "Shed", 30, 80), hold("A", "Shed", 100, 140)},
		Stages: []planner.Planned{stage("A", "wipe", "Shed", 32, 33), stage("A", "tack", "Shed", 40, 41), stage("A", "unmask", "Shed", 101, 102)},
	}
	plan := planner.Plan{
		Blocks: []planner.Block{hold("A", "Slip", 30, 80), hold("B", "Shed", 0, 12), hold("C", "Shed", 13, 29)},
		Stages: []planner.Planned{stage("A", "wipe", "Slip", 32, 33), stage("A", "tack", "Slip", 40, 41), stage("A", "unmask", "Slip", 70, 71), stage("B", "longboard 150", "Shed", 1, 2), stage("B", "overnight cure", "Shed", 3, 4)},
	}
	l := newLane(config.Place{Name: "Shed"}, axis{now, now.AddDate(0, 0, 7)}, plan, told, clock{now: now, zone: time.UTC})
	var words []string
	for _, s := range l.Stays {
		words = append(words, fmt.Sprintf("%s %v %s", s.Boat, s.Told, s.Title))
	}
	if len(words) != 4 || !strings.HasPrefix(words[2], "A true told: A in Shed, ") || !strings.HasPrefix(words[3], "A true told: A in Shed, ") || !strings.HasPrefix(words[1], "C false C holds Shed, ") {
		t.Errorf("the stays are %q", words)
	}
	if len(l.Ghosts) != 3 || l.Stays[2].X != l.Ghosts[0].X {
		t.Errorf("the outline begins at %v, what people were told at %v", l.Stays[2], l.Ghosts)
	}
	if a, b := l.Bars[0].Beside, l.Bars[1].Beside; a != "longboa…" || b != "overn…" {
		t.Errorf("before the next boat stand %q and %q", a, b)
	}
}

// What has no room for its label has as much of it as says something.
func TestLabelsAreCutShort(t *testing.T) {
	ax := axis{now, now.AddDate(0, 0, 14)}
	for _, tt := range []struct {
		hours int
		want  string
	}{{3, ""}, {16, ""}, {18, "high-…"}, {24, "high-bui…"}, {96, "high-build primer"}} {
		if got := ax.short("high-build primer", ax.at(now.Add(time.Duration(tt.hours)*time.Hour))); got != tt.want {
			t.Errorf("in %d hours stands %q, want %q", tt.hours, got, tt.want)
		}
	}
	if got := ax.short("wipe · topsides", ax.at(now.Add(22*time.Hour))); got != "wipe…" {
		t.Errorf("cut at the dot it says %q", got)
	}
}

// The board asks for a part of the page again and again; the page itself stays there, and
// neither asks a name of who is signed in.
func TestThePartLeavesThePage(t *testing.T) {
	handler, _ := doored(t, newFake(), newFakeDoor())
	for _, part := range []string{"&part=1", "", "&part=1", ""} {
		for _, as := range []string{"scheduler", "manager"} {
			answer, body := do(t, handler, asking("GET", "/week/try?"+adasMask+"&kind=pinned&until=2026-04-13T08:00"+part, nil, as))
			if answer.StatusCode != http.StatusOK {
				t.Fatalf("%q as %s: status %d", part, as, answer.StatusCode)
			}
			has(t, body, "Keep it")
			hasNot(t, body, `name="by"`)
		}
	}
}

// What the yard refuses of something new is not said to be kept.
func TestARefusedNewBoatIsNotKept(t *testing.T) {
	f, s := bookFake()
	form := boatForm(s, "Kestrel")
	form.Set("revision", "0")
	form.Set("boat", "Heron")
	s.err = refusedPress("the yard is full")
	answer, body := post(t, f, "/boats/new", form)
	if answer.StatusCode != http.StatusConflict || len(s.boats["Heron"]) != 0 {
		t.Fatalf("status %d, %d kept", answer.StatusCode, len(s.boats["Heron"]))
	}
	has(t, body, "The yard is full", `value="Heron"`)
}
