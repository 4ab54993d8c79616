package pages

import (
	"fmt"
	"net/http"
	"slices"
	"strings"
	"time"

	"fairwindow/conditions/unit"
	"fairwindow/config"
)

// mixPage asks for a card, an area and a temperature, and shows what to mix.
type mixPage struct {
	Cards  []string
	Card   string
	Area   string
	Temp   string
	Hint   string // an example of a temperature, and
	Sized  string // of an area, in the reader's units
	Faults mixFaults
	Sheet  *sheetView
}

type mixFaults struct{ Card, Area, Temp, Sheet string }

// sheetView is a mix sheet in words.
type sheetView struct {
	For          string
	Basis        string // what the temperature rests on
	Illustrative bool
	Variant      string
	Hardener     string
	Reducer      string
	Method       string
	Parts        []partView
	Total        string
	Wet, Dry     string
	Covers       string
	PotLife      string
	Stands       string
	Kits         string // whole ones, where the card says so; Parts and Total are theirs then
	Needs        string // what the pass takes of them
	Left         string // over, of the last kit
	Weighed      bool
	Pots         []potView
	PotsFault    string
	Cautions     []string
}

type partView struct{ Name, Volume, Weight string }

type potView struct {
	Mix, Until, Parts string
	Weighs            string // the parts; empty where one is not known
	Kits              int
}

func (p *pages) mix(w http.ResponseWriter, r *http.Request) error {
	yard, q := p.Plans.Yard(), r.URL.Query()
	u := p.units(r)
	v := mixPage{Card: strings.TrimSpace(q.Get("card")), Area: strings.TrimSpace(q.Get("area")), Temp: strings.TrimSpace(q.Get("temp")), Hint: u.example(), Sized: "42 m2"}
	if u.area == "ft²" {
		v.Sized = "450 ft2"
	}
	for _, c := range yard.Cards {
		v.Cards = append(v.Cards, c.Name)
	}
	status := http.StatusOK
	if v.Card != "" || v.Area != "" || v.Temp != "" {
		v.fill(yard, u)
		if v.Sheet == nil {
			status = http.StatusUnprocessableEntity
		}
	}
	return show(p, w, r, screen[mixPage]{"mix", "Mix sheet", status, v})
}

// fill reads what was asked; each mistake is noted beside its field.
func (v *mixPage) fill(yard config.Yard, u units) {
	card, ok := yard.Card(v.Card)
	if !ok {
		v.Faults.Card = "Choose one of the yard's cards."
	}
	area, err := unit.Parse[unit.Area](strings.Replace(v.Area, ",", ".", 1))
	if err != nil {
		v.Faults.Area = capital(err.Error()) + "."
	}
	temp, err := unit.Parse[unit.Temperature](strings.Replace(v.Temp, ",", ".", 1))
	if err != nil {
		v.Faults.Temp = capital(err.Error()) + "."
	}
	if v.Faults != (mixFaults{}) {
		return
	}
	sheet, err := card.Sheet(area.SI, temp.SI)
	if err != nil {
		v.Faults.Sheet = capital(err.Error()) + "."
		return
	}
	s := sheetOf(card, sheet, u)
	s.Basis = "for a surface of " + printed(temp.String()) + ", as typed"
	v.Sheet = &s
}

// sheetOf words a sheet in people's units.
func sheetOf(card config.Card, s config.Sheet, u units) sheetView {
	v := sheetView{
		For:          fmt.Sprintf("card %s rev %d, one pass over %s", s.Card, s.Revision, text(unit.In(s.Area, u.area), 1, u.area)),
		Illustrative: s.Illustrative, Variant: s.Variant, Hardener: s.Hardener, Reducer: s.Reducer, Method: s.Method,
		Dry: text(unit.In(s.Dry, u.film), filmDecimals(u), u.film), Wet: text(unit.In(s.Wet, u.film), filmDecimals(u), u.film),
		Covers: u.coversText(s.Covers) + " without reducer, before a loss of " + percent(float64(s.Loss)), Cautions: s.Cautions,
		PotLife: "the card gives none", Stands: "use at once",
	}
	v.measureOut(card, s.Litres, u)
	v.Weighed = card.Mix.Density != (config.Density{})
	if card.Mix.Kit != (config.Kit{}) {
		v.inKits(card, s, 0, u)
	}
	if s.PotLife > 0 {
		v.PotLife = length(s.PotLife)
	}
	if s.Stands > 0 {
		v.Stands = "stand " + length(s.Stands) + " after mixing"
	}
	return v
}

// measureOut is what goes into the pots, by volume and by weight.
func (v *sheetView) measureOut(card config.Card, parts config.Parts, u units) {
	base, hardener, reducer := card.Mix.Density.Weighs(parts)
	v.Parts = []partView{
		{"base", u.volumeText(parts.Base), u.weightText(base)}, {"hardener", u.volumeText(parts.Hardener), u.weightText(hardener)},
		{"reducer", u.volumeText(parts.Reducer), u.weightText(reducer)},
	}
	v.Total = u.volumeText(parts.Base + parts.Hardener + parts.Reducer)
}

// inKits tells the whole kits that a pass of that length asks for, with the
// reducer that goes into them, and what is left of them.
func (v *sheetView) inKits(card config.Card, s config.Sheet, takes time.Duration, u units) []config.Pot {
	pots, left, err := card.KitPots(s, takes)
	if err != nil {
		v.PotsFault = capital(err.Error()) + "."
		return nil
	}
	kits, all := 0, config.Parts{}
	for _, pot := range pots {
		kits += pot.Kits
		all.Base, all.Hardener, all.Reducer = all.Base+pot.Litres.Base, all.Hardener+pot.Litres.Hardener, all.Reducer+pot.Litres.Reducer
	}
	v.measureOut(card, all, u)
	v.Needs = u.volumeText(s.Litres.Base + s.Litres.Hardener + s.Litres.Reducer)
	holds := card.Mix.Kit.Base.String() // as its tins are marked
	if !card.Mix.Kit.Hardener.IsZero() {
		holds += " + " + card.Mix.Kit.Hardener.String()
	}
	v.Kits = kitsText(kits) + " of " + holds
	v.Left = u.volumeText(left.Base+left.Hardener+left.Reducer) + " of the mix"
	return pots
}

// kitsText counts kits: the card says that only whole ones are mixed.
func kitsText(n int) string {
	if n == 1 {
		return "1 whole kit"
	}
	return fmt.Sprintf("%d whole kits", n)
}

// pots adds the pots that a pass of that length asks for.
func (v *sheetView) pots(card config.Card, s config.Sheet, takes time.Duration, u units) {
	pots, err := s.Pots(takes)
	if card.Mix.Kit != (config.Kit{}) {
		pots, err = v.inKits(card, s, takes, u), nil
	}
	if err != nil {
		v.PotsFault = capital(err.Error()) + "."
		return
	}
	if len(pots) < 2 {
		return
	}
	for _, pot := range pots {
		mixed := "at the first drop"
		switch {
		case pot.Mix < 0:
			mixed = length(-pot.Mix) + " before the first drop"
		case pot.Mix > 0:
			mixed = length(pot.Mix) + " after the first drop"
		}
		base, hardener, reducer := card.Mix.Density.Weighs(pot.Litres)
		weighs := []string{u.weightText(base), u.weightText(hardener), u.weightText(reducer)}
		if slices.Contains(weighs, "") {
			weighs = nil // a sum that lacks a part would be taken for the whole
		}
		v.Pots = append(v.Pots, potView{
			Weighs: strings.Join(weighs, " + "),
			Mix:    mixed, Until: length(pot.Until) + " after the first drop",
			Kits: pot.Kits, Parts: u.volumeText(pot.Litres.Base) + " + " + u.volumeText(pot.Litres.Hardener) + " + " + u.volumeText(pot.Litres.Reducer),
		})
	}
}

// volumeText gives volumes to the hundredth: a small pot is measured in a graduated cup.
func (u units) volumeText(v unit.Volume) string { return text(unit.In(v, u.volume), 2, u.volume) }

// coversText gives a spread of so many m²/L; painters who measure in feet reckon by the gallon.
func (u units) coversText(covers float64) string {
	if u.area == "ft²" {
		return number(covers*unit.In(unit.Area(1), "ft²")/unit.In(unit.Volume(1), "gal"), 0) + " ft²/gal"
	}
	return number(covers, 1) + " m²/L"
}

// weightText gives weights to the hundredth of a kilogram; nothing where none is known.
func (u units) weightText(m unit.Mass) string {
	if !unit.Known(m) {
		return ""
	}
	return text(unit.In(m, u.weight), 2, u.weight)
}

func filmDecimals(u units) int {
	if u.film == "mil" {
		return 1
	}
	return 0
}
