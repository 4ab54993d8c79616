package pages

import (
	"testing"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
)

// TestWorked: one line for each hull that stands in a place: what it was worked out to
// be, and how far the model was off when somebody last read it.
func TestWorked(t *testing.T) {
	nan := unit.NaN[unit.Temperature]()
	sides := conditions.WorkedPart{Part: conditions.Sides, Coldest: 18.4, Warmest: 31.2}
	deck := conditions.WorkedPart{Part: conditions.Deck, Coldest: 41, Warmest: 41}
	read := at(7, 8, 10)
	for _, c := range []struct {
		name, units string
		is          conditions.Worked
		says        string
	}{
		{"below", "SI", conditions.Worked{Parts: []conditions.WorkedPart{sides}, Read: read, Coldest: 17, Warmest: 17, Model: 18.4},
			"Hull of Kestrel, worked out: topsides 18.4 to 31.2 °C. Last read 08:10: 17.0 °C, 1.4 K below what the model had."},
		{"several parts", "SI", conditions.Worked{Parts: []conditions.WorkedPart{sides, deck}, Read: read, Coldest: 20, Warmest: 22, Model: 18.4},
			"worked out: topsides 18.4 to 31.2 °C, deck 41.0 °C. Last read 08:10: 20.0 to 22.0 °C, 1.6 K above what the model had for the topsides."},
		{"yesterday", "SI", conditions.Worked{Parts: []conditions.WorkedPart{deck}, Read: read.Add(-24 * time.Hour), Coldest: 41, Warmest: 41, Model: 41.02},
			"Last read Mon 6 Apr 08:10: 41.0 °C, as the model had it."},
		{"no model then", "SI", conditions.Worked{Parts: []conditions.WorkedPart{deck}, Read: read, Coldest: 41, Warmest: 41, Model: nan},
			"Last read 08:10: 41.0 °C."},
		{"never", "SI", conditions.Worked{Parts: []conditions.WorkedPart{deck}, Coldest: nan, Warmest: nan, Model: nan},
			"Hull of Kestrel, worked out: deck 41.0 °C. Not read in the past day: measure it."},
		{"silent", "SI", conditions.Worked{Coldest: nan, Warmest: nan, Model: nan},
			"Hull of Kestrel: not worked out, for the air around it is not measured. Not read in the past day: measure it."},
		{"US", "US", conditions.Worked{Parts: []conditions.WorkedPart{sides}, Read: read, Coldest: 17, Warmest: 17, Model: 18.4},
			"topsides 65.1 to 88.2 °F. Last read 08:10: 62.6 °F, 2.5 °F below what the model had."},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := newFake()
			f.yard.Units, f.hulls = c.units, map[string]conditions.Worked{"Kestrel": c.is}
			_, body := get(t, f, "/place/Booth%201")
			has(t, body, unbroken(c.says))
		})
	}
	_, empty := get(t, newFake(), "/place/Hardstand")
	hasNot(t, empty, "Hull of")
}
