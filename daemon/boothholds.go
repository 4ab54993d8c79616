package main

import (
	"math"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
)

// boothHolds is what `booth --json` prints without readings.
type boothHolds struct {
	Place    string        `json:"place"`
	Humidity unit.Humidity `json:"outdoors_humidity"`
	Outdoors []boothRow    `json:"outdoors"`
	Modes    []boothMode   `json:"modes"`
	Air      boothChange   `json:"air_change"`
	// Measured is false for a booth without leakage and wall loss: both reckoned as none.
	Measured bool `json:"leaks_or_loses_known"`

	plant conditions.Enclosure
}

// boothRow is the booth at one air outdoors, in the order of boothModes.
type boothRow struct {
	Air      unit.Temperature `json:"air"`
	DewPoint unit.Temperature `json:"dew_point"`
	Inside   []boothInside    `json:"inside"`
}

type boothInside struct {
	Mode     conditions.Mode  `json:"mode"`
	Air      unit.Temperature `json:"air"`
	Humidity unit.Humidity    `json:"humidity"`
	DewPoint unit.Temperature `json:"dew_point"`
	Short    bool             `json:"short"` // of heat: the set point is not held
}

// boothMode is from what air outdoors a booth holds its set point.
type boothMode struct {
	Mode conditions.Mode  `json:"mode"`
	Want unit.Temperature `json:"set_point"`
	// From is null where the booth holds it in any cold.
	From *unit.Temperature `json:"holds_from"`
	// Short is what it lacks at 0 °C outdoors, or at the coldest of the table if it
	// holds there; null if it holds there too.
	Short *boothShort `json:"short"`
}

type boothShort struct {
	Outdoors unit.Temperature `json:"outdoors"`
	conditions.Shortfall
}

// boothChange is how fast a booth's air is changed while it sprays. Once is for one
// change, Hundredth until one hundredth is left by dilution; null where nobody knows.
type boothChange struct {
	Once      *unit.Duration `json:"once"`
	Hundredth *unit.Duration `json:"to_a_hundredth"`
	Posted    unit.Duration  `json:"posted_clearance"` // 0: none
}

var boothModes = []conditions.Mode{conditions.Idle, conditions.Spraying, conditions.Curing}

// The table's air outdoors, °C.
const coldestRow, warmestRow, rowStep = -10, 35, 5

// coldestEver is below any air recorded on earth, −89.2 °C (from memory): a booth
// that holds its set point there holds it anywhere.
const coldestEver = -90

func holdsOf(y config.Yard, p config.Place, humidity unit.Humidity) boothHolds {
	plant := y.Enclosure(p)
	h := boothHolds{
		Place: p.Name, Humidity: humidity, plant: plant,
		Measured: plant.Leaks > 0 || plant.Loses > 0,
		Air:      boothChange{Posted: p.Booth.Clearance},
	}
	for air := unit.Temperature(coldestRow); air <= warmestRow; air += rowStep {
		h.Outdoors = append(h.Outdoors, h.at(air))
	}
	for _, m := range boothModes {
		h.Modes = append(h.Modes, modeHolds(plant, m))
	}
	volume := float64(p.Length.SI * p.Width.SI * p.Height.SI)
	h.Air.Once, h.Air.Hundredth = clearing(plant, volume, 1/math.E), clearing(plant, volume, 0.01)
	return h
}

// outdoorsAt is the weather of a line of the table.
func (h *boothHolds) outdoorsAt(air unit.Temperature) conditions.Weather {
	return conditions.Weather{Air: air, DewPoint: conditions.DewPoint(air, h.Humidity)}
}

func (h *boothHolds) at(outdoors unit.Temperature) boothRow {
	w := h.outdoorsAt(outdoors)
	row := boothRow{Air: w.Air, DewPoint: w.DewPoint}
	for _, m := range boothModes {
		air, dew, short := h.plant.Air(w, m)
		row.Inside = append(row.Inside, boothInside{m, air, conditions.RelativeHumidity(air, dew), dew, short})
	}
	return row
}

func modeHolds(plant conditions.Enclosure, m conditions.Mode) boothMode {
	short := func(outdoors unit.Temperature) (conditions.Shortfall, bool) {
		return plant.Shortfall(conditions.Weather{Air: outdoors, DewPoint: outdoors}, m)
	}
	b := boothMode{Mode: m, Want: plant.SetPoint}
	if m == conditions.Idle {
		b.Want = b.Want.Plus(-conditions.SetBack)
	}
	if s, ok := short(coldestEver); ok {
		b.From = &s.Holds
	}
	for _, outdoors := range []unit.Temperature{0, coldestRow} {
		if s, ok := short(outdoors); ok {
			b.Short = &boothShort{outdoors, s}
			break
		}
	}
	return b
}

func clearing(plant conditions.Enclosure, volume, to float64) *unit.Duration {
	d := plant.Clears(volume, to)
	if d == math.MaxInt64 {
		return nil
	}
	shown := unit.Duration(d.Round(time.Second))
	return &shown
}
