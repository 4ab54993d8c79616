package sky

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// parts are the beam, the sky's diffuse and the ground's light on a facet: each
// is the whole less the rest.
func parts(l Light, f Facet, albedo float64) (beam, diffuse, ground float64) {
	straight := l
	straight.Diffuse = 0
	beam = straight.On(f, 0)
	return beam, l.On(f, 0) - beam, Light{Sun: l.Sun, Level: l.Level}.On(f, albedo)
}

// TestFacetAsPrinted: pvlib's test_irradiance.
func TestFacetAsPrinted(t *testing.T) {
	l := Light{lit(90-10.56413562, 144.76567754, 1321.1656), 1042.48031487, 939.95469881, 118.45831879}
	beam, diffuse, _ := parts(l, Facet{Tilt: 40, Facing: 180}, 0)
	near(t, "beam", beam, 798.3194, 5e-5)
	near(t, "Hay and Davies", diffuse, 102.9949, 5e-5)
	// The isotropic 104.6013 is what an even sky sends: with no beam there is no sun to gather round.
	_, even, _ := parts(Light{Sun: l.Sun, Level: l.Level, Diffuse: l.Diffuse}, Facet{Tilt: 40, Facing: 180}, 0)
	near(t, "isotropic", even, 104.6013, 5e-5)
}

// TestFacetReference checks all rows of a reference made with pvlib: the same
// formulas, so only its rounding to 0.0001 W/m² is allowed. Its light above the
// air is 1366.1 W/m² throughout.
func TestFacetReference(t *testing.T) {
	reference := shared(t, "transposition_reference.csv")
	if len(reference) != 96 {
		t.Fatalf("%d rows, want 96", len(reference))
	}
	off := worst{}
	for _, r := range reference {
		l := Light{lit(90-number(t, r["zenith"]), number(t, r["sun_az"]), 1366.1), number(t, r["ghi"]), number(t, r["dni"]), number(t, r["dhi"])}
		f := Facet{number(t, r["tilt"]), number(t, r["surf_az"])}
		beam, diffuse, ground := parts(l, f, 0.2)
		where := r["zenith"] + " on " + r["tilt"] + "/" + r["surf_az"]
		off.near(t, "beam", where, beam, number(t, r["poa_beam"]), 1e-4)
		off.near(t, "ground", where, ground, number(t, r["poa_ground_alb0.2"]), 1e-4)
		off.near(t, "Hay and Davies", where, diffuse, number(t, r["sky_haydavies"]), 1e-4)
		off.near(t, "sum", where, l.On(f, 0.2), beam+diffuse+ground, 1e-9)
	}
	off.log(t)
}

// TestLowSun by hand: Hay and Davies divide by 1° at least, and what comes from
// where the sun stands is held to what reaches the top of the air.
func TestLowSun(t *testing.T) {
	wall := Facet{Tilt: 90, Facing: 180}
	for name, c := range map[string]struct {
		light Light
		on    float64
	}{
		"night": {Light{Sun: lit(-30, 180, 1361)}, 0},
		"half a degree up": {
			Light{lit(0.5, 180, 1361), 21, 100, 20},
			(100+20*100/1361.0/0.01745)*math.Cos(0.5*degree) + 20*(1-100/1361.0)/2,
		},
		"sunrise hour": {
			Light{lit(4, 180, 1361), 300, 1100, 300 - 1100*math.Sin(4*degree)},
			1361*math.Cos(4*degree) + (300-1361*math.Sin(4*degree))/2,
		},
		"beam that cannot be": {Light{lit(4, 180, 1361), 300, 1500, 100}, 1500*math.Cos(4*degree) + 50},
	} {
		near(t, name, c.light.On(wall, 0), c.on, 1e-9)
	}
}

// TestFacets: a deck gets the level, the side to the sun at least what the other
// gets, none less than nothing, and none more than two suns, the level being at
// most what reaches the top of the air.
func TestFacets(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		sun, albedo := anySun(t), rapid.Float64Range(0, 1).Draw(t, "albedo")
		l := sun.Light(rapid.Float64Range(0, sun.Extraterrestrial()).Draw(t, "level"))
		f := Facet{rapid.Float64Range(0, 180).Draw(t, "tilt"), rapid.Float64Range(0, 360).Draw(t, "facing")}
		on := l.On(f, albedo)
		if !(on >= 0 && on <= 2*sun.Extraterrestrial()) {
			t.Fatalf("%+v on %+v is %v", l, f, on)
		}
		if onto := l.Onto(f.Normal(), albedo); onto != on {
			t.Fatalf("On %v, Onto %v", on, onto)
		}
		if deck := l.On(Facet{Facing: f.Facing}, albedo); math.Abs(deck-l.Level) > 1e-9 {
			t.Fatalf("the deck has %v of %v", deck, l.Level)
		}
		to, off := l.On(Facet{f.Tilt, sun.Azimuth}, albedo), l.On(Facet{f.Tilt, sun.Azimuth + 180}, albedo)
		if to < off-1e-9 {
			t.Fatalf("%v towards the sun, %v away from it", to, off)
		}
	})
}

func BenchmarkOn(b *testing.B) {
	l, f := lit(40, 150, 1361).Light(700), Facet{Tilt: 90, Facing: 210}
	b.ReportAllocs()
	for b.Loop() {
		l.On(f, 0.2)
	}
}

func BenchmarkOnto(b *testing.B) {
	l, n := lit(40, 150, 1361).Light(700), Facet{Tilt: 90, Facing: 210}.Normal()
	b.ReportAllocs()
	for b.Loop() {
		l.Onto(n, 0.2)
	}
}
