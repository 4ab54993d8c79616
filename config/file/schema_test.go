package file_test

import (
	"bytes"
	"encoding/json"
	"regexp"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"go.yaml.in/yaml/v4"

	"fairwindow/conditions/unit"
	"fairwindow/config/file"
)

func compiled(t *testing.T) (*jsonschema.Schema, string) {
	t.Helper()
	return compiledOf(t, file.Schema)
}

func compiledOf(t *testing.T, make func() ([]byte, error)) (*jsonschema.Schema, string) {
	t.Helper()
	text, err := make()
	if err != nil {
		t.Fatal(err)
	}
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource("yard.json", doc); err != nil {
		t.Fatal(err)
	}
	schema, err := c.Compile("yard.json")
	if err != nil {
		t.Fatal(err)
	}
	return schema, string(text)
}

// asJSON turns a YAML text into what a JSON Schema checks.
func asJSON(t *testing.T, text []byte) any {
	t.Helper()
	var doc any
	if err := yaml.Load(text, &doc); err != nil {
		t.Fatal(err)
	}
	data, err := json.Marshal(doc)
	if err != nil {
		t.Fatal(err)
	}
	value, err := jsonschema.UnmarshalJSON(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	return value
}

func TestSchemaAcceptsTheStarter(t *testing.T) {
	schema, _ := compiled(t)
	yard, _ := file.Starter()
	if err := schema.Validate(asJSON(t, yard)); err != nil {
		t.Error(err)
	}
}

// What only some cards say is right by the schema and by the checks alike.
func TestSchemaAcceptsEveryKeyOfACard(t *testing.T) {
	schema, _ := compiled(t)
	yard := read(t, "testdata/yard.yaml")
	for _, change := range [][2]string{
		{"      surface_max: 35 C\n", "      surface_max: 35 C\n      wind_max: 5 m/s\n      gust_max: 9 m/s\n      above_air: 15 C\n" +
			"      below_air: 9 F\n      falls: 5 F/h\n      rising: 0 K/h\n      paint_below: 0 K\n"},
		{"profile: ", "paint_store: 18 C\nprofile: "},
		{"length: 20 m", `length: 65' 7.5"`},
		{"    protect_until: protected\n", "    protection:\n      - {until: protected, limits: {margin: 5 F}}\n      - {until: taped, limits: {rain_max: 10 %}}\n"},
		{"    flash_off:", "      humidity:\n        - {at: 40 %, factor: 0.8}\n        - {at: 80 %, factor: 1.2}\n    flash_off:"},
	} {
		if !strings.Contains(yard, change[0]) {
			t.Fatalf("the small yard has no %q", change[0])
		}
		yard = strings.Replace(yard, change[0], change[1], 1)
	}
	if err := schema.Validate(asJSON(t, []byte(yard))); err != nil {
		t.Error(err)
	}
	got, mistakes := file.Yard("yard.yaml", []byte(yard))
	if len(mistakes) > 0 {
		t.Fatal(mistakes)
	}
	card := got.Cards[0]
	if l := card.Limits; l.GustMax.SI != 9 || l.BelowAir.SI != 5 || l.Falls.String() != "5 F/h" || l.Rising == nil || l.PaintBelow == nil || l.AboveAir == nil {
		t.Errorf("limits read as %+v", l)
	}
	if len(card.Cure.Humidity) != 2 || card.Cure.Humidity[1].Factor != 1.2 || len(card.Protection) != 2 || card.ProtectUntil != "taped" && card.ProtectUntil != "" {
		t.Errorf("read as %+v", card)
	}
}

// What the starter shows of equipment in its comments is right once the # is gone.
func TestStartersEquipmentIsRight(t *testing.T) {
	schema, _ := compiled(t)
	starter, _ := file.Starter()
	yard := string(starter)
	for _, change := range [][2]string{
		{"# equipment:\n#   - {name: travel", "equipment:\n  - {name: travel"},
		{"#   - {name: compressor", "  - {name: compressor"},
		{"      - name: finish primer\n", "      - name: finish primer\n        uses: [compressor, compressor]\n"},
		{"    kind: slip\n", "    kind: slip\n    lift: travel lift\n"},
		{"closures:\n", "closures:\n  - {equipment: travel lift, from: 2026-05-04, why: its survey}\n"},
	} {
		if strings.Count(yard, change[0]) == 0 {
			t.Fatalf("the starter has no %q", change[0])
		}
		yard = strings.Replace(yard, change[0], change[1], 1)
	}
	if err := schema.Validate(asJSON(t, []byte(yard))); err != nil {
		t.Error(err)
	}
	got, mistakes := file.Yard("yard.yaml", []byte(yard))
	if len(mistakes) > 0 {
		t.Fatal(mistakes)
	}
	if e := got.Equipment; len(e) != 2 || e[0].Count != 1 || len(e[0].Hours) != 1 || e[1].Name != "compressor" || got.Closures[0].Equipment != "travel lift" {
		t.Errorf("read as %+v", got.Equipment)
	}
}

func TestSchemaRefuses(t *testing.T) {
	schema, _ := compiled(t)
	yard, _ := file.Starter()
	for name, change := range map[string][2]string{
		"a value without its unit":    {"elevation: 3 m ", "elevation: \"3\" "},
		"a unit of another kind":      {"clearance: 5 min ", "clearance: 5 C "},
		"an unknown key":              {"latitude: 38.7", "latitude: 38.7\nlattitude: 3"},
		"an unknown kind of place":    {"kind: slip", "kind: dock"},
		"an unknown kind of stage":    {"kind: unmask", "kind: unwrap"},
		"an unknown milestone":        {"until: sandable", "until: sanded"},
		"a margin as a temperature":   {"margin: 3 C ", "margin: 3 m "},
		"a number where a list stood": {"skills: [mask, unmask, move]", "skills: 3"},
	} {
		t.Run(name, func(t *testing.T) {
			changed := strings.Replace(string(yard), change[0], change[1], 1)
			if changed == string(yard) {
				t.Fatalf("the starter has no %q to change", change[0])
			}
			if schema.Validate(asJSON(t, []byte(changed))) == nil {
				t.Error("accepted")
			}
		})
	}
}

// Package unit names its units only in its errors; a unit added there has to be
// added to the schema too.
func TestSchemaKnowsEveryUnit(t *testing.T) {
	_, schema := compiled(t)
	for kind, err := range map[string]error{
		"temperature": refused[unit.Temperature](), "rate": refused[unit.Rate](), "difference": refused[unit.TempDiff](), "humidity": refused[unit.Humidity](),
		"speed": refused[unit.Speed](), "length": refused[unit.Length](), "film": refused[unit.Film](), "share": refused[unit.Share](),
		"power": refused[unit.Power](), "flow": refused[unit.Flow](), "water rate": refused[unit.WaterRate](), "work rate": refused[unit.WorkRate](), "pressure": refused[unit.Pressure](),
	} {
		_, rest, ok := strings.Cut(err.Error(), "written in ")
		units, _, ok2 := strings.Cut(rest, ", like")
		if !ok || !ok2 {
			t.Fatalf("%s: the error does not list the units: %v", kind, err)
		}
		last := strings.Split(units, ", ")
		want := " in " + strings.Join(last, ", ")
		if !sameWords(schema, last) {
			t.Errorf("%s: the schema lacks one of%s", kind, want)
		}
	}
}

func refused[T ~float64]() error {
	_, err := unit.Parse[T]("1")
	return err
}

// sameWords reports whether one pattern of the schema has exactly these units.
func sameWords(schema string, units []string) bool {
	for line := range strings.Lines(schema) {
		_, rest, ok := strings.Cut(line, "°?(")
		if !ok {
			continue
		}
		inside, _, _ := strings.Cut(rest, `)\\s`)
		given := strings.Split(inside, "|")
		if len(given) != len(units) {
			continue
		}
		all := true
		for _, u := range units {
			found := false
			for _, g := range given {
				found = found || g == u
			}
			all = all && found
		}
		if all {
			return true
		}
	}
	return false
}

// The schema of boats takes the boats that we hand out, and sees what the check sees of a
// warranty, a day and a unit.
func TestBoatsSchema(t *testing.T) {
	schema, _ := compiledOf(t, file.BoatsSchema)
	_, boats := file.Starter()
	// To YAML 1.2, and so to editors, a day is a text; this reader makes a time of it.
	boats = regexp.MustCompile(`(?m)(\d{4}-\d{2}-\d{2})$`).ReplaceAll(boats, []byte(`"$1"`))
	if err := schema.Validate(asJSON(t, boats)); err != nil {
		t.Error(err)
	}
	const one = "boats: [{boat: Alder, length: 14 m, beam: 4 m, weight: 12 t, arrives: 2026-04-06 08:00, promised: \"2026-05-06\", warranty: \"2029-06-30\", areas: [{area: deck, system: gloss, size: 9 m2}]}]"
	for _, c := range []struct {
		was, is string
		good    bool
	}{
		{"", "", true},
		{`"2029-06-30"`, "forever", true},
		{`"2029-06-30"`, "3 years", false},
		{`"2029-06-30"`, `"2029-06-30 08:00"`, false},
		{"warranty", "waranty", false},
		{"12 t", "12 m", false},
		{"9 m2", "9 m", false},
		{`"2026-05-06"`, "soon", false},
	} {
		if err := schema.Validate(asJSON(t, []byte(strings.Replace(one, c.was, c.is, 1)))); (err == nil) != c.good {
			t.Errorf("%q instead of %q: %v", c.is, c.was, err)
		}
	}
	yard, _ := compiled(t)
	for keep, good := range map[string]bool{"forever": true, "1095 d": true, "for ever": false} {
		text, _ := file.Starter()
		text = bytes.Replace(text, []byte("warranty: 1095 d"), []byte("warranty: "+keep), 1)
		if err := yard.Validate(asJSON(t, text)); (err == nil) != good {
			t.Errorf("keep.warranty %q: %v", keep, err)
		}
	}
}
