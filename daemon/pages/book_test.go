package pages

import (
	"context"
	"html"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"fairwindow/conditions"
	"fairwindow/config"
	"fairwindow/config/file"
	"fairwindow/planner"
)

// shelf is a book kept in memory, by the rules of the store: a revision for each edit,
// a form once, and no edit of what somebody else changed meanwhile.
type shelf struct {
	f       *fake
	boats   map[string][]config.Version[config.Boat]
	systems map[string][]config.Version[config.System]
	aside   map[string]string
	once    map[string]bool
	err     error
	at      time.Time
}

func shelfOf(f *fake) *shelf {
	s := &shelf{f: f, boats: map[string][]config.Version[config.Boat]{}, systems: map[string][]config.Version[config.System]{}, once: map[string]bool{}, at: at(5, 9, 0)}
	for _, b := range f.boats {
		s.boats[b.Name] = []config.Version[config.Boat]{{Of: b, Revision: 1, By: "Ines", At: s.at}}
	}
	return s
}

type quicker struct{ publicError }

func (quicker) Overtaken() bool { return true }

func shelve[T any](s *shelf, all map[string][]config.Version[T], name string, e config.Edit[T]) error {
	if s.err != nil {
		return s.err
	}
	if s.once[e.Once] {
		return nil
	}
	stands := all[name]
	there := len(stands) > 0 && !stands[0].Removed
	if there && e.From != stands[0].Revision || !there && e.From != 0 {
		return quicker{publicError{"there is another version"}}
	}
	if s.once[e.Once] = true; e.Once == "" {
		delete(s.once, "")
	}
	s.at = s.at.Add(time.Minute)
	v := config.Version[T]{Of: e.To, Revision: int64(len(stands) + 1), Removed: e.Removed, By: e.By, At: s.at, Why: e.Why}
	all[name] = append([]config.Version[T]{v}, stands...)
	return nil
}

func (s *shelf) BoatVersions(_ context.Context, name string) ([]config.Version[config.Boat], error) {
	return s.boats[name], nil
}

func (s *shelf) RemovedBoats(context.Context) ([]config.Version[config.Boat], error) {
	var gone []config.Version[config.Boat]
	for _, all := range s.boats {
		if all[0].Removed {
			gone = append(gone, all[0])
		}
	}
	return gone, nil
}

func (s *shelf) EditBoats(_ context.Context, edits []config.Edit[config.Boat]) error {
	for _, e := range edits {
		if err := shelve(s, s.boats, e.To.Name, e); err != nil {
			return err
		}
	}
	s.f.boats = nil
	for _, all := range s.boats {
		if !all[0].Removed {
			s.f.boats = append(s.f.boats, all[0].Of)
		}
	}
	slices.SortFunc(s.f.boats, func(a, b config.Boat) int { return strings.Compare(a.Name, b.Name) })
	return nil
}

func (s *shelf) OwnSystems(context.Context) ([]config.Version[config.System], map[string]string, error) {
	var own []config.Version[config.System]
	for _, all := range s.systems {
		if !all[0].Removed {
			own = append(own, all[0])
		}
	}
	return own, s.aside, nil
}

func (s *shelf) SystemVersions(_ context.Context, name string) ([]config.Version[config.System], error) {
	return s.systems[name], nil
}

func (s *shelf) EditSystem(_ context.Context, e config.Edit[config.System]) error {
	if err := shelve(s, s.systems, e.To.Name, e); err != nil {
		return err
	}
	was := slices.DeleteFunc(slices.Clone(s.f.yard.Systems), func(o config.System) bool { return o.Name == e.To.Name })
	if !e.Removed {
		was = append(was, e.To)
	}
	s.f.yard.Systems = was
	return nil
}

func (s *shelf) Foresee(_ context.Context, b config.Boat) (before, after planner.Plan, err error) {
	after = testPlan(now, 6*time.Hour)
	for i := range after.Launches {
		if after.Launches[i].Boat == "Kestrel" {
			after.Launches[i].Likely = after.Launches[i].Likely.AddDate(0, 0, -1)
		}
	}
	if b.Name == "Heron" {
		after.Launches = append(after.Launches, planner.Launch{Boat: b.Name, Promised: at(30, 0, 0), Likely: at(28, 9, 0)})
	}
	return s.f.draft, after, s.err
}

// boatFiles are the real formats.
type boatFiles struct{}

func (boatFiles) ReadBoats(y config.Yard, name string, text []byte) ([]config.Boat, []string, bool) {
	boats, mistakes := file.BoatsFor(y, name, text)
	var lines []string
	for _, m := range mistakes {
		lines = append(lines, m.String())
	}
	return boats, lines, mistakes.Err() == nil
}
func (boatFiles) WriteBoats(format string, boats []config.Boat) ([]byte, error) {
	return file.WriteBoats(format, boats)
}
func (boatFiles) WriteSystem(s config.System) ([]byte, error) { return file.WriteSystem(s) }

// bookFake is a yard with crews, so that its systems hold, and a book.
func bookFake() (*fake, *shelf) {
	f := newFake()
	f.yard.Crews = []config.Crew{{Name: "prep", Skills: []string{"prep", "paint"}, People: 3, Shifts: []config.Shift{{Starts: "0 7 * * 1-5", Length: 20 * h}}}}
	f.yard.Systems[0].Stages[6].Skill = "prep"
	f.yard.Cards[0].Cure = conditions.Cure{Taped: hours(20), Recoat: hours(12), Sandable: hours(24), Movable: hours(24), Launch: hours(100)}
	s := shelfOf(f)
	f.book = s
	return f, s
}

func boatForm(s *shelf, name string) url.Values {
	b := s.boats[name][0]
	form := url.Values{"by": {"Rui"}, "once": {"once " + name + strconv.Itoa(int(b.Revision))}, "revision": {strconv.FormatInt(b.Revision, 10)}}
	k := boatWriting(s.f.yard, s.f.boats)
	for _, one := range k.typed(b.Of).hidden() {
		form.Add(one.Name, one.Value)
	}
	return form
}

func TestABoatIsAddedWithTwoAreas(t *testing.T) {
	f, s := bookFake()
	_, body := get(t, f, "/boats/new")
	form := fieldsOf(t, body)
	for path, text := range map[string]string{
		"boat": "Heron", "length": "60 ft", "beam": "16,5 ft", "arrives": "2026-04-20", "promised": "2026-05-30", "by": "Rui",
		"areas[0].area": "topsides", "areas[0].system": "topsides gloss", "areas[0].size": "64 m2",
	} {
		form.Set(path, text)
	}
	form.Set("do", "add areas")
	answer, body := post(t, f, "/boats/new", form)
	if answer.StatusCode != http.StatusOK || len(s.boats["Heron"]) != 0 {
		t.Fatalf("a second area: status %d, %d kept", answer.StatusCode, len(s.boats["Heron"]))
	}
	form = fieldsOf(t, body)
	if form.Get("beam") != "16,5 ft" || len(form["row areas"]) != 2 {
		t.Fatalf("after adding an area the form holds %v", form)
	}
	form.Set("areas[1].area", "deck")
	form.Set("areas[1].system", "topsides gloss")
	form.Set("areas[1].size", "30 m2")
	for range 2 { // pressed twice, it is added once
		answer, body = post(t, f, "/boats/new", form)
		if answer.StatusCode != http.StatusSeeOther || answer.Header.Get("Location") != "/boats?said=boat" {
			t.Fatalf("status %d to %s: %s", answer.StatusCode, answer.Header.Get("Location"), body)
		}
	}
	all := s.boats["Heron"]
	if len(all) != 1 || len(all[0].Of.Areas) != 2 || all[0].Of.Length.String() != "60 ft" || all[0].Of.Beam.String() != "16.5 ft" || all[0].By != "Rui" {
		t.Errorf("kept %+v", all)
	}
	_, body = get(t, f, "/boats?said=boat")
	has(t, body, "Heron", "Kept. The plan is being redone.", "18.3 m", "0 of 7 stages done")
}

// Each bad word is said beside its field, and all that was typed is still there.
func TestABadFieldLosesNothing(t *testing.T) {
	for _, tt := range []struct{ path, text, says string }{
		{"boat", "", "Name can't be left empty; write it like Kestrel"},
		{"boat", "kestrel", "there is a boat &#34;Kestrel&#34; already"},
		{"length", "18", "has no unit; a length is written in"},
		{"length", "70 m", "No place of the yard holds a boat"},
		{"beam", "broad", "is not a length; write a number"},
		{"height", "-2 m", "A height of -2 m"},
		{"weight", "30,000 kg", "may be read in two ways; write &#34;30000 kg&#34; or &#34;30.000 kg&#34;"},
		{"weight", "9 stone", "is not a unit of weight; use"},
		{"arrives", "next week", "is not a day or a time; write it like 2026-04-03"},
		{"promised", "2026-01-01", "promised no later than the boat comes"},
		{"place", "moon", "There is no place &#34;moon&#34;"},
		{"build", "paper", "is not known here; use laminate"},
		{"colour", "whit", "did you mean &#34;white&#34;?"},
		{"behind", "sofa", "is not known here; use cabin"},
		{"areas[0].area", "", "Name can't be left empty; write it like topsides"},
		{"areas[1].area", "topsides", "is there twice"},
		{"areas[0].system", "topside gloss", "did you mean &#34;topsides gloss&#34;?"},
		{"areas[0].size", "0 m2", "A size of 0 m2; write the surface to coat"},
		{"areas[0].size", "900 m2", "may not pause, and the longest shift"},
		{"areas[0].done", "polish", "There is no stage of"},
		{"areas[0].done_at", "2026-04-01", "Nobody knows what was done then"},
		{"areas[0].after", "keel", "There is no area &#34;keel&#34;"},
		{"skin[0].of", "cheese", "is not known here"},
		{"skin[0].thick", "", "A layer of"},
	} {
		t.Run(tt.path+" "+tt.text, func(t *testing.T) {
			f, s := bookFake()
			form := boatForm(s, "Kestrel")
			form.Set("revision", "0")
			form.Set("boat", "Curlew")
			form.Set("owner", "an owner & sons")
			if strings.HasPrefix(tt.path, "skin") {
				form.Set("row skin", "")
				form.Set("skin[0].of", "laminate")
				form.Set("skin[0].thick", "9 mm")
			}
			form.Set(tt.path, tt.text)
			answer, body := post(t, f, "/boats/new", form)
			if answer.StatusCode != http.StatusUnprocessableEntity || len(s.boats["Curlew"]) != 0 {
				t.Fatalf("status %d, kept %v", answer.StatusCode, s.boats["Curlew"])
			}
			if said := faultBeside(t, body, tt.path); !strings.Contains(strings.ToLower(said), strings.ToLower(html.UnescapeString(tt.says))) {
				t.Errorf("beside %s stands %q, want %q", tt.path, said, tt.says)
			}
			again := fieldsOf(t, body)
			for path := range form {
				if path != "by" && again.Get(path) != form.Get(path) {
					t.Errorf("%s was typed as %q and comes back as %q", path, form.Get(path), again.Get(path))
				}
			}
		})
	}
}

func TestNobodysNameOnABoat(t *testing.T) {
	f, s := bookFake()
	form := boatForm(s, "Kestrel")
	form.Set("by", " ")
	answer, body := post(t, f, "/boat/Kestrel/edit", form)
	if answer.StatusCode != http.StatusUnprocessableEntity || len(s.boats["Kestrel"]) != 1 {
		t.Errorf("status %d", answer.StatusCode)
	}
	has(t, body, "Write who keeps it")
	form.Set("by", "Rui")
	form.Set("boat", "Kestrel II")
	_, body = post(t, f, "/boat/Kestrel/edit", form)
	has(t, body, "It stays &#34;Kestrel&#34;")
	if len(s.boats["Kestrel"]) != 1 || len(s.boats["Kestrel II"]) != 0 {
		t.Error("a boat was given another name")
	}
}

// What cannot be kept is said, and the form is still there.
func TestARefusedBoat(t *testing.T) {
	f, s := bookFake()
	s.err = publicError{`"started" was reported of it: keep that area`}
	form := boatForm(s, "Kestrel")
	form.Set("owner", "somebody else")
	answer, body := post(t, f, "/boat/Kestrel/edit", form)
	if answer.StatusCode != http.StatusConflict || fieldsOf(t, body).Get("owner") != "somebody else" {
		t.Errorf("status %d", answer.StatusCode)
	}
	has(t, body, "was reported of it: keep that area.")
}

// What keeping would change is said before, in launches, and nothing is kept.
func TestWhatABoatWouldChange(t *testing.T) {
	f, s := bookFake()
	form := boatForm(s, "Kestrel")
	form.Set("boat", "Heron")
	form.Set("revision", "0")
	form.Del("by") // who asks need not say who he is
	form.Set("do", "foresee all")
	answer, body := post(t, f, "/boats/new", form)
	if answer.StatusCode != http.StatusOK || len(s.boats["Heron"]) != 0 {
		t.Fatalf("status %d, kept %v", answer.StatusCode, s.boats["Heron"])
	}
	has(t, body, "Heron launches Tue 28 Apr, 1 d 15 h before its promise.", "Kestrel launches 1 d sooner, Fri 10 Apr", "Ada &amp; Sons launches 3 h later, Tue 14 Apr, 2 d 15 h after its promise.", "1 stage that was planned gets another start")
	hasNot(t, body, "Plover launches")
	form.Set("length", "long")
	answer, body = post(t, f, "/boats/new", form)
	if answer.StatusCode != http.StatusUnprocessableEntity {
		t.Errorf("of a bad boat: status %d", answer.StatusCode)
	}
	hasNot(t, body, "would change the plan so", "Write who keeps it")
	form.Set("length", "18 m")
	s.err = publicError{"another change is being worked out just now"}
	_, body = post(t, f, "/boats/new", form)
	has(t, body, "Another change is being worked out just now.")
}
