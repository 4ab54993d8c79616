package conditions

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"fairwindow/conditions/unit"
)

// Seen is what was read of a booth at one time. Best are means over an hour in
// which mode, heater and weather stood still, for the model is a steady one.
type Seen struct {
	At       time.Time
	Mode     Mode
	Outdoors Weather
	Air      unit.Temperature // inside, as its sensor read it; NaN unknown
	DewPoint unit.Temperature // inside, the same
	Heats    unit.Power       // what the heater gave; NaN unknown
}

// Estimate is a fitted value and its standard error.
type Estimate struct {
	Value float64 `json:"value"`
	Error float64 `json:"error"`
}

// Fitted is what the readings tell of a booth. Nothing is known of booths at
// large to compare it with: no figure of leakage is published.
type Fitted struct {
	Leaks  Estimate `json:"leaks"`         // m³/h; a little below 0 is 0 within its error
	Loses  Estimate `json:"loses"`         // W/K; the same
	Offset Estimate `json:"offset"`        // K that the air's sensor reads over the air
	Left   float64  `json:"left"`          // of air and dew points, unexplained, root mean square, K
	Used   int      `json:"used"`          // readings
	Why    string   `json:"why,omitempty"` // the others were not; empty if none
}

// Figures of the fit: our judgement, no source.
const (
	settles = 30 * time.Minute // after a change of mode
	// The air is this far below its set point only with the heater flat out, and
	// this far above it only with the heater off.
	plainly unit.TempDiff = 2
	// A fit that leaves more than this is of another booth, or of no steady one, K.
	mostLeft = 2.0
	// leastRows leaves nine of the twelve to judge the three unknowns by.
	leastRows = 12
)

const notThisBooth = "a flow, the heater's power or the dehumidifier's rate is not the booth's, or one of them was off"

// row is one thing read and what it must be set against.
type row struct {
	*Seen
	dew   bool       // the dew point, else the air
	power unit.Power // the heater's then
}

// Fit finds leakage, wall loss and the offset of the air's sensor from readings,
// as those with which Air comes nearest to all of them at once: weighted least
// squares over every air and dew point inside that tells something.
//
// The air tells where the heater's power is known: as given, or flat out where a
// booth in use is 2 K below its set point, or off 2 K above. With the heater off
// it is outdoors' and tells the offset. The dew point tells while curing, with
// the dehumidifier at work (leave out hours in which it was not), how much air
// comes in. All else about the booth is believed: a fan's flow rated 10 % too
// high makes the loss too low by a tenth of what that flow carries.
//
// The errors are those of the covariance with what is left unexplained, wider
// where that lasts from reading to reading. They hold if it is chance, not a wrong
// name plate. Readings that cannot tell are refused with what would.
func (e Enclosure) Fit(seen []Seen) (Fitted, error) {
	if !e.OwnAir {
		return Fitted{}, fmt.Errorf("only a booth is fitted: a place without air of its own has no leakage to find, for its air is outdoors'")
	}
	rows, used, why := e.rows(seen)
	if len(rows) < leastRows {
		if why != "" {
			why = "; " + why
		}
		return Fitted{}, fmt.Errorf("%d air and dew points tell of leakage and wall loss, %d are needed: steady hours with the heater's power known, with it off, and curing ones with the dehumidifier at work%s", len(rows), leastRows, why)
	}
	s := newSquares(e, rows)
	if err := s.solve(); err != nil {
		return Fitted{}, err
	}
	f := Fitted{Leaks: s.estimate(leakage), Loses: s.estimate(loss), Offset: s.estimate(reads), Left: s.left(), Used: used, Why: why}
	if f.Left > mostLeft {
		return Fitted{}, fmt.Errorf("the readings are not of such a booth: %.2g K of air and dew points are left unexplained, up to %v K is allowed: %s", f.Left, mostLeft, notThisBooth)
	}
	for _, below := range []struct {
		name, unit string
		Estimate
	}{{"a leakage", "m³/h", f.Leaks}, {"a wall loss", "W/K", f.Loses}} {
		if below.Value < -1-3*below.Error {
			return Fitted{}, fmt.Errorf("the readings need %s below nothing, %.4g ± %.2g %s: %s", below.name, below.Value, below.Error, below.unit, notThisBooth)
		}
	}
	return f, nil
}

// rows are the things read that tell something, the number of readings they are
// from, and why the others are not among them.
func (e Enclosure) rows(seen []Seen) (rows []row, used int, why string) {
	seen = slices.Clone(seen)
	slices.SortStableFunc(seen, func(a, b Seen) int { return a.At.Compare(b.At) })
	var unsteady, unknown, silent int
	var since time.Time
	for i := range seen {
		s := &seen[i]
		if i == 0 || s.Mode != seen[i-1].Mode {
			since = s.At
		}
		w, before := s.Outdoors, len(rows)
		switch {
		case s.At.Sub(since) < settles:
			unsteady++
			continue
		case !unit.Known(w.Air) || w.Sure != Measured && w.Sure != Foretold:
			unknown++
			continue
		}
		if power, ok := e.heating(s); ok && unit.Known(s.Air) {
			rows = append(rows, row{s, false, power})
		}
		if s.Mode == Curing && e.Dehumidifier > 0 && !(e.DownTo > 0) && w.DewPoint > driest && unit.Known(s.DewPoint) {
			rows = append(rows, row{s, true, 0})
		}
		if len(rows) == before {
			silent++
			continue
		}
		used++
	}
	var parts []string
	for _, left := range []struct {
		n    int
		text string
	}{
		{unsteady, fmt.Sprintf("within %v of a change of mode", unit.Duration(settles))},
		{unknown, "without air outdoors"},
		{silent, "without the heater's power or a dehumidifier at work"},
	} {
		if left.n > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", left.n, left.text))
		}
	}
	if len(parts) > 0 {
		why = fmt.Sprintf("of %d readings these were not used: %s", len(seen), strings.Join(parts, ", "))
	}
	return rows, used, why
}

// heating is the heater's power when a reading was taken; false if it cannot be
// told. An idle booth below its set point may just as well be switched off.
func (e Enclosure) heating(s *Seen) (unit.Power, bool) {
	over := s.Air.Over(e.wants(s.Mode))
	switch {
	case unit.Known(s.Heats):
		return s.Heats, s.Heats >= 0
	case over > plainly:
		return 0, true
	case over < -plainly && s.Mode != Idle && e.Heater > 0:
		return e.Heater, true
	}
	return 0, false
}

// misses is by how far a row was missed with the unknowns x, K, and how fast what
// is expected of it grows with each of them.
func (r row) misses(e Enclosure, x [unknowns]float64) (by float64, per [unknowns]float64) {
	e.Leaks, e.Loses = x[leakage], x[loss]
	weighs := standardDensity * float64(e.pressure()/seaLevel) // a m³ that a fan moves, kg
	if r.dew {
		dew := e.dried(r.Outdoors.DewPoint, r.Mode)
		if dew > driest+1e-6 {
			w, mass := ratio(saturation(dew), e.pressure()), e.inflow(r.Mode)
			_, slope := lnSaturation(dew)
			perRatio := (1/w - 1/(molarRatio+w)) / slope
			per[leakage] = perRatio * float64(e.Dehumidifier) / (mass * mass) * weighs
		}
		return float64(r.DewPoint.Over(dew)), per
	}
	rise, away := float64(e.rise(r.Mode, r.power)), e.carries(r.Mode)
	if rise != 0 {
		if r.Mode != Spraying {
			per[leakage] = -rise / away * weighs * heatCapacity
		}
		per[loss] = -rise / away * 3.6
	}
	per[reads] = 1
	return float64(r.Air.Over(r.Outdoors.Air)) - rise - x[reads], per
}
