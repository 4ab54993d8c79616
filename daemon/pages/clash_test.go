package pages

import (
	"context"
	"net/http"
	"net/url"
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"fairwindow/conditions/unit"
	"fairwindow/config"
)

// Two people change one boat. The later sees both versions, field by field, chooses, and
// keeps again; what nobody touched twice is taken from whoever changed it.
func TestTwoPeopleChangeOneBoat(t *testing.T) {
	f, s := bookFake()
	mine := boatForm(s, "Kestrel")
	theirs := s.boats["Kestrel"][0].Of
	theirs.Promised, theirs.Owner = "2026-04-18", "Owner Two"
	theirs.Areas = []config.Area{theirs.Areas[0], {Name: "deck", System: "topsides gloss", Size: theirs.Areas[1].Size}}
	if err := s.EditBoats(context.Background(), []config.Edit[config.Boat]{{To: theirs, From: 1, By: "Ana"}}); err != nil {
		t.Fatal(err)
	}
	mine.Set("promised", "2026-04-16")
	mine.Set("weight", "22 t")
	answer, body := post(t, f, "/boat/Kestrel/edit", mine)
	if answer.StatusCode != http.StatusConflict || len(s.boats["Kestrel"]) != 2 {
		t.Fatalf("status %d, %d versions", answer.StatusCode, len(s.boats["Kestrel"]))
	}
	has(t, body, "Ana changed this boat", "yours: 2026-04-16", "Ana: 2026-04-18", "both changed it", "yours: 22 t", "Ana: Owner Two", "area house", "area deck")
	form := fieldsOf(t, body)
	for key, want := range map[string]string{
		"take promised": "mine", "take weight": "mine", "take owner": "theirs", "take areas/house": "theirs", "take areas/deck": "theirs",
	} {
		if form.Get(key) != want {
			t.Errorf("%s is chosen %q at first, want %q", key, form.Get(key), want)
		}
	}
	// A third change meanwhile: chosen once more, and again nothing is lost.
	again := theirs
	again.Height = must[unit.Length]("6 m")
	if err := s.EditBoats(context.Background(), []config.Edit[config.Boat]{{To: again, From: 2, By: "Ben"}}); err != nil {
		t.Fatal(err)
	}
	answer, body = post(t, f, "/boat/Kestrel/edit", form)
	if answer.StatusCode != http.StatusConflict || len(s.boats["Kestrel"]) != 3 {
		t.Fatalf("after a third change: status %d", answer.StatusCode)
	}
	has(t, body, "Ben changed this boat", "yours: 2026-04-16", "Ben: 6 m")
	form = fieldsOf(t, body)
	form.Set("take promised", "theirs")
	answer, body = post(t, f, "/boat/Kestrel/edit", form)
	if answer.StatusCode != http.StatusSeeOther {
		t.Fatalf("status %d: %s", answer.StatusCode, body)
	}
	want := again
	want.Weight = must[unit.Mass]("22 t")
	if got := s.boats["Kestrel"][0]; !reflect.DeepEqual(got.Of, want) || got.By != "Rui" || got.Revision != 4 {
		t.Errorf("got %+v\nwant %+v", got.Of, want)
	}
}

// Somebody takes out what I am changing.
func TestAChangeOfWhatIsGone(t *testing.T) {
	f, s := bookFake()
	mine := boatForm(s, "Plover")
	mine.Set("owner", "Owner Nine")
	if err := s.EditBoats(context.Background(), []config.Edit[config.Boat]{{To: s.boats["Plover"][0].Of, From: 1, Removed: true, By: "Ana", Why: "sold"}}); err != nil {
		t.Fatal(err)
	}
	answer, body := post(t, f, "/boat/Plover/edit", mine)
	if answer.StatusCode != http.StatusConflict {
		t.Fatalf("status %d", answer.StatusCode)
	}
	has(t, body, "Ana took this boat out", "sold", "Put it in again")
	answer, _ = post(t, f, "/boats/new", fieldsOf(t, body))
	if answer.StatusCode != http.StatusSeeOther || s.boats["Plover"][0].Of.Owner != "Owner Nine" {
		t.Errorf("status %d: %+v", answer.StatusCode, s.boats["Plover"][0])
	}
}

// Whatever two people made of a boat: taking all of theirs gives theirs, taking nothing
// gives mine, and what is not told to differ is the same in both.
func TestSettlingLosesNothing(t *testing.T) {
	k := boatWriting(config.Yard{}, nil)
	rapid.Check(t, func(r *rapid.T) {
		mine, theirs := namedBoat(r), namedBoat(r)
		theirs.Name = mine.Name
		if found := k.differences(k.settled(mine, theirs, func(string) bool { return false }), mine); len(found) > 0 {
			r.Fatalf("nothing taken: %v", found)
		}
		keys := map[string]bool{}
		for _, one := range k.differences(mine, theirs) {
			keys[one.key] = true
		}
		got := k.settled(mine, theirs, func(key string) bool { return keys[key] })
		for _, one := range k.differences(got, theirs) {
			// Where rows came or went, the order of the rest may be mine.
			if one.key != "areas/" {
				r.Fatalf("all taken, and still %v\nmine %+v\ntheirs %+v\ngot %+v", one, mine, theirs, got)
			}
		}
	})
}

// namedBoat has areas with names, each once, as a checked boat has.
func namedBoat(r *rapid.T) config.Boat {
	b := anyBoat(r)
	seen := map[string]bool{"": true}
	var areas []config.Area
	for i, a := range b.Areas {
		if a.Name = rapid.SampledFrom([]string{"topsides", "deck", "boot stripe", "a/b", "c, d"}).Draw(r, "of all"); !seen[a.Name] {
			areas = append(areas, b.Areas[i])
			areas[len(areas)-1].Name = a.Name
		}
		seen[a.Name] = true
	}
	b.Areas = areas
	return b
}

func TestWhoChangedWhat(t *testing.T) {
	f, s := bookFake()
	b := s.boats["Kestrel"][0].Of
	b.Promised = "2026-04-18"
	edits := []config.Edit[config.Boat]{{To: b, From: 1, By: "Ana"}, {To: b, From: 2, Removed: true, By: "Ben", Why: "the owner went elsewhere"}, {To: b, By: "Ana"}}
	for _, e := range edits {
		if err := s.EditBoats(context.Background(), []config.Edit[config.Boat]{e}); err != nil {
			t.Fatal(err)
		}
	}
	answer, body := get(t, f, "/boat/Kestrel/history")
	if answer.StatusCode != http.StatusOK {
		t.Fatalf("status %d", answer.StatusCode)
	}
	has(t, body, "brought back by Ana", "taken out by Ben", "the owner went elsewhere", "changed by Ana", "put in by Ines", `<td data-h="was">2026-04-14</td><td data-h="is">2026-04-18</td>`)
	if strings.Index(body, "brought back") > strings.Index(body, "put in by") {
		t.Error("the latest change is not first")
	}
	if answer, _ := get(t, f, "/boat/Nobody/history"); answer.StatusCode != http.StatusNotFound {
		t.Errorf("of no boat: status %d", answer.StatusCode)
	}
}

func TestABoatIsTakenOutAndBroughtBack(t *testing.T) {
	f, s := bookFake()
	form := url.Values{"revision": {"1"}, "once": {"a"}, "by": {"Ana"}}
	answer, body := post(t, f, "/boat/Plover/remove", form)
	if answer.StatusCode != http.StatusUnprocessableEntity || s.boats["Plover"][0].Removed {
		t.Fatalf("without a reason: status %d", answer.StatusCode)
	}
	has(t, body, "Write why it is taken out")
	form.Set("why", "sold away")
	for range 2 {
		if answer, body = post(t, f, "/boat/Plover/remove", form); answer.StatusCode != http.StatusSeeOther {
			t.Fatalf("status %d: %s", answer.StatusCode, body)
		}
	}
	if len(s.boats["Plover"]) != 2 {
		t.Errorf("%d versions, want 2", len(s.boats["Plover"]))
	}
	_, body = get(t, f, "/boats")
	has(t, body, "Taken out: 1", "sold away", "Bring Plover back")
	for range 2 {
		if answer, body = post(t, f, "/boat/Plover/back", url.Values{"by": {"Ben"}, "once": {"b"}}); answer.StatusCode != http.StatusSeeOther {
			t.Fatalf("status %d: %s", answer.StatusCode, body)
		}
	}
	if all := s.boats["Plover"]; len(all) != 3 || all[0].Removed || all[0].By != "Ben" || len(all[0].Of.Areas) != 2 {
		t.Errorf("brought back as %+v", all[0])
	}
}
