package conditions

import (
	"math"
	"testing"
	"time"

	"fairwindow/conditions/unit"
)

func outdoors(air unit.Temperature, rh unit.Humidity) Weather {
	w := nothing(time.Date(2026, 2, 3, 8, 0, 0, 0, time.UTC))
	w.Air, w.DewPoint, w.Sure = air, DewPoint(air, rh), Foretold
	w.Wind, w.Gust, w.Rain, w.RainChance = 8, 12, 1, 0.9
	w.AirError, w.DewError = 1.8, 1.7
	return w
}

// booth is 8 × 8 m across at 0.5 m/s: 32 m³/s, or 115 200 m³/h.
func booth() Enclosure {
	return Enclosure{OwnAir: true, Heater: 386, SprayFlow: 115200, CureFlow: 11520, SetPoint: 22, Dehumidifier: 20}
}

// TestBoothHeat: 386 kW for each 10 °C at 32 m³/s (computed in the trade notes,
// 3.7). So a yard booth cannot hold 22 °C against 5 °C while it sprays, and can
// while it cures; and heating leaves the dew point where it was.
func TestBoothHeat(t *testing.T) {
	air, dew, short := booth().Air(outdoors(5, 90), Spraying)
	near(t, "spraying", air, 15, 0.02)
	near(t, "spraying dew point", dew, 3.5, 0.01) // PsychroLib 2.5.0: 3.4985
	if !short {
		t.Error("the heater is said to hold")
	}
	air, _, short = booth().Air(outdoors(5, 90), Curing)
	near(t, "curing", air, 22, 1e-9)
	if short {
		t.Error("the heater is said not to hold")
	}
	air, dew, _ = booth().Air(outdoors(5, 90), Idle)
	near(t, "idle", air, 18, 1e-9)
	near(t, "idle dew point", dew, 3.5, 0.01)
}

// TestHeatingDoesNotDry: 5 °C, 90 % heated to 20 °C has 33.6 % and the same dew
// point (computed in the trade notes, 2).
func TestHeatingDoesNotDry(t *testing.T) {
	e := Enclosure{OwnAir: true, Heater: 1000, SprayFlow: 30000, SetPoint: 20}
	m := e.Moment(outdoors(5, 90), Spraying)
	near(t, "humidity", RelativeHumidity(m.Air, m.DewPoint), 33.6, 0.1)
}

// TestDehumidifier takes its kilograms from the fresh air, 1.2 kg/m³, down to a
// dew point of 2 °C, and only while curing.
func TestDehumidifier(t *testing.T) {
	e, w := booth(), outdoors(15, 85)
	before := ratio(saturation(w.DewPoint), seaLevel)
	_, dew, _ := e.Air(w, Curing)
	near(t, "water taken out, kg/h", (before-ratio(saturation(dew), seaLevel))*11520*1.2, 20, 1e-6)
	if _, dew, _ := e.Air(w, Spraying); dew != w.DewPoint {
		t.Error("it dries while spraying")
	}
	e.Dehumidifier = 1000
	_, dew, _ = e.Air(w, Curing)
	near(t, "driest", dew, 2, 1e-6)
	dry := outdoors(0, 60)
	if _, dew, _ := e.Air(dry, Curing); dew != dry.DewPoint {
		t.Error("air that is drier than its coil gets wetter")
	}
}

// TestEnclosures: what each keeps out.
func TestEnclosures(t *testing.T) {
	w := outdoors(12, 80)
	slip := Enclosure{}.Moment(w, Idle)
	if slip.Air != 12 || slip.Wind != 8 || slip.Gust != 12 || slip.RainChance != 0.9 || slip.Sure != Foretold {
		t.Errorf("slip: %+v", slip)
	}
	shed := Enclosure{Roofed: true}.Moment(w, Idle)
	if shed.Air != 12 || shed.DewPoint != w.DewPoint || shed.RainChance != 0 || shed.Rain != 0 || !(shed.Gust > 0 && shed.Gust < 6) {
		t.Errorf("shed: %+v", shed)
	}
	w.Wind = unit.NaN[unit.Speed]()
	if still := (Enclosure{Roofed: true}).Moment(w, Idle); still.Wind != 0 {
		t.Errorf("shed in unknown wind: %+v", still)
	}
	inside := booth().Moment(w, Curing)
	if inside.Wind != 0 || inside.Gust != 0 || inside.RainChance != 0 {
		t.Errorf("booth: %+v", inside)
	}
	if unit.Known(inside.Coldest) || unit.Known(inside.Warmest) {
		t.Errorf("a surface is made up: %+v", inside)
	}
	near(t, "error of held air", inside.AirError, 0.5, 1e-9)
	near(t, "error of the margin then", inside.MarginError, math.Hypot(0.5, 1.7), 1e-9)
	summer := booth().Moment(outdoors(30, 50), Curing)
	if summer.Air != 30 || summer.AirError != 1.8 {
		t.Errorf("nothing cools a booth: %+v", summer)
	}
}

// TestUnknownOutdoors stays unknown inside, and says why.
func TestUnknownOutdoors(t *testing.T) {
	w := outdoors(12, 80)
	for why, spoil := range map[string]func(*Weather){
		"no weather outdoors":         func(w *Weather) { w.Sure = Unknown },
		"no air temperature outdoors": func(w *Weather) { w.Air = noTemp },
		"no dew point outdoors":       func(w *Weather) { w.DewPoint = noTemp },
	} {
		bad := w
		spoil(&bad)
		if m := booth().Moment(bad, Spraying); m.Sure != Unknown || m.Why != why {
			t.Errorf("%s: %+v", why, m)
		}
	}
}

// TestMorePower is never colder, and more flow never warmer.
func TestMorePower(t *testing.T) {
	e, w := booth(), outdoors(-5, 80)
	last := unit.Temperature(math.Inf(-1))
	for kw := unit.Power(0); kw < 2000; kw += 50 {
		e.Heater = kw
		air, _, short := e.Air(w, Spraying)
		if air < last || air > e.SetPoint || short != (air < e.SetPoint) {
			t.Fatalf("%v kW: %v after %v, short %t", kw, air, last, short)
		}
		last = air
	}
	if last != e.SetPoint {
		t.Errorf("2000 kW reach %v", last)
	}
}
