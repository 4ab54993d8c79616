package main

import (
	"math"
	"strconv"

	"fairwindow/conditions"
)

// doubt says that an estimate may as well be nothing: two standard errors.
func doubt(e conditions.Estimate) string {
	switch {
	case e.Value < 0:
		return ": none within its error, so 0 is written"
	case e.Value < 2*e.Error:
		return ": hardly told from none; more readings would tell"
	}
	return ""
}

// reads is by how much the sensor reads over or under the air.
func reads(e conditions.Estimate) string {
	side := "over"
	if e.Value < 0 {
		side = "under"
	}
	return within(conditions.Estimate{Value: math.Abs(e.Value), Error: e.Error}, 2) + " K " + side + " the air"
}

// toldTo is the power of ten to which an estimate is told: its error keeps one
// figure, two where the first is a 1; finest is the most decimals.
func toldTo(e conditions.Estimate, finest int) int {
	if !(e.Error > 0) {
		return -finest
	}
	p := int(math.Floor(math.Log10(e.Error)))
	if e.Error < 2*math.Pow10(p) {
		p--
	}
	return max(p, -finest)
}

// roundedTo is v to a power of ten.
func roundedTo(v float64, p int) string {
	step := math.Pow10(p)
	r := math.Round(v/step) * step
	if r == 0 {
		r = 0 // no minus before it
	}
	return strconv.FormatFloat(r, 'f', max(0, -p), 64)
}

// within is an estimate with its error: 820 ± 90.
func within(e conditions.Estimate, finest int) string {
	p := toldTo(e, finest)
	told := roundedTo(e.Error, p)
	if e.Error < math.Pow10(p)/2 {
		told = "less than " + roundedTo(math.Pow10(p), p)
	}
	return roundedTo(e.Value, p) + " ± " + told
}

// pasted is an estimate as the yard file takes it: to the same figure, none below nothing.
func pasted(e conditions.Estimate, unit string) string {
	return roundedTo(max(0, e.Value), toldTo(e, 0)) + " " + unit
}
