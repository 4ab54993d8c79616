package record

import (
	"math"
	"strconv"
	"strings"

	"fairwindow/conditions"
	"fairwindow/sensors"
)

// take puts a cell's number into the row, in the variable's own unit. A blank
// or NA is nothing; what is no number is a fault.
func (r *Row) take(of conditions.Variable, cell string, own func(float64) float64) {
	cell = strings.TrimSpace(cell)
	if cell == "" || cell == "NA" {
		return
	}
	v, err := strconv.ParseFloat(cell, 64)
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
		r.fault(of, sensors.NotANumber, strconv.Quote(cell))
		return
	}
	r.Said[of] = own(v)
}

// below is take for a form in which a number, or any above it, stands for missing.
func (r *Row) below(of conditions.Variable, cell string, missing float64, own func(float64) float64) {
	if v, err := strconv.ParseFloat(strings.TrimSpace(cell), 64); err == nil && v >= missing {
		return
	}
	r.take(of, cell, own)
}
