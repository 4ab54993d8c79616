package sky

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"fairwindow/conditions/unit"
)

// TestEmitsAsPrinted: the worked value of the EnergyPlus engineering reference,
// air 20 °C, dew point 10 °C, clear. It rounds the emissivity up before it goes
// on, and has the air at 293 K, not 293.15: 0.001 and 0.5 W/m².
func TestEmitsAsPrinted(t *testing.T) {
	near(t, "emissivity", Emits(10, 0), 0.815, 0.001)
	near(t, "long wave", LongWave(20, 10, 0, 0), 340.6, 0.5)
}

// berdahlMartin is the sky's emissivity by another formula: P. Berdahl and M.
// Martin, Emissivity of clear skies, Solar Energy 32 (1984) 663–664, without its
// term of the hour, under a cloud base at 1 km that covers like 0.9 of a black
// body, weakened by the 8.2 km scale height of their cloud paper.
func berdahlMartin(dew unit.Temperature, cloud unit.Share) float64 {
	d := float64(dew) / 100
	clear := 0.711 + 0.56*d + 0.73*d*d
	return clear + (1-clear)*float64(cloud)*0.9*math.Exp(-1/8.2)
}

// TestSkyReference checks all rows of a reference computed from the formulas as
// published, to its rounding, and shows how far the two formulas lie apart: a
// sky's long wave is not known better than that.
func TestSkyReference(t *testing.T) {
	reference := shared(t, "sky_reference.csv")
	if len(reference) != 21 {
		t.Fatalf("%d rows, want 21", len(reference))
	}
	off := worst{}
	for _, r := range reference {
		air, dew := unit.Temperature(number(t, r["Ta_C"])), unit.Temperature(number(t, r["Td_C"]))
		cloud := unit.Share(number(t, r["cloud_tenths"]) / 10)
		where := r["Ta_C"] + "/" + r["Td_C"] + " under " + r["cloud_tenths"]
		off.near(t, "emissivity", where, Emits(dew, cloud), number(t, r["eps_ClarkAllen_Walton"]), 5.1e-5)
		off.near(t, "long wave", where, LongWave(air, dew, cloud, 0), number(t, r["LWdown_CA"]), 0.0051)
		other := berdahlMartin(dew, cloud)
		off.near(t, "Berdahl and Martin's emissivity", where, other, number(t, r["eps_BerdahlMartin(low cloud 1km *0.9)"]), 5.1e-5)
		off.near(t, "Berdahl and Martin's long wave", where, other*Black(air), number(t, r["LWdown_BM"]), 0.0051)
		what := "apart under cloud, W/m²"
		if cloud == 0 {
			what = "apart under a clear sky, W/m²"
		}
		off.near(t, what, where, (Emits(dew, cloud)-other)*Black(air), 0, 30)
	}
	off.log(t)
}

// TestLongWaveSplit: the EnergyPlus engineering reference's outside surface heat
// balance term by term, with the sky at its own temperature.
func TestLongWaveSplit(t *testing.T) {
	for tilt, view := range map[float64]float64{0: 1, 60: 0.75, 90: 0.5, 120: 0.25, 180: 0} {
		beta := math.Sqrt(view)
		sky := unit.Temperature(math.Pow(Emits(8, 0.3), 0.25)*283.15 - 273.15)
		want := view*beta*Black(sky) + view*(1-beta)*Black(10) + (1-view)*Black(10)
		near(t, "sky, air and ground", LongWave(10, 8, 0.3, tilt), want, 1e-9)
	}
}

// TestLongWave lies between a sky that fills the facet's whole view and a black
// body at the air's temperature, grows with cloud and with tilt, and is the black
// body's for a facet that looks down.
func TestLongWave(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		air := unit.Temperature(rapid.Float64Range(-40, 50).Draw(t, "air"))
		dew := air - unit.Temperature(rapid.Float64Range(0, 30).Draw(t, "depression"))
		cloud := func(name string) unit.Share { return unit.Share(rapid.Float64Range(0, 1).Draw(t, name)) }
		tilt := func(name string) float64 { return rapid.Float64Range(0, 180).Draw(t, name) }
		a, b, f, g := cloud("a"), cloud("b"), tilt("f"), tilt("g")
		got, black := LongWave(air, dew, a, f), Black(air)
		const slack = 1e-9
		if got < Emits(dew, a)*black-slack || got > black+slack {
			t.Fatalf("%v, black body %v", got, black)
		}
		if LongWave(air, dew, max(a, b), f) < LongWave(air, dew, min(a, b), f)-slack {
			t.Fatal("more cloud sends less")
		}
		if LongWave(air, dew, a, max(f, g)) < LongWave(air, dew, a, min(f, g))-slack {
			t.Fatal("less sky sends less")
		}
		if down := LongWave(air, dew, a, 180); math.Abs(down-black) > slack {
			t.Fatalf("%v from the ground, want %v", down, black)
		}
	})
}

// TestBlack: σ·293.15⁴ by hand with the 2018 constant, and nothing at absolute zero.
func TestBlack(t *testing.T) {
	near(t, "20 °C", Black(20), 418.766, 0.0005)
	near(t, "0 K", Black(-273.15), 0, 0)
}
