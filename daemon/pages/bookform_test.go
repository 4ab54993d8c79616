package pages

import (
	"net/url"
	"reflect"
	"slices"
	"strings"
	"testing"

	"golang.org/x/net/html"
	"pgregory.net/rapid"

	"fairwindow/conditions/unit"
	"fairwindow/config"
)

func attr(n *html.Node, name string) (string, bool) {
	for _, a := range n.Attr {
		if a.Key == name {
			return a.Val, true
		}
	}
	return "", false
}

func isClass(n *html.Node, class string) bool {
	classes, _ := attr(n, "class")
	return slices.Contains(strings.Fields(classes), class)
}

func textIn(n *html.Node) string {
	var b strings.Builder
	for d := range n.Descendants() {
		if d.Type == html.TextNode {
			b.WriteString(d.Data)
		}
	}
	return b.String()
}

func parsed(t testing.TB, body string) *html.Node {
	t.Helper()
	root, err := html.Parse(strings.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	return root
}

// fieldsOf is what a browser would send of a page's first form of class writing, no
// button pressed.
func fieldsOf(t testing.TB, body string) url.Values {
	t.Helper()
	form := url.Values{}
	for n := range parsed(t, body).Descendants() {
		if n.Data != "form" || !isClass(n, "writing") {
			continue
		}
		for d := range n.Descendants() {
			name, _ := attr(d, "name")
			value, _ := attr(d, "value")
			kind, _ := attr(d, "type")
			_, checked := attr(d, "checked")
			switch {
			case name == "":
			case d.Data == "input" && (kind != "checkbox" && kind != "radio" || checked):
				form.Add(name, value)
			case d.Data == "textarea":
				form.Add(name, strings.TrimPrefix(textIn(d), "\n"))
			case d.Data == "select":
				chosen := ""
				for o := range d.Descendants() {
					if _, on := attr(o, "selected"); on && o.Data == "option" {
						chosen, _ = attr(o, "value")
					}
				}
				form.Add(name, chosen)
			}
		}
		return form
	}
	t.Fatalf("there is no form to write in: %s", body)
	return nil
}

// faultBeside is what is said to be wrong in the label or group of a field.
func faultBeside(t testing.TB, body, path string) string {
	t.Helper()
	var all []string
	for n := range parsed(t, body).Descendants() {
		if name, _ := attr(n, "name"); name != path {
			continue
		}
		for up := n.Parent; up != nil; up = up.Parent {
			if up.Data == "label" || isClass(up, "ticks") {
				for d := range up.Descendants() {
					if isClass(d, "fault") {
						all = append(all, textIn(d))
					}
				}
			}
		}
		if len(all) > 0 {
			return strings.Join(all, " ")
		}
	}
	return ""
}

// What people write into a name: no line ends, and no blanks about it.
func anyName(r *rapid.T, label string) string {
	return strings.TrimSpace(rapid.StringMatching(`[\p{L}\p{N} ,;:/"'#&*!|<>%@{}\[\]~?+-]{0,12}`).Draw(r, label))
}

func anyQuantity[Q ~float64](r *rapid.T, label string, units ...string) unit.Written[Q] {
	if rapid.IntRange(0, 3).Draw(r, label+" given") == 0 {
		return unit.Written[Q]{}
	}
	w, err := unit.Parse[Q](rapid.StringMatching(`-?[1-9][0-9]{0,3}(\.[0-9]{1,4})?`).Draw(r, label) + " " + rapid.SampledFrom(units).Draw(r, label+" unit"))
	if err != nil {
		r.Fatal(err)
	}
	return w
}

func anyBoat(r *rapid.T) config.Boat {
	b := config.Boat{
		Name: anyName(r, "name"), Owner: anyName(r, "owner"), Length: anyQuantity[unit.Length](r, "length", "m", "ft", "in"), Beam: anyQuantity[unit.Length](r, "beam", "m", "ft"),
		Height: anyQuantity[unit.Length](r, "height", "m", "cm"), Weight: anyQuantity[unit.Mass](r, "weight", "t", "kg", "lb"),
		Build: anyName(r, "build"), Colour: anyName(r, "colour"), Behind: anyName(r, "behind"),
		Arrives: anyName(r, "arrives"), Promised: anyName(r, "promised"), Place: anyName(r, "place"),
	}
	for range rapid.IntRange(0, 3).Draw(r, "layers") {
		b.Skin = append(b.Skin, config.Layer{Of: anyName(r, "of"), Thick: anyQuantity[unit.Length](r, "thick", "mm", "in")})
	}
	for range rapid.IntRange(0, 4).Draw(r, "areas") {
		b.Areas = append(b.Areas, config.Area{
			Name: anyName(r, "area"), System: anyName(r, "system"), Size: anyQuantity[unit.Area](r, "size", "m2", "ft2", "m²"),
			Done: anyName(r, "done"), DoneAt: anyName(r, "done at"), After: anyName(r, "after"),
		})
	}
	return b
}

func anyStage(r *rapid.T) config.Stage {
	some := func(label string, d unit.Duration) unit.Duration {
		return unit.Duration(rapid.IntRange(0, 500).Draw(r, label)) * d
	}
	st := config.Stage{
		Name: anyName(r, "name"), Kind: config.StageKind(anyName(r, "kind")), Skill: anyName(r, "skill"), Rate: anyQuantity[unit.WorkRate](r, "rate", "m2/h", "ft2/h"),
		Takes: some("takes", h/60), People: rapid.IntRange(-1, 9).Draw(r, "people"), Block: anyName(r, "block"), Grit: rapid.IntRange(0, 999).Draw(r, "grit"),
		Card: anyName(r, "card"), Passes: rapid.IntRange(0, 9).Draw(r, "passes"), Life: some("life", h/4),
		After: rapid.SampledFrom(append(config.Milestones(), "")).Draw(r, "after"), Until: rapid.SampledFrom(append(config.Milestones(), "")).Draw(r, "until"),
	}
	if places := rapid.SliceOfNDistinct(rapid.SampledFrom(config.PlaceKinds()), 0, 5, rapid.ID).Draw(r, "places"); len(places) > 0 {
		st.Places = places
	}
	for range rapid.IntRange(0, 2).Draw(r, "uses") {
		st.Uses = append(st.Uses, "a"+anyName(r, "equipment"))
	}
	if w := anyQuantity[unit.TempDiff](r, "margin", "C", "F", "K"); !w.IsZero() {
		st.Limits.Margin = &w
	}
	if w := anyQuantity[unit.Humidity](r, "humidity", "%"); !w.IsZero() {
		st.Limits.HumidityMax = &w
	}
	if w := anyQuantity[unit.Speed](r, "wind", "m/s", "mph", "kn"); !w.IsZero() {
		st.Limits.WindMax = &w
	}
	return st
}

// Whatever a boat is, good or bad, it goes into the form, through the page and the
// browser, and comes back as it was.
func TestABoatThroughTheForm(t *testing.T) {
	_, s := bookFake()
	views, err := parse()
	if err != nil {
		t.Fatal(err)
	}
	rapid.Check(t, func(r *rapid.T) {
		b := anyBoat(r)
		through(t, r, views, boatWriting(s.f.yard, nil), b)
	})
}

func TestASystemThroughTheForm(t *testing.T) {
	_, s := bookFake()
	views, err := parse()
	if err != nil {
		t.Fatal(err)
	}
	rapid.Check(t, func(r *rapid.T) {
		system := config.System{Name: anyName(r, "name")}
		for range rapid.IntRange(0, 4).Draw(r, "stages") {
			system.Stages = append(system.Stages, anyStage(r))
		}
		through(t, r, views, systemWriting(s.f.yard), system)
	})
}

// through renders a thing's form and reads what a browser would send of it.
func through[T any](t *testing.T, r *rapid.T, views *views, k writing[T], v T) {
	form := k.form(k.typed(v), amiss{}, amiss{}, false)
	var page strings.Builder
	if err := views.byName["book"].ExecuteTemplate(&page, "writing", form); err != nil {
		r.Fatal(err)
	}
	got, bad := k.read(typedIn(fieldsOf(t, page.String())))
	if len(bad) > 0 || !reflect.DeepEqual(got, v) {
		r.Fatalf("got\n%+v\nwant\n%+v\nbad %v", got, v, bad)
	}
}
