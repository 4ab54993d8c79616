package config

import (
	"fmt"
	"strings"
	"testing"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
)

func written[T ~float64](t *testing.T, text string) unit.Written[T] {
	t.Helper()
	w, err := unit.Parse[T](text)
	if err != nil {
		t.Fatal(err)
	}
	return w
}

func limit[T ~float64](t *testing.T, text string) *unit.Written[T] {
	w := written[T](t, text)
	return &w
}

// rulesYard has limits everywhere that limits can be written.
func rulesYard(t *testing.T) Yard {
	return Yard{
		Profile: "house",
		Limits:  Limits{Margin: limit[unit.TempDiff](t, "3 C")},
		Places: []Place{
			{Name: "booth 2", Kind: Booth, Limits: Limits{AirMax: limit[unit.Temperature](t, "28 C")}},
			{Name: "slip", Kind: Slip},
		},
		Profiles: []Profile{
			{Name: "house", Limits: Limits{
				Margin: limit[unit.TempDiff](t, "5 F"), SurfaceMin: limit[unit.Temperature](t, "10 C"),
				HumidityMax: limit[unit.Humidity](t, "85 %"), RainMax: limit[unit.Share](t, "20 %"),
			}},
			{Name: "finish", Limits: Limits{HumidityMin: limit[unit.Humidity](t, "40 %"), HumidityMax: limit[unit.Humidity](t, "75 %")}},
		},
		Cards: []Card{
			{Name: "Topcoat", Revision: 2, Profile: "finish", Limits: Limits{SurfaceMin: limit[unit.Temperature](t, "61 F"), RainMax: limit[unit.Share](t, "10 %")}},
			{Name: "Primer", Revision: 1},
		},
	}
}

func words(rules conditions.Rules) string {
	text := ""
	for _, b := range rules {
		sign := "≤"
		if b.Least {
			sign = "≥"
		}
		text += fmt.Sprintf("%s %s %s, %s\n", b.Of, sign, b.Written, b.Owner)
	}
	return text
}

func TestRules(t *testing.T) {
	y := rulesYard(t)
	topcoat := Stage{Name: "topcoat", Kind: Coat, Card: "Topcoat", Limits: Limits{WindMax: limit[unit.Speed](t, "4 m/s")}}
	primer := Stage{Name: "primer", Kind: Coat, Card: "Primer"}
	wipe := Stage{Name: "wipe", Kind: Wipe, Limits: Limits{Margin: limit[unit.TempDiff](t, "1 C"), RainMax: limit[unit.Share](t, "5 %")}}
	for _, c := range []struct {
		why   string
		stage Stage
		place string
		want  string
	}{
		{"all limits apply, the profile where the card is silent, no rain under a roof", topcoat, "booth 2", `margin ≥ 3 C, the yard
humidity ≥ 40 %, profile finish
humidity ≤ 75 %, profile finish
air ≤ 28 C, booth 2
surface ≥ 61 F, card Topcoat rev 2
wind ≤ 4 m/s, stage topcoat
`},
		{"outdoors rain counts", topcoat, "slip", `margin ≥ 3 C, the yard
humidity ≥ 40 %, profile finish
humidity ≤ 75 %, profile finish
surface ≥ 61 F, card Topcoat rev 2
wind ≤ 4 m/s, stage topcoat
rain ≤ 10 %, card Topcoat rev 2
`},
		// 5 F is 2.78 K: the yard's 3 C is stricter, but does not silence the profile.
		{"the yard's profile, in its own unit, beside the yard's limit", primer, "slip", `margin ≥ 3 C, the yard
margin ≥ 5 F, profile house
humidity ≤ 85 %, profile house
surface ≥ 10 C, profile house
rain ≤ 20 %, profile house
`},
		{"what is no coat has its own limits only", wipe, "slip", "margin ≥ 1 C, stage wipe\nrain ≤ 5 %, stage wipe\n"},
		{"and no rain under a roof", wipe, "booth 2", "margin ≥ 1 C, stage wipe\n"},
	} {
		place, _ := y.Place(c.place)
		if got := words(y.Rules(c.stage, place)); got != c.want {
			t.Errorf("%s: got\n%swant\n%s", c.why, got, c.want)
		}
	}
}

func TestProtectRules(t *testing.T) {
	y := rulesYard(t)
	card, _ := y.Card("Topcoat")
	slip, _ := y.Place("slip")
	booth, _ := y.Place("booth 2")
	outdoors := "margin ≥ 3 C, the yard\nsurface ≥ 61 F, card Topcoat rev 2\nrain ≤ 10 %, card Topcoat rev 2\n"
	if got := words(y.ProtectRules(card, slip)); got != outdoors {
		t.Errorf("outdoors: got\n%swant\n%s", got, outdoors)
	}
	roofed := "margin ≥ 3 C, the yard\nsurface ≥ 61 F, card Topcoat rev 2\n"
	if got := words(y.ProtectRules(card, booth)); got != roofed {
		t.Errorf("under a roof: got\n%swant\n%s", got, roofed)
	}
	card.Protected = Limits{Margin: limit[unit.TempDiff](t, "2 C"), RainMax: limit[unit.Share](t, "1 %")}
	own := "margin ≥ 2 C, card Topcoat rev 2\n"
	if got := words(y.ProtectRules(card, booth)); got != own {
		t.Errorf("the card's own: got\n%swant\n%s", got, own)
	}
}

// TestProtections: each kind until its own milestone, in the order of a coat's
// life however they are written; the older fields are one more kind; what ends
// last ends ProtectRules, which hold all of them until then.
func TestProtections(t *testing.T) {
	y := rulesYard(t)
	card, _ := y.Card("Topcoat")
	slip, _ := y.Place("slip")
	booth, _ := y.Place("booth 2")
	dry := Protect{Until: conditions.TouchDry, Limits: Limits{RainMax: limit[unit.Share](t, "5 %")}}
	dewless := Protect{Until: conditions.Taped, Limits: Limits{Margin: limit[unit.TempDiff](t, "4 C")}}
	warm := Protect{Until: conditions.TouchDry, Limits: Limits{SurfaceMin: limit[unit.Temperature](t, "12 C")}}
	const owner = ", card Topcoat rev 2\n"
	older := "protected\n" + words(y.ProtectRules(card, slip))
	for _, c := range []struct {
		why   string
		card  func(c *Card)
		place Place
		want  string
		until conditions.Milestone
	}{
		{"none named", func(c *Card) {}, slip, older, conditions.Protected},
		{"two kinds, the later one first", func(c *Card) { c.Protection = []Protect{dewless, dry} }, slip,
			"touch_dry\nrain ≤ 5 %" + owner + "taped\nmargin ≥ 4 C" + owner, conditions.Taped},
		{"two with one end", func(c *Card) { c.Protection = []Protect{warm, dry} }, slip,
			"touch_dry\nsurface ≥ 12 C" + owner + "rain ≤ 5 %" + owner, conditions.TouchDry},
		{"a roof keeps the rain off, the milestone stays", func(c *Card) { c.Protection = []Protect{dewless, dry} }, booth,
			"touch_dry\ntaped\nmargin ≥ 4 C" + owner, conditions.Taped},
		{"beside the older fields", func(c *Card) {
			c.Protection, c.ProtectUntil = []Protect{dry}, conditions.Recoat
			c.Protected = Limits{Margin: limit[unit.TempDiff](t, "2 C")}
		}, slip, "touch_dry\nrain ≤ 5 %" + owner + "recoat\nmargin ≥ 2 C" + owner, conditions.Recoat},
	} {
		one := card
		c.card(&one)
		got, all := "", ""
		for _, p := range y.Protections(one, c.place) {
			got += string(p.Until) + "\n" + words(p.Rules)
			all += words(p.Rules)
		}
		if got != c.want {
			t.Errorf("%s: got\n%swant\n%s", c.why, got, c.want)
		}
		for line := range strings.Lines(all) {
			if !strings.Contains(words(y.ProtectRules(one, c.place)), line) {
				t.Errorf("%s: ProtectRules lack %s", c.why, line)
			}
		}
		filled := Yard{Cards: []Card{one}}.WithDefaults().Cards[0]
		if filled.ProtectUntil != c.until {
			t.Errorf("%s: protected until %s, want %s", c.why, filled.ProtectUntil, c.until)
		}
	}
}

// TestProfileBesideGusts: a card that bounds the gusts leaves its profile's wind
// the mean; a wind of the card's says something of both.
func TestProfileBesideGusts(t *testing.T) {
	y := Yard{Profile: "house", Profiles: []Profile{{Name: "house", Limits: Limits{
		WindMax: limit[unit.Speed](t, "6.7 m/s"), PaintBelow: limit[unit.TempDiff](t, "0 K"), Rising: limit[unit.Rate](t, "0 K/h"),
	}}}}
	for _, c := range []struct {
		limits Limits
		want   string
	}{
		{Limits{GustMax: limit[unit.Speed](t, "9 m/s"), PaintBelow: limit[unit.TempDiff](t, "5 F")},
			"rise_of_the_margin ≥ 0 K/h, profile house\npaint_below_surface ≤ 5 F, card A rev 1\nmean_wind ≤ 6.7 m/s, profile house\ngust ≤ 9 m/s, card A rev 1\n"},
		{Limits{WindMax: limit[unit.Speed](t, "5 m/s")},
			"rise_of_the_margin ≥ 0 K/h, profile house\npaint_below_surface ≤ 0 K, profile house\nwind ≤ 5 m/s, card A rev 1\n"},
	} {
		y.Cards = []Card{{Name: "A", Revision: 1, Limits: c.limits}}
		if got := words(y.Rules(Stage{Name: "coat", Kind: Coat, Card: "A"}, Place{Name: "shed", Kind: Shed})); got != c.want {
			t.Errorf("got\n%swant\n%s", got, c.want)
		}
	}
}

func TestEnclosureAndUsual(t *testing.T) {
	y := Yard{
		Elevation: written[unit.Length](t, "100 m"),
		Season:    []Month{{Month: 4, Air: written[unit.Temperature](t, "59 F"), RainHours: written[unit.Share](t, "8 %")}},
	}
	booth := Place{Kind: Booth, Booth: &BoothAir{
		Heater: written[unit.Power](t, "300 kW"), Spraying: written[unit.Flow](t, "60000 m3/h"), Curing: written[unit.Flow](t, "6000 m3/h"),
		SetPoint: written[unit.Temperature](t, "22 C"), Dehumid: written[unit.WaterRate](t, "20 kg/h"),
	}}
	want := conditions.Enclosure{
		Roofed: true, OwnAir: true, Heater: 300, SprayFlow: 60000, CureFlow: 6000, SetPoint: 22, Dehumidifier: 20,
		Pressure: conditions.StandardPressure(100),
	}
	if got := y.Enclosure(booth); got != want {
		t.Errorf("booth: got %+v, want %+v", got, want)
	}
	for kind, roofed := range map[PlaceKind]bool{Shed: true, Tent: true, Slip: false, Standing: false} {
		if got := y.Enclosure(Place{Kind: kind}); got.Roofed != roofed || got.OwnAir {
			t.Errorf("%s: got %+v, want roofed %v and no air of its own", kind, got, roofed)
		}
	}
	if u, ok := y.Usual(4); !ok || u.Air != 15 || u.RainHours != 0.08 {
		t.Errorf("April: got %+v, %v", u, ok)
	}
	if _, ok := y.Usual(5); ok {
		t.Error("a month that was not written is usual")
	}
}

func TestPlaceFits(t *testing.T) {
	place := Place{Kind: Booth, Length: written[unit.Length](t, "20 m"), Width: written[unit.Length](t, "7 m"), Height: written[unit.Length](t, "8 m")}
	boat := func(length, beam, height string) Boat {
		b := Boat{Length: written[unit.Length](t, length), Beam: written[unit.Length](t, beam)}
		if height != "" {
			b.Height = written[unit.Length](t, height)
		}
		return b
	}
	for _, c := range []struct {
		boat Boat
		fits bool
	}{
		{boat("19 m", "6 m", "7.7 m"), true},
		{boat("19.1 m", "6 m", "7.7 m"), false},
		{boat("19 m", "6.1 m", "7.7 m"), false},
		{boat("19 m", "6 m", "7.8 m"), false},
		{boat("19 m", "6 m", ""), true},
		{boat("62 ft", "19 ft", "25 ft"), true},
	} {
		if got := place.Fits(c.boat); got != c.fits {
			t.Errorf("%s by %s by %s: got %v", c.boat.Length, c.boat.Beam, c.boat.Height, got)
		}
	}
	place.Height = unit.Written[unit.Length]{}
	if !place.Fits(boat("19 m", "6 m", "20 m")) {
		t.Error("a place open to the sky has a height")
	}
}

// TestRainWithoutALimit: under the open sky a wet coat bears little rain, whether or
// not somebody wrote how much; a tent's film may not drip on it.
func TestRainWithoutALimit(t *testing.T) {
	y := Yard{Cards: []Card{{Name: "A", Revision: 1}}}
	stage := Stage{Name: "coat", Kind: Coat, Card: "A"}
	for kind, want := range map[PlaceKind]string{
		Slip: "rain ≤ 20 %, no roof, and no limit of rain written\n", Shed: "", Tent: "cover_over_dew_point ≥ 0 K, here\n",
	} {
		p := Place{Name: "here", Kind: kind}
		if got := words(y.Rules(stage, p)); got != want {
			t.Errorf("%s, going on: got %q, want %q", kind, got, want)
		}
		if got := words(y.ProtectRules(y.Cards[0], p)); got != want {
			t.Errorf("%s, wet: got %q, want %q", kind, got, want)
		}
	}
}
