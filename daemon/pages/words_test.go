package pages

import (
	"strings"
	"testing"
	"time"

	"fairwindow/conditions"
	"fairwindow/planner"
	"fairwindow/planner/waits"
)

var everyCause = []planner.Cause{
	planner.LateBoat, planner.SlowCure, planner.Overrun, planner.Rework, planner.AwaitsParty, planner.Absent, planner.EarlierMoved,
	planner.HeldBy, planner.PlaceTaken, planner.PlaceClosed, planner.LiftMove, planner.NoShift, planner.CrewBusy, planner.EquipmentBusy, planner.Clearance, planner.Dust,
	planner.OutOfLimits, planner.GaveWay, planner.KeptClose, planner.ShorterHold, planner.LaterCalmer, planner.AsTold,
}

// Every cause reads as a sentence of its own, with and without evidence.
func TestWhyWordsEveryCause(t *testing.T) {
	full := planner.Evidence{Other: planner.Key{Boat: "Heron", Area: "deck", Stage: "sand 80"}, Person: "Ines", Note: "by telephone", Amount: 90}
	seen := map[string]planner.Cause{}
	for _, c := range everyCause {
		for _, e := range []planner.Evidence{{}, full} {
			w := planner.Wait{From: at(7, 8, 0), To: at(7, 13, 0), Cause: c, Evidence: e}
			s := Why(w, time.UTC)
			if !strings.HasPrefix(s, "Tue 7 Apr 07:00–12:00: ") || strings.Contains(s, "  ") || strings.HasSuffix(s, " ") || strings.Contains(s, "safe") {
				t.Errorf("%s: %q", c, s)
			}
			if other, ok := seen[s]; ok {
				t.Errorf("%s and %s read the same: %q", c, other, s)
			}
			seen[s] = c
			if e.Note != "" && !strings.HasSuffix(s, ": by telephone") {
				t.Errorf("%s does not tell its note: %q", c, s)
			}
		}
	}
}

// A boat that comes when the plan has ended is not late.
func TestABoatToComeIsNotLate(t *testing.T) {
	w := planner.Wait{Cause: planner.LateBoat, Evidence: planner.Evidence{Note: "it arrives after the end of this plan"}}
	if s := (clock{zone: time.UTC}).cause(w); s != w.Evidence.Note {
		t.Errorf("%q", s)
	}
}

func TestWhyWordsLimits(t *testing.T) {
	bound := func(of conditions.Quantity, least bool, at float64, written string) conditions.Bound {
		return conditions.Bound{Of: of, Least: least, At: at, Written: written, Owner: "card C rev 1"}
	}
	for _, c := range []struct {
		e    planner.Evidence
		want string
	}{
		{planner.Evidence{Bound: bound(conditions.OfMargin, true, 3, "3 C"), Value: 1.25, Sure: conditions.Measured}, "outside the limits of card C rev 1: surface over dew point 1.2 K, at least 3 K wanted, measured"},
		{planner.Evidence{Bound: bound(conditions.OfMargin, true, 25.0/9, "5 F"), Value: -1, Sure: conditions.Pencilled}, "surface over dew point −1.8 °F, at least 5 °F wanted, pencilled from the season's usual weather"},
		{planner.Evidence{Bound: bound(conditions.OfSurface, true, 10, "10 C"), Value: 10.8, Sure: conditions.Foretold}, "too near a limit of card C rev 1 to count on: surface temperature 10.8 °C, at least 10 °C wanted, forecast"},
		// Rounded to one decimal the value would read as if it kept the limit.
		{planner.Evidence{Bound: bound(conditions.OfMargin, true, 3, "3 K"), Value: 2.96, Sure: conditions.Measured}, "surface over dew point 2.96 K, at least 3 K wanted"},
		{planner.Evidence{Bound: bound(conditions.OfHumidity, false, 85, "85 %"), Value: 91, Sure: conditions.Foretold, Issued: at(7, 6, 0)}, "relative humidity 91.0 %, at most 85 % wanted, forecast issued Tue 7 Apr 05:00"},
		{planner.Evidence{Bound: bound(conditions.OfAir, true, 10, "50 F"), Value: 5}, "air temperature 41.0 °F, at least 50 °F wanted"},
		{planner.Evidence{Bound: bound(conditions.OfSurface, false, 35, "35 C"), Value: 38}, "surface temperature 38.0 °C, at most 35 °C wanted"},
		{planner.Evidence{Bound: bound(conditions.OfWind, false, 8*.44704, "8 mph"), Value: 10 * .44704}, "wind 10.0 mph, at most 8 mph wanted"},
		{planner.Evidence{Bound: bound(conditions.OfGust, false, 8*.44704, "8 mph"), Value: 10 * .44704}, "gust 10.0 mph, at most 8 mph wanted"},
		{planner.Evidence{Bound: bound(conditions.OfBelowAir, false, 5, "9 F"), Value: 6}, "surface below air 10.8 °F, at most 9 °F wanted"},
		{planner.Evidence{Bound: bound(conditions.OfPaint, false, 0, "0 C"), Value: 2.5}, "paint below surface 2.5 K, at most 0 K wanted"},
		{planner.Evidence{Bound: bound(conditions.OfRise, true, 0, "0 F/h"), Value: -5. / 9}, "rise of the margin −1.0 F/h, at least 0 F/h wanted"},
		{planner.Evidence{Bound: bound(conditions.OfRain, false, .3, "30 %"), Value: .55}, "chance of rain 55.0 %, at most 30 % wanted"},
		{planner.Evidence{Bound: bound(conditions.OfAir, true, 10, "10 C"), Sure: conditions.Unknown}, "conditions are unknown, which counts as shut"},
		{planner.Evidence{}, "conditions are unknown, which counts as shut"},
	} {
		got := Why(planner.Wait{From: now, To: now.Add(time.Hour), Cause: planner.OutOfLimits, Evidence: c.e}, time.UTC)
		if !strings.Contains(got, c.want) {
			t.Errorf("got %q, want %q", got, c.want)
		}
	}
}

func TestLength(t *testing.T) {
	for d, want := range map[time.Duration]string{
		0: "0 min", 40 * time.Minute: "40 min", 3 * time.Hour: "3 h", 200 * time.Minute: "3 h 20 min", 52 * time.Hour: "2 d 4 h", -90 * time.Minute: "−1 h 30 min",
		48*time.Hour + 20*time.Minute: "2 d",
	} {
		if got := length(d); got != want {
			t.Errorf("%s reads %q, want %q", d, got, want)
		}
	}
}

func TestSaidIsAClosedSet(t *testing.T) {
	if said("<b>anything</b>") != "" || said("") != "" || said("sunk") != "" {
		t.Error("an address can put words in our mouth")
	}
}

// Beside a stage of the same boat and area its own name would be noise.
func TestOwnStagesAreNamedShort(t *testing.T) {
	mine := planner.Key{Boat: "Heron", Area: "deck", Stage: "topcoat"}
	wait := planner.Wait{Cause: planner.EarlierMoved, Evidence: planner.Evidence{Other: planner.Key{Boat: "Heron", Area: "deck", Stage: "tack"}}}
	if got := (clock{zone: time.UTC}).cause(own(mine, wait)); got != "tack was moved" {
		t.Errorf("of its own boat and area: %q", got)
	}
	mine.Area = "house"
	if got := (clock{zone: time.UTC}).cause(own(mine, wait)); got != "tack on Heron deck was moved" {
		t.Errorf("of another area: %q", got)
	}
}

// Each cause has a name without jargon, and none is another's.
func TestCausesHaveNames(t *testing.T) {
	seen := map[string]planner.Cause{}
	for _, c := range []planner.Cause{
		planner.LateBoat, planner.SlowCure, planner.Overrun, planner.Rework, planner.AwaitsParty, planner.Absent, planner.EarlierMoved, planner.HeldBy, planner.PlaceTaken,
		planner.PlaceClosed, planner.LiftMove, planner.NoShift, planner.CrewBusy, planner.EquipmentBusy, planner.Clearance, planner.Dust, planner.OutOfLimits, planner.GaveWay,
		planner.KeptClose, planner.ShorterHold, planner.LaterCalmer, planner.AsTold, waits.Unreported,
	} {
		name := CauseName(c)
		if name == string(c) || seen[name] != "" {
			t.Errorf("%q is called %q, as %q is", c, name, seen[name])
		}
		seen[name] = c
	}
}

// What was typed is given back under the names that the form had, rows told apart.
func TestFieldLabels(t *testing.T) {
	for name, want := range map[string]string{
		"owner": "Owner", "areas[0].size": "Area 1: size", "stages[11].flash_off": "Stage 12: flash off", "skin[1].thick": "Layer 2: thick",
		"note_a": "Note", "at": "When", "others[1].x": "Others[1].x", "areas[99999999999999999999].size": "Areas[99999999999999999999].size",
	} {
		if got := fieldLabel(name); got != want {
			t.Errorf("%s is called %q, want %q", name, got, want)
		}
	}
}

// Nothing foretold is sure.
func TestChance(t *testing.T) {
	for part, want := range map[float64]string{1: "over 99\u00a0%", .996: "over 99\u00a0%", .99: "99\u00a0%", .954: "95\u00a0%", 0: "0\u00a0%"} {
		if got := chance(part); got != want {
			t.Errorf("%v reads %q, want %q", part, got, want)
		}
	}
}
