package file_test

import (
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"fairwindow/conditions/unit"
	"fairwindow/config"
	"fairwindow/config/file"
)

// What people write into a name: anything but line ends, and no blanks about it.
func phrase(r *rapid.T, label string) string {
	text := rapid.StringMatching(`[\p{L}\p{N} ,;:"'#&*!|>%@{}\[\]~?-]{0,12}`).Draw(r, label)
	return strings.TrimSpace(text)
}

func written[T ~float64](r *rapid.T, label string, units ...string) unit.Written[T] {
	if rapid.IntRange(0, 4).Draw(r, label+" given") == 0 {
		return unit.Written[T]{}
	}
	number := rapid.StringMatching(`[1-9][0-9]?(\.[0-9])?`).Draw(r, label)
	w, err := unit.Parse[T](number + " " + rapid.SampledFrom(units).Draw(r, label+" unit"))
	if err != nil {
		r.Fatal(err)
	}
	return w
}

func fleetOf(r *rapid.T) []config.Boat {
	names := rapid.SliceOfNDistinct(rapid.Custom(func(r *rapid.T) string { return "b" + phrase(r, "name") }), 1, 4, rapid.ID).Draw(r, "names")
	boats := make([]config.Boat, len(names))
	for i, name := range names {
		boats[i] = config.Boat{
			Name: name, Owner: phrase(r, "owner"),
			Length: written[unit.Length](r, "length", "m", "ft"), Beam: written[unit.Length](r, "beam", "m", "ft"),
			Height: written[unit.Length](r, "height", "m"), Weight: written[unit.Mass](r, "weight", "t", "lb"),
			Build: phrase(r, "build"), Colour: phrase(r, "colour"),
			Arrives: rapid.SampledFrom([]string{"2026-04-03", "2026-04-03 08:00", ""}).Draw(r, "arrives"), Promised: phrase(r, "promised"),
			Place: phrase(r, "place"), Warranty: rapid.SampledFrom([]string{"", "2029-06-30", "forever"}).Draw(r, "warranty"), Behind: rapid.SampledFrom([]string{"", "cabin", "tank"}).Draw(r, "behind"),
		}
		for range rapid.IntRange(0, 3).Draw(r, "layers") {
			thick, err := unit.Parse[unit.Length](rapid.StringMatching(`[1-9](\.[0-9])? (mm|in)`).Draw(r, "thick"))
			if err != nil {
				r.Fatal(err)
			}
			boats[i].Skin = append(boats[i].Skin, config.Layer{Of: rapid.SampledFrom([]string{"filler", "laminate", "balsa"}).Draw(r, "of"), Thick: thick})
		}
		for range rapid.IntRange(0, 3).Draw(r, "areas") {
			boats[i].Areas = append(boats[i].Areas, config.Area{
				Name: "a" + phrase(r, "area"), System: phrase(r, "system"), Size: written[unit.Area](r, "size", "m2", "ft2"),
				Done: phrase(r, "done"), DoneAt: phrase(r, "done at"), After: phrase(r, "after"),
			})
		}
	}
	return boats
}

// Boats come back from a file as they went in, units and all.
func TestBoatsRoundTrip(t *testing.T) {
	for _, format := range []string{file.YAML, file.CSV} {
		t.Run(format, func(t *testing.T) {
			rapid.Check(t, func(r *rapid.T) {
				boats := fleetOf(r)
				data, err := file.WriteBoats(format, boats)
				if err != nil {
					r.Fatal(err)
				}
				back, mistakes := file.Boats("boats."+format, data)
				if len(mistakes) > 0 {
					r.Fatalf("%v\n%s", mistakes, data)
				}
				for i := range back { // an empty list and none are the same
					if len(back[i].Areas) == 0 {
						back[i].Areas = nil
					}
				}
				if !reflect.DeepEqual(back, boats) {
					r.Fatalf("got\n%+v\nwant\n%+v\nfrom\n%s", back, boats, data)
				}
			})
		})
	}
}

func TestBoatsOfASpreadsheet(t *testing.T) {
	text := "\xef\xbb\xbfArea ;Boat;Length;Beam;Arrives;Promised;System;Size;\r\n" +
		"deck;One; 14 m ;4,2 m;2026-04-06;2026-05-06;gloss;30 m2;\r\n" +
		";;;;;;;;\r\n" +
		"deck;Two;46 ft;4 m;2026-04-06;2026-05-06;gloss;30 m2;\r\n" +
		"house;One;;;;;gloss;20 m2;\r\n"
	boats, mistakes := file.Boats("boats.csv", []byte(strings.Replace(text, "4,2 m", "4.2 m", 1)))
	if len(mistakes) > 0 {
		t.Fatal(mistakes)
	}
	if len(boats) != 2 || len(boats[0].Areas) != 2 || boats[0].Areas[1].Name != "house" || boats[1].Length.String() != "46 ft" {
		t.Errorf("got %+v", boats)
	}
	if _, mistakes = file.Boats("boats.csv", []byte(text)); len(mistakes) != 1 || mistakes[0].Line != 2 {
		t.Errorf("a decimal comma: got %v, want one mistake on line 2", mistakes)
	}
}

func TestBoatsOfNoKnownFormat(t *testing.T) {
	wide := "\xff\xfeb\x00o\x00a\x00t\x00"
	if _, mistakes := file.Boats("boats.csv", []byte(wide)); len(mistakes) != 1 || !strings.Contains(mistakes[0].What, "UTF-16") {
		t.Errorf("two bytes a letter: %v", mistakes)
	}
	if _, mistakes := file.Boats("boats.ods", nil); mistakes.Err() == nil {
		t.Error("a spreadsheet's own file was read")
	}
	if _, err := file.WriteBoats("ods", nil); err == nil {
		t.Error("a spreadsheet's own file was written")
	}
	for _, name := range []string{"boats.csv", "boats.yaml"} {
		if _, mistakes := file.Boats(name, nil); mistakes.Err() == nil {
			t.Errorf("an empty %s was read", name)
		}
	}
}
