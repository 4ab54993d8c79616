package pages

import (
	"context"
	"fmt"
	"math"
	"strings"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
)

// worked says of each boat in a place what its surface is worked out to be between
// readings, and how far the model was off at the last one.
func (p *pages) worked(ctx context.Context, boats []string, c clock, u units) ([]string, error) {
	var lines []string
	for _, boat := range boats {
		w, err := p.Air.Worked(ctx, boat)
		if err != nil {
			return nil, fmt.Errorf("hull of %s: %w", boat, err)
		}
		lines = append(lines, unbroken(workedWords(boat, w, c, u)))
	}
	return lines, nil
}

func workedWords(boat string, w conditions.Worked, c clock, u units) string {
	line := "Hull of " + boat
	if len(w.Parts) == 0 {
		line += ": not worked out, for the air around it is not measured."
	} else {
		var parts []string
		for _, one := range w.Parts {
			parts = append(parts, partName(one.Part)+" "+u.rangeText(one.Coldest, one.Warmest))
		}
		line += ", worked out: " + strings.Join(parts, ", ") + "."
	}
	if w.Read.IsZero() {
		return line + " Not read in the past day: measure it."
	}
	at := c.hour(w.Read)
	if c.day(w.Read) != c.day(c.now) {
		at = c.moment(w.Read)
	}
	line += " Last read " + at + ": " + u.rangeText(w.Coldest, w.Warmest)
	if off := w.Coldest.Over(w.Model); unit.Known(off) && len(w.Parts) > 0 {
		line += ", " + u.besideModel(off)
		if len(w.Parts) > 1 { // whatever was read, only one can be set beside it
			line += " for the " + partName(w.Parts[0].Part)
		}
	}
	return line + "."
}

// besideModel words how far a reading was from the model.
func (u units) besideModel(off unit.TempDiff) string {
	by := number(math.Abs(u.difference(off)), 1)
	switch {
	case by == "0.0":
		return "as the model had it"
	case off < 0:
		return by + " " + u.diffSign() + " below what the model had"
	}
	return by + " " + u.diffSign() + " above what the model had"
}

func partName(p conditions.Part) string {
	if p == conditions.Sides {
		return "topsides"
	}
	return string(p)
}
