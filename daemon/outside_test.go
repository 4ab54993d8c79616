package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// asked runs a command and reads its JSON; code is the exit code it must have.
func asked(t *testing.T, into any, code int, args ...string) {
	t.Helper()
	var out, talk bytes.Buffer
	if got := run(append(args, "--json"), &out, &talk); got != code {
		t.Fatalf("%v: exit code %d, want %d: %s", args, got, code, talk.String())
	}
	if err := json.Unmarshal(out.Bytes(), into); err != nil {
		t.Fatal(err)
	}
}

func written(t *testing.T, lines ...string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "table.csv")
	if err := os.WriteFile(path, []byte(strings.Join(lines, "\n")+"\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// CHECKS.md 4, night check: air 10 °C, dew point 8 °C, clear, 1 m/s: a deck near
// 5.5 °C and wet, a topside near 8.4 °C, computed with EnergyPlus's sky and a simple
// convection. Published convections put the deck within 1.5 K of that and an upright
// side, which sees half of the sky, within half as much.
func TestHullOnAClearNight(t *testing.T) {
	lines := []string{"time,air_C,dew_point_C,wind_m/s,cloud_%,shortwave_W/m2,rain_mm"}
	start := time.Date(2026, 4, 15, 0, 0, 0, 0, time.UTC)
	for h := range 25 {
		lines = append(lines, start.Add(time.Duration(h)*time.Hour).Format(time.RFC3339)+",10,8,1,0,0,0")
	}
	weather := written(t, lines...)
	night := func(more ...string) map[string]facetNow {
		var a hullAnswer
		asked(t, &a, 0, append([]string{"hull", "--weather", weather, "--zone", "UTC", "--days", "1",
			"--build", "cored", "--colour", "white", "--behind", "open"}, more...)...)
		last := map[string]facetNow{}
		for _, f := range a.Hours[len(a.Hours)-1].Facets {
			last[f.Name] = f
		}
		return last
	}
	open := night()
	if deck := open["deck"]; math.Abs(float64(deck.Coldest)-5.5) > 1.5 || !deck.Wet {
		t.Errorf("deck %v °C, wet %v; want about 5.5 °C and wet", deck.Coldest, deck.Wet)
	}
	if side := open["port topside"]; math.Abs(float64(side.Coldest)-8.4) > 0.75 {
		t.Errorf("topside %v °C; want about 8.4 °C", side.Coldest)
	}
	if deck := night("--place", "shed")["deck"]; math.Abs(float64(deck.Coldest)-10) > 0.05 || deck.Wet {
		t.Errorf("in the shed the deck is %v °C, wet %v; a roof takes the sky away", deck.Coldest, deck.Wet)
	}
	t.Logf("deck %.2f °C (published 5.5), topside %.2f °C (8.4)", open["deck"].Coldest, open["port topside"].Coldest)
}

// CHECKS.md 4, cold hulls of 5 °C brought into 22 °C and 50 %, dew point 11.1 °C, h = 8
// on one side and nothing behind: 8 mm of laminate reaches dew point + 3 K after
// 24 min, 6 mm of steel after 34 min. Here a cold cabin behind gives its cold to the
// skin, and the level deck, which is last, has little convection: later than
// published, by up to two and a half times. Our judgement, no source.
func TestHullBroughtIntoABooth(t *testing.T) {
	lines := []string{"time,air_C,dew_point_C"}
	start := time.Date(2026, 4, 15, 0, 0, 0, 0, time.UTC)
	for h := range 25 {
		lines = append(lines, start.Add(time.Duration(h)*time.Hour).Format(time.RFC3339)+",14,11.1")
	}
	boats := filepath.Join(t.TempDir(), "boats.yaml")
	fleet := "boats:\n"
	for name, layer := range map[string]string{"Thin": "{of: laminate, thick: 8 mm}", "Steel": "{of: steel, thick: 6 mm}"} {
		fleet += fmt.Sprintf("  - {boat: Boat %s, length: 15 m, beam: 4 m, arrives: 2026-04-15, promised: 2026-05-15, behind: cabin, skin: [%s], areas: [{area: topsides, system: full refinish, size: 50 m2}]}\n", name, layer)
	}
	if err := os.WriteFile(boats, []byte(fleet), 0o600); err != nil {
		t.Fatal(err)
	}
	weather := written(t, lines...)
	for boat, published := range map[string]time.Duration{"Thin": 24 * time.Minute, "Steel": 34 * time.Minute} {
		var a hullAnswer
		asked(t, &a, 0, "hull", "--boats", boats, "--boat", "Boat "+boat, "--weather", weather,
			"--mode", "curing", "--place", "booth 3", "--from", "5C", "--days", "1", "--start", "2026-04-15 01:00")
		b := a.BroughtIn
		if b == nil || b.Holds == nil || b.Sweats == nil || b.Dry == nil && b.Wet {
			t.Fatalf("%s: %+v", boat, b)
		}
		took := b.Holds.Sub(b.At)
		if took < published || took > 5*published/2 {
			t.Errorf("%s: dew point + 3 K after %v; published %v", boat, took, published)
		}
		t.Logf("%s: condenses for %v, dew point + 3 K after %v (published %v)", boat, b.Sweats.Sub(b.At), took, published)
	}
}

// TRADE.md 7, case 10, by the columns of UFGS 09971: 20 °C all day but 29 °C from
// 13:00 to 15:00 on Monday. It opens at 17:00, by the colder column, and closes on
// Tuesday at 21:00, by the hotter. Without the hot hours it closes on Wednesday at 9:00.
func TestCureClosesByTheHottestHour(t *testing.T) {
	hourly := func(hot string) string {
		lines := []string{"time,surface_C"}
		for _, r := range []string{"09:00 20", "10:00 20", "11:00 20", "12:00 20", "12:55 20", "13:00 " + hot, "14:00 " + hot, "15:00 " + hot, "15:05 20", "16:00 20"} {
			clock, degrees, _ := strings.Cut(r, " ")
			lines = append(lines, "2026-04-06 "+clock+","+degrees)
		}
		return written(t, lines...)
	}
	for _, tt := range []struct{ hot, closes string }{{"29", "Tue 21:00"}, {"20", "Wed 09:00"}} {
		var a cureAnswer
		asked(t, &a, 0, "cure", "Topcoat", "--coated", "2026-04-06 09:00", hourly(tt.hot))
		zone := a.Coated.Location()
		if got := a.Recoat.Opens.In(zone).Format("Mon 15:04"); got != "Mon 17:00" {
			t.Errorf("hot hours of %s °C: opens %s, want Mon 17:00", tt.hot, got)
		}
		if got := a.Recoat.Closes.In(zone).Format("Mon 15:04"); got != tt.closes {
			t.Errorf("hot hours of %s °C: closes %s, want %s", tt.hot, got, tt.closes)
		}
		if a.Recoat.State != windowToCome {
			t.Errorf("hot hours of %s °C: %s at 16:00", tt.hot, a.Recoat.State)
		}
	}
}

// A dark hull gets hot in the sun and a white one does not: a June noon of a typical
// year in New Jersey, starboard to the south.
func TestDarkHullInTheSun(t *testing.T) {
	weather := filepath.Join("..", "..", "shared", "weather", "mcguire_nj_tmy3.epw")
	if _, err := os.Stat(weather); err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatal(err)
		}
		t.Skip("the shared weather file is not here")
	}
	side := map[string]float64{}
	for _, colour := range []string{"white", "dark"} {
		var a hullAnswer
		asked(t, &a, 0, "hull", "--weather", weather, "--start", "2013-06-21", "--days", "1", "--heading", "90", "--colour", colour)
		side[colour] = float64(a.Hours[12].Facets[1].Warmest.Over(a.Hours[12].Air))
	}
	// surface_temp_reference.csv: 10 K between absorptances 0.25 and 0.90 at 300 W/m².
	if more := side["dark"] - side["white"]; side["white"] < 1 || side["white"] > 8 || more < 8 || more > 25 {
		t.Errorf("over the air: white %.1f K, dark %.1f K", side["white"], side["dark"])
	}
}
