package pages

import (
	"math"
	"strconv"
	"strings"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/planner"
	"fairwindow/planner/waits"
)

// Why words a span of waiting: from when to when, its cause and what was known
// of it then. Values come in the unit their rule was written in.
func Why(w planner.Wait, zone *time.Location) string { return clock{zone: zone}.why(w) }

func (c clock) why(w planner.Wait) string { return c.span(w.From, w.To) + ": " + c.cause(w) }

// cause words a cause with its evidence.
func (c clock) cause(w planner.Wait) string {
	e := w.Evidence
	switch w.Cause {
	case planner.LateBoat:
		if e.Other.Boat == "" && e.Note != "" { // it is not late: it comes when the plan has ended
			return e.Note
		}
		return note(named("the boat was late", "", e.Other.Boat, " was late"), e)
	case planner.SlowCure:
		return note("the coat before cured more slowly than planned"+of(e.Other), e)
	case planner.Overrun:
		return note(named("an earlier stage took longer than planned", "", key(e.Other), " took longer than planned"), e)
	case planner.Rework:
		return note("work had to be done again"+of(e.Other), e)
	case planner.AwaitsParty:
		return note(named("waiting for a named party", "waiting for ", e.Person, ""), e)
	case planner.Absent:
		return note(named("somebody was away", "", e.Person, " was away"), e)
	case planner.EarlierMoved:
		return note(named("an earlier stage was moved", "", key(e.Other), " was moved"), e)
	case planner.HeldBy:
		if e.Other != (planner.Key{}) {
			return note("goes after "+key(e.Other)+named("", ", by the word of ", e.Person, ""), e)
		}
		return note(named("held or pinned by a person", "held or pinned by ", e.Person, ""), e)
	case planner.PlaceTaken:
		return note(named("the place is taken", "the place is taken by ", key(e.Other), ""), e)
	case planner.PlaceClosed:
		return note("the place is closed", e)
	case planner.LiftMove:
		return note(named("the boat waits to be lifted or moved", "the lift is moving ", e.Other.Boat, ""), e)
	case planner.NoShift:
		if e.Note != "" { // somebody may be, and yet it is no time for it
			return note("no shift for it", e)
		}
		return "nobody with the skill is on shift"
	case planner.CrewBusy:
		return note(named("the crew is busy", "the crew is busy with ", key(e.Other), ""), e)
	case planner.EquipmentBusy:
		return note(named("the equipment is not free", "the equipment is taken by ", key(e.Other), ""), e)
	case planner.Clearance:
		return note("the booth is closed to people until it has cleared"+of(e.Other), e)
	case planner.Dust:
		return note(named("dust and wet paint do not share an air", "dust and wet paint do not share an air with ", key(e.Other), ""), e)
	case planner.OutOfLimits:
		return note(c.outside(e), e)
	case planner.GaveWay:
		return note(named("gave way to another boat", "gave way to ", key(e.Other), "")+worse(e.Amount), e)
	case planner.KeptClose:
		return note("kept close to the next stage, else its wipe or recoat would lapse"+of(e.Other)+worse(e.Amount), e)
	case planner.ShorterHold:
		return note("a later start holds the place for a shorter time"+worse(e.Amount), e)
	case planner.LaterCalmer:
		return note("a later start has less risk of spoiling"+worse(e.Amount), e)
	case waits.Unreported:
		return note("its start passed and nobody reported that it had begun", e)
	case planner.AsTold:
		return note("kept as people were told"+worse(e.Amount), e)
	}
	return note(string(w.Cause), e)
}

// outside words the limit that binds.
func (c clock) outside(e planner.Evidence) string {
	b := e.Bound
	if e.Sure == conditions.Unknown || b.Of == "" {
		s := "conditions are unknown, which counts as shut"
		if !e.When.IsZero() {
			s += ", at " + c.moment(e.When)
		}
		return s
	}
	s := "outside the limits of " + b.Owner + ": "
	if b.Least && e.Value > b.At || !b.Least && e.Value < b.At {
		s = "too near a limit of " + b.Owner + " to count on: "
	}
	if e.Other.Stage != "" {
		s = "its " + e.Other.Stage + " would be " + s
	}
	s += against(b, e.Value)
	if !e.When.IsZero() {
		s += ", at " + c.moment(e.When)
	}
	switch e.Sure {
	case conditions.Measured:
		s += ", measured"
	case conditions.Foretold:
		s += ", forecast"
		if !e.Issued.IsZero() {
			s += " issued " + c.moment(e.Issued)
		}
	case conditions.Pencilled:
		s += ", pencilled from the season's usual weather"
	}
	return s
}

// against sets a value beside its bound, in the unit the bound was written in.
func against(b conditions.Bound, value float64) string {
	ask := "at most"
	if b.Least {
		ask = "at least"
	}
	sign := unitOf(b)
	v, at := inUnit(b.Of, value, sign), inUnit(b.Of, b.At, sign)
	decimals := 1
	// One more decimal where rounding would hide which side the value is on.
	for decimals < 3 && value != b.At && number(v, decimals) == number(at, decimals) {
		decimals++
	}
	return quantity(b.Of) + " " + number(v, decimals) + " " + signOf(b.Of, sign) + ", " + ask + " " + written(b) + " wanted"
}

// unitOf is the unit a bound was written in.
func unitOf(b conditions.Bound) string {
	if f := strings.Fields(b.Written); len(f) == 2 {
		return strings.TrimPrefix(f[1], "°")
	}
	switch b.Of {
	case conditions.OfAir, conditions.OfSurface:
		return "C"
	case conditions.OfWind, conditions.OfMeanWind, conditions.OfGust:
		return "m/s"
	case conditions.OfFall, conditions.OfRise:
		return "K/h"
	}
	if difference(b.Of) {
		return "K"
	}
	return "%"
}

// inUnit turns a bound's stored value into a written unit of its kind.
func inUnit(of conditions.Quantity, si float64, sign string) float64 {
	switch of {
	case conditions.OfAir, conditions.OfSurface:
		return unit.In(unit.Temperature(si), sign)
	case conditions.OfWind, conditions.OfMeanWind, conditions.OfGust:
		return unit.In(unit.Speed(si), sign)
	case conditions.OfFall, conditions.OfRise:
		return unit.In(unit.Rate(si), sign)
	case conditions.OfRain:
		return unit.In(unit.Share(si), sign)
	}
	if difference(of) {
		return unit.In(unit.TempDiff(si), sign)
	}
	return si
}

// difference tells a difference of temperatures from a temperature.
func difference(of conditions.Quantity) bool {
	switch of {
	case conditions.OfMargin, conditions.OfAboveAir, conditions.OfBelowAir, conditions.OfPaint, conditions.OfDrip:
		return true
	}
	return false
}

// printed writes a unit, alone or behind its number, with its degree sign.
func printed(text string) string {
	for _, u := range []string{"C", "F"} {
		if text == u || strings.HasSuffix(text, " "+u) {
			return strings.TrimSuffix(text, u) + "°" + u
		}
	}
	return text
}

// signOf writes the unit of a quantity: a difference of temperatures is no temperature.
func signOf(of conditions.Quantity, sign string) string {
	if difference(of) && sign == "C" {
		return "K"
	}
	return printed(sign)
}

// written is a limit's figure as its owner wrote it.
func written(b conditions.Bound) string {
	if figure, sign, ok := strings.Cut(b.Written, " "); ok {
		return figure + " " + signOf(b.Of, strings.TrimPrefix(sign, "°"))
	}
	return printed(b.Written)
}

// quantity is what people call a bounded quantity.
func quantity(q conditions.Quantity) string {
	switch q {
	case conditions.OfMargin:
		return "surface over dew point"
	case conditions.OfHumidity:
		return "relative humidity"
	case conditions.OfAir:
		return "air temperature"
	case conditions.OfSurface:
		return "surface temperature"
	case conditions.OfRain:
		return "chance of rain"
	}
	return strings.ReplaceAll(string(q), "_", " ")
}

// key words a stage as people name it; as much of it as there is.
func key(k planner.Key) string {
	s := k.Stage
	if k.Boat != "" || k.Area != "" {
		where := strings.TrimSpace(k.Boat + " " + k.Area)
		if s == "" {
			return where
		}
		return s + " on " + where
	}
	return s
}

func of(k planner.Key) string {
	if s := key(k); s != "" {
		return " (" + s + ")"
	}
	return ""
}

// named puts a name between before and after; without one it is plain.
func named(plain, before, name, after string) string {
	if name == "" {
		return plain
	}
	return before + name + after
}

func note(s string, e planner.Evidence) string {
	if e.Note == "" {
		return s
	}
	return s + ": " + e.Note
}

// worse words what starting here would have cost in the objective.
func worse(minutes int64) string {
	if minutes == 0 {
		return ""
	}
	return ", starting here would cost " + strconv.FormatInt(minutes, 10) + " cost-minutes more"
}

// number writes a value with at most so many decimals; unknown is a dash.
func number(v float64, decimals int) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return "–"
	}
	s := strconv.FormatFloat(v, 'f', decimals, 64)
	if strings.Trim(s, "-0.") == "" {
		s = strings.TrimPrefix(s, "-")
	}
	return strings.Replace(s, "-", "−", 1)
}

// stateWord says how sure a planned stage is, for a legend and a table.
func stateWord(s planner.State) string {
	switch s {
	case planner.Running:
		return "running: reported as started"
	case planner.OpenNow:
		return "open: measured, and within limits now"
	case planner.Firm:
		return "firm: within the forecast, with enough chance"
	case planner.PencilledIn:
		return "pencilled: beyond the forecast"
	case planner.AtRisk:
		return "at risk: a limit may not hold"
	case planner.Unconfirmed:
		return "unconfirmed: the start passed unreported"
	case planner.Unplaced:
		return "not placed: no start within the days that the plan looks ahead"
	}
	return string(s)
}

// said is the word shown after a form went well, by the code in the address: a closed set, so that an
// address cannot put words in our mouth.
func said(code string) string {
	switch code {
	case "":
		return ""
	case "released":
		return "Released. The crews are being told."
	case "logged":
		return "Kept in the daily log."
	case "unlogged":
		return "Struck through. What was written stays readable."
	case "heard":
		return "Heard: noted. It is not passed on."
	case "reads":
		return "Kept. Pages in this browser read so from now on."
	case "entered":
		return "Entered into the record."
	case "struck":
		return "Struck through. It stays to be read, and counts no more. The plan is being redone."
	case "signed":
		return "Signed off. Nothing more is taken into it."
	case "reopened":
		return "Opened again. What was signed before stays beside it."
	case "rung":
		return "This browser is rung from now on."
	case "boat":
		return "Kept. The plan is being redone."
	case "boats":
		return "The boats of the file are taken in. The plan is being redone."
	case "system":
		return "Kept, and in force. The plan is being redone."
	case "taken-out":
		return "Taken out. The plan is being redone."
	case "reading":
		return "Reading kept."
	case "doubtful":
		return "Reading kept, and marked doubtful: without a calibration in date it opens no window."
	}
	if words := saidAtTheDoor(code); words != "" {
		return words
	}
	if planner.PressKind(code) == planner.Mixed {
		return "Pot mixed: noted. Its clock runs."
	}
	if a, ok := actionOf(planner.PressKind(code)); ok {
		return a.Name + ": noted. The plan is being redone."
	}
	return ""
}

// howMany counts things by their word.
func howMany(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return strconv.Itoa(n) + " " + many
}
