// Package record answers one question: what went on this boat? From what was
// pressed, entered and measured it makes the record of each coat, as data: who,
// with what, in which air, by which limits, and what nobody measured. What was
// struck through stays in it, struck.
//
// A Record is plain data with a canonical JSON form: times in UTC, temperatures in
// °C, film in µm, differences in K, null for what was not measured. The same facts
// give the same bytes, and Digest is their SHA-256.
package record

import (
	"time"

	"fairwindow/conditions"
	"fairwindow/planner"
)

// Form is the number of the JSON form; it grows when the form changes.
const Form = 1

// Record is one boat's.
type Record struct {
	Form  int      `json:"form"`
	Yard  string   `json:"yard"`
	Zone  string   `json:"zone"` // IANA, of people's times
	Boat  Boat     `json:"boat"`
	Coats []Coat   `json:"coats"`
	Work  []Report `json:"work"` // all that was reported, in the order it happened
	// Instruments are those that measured any of it.
	Instruments []Instrument `json:"instruments"`
	// Signatures are no part of what they sign: Digest leaves them out.
	Signatures []Signature `json:"signatures,omitempty"`
}

// Boat is what the record is of.
type Boat struct {
	Name     string    `json:"name"`
	Length   string    `json:"length"`
	Beam     string    `json:"beam"`
	Areas    []Area    `json:"areas"`
	Arrived  time.Time `json:"arrived,omitzero"`
	Launched time.Time `json:"launched,omitzero"`
}

// Area is a part of the boat, and the system that it gets.
type Area struct {
	Name   string `json:"name"`
	System string `json:"system"`
	Size   string `json:"size"`
}

// Report is what a person reported, with what became of it.
type Report struct {
	ID       int64             `json:"id"`
	Kind     planner.PressKind `json:"kind"`
	Area     string            `json:"area,omitempty"`
	Stage    string            `json:"stage,omitempty"`
	Of       string            `json:"of,omitempty"` // the stage's kind: coat, sand, inspect
	Pass     int               `json:"pass,omitempty"`
	Place    string            `json:"place,omitempty"` // where the boat stood
	Happened time.Time         `json:"happened"`
	Entered  time.Time         `json:"entered"`
	Late     bool              `json:"late,omitempty"` // entered well after the fact
	Until    time.Time         `json:"until,omitzero"` // of a pin
	By       string            `json:"by"`
	For      string            `json:"for,omitempty"`   // whose work it is, where somebody else pressed for him
	Crews    []string          `json:"crews,omitempty"` // his, by the yard file
	Note     string            `json:"note,omitempty"`
	Struck   *Strike           `json:"struck,omitempty"`
}

// Who words who reported it, and for whom.
func (r Report) Who() string { return hand(r.By, r.For) }

// Who words who answered, and for whom.
func (c Check) Who() string { return hand(c.By, c.For) }

// Said is the answer with what was not as it should be.
func (c Check) Said() string {
	if c.Note == "" {
		return c.Answer
	}
	return c.Answer + ": " + c.Note
}

func hand(by, whose string) string {
	if whose == "" {
		return by
	}
	return by + " for " + whose
}

// Strike is who struck something through, when and why.
type Strike struct {
	By  string    `json:"by"`
	At  time.Time `json:"at"`
	Why string    `json:"why"`
}

// Coat is one coat on one area, or one attempt at it: a coat that was rejected has its
// own record, and the one that came after it another.
type Coat struct {
	Area     string `json:"area"`
	Stage    string `json:"stage"`
	Card     string `json:"card"`
	Revision int    `json:"revision"`
	Material string `json:"material,omitempty"`
	// Illustrative is a card that was made up, and holds no maker's figures.
	Illustrative bool `json:"illustrative,omitempty"`
	// Later tells that card and limits are the yard file's of today: those in force when
	// it was reported were not kept.
	Later bool     `json:"terms_of_today,omitempty"`
	Place string   `json:"place,omitempty"`
	By    string   `json:"by,omitempty"`
	Crews []string `json:"crews,omitempty"`

	Started  time.Time `json:"started,omitzero"`
	Ended    time.Time `json:"ended,omitzero"`
	Done     bool      `json:"done"`
	Rejected string    `json:"rejected,omitempty"` // why it did not stay
	Passes   []Pass    `json:"passes"`
	Events   []Report  `json:"events"` // of this coat, struck ones among them

	Limits []Limit  `json:"limits"`
	Air    []Sample `json:"air"`
	Gaps   []Gap    `json:"not_measured"`

	Entries  []Entry   `json:"entries"`
	Wet      *Film     `json:"wet_film,omitempty"`
	Dry      *Film     `json:"dry_film,omitempty"`
	DryCard  float64   `json:"dry_film_of_the_card_um,omitempty"`
	Recoat   *Recoat   `json:"recoat,omitempty"` // over the coat before
	Sandings []Sanding `json:"sanded_before,omitempty"`
	Checks   []Check   `json:"checks,omitempty"`
}

// Key names the coat's stage.
func (c Coat) Key(boat string) planner.Key {
	return planner.Key{Boat: boat, Area: c.Area, Stage: c.Stage}
}

// Pass is one pass of a coat.
type Pass struct {
	Number  int       `json:"number"`
	From    time.Time `json:"from"`
	To      time.Time `json:"to"`
	Entered time.Time `json:"entered,omitzero"`
	Late    bool      `json:"late,omitempty"`
	By      string    `json:"by,omitempty"`
	// Flash is the time from the end of the pass before to the end of this one, in
	// minutes: the flash-off is what of it nobody sprayed, so it is at most this.
	Flash float64 `json:"minutes_since_the_pass_before,omitempty"`
	// Least and Greatest are the card's flash-off, min; no greatest is 0.
	Least    float64 `json:"flash_off_least_min,omitempty"`
	Greatest float64 `json:"flash_off_greatest_min,omitempty"`
	Short    bool    `json:"flash_off_too_short,omitempty"` // shorter than the card's least, certainly
}

// Limit is a bound that was in force, and the worst that was measured against it.
type Limit struct {
	conditions.Bound
	Worst  *float64  `json:"worst"`  // in the bound's own SI unit; null: never measured
	Margin *float64  `json:"margin"` // inside (+) or outside (−)
	When   time.Time `json:"when,omitzero"`
	Missed int       `json:"not_measured"` // of how many samples it could not be judged
	Of     int       `json:"samples"`
}

// Kept says whether it held: yes, no, or unknown where it was not measured throughout.
func (l Limit) Kept() conditions.Answer {
	switch {
	case l.Margin != nil && *l.Margin < -1e-9:
		return conditions.No
	case l.Margin == nil || l.Missed > 0:
		return conditions.Undecided
	}
	return conditions.Yes
}

// Sample is what was measured at one time: at the start, every half hour, at the end.
// Nothing in it is modelled; what nobody measured is null.
type Sample struct {
	At       time.Time `json:"at"`
	Air      *float64  `json:"air_C"`
	Humidity *float64  `json:"humidity_pct"`
	DewPoint *float64  `json:"dew_point_C"`
	Coldest  *float64  `json:"hull_coldest_C"`
	Warmest  *float64  `json:"hull_warmest_C"`
	Margin   *float64  `json:"margin_K"`
	By       []string  `json:"by"`
}

// Measured reports whether it has anything at all.
func (s Sample) Measured() bool { return s.Air != nil || s.Coldest != nil }

// Gap is a span in which air, dew point or hull were not measured.
type Gap struct {
	From  time.Time `json:"from"`
	To    time.Time `json:"to"`
	Lacks string    `json:"lacks"` // air, hull, or air and hull
}

// Recoat is the wait between the coat before and this one, by its cure clock.
type Recoat struct {
	Over  string    `json:"over"`            // the coat before
	Since time.Time `json:"since,omitzero"`  // when its last pass ended
	Hours float64   `json:"hours,omitempty"` // between
	// Slow is how far the slowest side had come to may be recoated, Fast how far the
	// fastest to the last recoat; 1 is reached. Null where the card gives none.
	Slow *float64 `json:"towards_recoat"`
	Fast *float64 `json:"towards_last_recoat"`
	// Uncounted is how many hours were not measured or beyond the card's figures.
	Uncounted float64    `json:"uncounted_hours,omitempty"`
	Kept      RecoatKept `json:"kept"`
}

// RecoatKept says whether a coat went on within the recoat window of the one before.
type RecoatKept string

// How a recoat window was kept.
const (
	Within   RecoatKept = "within"
	TooEarly RecoatKept = "too early"
	TooLate  RecoatKept = "too late"
	Sanded   RecoatKept = "sanded between"
	NotKnown RecoatKept = "not known"
)

// Sanding is what was sanded since the coat before.
type Sanding struct {
	Stage string    `json:"stage"`
	Grit  int       `json:"grit,omitempty"`
	Ended time.Time `json:"ended,omitzero"`
	By    string    `json:"by,omitempty"`
}

// Instrument is what measured.
type Instrument struct {
	Name string `json:"name"`
	Due  string `json:"calibration_due,omitempty"` // the day it runs out; empty: not given
}

// Check is one answer that was given before a coat was begun.
type Check struct {
	At     time.Time `json:"at"`
	By     string    `json:"by"`
	For    string    `json:"for,omitempty"` // whose work it is, where somebody else answered for him
	Ask    string    `json:"ask"`
	Answer string    `json:"answer"`
	Note   string    `json:"note,omitempty"`
	Struck *Strike   `json:"struck,omitempty"` // of the report that it came with
}
