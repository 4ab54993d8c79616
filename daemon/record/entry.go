package record

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"fairwindow/conditions/unit"
	"fairwindow/planner"
)

// Entry is what a person adds to a coat that no press says. It is never changed: a
// wrong one is struck through, and another entered.
type Entry struct {
	ID      int64       `json:"id,omitempty"` // given by the store
	Key     planner.Key `json:"key"`
	Pass    int         `json:"pass,omitempty"` // 0: of the whole coat
	At      time.Time   `json:"at"`
	Entered time.Time   `json:"entered"`
	By      string      `json:"by"`
	Once    string      `json:"once,omitempty"` // entered twice, it counts once

	Variant  string `json:"variant,omitempty"` // of the card
	Base     Pot    `json:"base,omitzero"`
	Hardener Pot    `json:"hardener,omitzero"`
	Reducer  Pot    `json:"reducer,omitzero"`
	Gun      string `json:"gun,omitempty"` // gun, tip and pressure, in the painter's words

	Wet        []float64   `json:"wet_um,omitempty"`
	Dry        [][]float64 `json:"dry_um,omitempty"` // by spot, the readings taken at it
	Instrument string      `json:"instrument,omitempty"`
	Due        string      `json:"calibration_due,omitempty"` // 2027-04-01
	Note       string      `json:"note,omitempty"`

	// Strikes is the ID of the entry that this one strikes through, for the reason in Note.
	Strikes int64   `json:"strikes,omitempty"`
	Struck  *Strike `json:"struck,omitempty"` // as the record shows it
}

// Pot is what of one part of the paint went in.
type Pot struct {
	Batch  string  `json:"batch,omitempty"`
	Litres float64 `json:"litres,omitempty"`
}

// Mixed words what went in, part by part; amount words litres as its reader has them.
func (e Entry) Mixed(amount func(litres float64) string) []string {
	var all []string
	for _, p := range []struct {
		name string
		Pot
	}{{"base", e.Base}, {"hardener", e.Hardener}, {"reducer", e.Reducer}} {
		if p.Pot == (Pot{}) {
			continue
		}
		words := p.name
		if p.Batch != "" {
			words += " batch " + p.Batch
		}
		if p.Litres > 0 {
			words += ", " + amount(p.Litres)
		}
		all = append(all, words)
	}
	return all
}

// Calibration words until when the instrument could be believed. A reading taken after that
// day stays, and says so.
func (e Entry) Calibration() string {
	if e.Due == "" {
		return "calibration not given"
	}
	if e.At.UTC().Format(time.DateOnly) > e.Due {
		return "calibration ran out " + e.Due + ", before this was measured"
	}
	return "calibration due " + e.Due
}

// The limits of what can be a film and what can be an amount. They catch a slip of the
// unit, no thick coat: common practice, no source.
const (
	thinnest = 1.0     // µm
	thickest = 5_000.0 // µm
	most     = 500.0   // L of one part of one coat
)

// Reading is one film reading as typed, in µm; a bare number is in the unit given.
func Reading(typed, bare string) (float64, error) {
	text := strings.TrimSpace(typed)
	if strings.TrimLeft(text, "0123456789.,") == "" {
		text += " " + bare
	}
	w, err := unit.Parse[unit.Film](strings.Replace(text, ",", ".", 1))
	if err != nil {
		return 0, err
	}
	um := float64(w.SI)
	switch {
	case um > thickest && w.Unit == "mm":
		return 0, fmt.Errorf("%s is %.0f µm, which no film is: was it %g um?", strings.TrimSpace(typed), um, w.Value)
	case um > thickest:
		return 0, fmt.Errorf("%s is more than any film: write it as 120 um or 4.7 mil", strings.TrimSpace(typed))
	case um < thinnest:
		return 0, fmt.Errorf("%s is less than any film: write it as 120 um or 4.7 mil", strings.TrimSpace(typed))
	}
	return um, nil
}

// Amount is an amount of paint as typed, in litres; a bare number is in the unit given.
func Amount(typed, bare string) (float64, error) {
	text := strings.TrimSpace(typed)
	if strings.TrimLeft(text, "0123456789.,") == "" {
		text += " " + bare
	}
	w, err := unit.Parse[unit.Volume](strings.Replace(text, ",", ".", 1))
	if err != nil {
		return 0, err
	}
	if litres := float64(w.SI); litres <= 0 || litres > most {
		return 0, fmt.Errorf("%s is no amount of one coat: write what of it went in, as 2.4 L or 2.5 qt", strings.TrimSpace(typed))
	}
	return float64(w.SI), nil
}

// Spots are the readings of a row as typed: spots apart by ; or new lines, the readings
// at one spot by spaces, each with or without its unit.
func Spots(typed, bare string) ([][]float64, error) {
	var spots [][]float64
	for _, part := range strings.FieldsFunc(typed, func(r rune) bool { return r == ';' || r == '\n' }) {
		var spot []float64
		words := strings.Fields(part)
		for i := 0; i < len(words); i++ {
			word := words[i]
			if i+1 < len(words) && strings.Trim(words[i+1], "0123456789.,") == words[i+1] {
				word, i = word+" "+words[i+1], i+1 // a number and its unit with a space between
			}
			um, err := Reading(word, bare)
			if err != nil {
				return nil, err
			}
			spot = append(spot, round(um, 2))
		}
		if len(spot) > 0 {
			spots = append(spots, spot)
		}
	}
	return spots, nil
}

// Check says what an entry lacks, in words for who entered it.
func (e Entry) Check() error {
	films := slices.Concat(append(slices.Clone(e.Dry), e.Wet)...)
	switch {
	case e.By == "":
		return errors.New("nobody's name is on it: say who enters this")
	case e.Key.Boat == "" || e.Key.Area == "" || e.Key.Stage == "":
		return errors.New("it does not say of which coat it is")
	case e.Strikes != 0 && e.Note == "":
		return errors.New("say why it is struck through: the record keeps the reason")
	case e.Strikes != 0:
		return nil
	case len(films) > 0 && e.Instrument == "":
		return errors.New("say with which instrument the film was measured: a reading without one is no evidence")
	case e.empty():
		return errors.New("nothing was filled in, so there is nothing to keep")
	}
	for _, um := range films {
		if !(um >= thinnest && um <= thickest) {
			return fmt.Errorf("%g µm is no film's thickness", um)
		}
	}
	for _, p := range []Pot{e.Base, e.Hardener, e.Reducer} {
		if !(p.Litres >= 0 && p.Litres <= most) {
			return fmt.Errorf("%g L is no amount of one coat", p.Litres)
		}
	}
	if e.Due != "" {
		if _, err := time.Parse(time.DateOnly, e.Due); err != nil {
			return fmt.Errorf("%q is no day: write when the calibration runs out as 2027-04-01", e.Due)
		}
	}
	return nil
}

func (e Entry) empty() bool {
	return e.Variant == "" && e.Base == Pot{} && e.Hardener == Pot{} && e.Reducer == Pot{} && e.Gun == "" &&
		len(e.Wet) == 0 && len(e.Dry) == 0 && e.Note == ""
}

// Film is what several readings of a film say together.
type Film struct {
	Readings int     `json:"readings"`
	Spots    int     `json:"spots,omitempty"` // a spot is the mean of the readings taken at it
	Least    float64 `json:"least_um"`
	Mean     float64 `json:"mean_um"`
	Greatest float64 `json:"greatest_um"`
}

// film is nil without readings. Least and greatest are those of spots: one spot is the
// mean of three readings near each other in SSPC-PA 2 (from memory); here it is the mean
// of however many were taken. Nothing is accepted or rejected by it.
func film(spots [][]float64, alone bool) *Film {
	var f Film
	var sum float64
	for _, spot := range spots {
		if len(spot) == 0 {
			continue
		}
		var of float64
		for _, um := range spot {
			of += um
		}
		of /= float64(len(spot))
		if f.Spots == 0 || of < f.Least {
			f.Least = of
		}
		f.Greatest = max(f.Greatest, of)
		f.Readings, f.Spots, sum = f.Readings+len(spot), f.Spots+1, sum+of
	}
	if f.Spots == 0 {
		return nil
	}
	f.Mean = round(sum/float64(f.Spots), 1)
	f.Least, f.Greatest = round(f.Least, 1), round(f.Greatest, 1)
	if alone {
		f.Spots = 0
	}
	return &f
}
