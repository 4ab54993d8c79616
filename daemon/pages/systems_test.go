package pages

import (
	"context"
	"net/http"
	"net/url"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"fairwindow/config"
	"fairwindow/config/file"
)

func systemForm(t *testing.T, s *shelf, sys config.System) url.Values {
	t.Helper()
	form := url.Values{"by": {"Rui"}, "once": {"once " + sys.Name + strconv.Itoa(len(s.systems[sys.Name]))}, "revision": {strconv.Itoa(len(s.systems[sys.Name]))}}
	k := systemWriting(s.f.yard)
	for _, one := range k.typed(sys).hidden() {
		for line := range strings.SplitSeq(one.Value, "\n") {
			form.Add(one.Name, line)
		}
	}
	return form
}

// A system is copied, changed on the page and kept, and a boat can have it.
func TestASystemIsCopiedAndChanged(t *testing.T) {
	f, s := bookFake()
	_, body := get(t, f, "/systems/new?like=topsides+gloss")
	form := fieldsOf(t, body)
	if n := len(form["row stages"]); n != 7 || form.Get("stages[4].card") != "Gloss topcoat" || form.Get("name") != "" {
		t.Fatalf("the copy has %d stages: %v", n, form)
	}
	form.Set("do", "copy stages 1")
	_, body = post(t, f, "/systems/new", form)
	form = fieldsOf(t, body)
	form.Set("do", "up stages 2")
	_, body = post(t, f, "/systems/new", form)
	form = fieldsOf(t, body)
	form.Set("do", "drop stages 0")
	_, body = post(t, f, "/systems/new", form)
	form = fieldsOf(t, body)
	form.Set("name", "deck gloss")
	form.Set("stages[1].name", "sand 400")
	form.Set("stages[1].grit", "400")
	form.Set("stages[4].passes", "2")
	form.Set("stages[1].limits", "humidity max: 80 %\nmargin: 2 C")
	form.Set("by", "Rui")
	for range 2 {
		answer, body := post(t, f, "/systems/new", form)
		if answer.StatusCode != http.StatusSeeOther {
			t.Fatalf("status %d: %s", answer.StatusCode, body)
		}
	}
	all := s.systems["deck gloss"]
	if len(all) != 1 {
		t.Fatalf("kept %d times", len(all))
	}
	var names []string
	for _, st := range all[0].Of.Stages {
		names = append(names, st.Name)
	}
	if got := strings.Join(names, ", "); got != "sand 320, sand 400, mask, wipe, gloss coat, unmask, inspect" {
		t.Errorf("stages %s", got)
	}
	if st := all[0].Of.Stages[1]; st.Grit != 400 || st.Limits.HumidityMax.String() != "80 %" || st.Limits.Margin.String() != "2 C" || all[0].Of.Stages[4].Passes != 2 {
		t.Errorf("kept %+v", st)
	}
	_, body = get(t, f, "/systems?said=system")
	has(t, body, "Written here", "deck gloss", "Kept, and in force", "In the yard file", "Kestrel topsides and house")
	_, body = get(t, f, "/system/deck%20gloss")
	has(t, body, "sand, grit 400", "surface over dew point at least 2 K", "relative humidity at most 80", "Gloss topcoat rev 3", "No boat has it")
	_, body = get(t, f, "/boats/new")
	has(t, body, `<option value="deck gloss">`)
	_, body = get(t, f, "/system/deck%20gloss/file")
	if !strings.HasPrefix(body, "  - name: deck gloss\n") {
		t.Errorf("as YAML: %s", body)
	}
}

// Each bad word in a system is said beside its field, and all that was typed stays.
func TestABadStageLosesNothing(t *testing.T) {
	for _, tt := range []struct{ path, text, says string }{
		{"name", "", "Name can't be left empty; write it like topcoat only"},
		{"stages[0].name", "sand 320", "is there twice"},
		{"stages[0].kind", "polish", "is not known here"},
		{"stages[0].skill", "pren", `did you mean "prep"?`},
		{"stages[0].rate", "fast", "is not a work rate"},
		{"stages[0].rate", "", "Nobody knows how long this stage takes"},
		{"stages[0].takes", "3", "is not a duration"},
		{"stages[0].people", "two", "is not a whole number"},
		{"stages[0].people", "9", "the largest crew with the skill"},
		{"stages[0].places", "dock", "is not known here"},
		{"stages[0].places", "tent", "The yard has no tent"},
		{"stages[1].grit", "-5", "Grit -5 on a sand"},
		{"stages[4].card", "Glos topcoat", `did you mean "Gloss topcoat"?`},
		{"stages[4].card", "", "This coat has no card"},
		{"stages[4].passes", "99", "99 passes"},
		{"stages[0].after", "sandable", "There is no coat before this stage"},
		{"stages[0].until", "launch", "does not end at a milestone"},
		{"stages[3].life", "soon", "is not a duration"},
		{"stages[3].limits", "margn: 1 C", `did you mean "margin"?`},
		{"stages[3].limits", "margin", "margin has no value"},
		{"stages[3].limits", "margin: 1", "has no unit"},
		{"stages[3].limits", "margin: 50 C", "50 C is out of reach"},
		{"stages[3].uses", "crane", `There is no equipment "crane"`},
	} {
		t.Run(tt.path+" "+tt.text, func(t *testing.T) {
			f, s := bookFake()
			sys := f.yard.Systems[0]
			sys.Name = "ours"
			form := systemForm(t, s, sys)
			form.Set(tt.path, tt.text)
			if tt.path == "stages[0].name" {
				form.Set("stages[0].name", "sand")
				form.Set("stages[1].name", "sand")
				tt.path, tt.text = "stages[1].name", "sand"
			}
			answer, body := post(t, f, "/systems/new", form)
			if answer.StatusCode != http.StatusUnprocessableEntity || len(s.systems) != 0 {
				t.Fatalf("status %d, kept %v", answer.StatusCode, s.systems)
			}
			if said := faultBeside(t, body, tt.path); !strings.Contains(strings.ToLower(said), strings.ToLower(tt.says)) {
				t.Errorf("beside %s stands %q, want %q", tt.path, said, tt.says)
			}
			again := fieldsOf(t, body)
			for path := range form {
				if form.Get(path) != "" && path != "by" && again.Get(path) != form.Get(path) {
					t.Errorf("%s was typed as %q and comes back as %q", path, form.Get(path), again.Get(path))
				}
			}
		})
	}
}

// What two people make of one system is settled stage by stage.
func TestTwoPeopleChangeOneSystem(t *testing.T) {
	f, s := bookFake()
	sys := f.yard.Systems[0]
	sys.Name = "ours"
	if err := s.EditSystem(context.Background(), config.Edit[config.System]{To: sys, By: "Ana"}); err != nil {
		t.Fatal(err)
	}
	mine := systemForm(t, s, sys)
	theirs := sys
	theirs.Stages = append([]config.Stage(nil), sys.Stages...)
	theirs.Stages[0].People = 2
	if err := s.EditSystem(context.Background(), config.Edit[config.System]{To: theirs, From: 1, By: "Ana"}); err != nil {
		t.Fatal(err)
	}
	mine.Set("stages[4].passes", "4")
	answer, body := post(t, f, "/system/ours/edit", mine)
	if answer.StatusCode != http.StatusConflict {
		t.Fatalf("status %d: %s", answer.StatusCode, body)
	}
	has(t, body, "gloss coat, passes", "yours: 4", "wash, people", "Ana: 2")
	if answer, body = post(t, f, "/system/ours/edit", fieldsOf(t, body)); answer.StatusCode != http.StatusSeeOther {
		t.Fatalf("status %d: %s", answer.StatusCode, body)
	}
	if got := s.systems["ours"][0].Of; got.Stages[4].Passes != 4 || got.Stages[0].People != 2 {
		t.Errorf("kept %+v", got)
	}
}

func TestASystemThatIsNotInForce(t *testing.T) {
	f, s := bookFake()
	if err := s.EditSystem(context.Background(), config.Edit[config.System]{To: config.System{Name: "old ways"}, By: "Ana"}); err != nil {
		t.Fatal(err)
	}
	f.yard.Systems = f.yard.Systems[:1]
	s.aside = map[string]string{"old ways": "there is no skill \"caulk\""}
	_, body := get(t, f, "/systems")
	has(t, body, "old ways, written here, is not in force: there is no skill")
	if answer, _ := get(t, f, "/system/none"); answer.StatusCode != http.StatusNotFound {
		t.Errorf("status %d", answer.StatusCode)
	}
}

func TestCardsAsTheyWereWritten(t *testing.T) {
	f, _ := bookFake()
	y, _ := file.Starter()
	yard, mistakes := file.Yard("yard.yaml", y)
	if mistakes.Err() != nil {
		t.Fatal(mistakes)
	}
	f.yard = yard
	_, body := get(t, f, "/cards")
	has(t, body, "surface over dew point at least 3 K", "illustrative card", "sensitise for life", "2 base to 1 hardener by volume, reducer 25 % of the two", "2 h at 21 °C", "1.5 h from 15.6 °C to 21.1 °C", "16 °C to 22 °C", "full refinish: topcoat")
	if !regexp.MustCompile(`sandable</th><td>32 h</td><td>23 h</td><td>16 h</td>`).MatchString(body) {
		t.Error("the cure of the high-build primer is not as it was written")
	}
}
