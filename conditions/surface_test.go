package conditions

import (
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"fairwindow/conditions/skin"
	"fairwindow/conditions/sky"
	"fairwindow/conditions/unit"
)

// The site of these tests is invented.
var atSite = sky.Site{Latitude: 38.7, Longitude: -9.2}

func slip() Stand { return Stand{Site: atSite, Heading: 270, Sun: 1} } // port looks south

func hullOf(t testing.TB, build, colour, behind string) Hull {
	t.Helper()
	layers, _ := skin.Build(build)
	absorbs, _ := skin.Absorptance(colour)
	backing, ok := skin.Behind(behind)
	if len(layers) == 0 || absorbs == 0 || !ok {
		t.Fatalf("no such hull: %s, %s, %s", build, colour, behind)
	}
	m, err := skin.New(skin.Skin{Layers: layers, Absorbs: absorbs, Emits: 0.9, Behind: backing})
	if err != nil {
		t.Fatal(err)
	}
	return NewHull(m, m, m)
}

// days is an outlook of hours that each made by make; inside is what the stand
// makes of it.
func days(s Stand, hours int, make func(h int, w *Weather)) Outlook {
	var o Outlook
	start := time.Date(2026, 6, 20, 0, 0, 0, 0, time.UTC)
	for h := range hours {
		w := nothing(start.Add(time.Duration(h) * time.Hour))
		w.Sure, w.Air, w.DewPoint, w.Wind, w.Cloud, w.Rain = Foretold, 20, 12, 2, 0, 0
		make(h, &w)
		o.Outdoors = append(o.Outdoors, w)
		o.Inside = append(o.Inside, s.Moment(w, Idle))
	}
	return o
}

func unchanging(int, *Weather) {}

func TestDarkTopsidesGetHotAtNoonAndWhiteOnesDoNot(t *testing.T) {
	warmest := func(colour string) (noon unit.Temperature) {
		s := slip()
		f := s.Surface(hullOf(t, "laminate", colour, "cabin").Of(Sides)[:1], days(s, 25, unchanging), Idle, 15*time.Minute, 97)
		return f.Warmest[4*12+2]
	}
	white, dark := warmest("white"), warmest("dark")
	// surface_temp_reference.csv gives 10 K between absorptances 0.25 and 0.90 at 300 W/m²
	// and light wind; an upright side in June at 38° N takes about that.
	if rise := white.Over(20); !(rise > 1 && rise < 8) {
		t.Errorf("white at noon is %v K over the air", rise)
	}
	if more := dark.Over(white); !(more > 8 && more < 25) {
		t.Errorf("dark is %v K over white", more)
	}
}

func TestClearNightCoolsADeckBelowAirAndARoofStopsThat(t *testing.T) {
	// Air 10 °C, dew point 8 °C, clear, 1 m/s: a deck near 5.5 °C and wet, a topside near
	// 8.4 °C, computed with EnergyPlus's sky and a simple convection; other published
	// convections put the deck within 1.5 K of that.
	night := func(h int, w *Weather) { w.Air, w.DewPoint, w.Wind, w.Shortwave = 10, 8, 1, 0 }
	hull := hullOf(t, "cored", "white", "open")
	s := slip()
	at := func(s Stand, part Part) (unit.Temperature, bool) {
		f := s.Surface(hull.Of(part), days(s, 25, night), Idle, 15*time.Minute, 97)
		return f.Coldest[96], f.Wet[96]
	}
	deck, wet := at(s, Deck)
	if math.Abs(float64(deck)-5.5) > 1.5 || !wet {
		t.Errorf("deck %v °C, wet %v; want about 5.5 °C and wet", deck, wet)
	}
	side, _ := at(s, Sides)
	if math.Abs(float64(side)-8.4) > 0.7 || side < deck+1.5 {
		t.Errorf("topside %v °C beside a deck of %v °C; want about 8.4 °C", side, deck)
	}
	s = Stand{Enclosure: Enclosure{Roofed: true}, Site: atSite}
	if deck, wet = at(s, Deck); math.Abs(float64(deck)-10) > 0.01 || wet {
		t.Errorf("under a roof the deck is %v °C, wet %v", deck, wet)
	}
}

func TestColdHullSweatsInAWarmBoothAndStops(t *testing.T) {
	booth := Stand{Enclosure: Enclosure{Roofed: true, OwnAir: true, Heater: 1e6, CureFlow: 1, SetPoint: 26}, Site: atSite}
	look := days(booth, 13, func(h int, w *Weather) { w.Air, w.DewPoint = 18, 12 })
	sweats := func(build string) (until time.Duration) {
		hull := hullOf(t, build, "light", "cabin").Of(Sides)
		from := Skins{Cold: make([]skin.State, len(hull)), Warm: make([]skin.State, len(hull))}
		for i, f := range hull {
			from.Cold[i] = f.Skin.At(4)
			from.Warm[i] = from.Cold[i]
		}
		start := look.Outdoors[0].At
		booth.Walk(hull, from, look, Idle, 5*time.Minute, func(_ int, at time.Time, now Skins) {
			if now.Coldest() < 12 {
				until = at.Sub(start)
			}
		})
		return until
	}
	thin, thick := sweats("aluminium"), sweats("laminate")
	if thin < 5*time.Minute || thin > 3*time.Hour {
		t.Errorf("an aluminium hull sweats for %v", thin)
	}
	if thick < 5*time.Minute || thick > 6*time.Hour {
		t.Errorf("a laminate hull sweats for %v", thick)
	}
}

func TestRainDriesOff(t *testing.T) {
	s := slip()
	look := days(s, 25, func(h int, w *Weather) {
		w.Rain, w.Cloud = 0, 0.5
		if h >= 6 && h <= 8 {
			w.Rain = 2
		}
	})
	f := s.Surface(hullOf(t, "laminate", "white", "cabin").Of(Sides), look, Idle, 15*time.Minute, 97)
	if f.Wet[5*4-1] || !f.Wet[8*4] {
		t.Errorf("wet before the rain %v, in it %v", f.Wet[5*4-1], f.Wet[8*4])
	}
	if f.Wet[14*4] {
		t.Error("still wet six hours after the rain, by a June noon")
	}
	dry := 8 * 4
	for f.Wet[dry] {
		dry++
	}
	if after := dry - 8*4; after < 1 {
		t.Error("it dried at once")
	}
	roofed := Stand{Enclosure: Enclosure{Roofed: true}, Site: atSite}
	look.Inside = look.Inside[:0]
	for _, w := range look.Outdoors {
		look.Inside = append(look.Inside, roofed.Moment(w, Idle))
	}
	for i, wet := range roofed.Surface(hullOf(t, "laminate", "white", "cabin").Of(Sides), look, Idle, 15*time.Minute, 97).Wet {
		if wet {
			t.Fatalf("slot %d: rain under a roof", i)
		}
	}
}

// What nobody gave is taken as the worse, for each end. A facet in the shade gets a
// little more light under thin cloud than under none, which is worth a tenth or two.
func TestUnknownCloudTakesTheWorseOfClearAndOvercast(t *testing.T) {
	s, hull := slip(), hullOf(t, "laminate", "dark", "cabin").Of(Sides)
	course := func(cloud float64) Course {
		return s.Surface(hull, days(s, 49, func(_ int, w *Weather) { w.Cloud = unit.Share(cloud) }), Idle, 15*time.Minute, 193)
	}
	unknown, clear, over := course(math.NaN()), course(0), course(1)
	for i := range unknown.Wet {
		for _, c := range []Course{clear, over} {
			if unknown.Coldest[i] > c.Coldest[i]+0.2 || unknown.Warmest[i] < c.Warmest[i]-0.2 {
				t.Fatalf("slot %d: %v to %v is not around %v to %v", i, unknown.Coldest[i], unknown.Warmest[i], c.Coldest[i], c.Warmest[i])
			}
		}
	}
}

func TestAGapIsNotBridged(t *testing.T) {
	s, hull := slip(), hullOf(t, "laminate", "white", "cabin").Of(Sides)
	look := days(s, 73, func(h int, w *Weather) {
		if h == 30 {
			w.Air = unit.NaN[unit.Temperature]()
		}
	})
	f := s.Surface(hull, look, Idle, 15*time.Minute, 289)
	if !unit.Known(f.Coldest[29*4]) || unit.Known(f.Coldest[30*4]) || unit.Known(f.Warmest[31*4]) {
		t.Errorf("before the gap %v, in it %v, just after it %v", f.Coldest[29*4], f.Coldest[30*4], f.Warmest[31*4])
	}
	if !unit.Known(f.Coldest[70*4]) {
		t.Error("the hull is still not known 40 h after the gap")
	}
}

func TestATentsFilmDripsOnAClearDampNight(t *testing.T) {
	tent := Stand{Enclosure: Enclosure{Roofed: true}, Site: atSite, Sun: 0.3, Film: true}
	w := nothing(time.Date(2026, 4, 6, 2, 0, 0, 0, time.UTC))
	w.Air, w.DewPoint, w.Wind, w.Cloud = 8, 7, 1, 0
	clear := tent.filmAt(w, 8, 0)
	w.Cloud = 1
	covered := tent.filmAt(w, 8, 0)
	if !(clear < 7) || !(covered > clear) || covered > 8 {
		t.Errorf("film %v °C under a clear sky, %v °C under cloud; dew point 7 °C", clear, covered)
	}
	if lit := tent.filmAt(w, 8, 800); lit < 9 {
		t.Errorf("in the sun the film is %v °C", lit)
	}
	if open := slip().filmAt(w, 8, 0); unit.Known(open) {
		t.Errorf("a slip has a film of %v °C", open)
	}
}

// Whatever the weather, the coldest is no warmer than the warmest, and without
// sun and sky a hull ends at the air's temperature.
func TestCourseKeepsItsEnds(t *testing.T) {
	hull := hullOf(t, "cored", "medium", "cabin")
	rapid.Check(t, func(r *rapid.T) {
		s := slip()
		s.Heading = rapid.Float64Range(0, 360).Draw(r, "heading")
		s.Film = rapid.Bool().Draw(r, "film")
		s.Roofed = s.Film || rapid.Bool().Draw(r, "roofed")
		if s.Roofed && !s.Film {
			s.Sun = 0
		}
		maybe := func(v float64, name string) float64 {
			if rapid.Bool().Draw(r, name+" unknown") {
				return math.NaN()
			}
			return v
		}
		cloud := maybe(rapid.Float64Range(0, 1).Draw(r, "cloud"), "cloud")
		sun := maybe(rapid.Float64Range(0, 1000).Draw(r, "sun"), "sun")
		wind := maybe(rapid.Float64Range(0, 20).Draw(r, "wind"), "wind")
		air := rapid.Float64Range(-5, 35).Draw(r, "air")
		look := days(s, 30, func(h int, w *Weather) {
			w.Cloud, w.Wind, w.Shortwave = unit.Share(cloud), unit.Speed(wind), sun
			w.Air, w.DewPoint = unit.Temperature(air), unit.Temperature(air-6)
		})
		f := s.Surface(hull, look, Idle, 15*time.Minute, 117)
		for i := range f.Wet {
			if !(f.Coldest[i] <= f.Warmest[i]) {
				r.Fatalf("slot %d: coldest %v, warmest %v", i, f.Coldest[i], f.Warmest[i])
			}
			if s.Roofed && !s.Film && math.Abs(float64(f.Coldest[i])-air) > 0.02 {
				r.Fatalf("slot %d: %v °C in air of %v °C under a roof", i, f.Coldest[i], air)
			}
		}
	})
}

// How much the long steps of a course cost, against steps of five minutes.
func TestCourseIsNearTheFineBalance(t *testing.T) {
	s, hull := slip(), hullOf(t, "laminate", "dark", "cabin").Of(Sides)
	look := days(s, 20*24+1, func(h int, w *Weather) {
		w.Air = unit.Temperature(18 + 6*math.Cos(2*math.Pi*(float64(h%24)-14)/24) + 2*math.Sin(float64(h)/17))
		w.Cloud = unit.Share(0.5 + 0.5*math.Sin(float64(h)/5))
		w.Wind = unit.Speed(3 + 2*math.Sin(float64(h)/7))
	})
	const n = 20*24*12 + 1
	long := s.Surface(hull, look, Idle, 5*time.Minute, n)
	type sums struct{ square, most float64 }
	var near, far sums
	s.Walk(hull, s.Settled(hull, look, Idle, 5*time.Minute), look, Idle, 5*time.Minute, func(i int, _ time.Time, now Skins) {
		part := &near
		if i > nearHours*12 {
			part = &far
		}
		for _, off := range []float64{float64(now.Coldest() - long.Coldest[i]), float64(now.Warmest() - long.Warmest[i])} {
			part.square += off * off
			part.most = max(part.most, math.Abs(off))
		}
	})
	root := func(s sums) float64 { return math.Sqrt(s.square / n) }
	t.Logf("ten days: %.2f K rms, %.2f K at most; then %.2f K and %.2f K", root(near), near.most, root(far), far.most)
	// A forecast of a surface errs by more than 1 K, a season by several.
	if root(near) > 0.5 || near.most > 2.5 || root(far) > 1.5 || far.most > 6 {
		t.Error("the long steps cost more than they may")
	}
}
