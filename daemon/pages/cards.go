package pages

import (
	"cmp"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"fairwindow/conditions/unit"
	"fairwindow/config"
)

// cardsView is every card of the yard, as it was written.
type cardsView struct{ Cards []cardView }

type cardView struct {
	ID, Name, Material string
	Revision           int
	Illustrative       bool
	Profile            string
	Limits, Protected  []string
	Cure               cureTable
	FlashOff, WetEdge  string
	PotLife, Mix       string
	Solids, Film, Loss string
	Stands             []string
	Variants           []config.Variant
	Cautions           []string
	MixSheet           string
	Used               []link
}

// cureRow is one milestone's table: how long it takes at which temperature.
type cureRow struct {
	Milestone string
	Times     []string
}

type cureTable struct {
	Columns  []string
	Rows     []cureRow
	Bands    []bandView
	Humidity []string
}

type bandView struct{ Hull, Opens, Closes string }

func cardID(name string) string { return "card-" + url.PathEscape(name) }

func (p *pages) cards(w http.ResponseWriter, r *http.Request) error {
	yard := p.Plans.Yard()
	var v cardsView
	for _, c := range yard.Cards {
		v.Cards = append(v.Cards, cardWords(yard, c))
	}
	return p.showBook(w, r, "Cards", http.StatusOK, bookView{Cards: &v})
}

// cardWords says a card in words; figures stay in the units they were written in.
func cardWords(y config.Yard, c config.Card) cardView {
	v := cardView{
		ID: cardID(c.Name), Name: c.Name, Material: c.Material, Revision: c.Revision, Illustrative: c.Illustrative, Profile: c.Profile,
		Limits: limitTexts(c.Limits), FlashOff: intervalText(c.FlashOff), Variants: c.Variants, Cautions: c.Cautions,
		MixSheet: "/mix?" + url.Values{"card": {c.Name}}.Encode(),
	}
	if v.Profile == "" {
		v.Profile = y.Profile
	}
	if limits := limitTexts(c.Protected); len(limits) > 0 {
		v.Protected = append(v.Protected, "until "+milestoneWords(c.ProtectUntil)+": "+strings.Join(limits, ", "))
	}
	for _, one := range c.Protection {
		v.Protected = append(v.Protected, "until "+milestoneWords(one.Until)+": "+strings.Join(limitTexts(one.Limits), ", "))
	}
	v.Cure = cureWords(c)
	if c.WetEdge > 0 {
		v.WetEdge = c.WetEdge.String()
	}
	if c.PotLife.Lasts > 0 {
		v.PotLife = c.PotLife.Lasts.String() + " at " + printed(c.PotLife.At.String())
	}
	for _, one := range c.Induct {
		v.Stands = append(v.Stands, one.Stands.String()+" from "+printed(one.From.String())+" to "+printed(one.To.String()))
	}
	v.Mix = strconv.FormatFloat(c.Mix.Base, 'f', -1, 64) + " base to " + strconv.FormatFloat(c.Mix.Hardener, 'f', -1, 64) + " hardener by volume"
	if !c.Mix.Reducer.IsZero() {
		v.Mix += ", reducer " + c.Mix.Reducer.String() + " of the two"
	}
	v.Solids, v.Film, v.Loss = writtenOr(c.Spread.Solids.String()), writtenOr(c.Spread.Dry.String()), writtenOr(c.Spread.Loss.String())
	for _, s := range y.Systems {
		for _, st := range s.Stages {
			if st.Card == c.Name {
				v.Used = append(v.Used, link{s.Name + ": " + st.Name, systemLink(s.Name)})
			}
		}
	}
	return v
}

func limitTexts(l config.Limits) []string {
	var all []string
	for _, s := range limitSlots(&l) {
		if text := s.text(); text != "" {
			all = append(all, s.label+" "+limitFigure(s.path, text))
		}
	}
	return all
}

// limitFigure is a limit as it was written; a difference of temperatures is in kelvins.
func limitFigure(limit, text string) string {
	switch limit {
	case "margin", "above_air", "below_air", "paint_below":
		if figure, is := strings.CutSuffix(text, " C"); is {
			return figure + " K"
		}
	}
	return printed(text)
}

// writtenOr leaves out what nobody wrote.
func writtenOr(text string) string {
	if strings.HasSuffix(text, " ") {
		return "not given"
	}
	return signs(text)
}

// cureWords are the tables of a cure as one: a row for each milestone, a column for each
// temperature that any of them is written for.
func cureWords(c config.Card) cureTable {
	var t cureTable
	var columns []unit.Written[unit.Temperature]
	for _, m := range config.Milestones() {
		for _, point := range c.Cure.Of(m) {
			if !slices.ContainsFunc(columns, func(w unit.Written[unit.Temperature]) bool { return w.String() == point.At.String() }) {
				columns = append(columns, point.At)
			}
		}
	}
	slices.SortFunc(columns, func(a, b unit.Written[unit.Temperature]) int { return cmp.Compare(a.SI, b.SI) })
	for _, at := range columns {
		t.Columns = append(t.Columns, printed(at.String()))
	}
	for _, m := range config.Milestones() {
		points := c.Cure.Of(m)
		if len(points) == 0 {
			continue
		}
		row := cureRow{Milestone: milestoneWords(m)}
		for _, at := range columns {
			cell := "–"
			for _, point := range points {
				if point.At.String() == at.String() {
					cell = point.Takes.String()
				}
			}
			row.Times = append(row.Times, cell)
		}
		t.Rows = append(t.Rows, row)
	}
	for _, b := range c.Cure.Bands {
		t.Bands = append(t.Bands, bandView{printed(b.From.String()) + " to " + printed(b.To.String()), b.Opens.String(), b.Closes.String()})
	}
	for _, h := range c.Cure.Humidity {
		t.Humidity = append(t.Humidity, "at "+h.At.String()+" "+number(h.Factor, 2)+" times as fast")
	}
	return t
}
