package skin

import (
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"fairwindow/conditions/unit"
)

func drawSkin(t *rapid.T) Skin {
	build := rapid.SampledFrom([]string{"laminate", "cored", "aluminium", "steel", "wood"}).Draw(t, "build")
	kind := rapid.SampledFrom([]string{"open", "cabin", "tank", "keel"}).Draw(t, "behind")
	layers, _ := Build(build)
	behind, _ := Behind(kind)
	return Skin{
		Layers: layers, Behind: behind,
		Absorbs: rapid.Float64Range(0, 1).Draw(t, "absorbs"), Emits: rapid.Float64Range(0, 1).Draw(t, "emits"),
	}
}

func drawExposure(t *rapid.T) Exposure {
	air := rapid.Float64Range(-20, 40).Draw(t, "air")
	return Exposure{
		Air: unit.Temperature(air), DewPoint: unit.Temperature(air - rapid.Float64Range(-1, 25).Draw(t, "spread")),
		Inside: unit.Temperature(rapid.Float64Range(-20, 40).Draw(t, "inside")), Convects: rapid.Float64Range(0, 60).Draw(t, "convects"),
		Sun: rapid.SampledFrom([]float64{0, 300, 1000}).Draw(t, "sun"), Radiant: rapid.Float64Range(150, 550).Draw(t, "radiant"),
		Rain: rapid.SampledFrom([]float64{0, 0, 0.1, 2, 30}).Draw(t, "rain"),
	}
}

func drawState(t *rapid.T, m *Model) State {
	s := m.At(0)
	for i := range m.last + 1 {
		s.Nodes[i] = unit.Temperature(rapid.Float64Range(-20, 60).Draw(t, "node"))
	}
	s.Water = rapid.SampledFrom([]float64{0, 0, 1e-6, 0.02, film}).Draw(t, "water")
	return s
}

// TestHeatAndWaterBalance: over one implicit step the heat stored is what the
// fluxes at its end brought, each written here once more from the exposure; and
// the water is what rained and condensed less what dried and ran off. 1e-3 W/m²
// is what Newton's last step may leave, 1e-6 K, where a hot wet surface loses 1000 W/(m² K).
func TestHeatAndWaterBalance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		skin := drawSkin(t)
		m, err := New(skin)
		if err != nil {
			t.Fatal(err)
		}
		e, s := drawExposure(t), drawState(t, m)
		dt := time.Duration(rapid.IntRange(1, 3600).Draw(t, "seconds")) * time.Second
		d, g, was := m.drive(&e), m.sweep(dt), s
		vapour, run := m.step(&s, &d, &g)

		stored := 0.0
		for i := range m.last + 1 {
			stored += m.heat[i] * float64(s.Nodes[i]-was.Nodes[i])
		}
		outer, inner := float64(s.Surface()), float64(s.Nodes[m.last])
		rain := e.Rain / 3600
		flows := skin.Absorbs*e.Sun + skin.Emits*(e.Radiant-stefan*math.Pow(outer+zero, 4)) +
			e.Convects*(float64(e.Air)-outer) + latent*vapour +
			rain*waterHeat*(float64(e.Air)-float64(e.Air-e.DewPoint)/3-outer) +
			m.inside*(float64(e.Inside)-inner)
		if got := stored / dt.Seconds(); math.Abs(got-flows) > 1e-3 {
			t.Fatalf("stores %v W/m², %v flow in", got, flows)
		}

		water := was.Water + (rain+vapour-run)*dt.Seconds()
		if math.Abs(s.Water-water) > 1e-12 || s.Water < 0 || s.Water > film || run < 0 {
			t.Fatalf("%v kg/m² of water, in less out gives %v; %v ran off", s.Water, water, run)
		}
		// What condensed or dried is what the vapour pressures ask for, unless it ran dry.
		air, _, _ := saturation(float64(e.DewPoint))
		at, _, _ := saturation(outer)
		free := e.Convects * lewis * (air - at)
		if s.Water > 0 && math.Abs(vapour-free) > 1e-9 {
			t.Fatalf("wet, and %v kg/(m² s) came out of the air instead of %v", vapour, free)
		}
		if vapour < free-1e-9 || vapour > max(free, 0)+1e-9 {
			t.Fatalf("%v kg/(m² s) came out of the air, at most %v could", vapour, free)
		}
	})
}

// TestNewtonSettles: the balance of a surface with nothing behind it, where it
// bends most, is solved to 1e-6 K from far and from where one step is enough.
func TestNewtonSettles(t *testing.T) {
	d := drive{emits: stefan, vapour: 10 * lewis, dew: 12}
	gain := stefan * math.Pow(15+zero, 4)
	air, _, _ := saturation(12)
	at, _, _ := saturation(15)
	for _, guess := range []float64{-40, 0, 14.91, 15, 15.09, 16, 90} {
		near(t, "dry", d.dry(guess, gain, 0), 15, 1e-6)
		surface, vapour := d.wet(guess, gain+10*15+latent*d.vapour*(at-air), 10)
		near(t, "wet", surface, 15, 1e-6)
		near(t, "vapour", vapour, d.vapour*(air-at), 2e-11)
	}
}

// TestBetweenWhatDrivesIt: dry, unlit and in radiation at the air's temperature
// a surface stays between the warmest and the coldest of air, inside and itself,
// at any step: it never rings.
func TestBetweenWhatDrivesIt(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m, err := New(drawSkin(t))
		if err != nil {
			t.Fatal(err)
		}
		e := drawExposure(t)
		e.Sun, e.Rain, e.DewPoint = 0, 0, -80
		e.Radiant = stefan * math.Pow(float64(e.Air)+zero, 4)
		s := drawState(t, m)
		s.Water = 0
		low, high := min(e.Air, e.Inside), max(e.Air, e.Inside)
		for i := range m.last + 1 {
			low, high = min(low, s.Nodes[i]), max(high, s.Nodes[i])
		}
		dt := time.Duration(rapid.IntRange(1, 2*3600).Draw(t, "seconds")) * time.Second
		for range 20 {
			m.Step(&s, &e, dt)
			for i := range m.last + 1 {
				if s.Nodes[i] < low-1e-6 || s.Nodes[i] > high+1e-6 {
					t.Fatalf("node %d at %v, outside %v to %v", i, s.Nodes[i], low, high)
				}
			}
		}
	})
}

// TestBlackAndWhite: the more a colour takes up the warmer it is in the sun;
// without sun all are alike.
func TestBlackAndWhite(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		skin, e := drawSkin(t), drawExposure(t)
		surface := func(colour string, sun float64) unit.Temperature {
			skin.Absorbs, _ = Absorptance(colour)
			e.Sun = sun
			m, err := New(skin)
			if err != nil {
				t.Fatal(err)
			}
			s := m.At(15)
			for range 12 {
				m.Step(&s, &e, 5*time.Minute)
			}
			return s.Surface()
		}
		if white, dark := surface("white", 600), surface("dark", 600); dark <= white {
			t.Fatalf("dark at %v, white at %v in the sun", dark, white)
		}
		if white, dark := surface("white", 0), surface("dark", 0); dark != white {
			t.Fatalf("dark at %v, white at %v without", dark, white)
		}
	})
}

// TestStepEndsSteady: long in one exposure a skin comes to its Steady.
func TestStepEndsSteady(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		skin := drawSkin(t)
		skin.Emits = max(skin.Emits, 0.1)
		m, err := New(skin)
		if err != nil {
			t.Fatal(err)
		}
		e, s := drawExposure(t), drawState(t, m)
		e.Convects = max(e.Convects, 2)
		want := m.Steady(e)
		for range 24 * 120 {
			m.Step(&s, &e, time.Hour)
		}
		if d := math.Abs(float64(s.Surface() - want.Surface())); !(d < 0.05) {
			t.Fatalf("after months at %v, steady at %v", s.Surface(), want.Surface())
		}
	})
}

// TestThickerLags, and colder outside too: less convection lags longer.
func TestThickerLags(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		skin := drawSkin(t)
		convects := rapid.Float64Range(1, 60).Draw(t, "convects")
		lag := func() time.Duration {
			m, err := New(skin)
			if err != nil {
				t.Fatal(err)
			}
			if calm := m.Lag(convects / 2); calm < m.Lag(convects) {
				t.Fatalf("lags %v with %v W/(m² K), %v with half of it", m.Lag(convects), convects, calm)
			}
			return m.Lag(convects)
		}
		thin := lag()
		i := rapid.IntRange(0, len(skin.Layers)-1).Draw(t, "layer")
		skin.Layers[i].Thick *= unit.Length(rapid.Float64Range(1.2, 3).Draw(t, "thicker"))
		if thick := lag(); thick <= thin {
			t.Fatalf("lags %v, thicker %v", thin, thick)
		}
	})
}

// TestMeasuredLag: a skin told the lag that a yard measured has it, and a state
// near its end falls to it by that lag.
func TestMeasuredLag(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m, err := New(drawSkin(t))
		if err != nil {
			t.Fatal(err)
		}
		want := time.Duration(rapid.IntRange(5, 1000).Draw(t, "minutes")) * time.Minute
		convects := rapid.Float64Range(1, 60).Draw(t, "convects")
		if got := m.WithLag(want, convects).Lag(convects); (got - want).Abs() > want/1e6 {
			t.Fatalf("told %v, lags %v", want, got)
		}
		if same := m.WithLag(0, convects); *same != *m {
			t.Fatal("a lag of nothing changed the skin")
		}
	})
	m := made(t, Skin{Layers: of(t, "steel", 0.006)}).WithLag(2*time.Hour, 8)
	for _, dt := range []time.Duration{time.Second, 5 * time.Minute} {
		s, e := m.At(1), Exposure{DewPoint: -80, Convects: 8}
		for range 2 * time.Hour / dt {
			m.Step(&s, &e, dt)
		}
		// Steps of 150 s make the lag 75 s longer: 0.37 % more is left.
		near(t, "left after one lag", s.Surface(), math.Exp(-1), 0.005)
	}
	// 6 mm of steel, 21 060 J/(m² K), into 8 W/(m² K) and long wave of 4.88 at 15 °C.
	near(t, "lag with long wave", made(t, Skin{Layers: of(t, "steel", 0.006), Emits: 0.9}).Lag(8).Seconds(), 21060/12.88, 2)
	if lag := made(t, Skin{Layers: of(t, "steel", 0.006)}).Lag(0); lag != never {
		t.Errorf("insulated on both sides it lags %v", lag)
	}
}

// TestUnknown: what is not known makes the state unknown, and nothing panics; the
// air inside does not matter where nothing couples to it.
func TestUnknown(t *testing.T) {
	nan := math.NaN()
	for name, forget := range map[string]func(*Exposure){
		"air": func(e *Exposure) { e.Air = unit.Temperature(nan) }, "dew point": func(e *Exposure) { e.DewPoint = unit.Temperature(nan) },
		"inside": func(e *Exposure) { e.Inside = unit.Temperature(nan) }, "convection": func(e *Exposure) { e.Convects = nan },
		"sun": func(e *Exposure) { e.Sun = nan }, "radiant": func(e *Exposure) { e.Radiant = nan }, "rain": func(e *Exposure) { e.Rain = nan },
	} {
		for _, water := range []float64{0, 0.05} {
			e := Exposure{Air: 15, DewPoint: 8, Inside: 15, Convects: 8, Sun: 200, Radiant: 330}
			forget(&e)
			m := cored(t)
			s := m.At(10)
			s.Water = water
			m.Step(&s, &e, 5*time.Minute)
			if !math.IsNaN(float64(s.Surface())) || !s.Wet() {
				t.Errorf("%s unknown: surface at %v, water %v", name, s.Surface(), s.Water)
			}
			if steady := m.Steady(e); !math.IsNaN(float64(steady.Surface())) || !steady.Wet() {
				t.Errorf("%s unknown: steady at %v, water %v", name, steady.Surface(), steady.Water)
			}
		}
	}
	if !math.IsNaN(Convects(unit.Speed(nan), 1, 90)) || !math.IsNaN(Convects(1, unit.TempDiff(nan), 90)) || !math.IsNaN(Still(1, nan)) {
		t.Error("convection of something unknown is known")
	}
	keel, _ := Behind("keel")
	m := made(t, Skin{Layers: of(t, "laminate", 0.01), Emits: 0.9, Behind: keel})
	s := m.At(10)
	m.Step(&s, &Exposure{Air: 15, DewPoint: 8, Inside: unit.Temperature(nan), Convects: 8, Radiant: 330}, time.Hour)
	if !unit.Known(s.Surface()) {
		t.Error("a keel asks for the air inside")
	}
}

// TestDrying: a film of rain on a topside in dry moving air is gone, sooner with
// more wind and later in damp air; and while it dries it is colder than dry.
func TestDrying(t *testing.T) {
	dries := func(convects float64, dew unit.Temperature) (time.Duration, unit.Temperature) {
		m := cored(t)
		e := Exposure{Air: 15, DewPoint: dew, Inside: 15, Convects: convects, Radiant: stefan * math.Pow(15+zero, 4), Rain: 5}
		s := m.Steady(e)
		if !s.Wet() || s.Water != film {
			t.Fatalf("rain leaves %v kg/m²", s.Water)
		}
		e.Rain = 0
		for at := time.Duration(0); at < 100*time.Hour; at += time.Minute {
			if !s.Wet() {
				return at, s.Surface()
			}
			m.Step(&s, &e, time.Minute)
		}
		t.Fatalf("not dry with %v W/(m² K) and a dew point of %v", convects, dew)
		return 0, 0
	}
	calm, cold := dries(5, 5)
	windy, _ := dries(20, 5)
	damp, _ := dries(5, 12)
	if !(windy < calm && calm < damp) || cold >= 15 {
		t.Errorf("dries in %v, windy %v, damp %v; at %v", calm, windy, damp, cold)
	}
	t.Logf("dries in %v calm, %v windy, %v damp; calm at %.1f °C", calm, windy, damp, cold)
}

// TestWhatLiesBehind: illustrative backings follow as their comments say, and a
// keel or a tank behind a laminate that is carried from 5 °C into 22 °C, 50 % keeps
// it from being 3 K over the dew point for hours, where it would take half an hour.
func TestWhatLiesBehind(t *testing.T) {
	for _, c := range []struct {
		kind        string
		least, most time.Duration // of its lag
		ready       time.Duration // no sooner than this
	}{
		{"open", 10 * time.Minute, 30 * time.Minute, 10 * time.Minute},
		{"cabin", time.Hour, 3 * time.Hour, 10 * time.Minute},
		{"tank", 12 * time.Hour, 100 * time.Hour, 12 * time.Hour},
		{"keel", 4 * time.Hour, 24 * time.Hour, 3 * time.Hour},
	} {
		behind, _ := Behind(c.kind)
		m := made(t, Skin{Layers: of(t, "laminate", 0.010), Emits: 0.9, Behind: behind})
		if lag := m.Lag(4); lag < c.least || lag > c.most {
			t.Errorf("%s lags %v, not %v to %v", c.kind, lag, c.least, c.most)
		}
		s, e := m.At(5), Exposure{Air: 22, DewPoint: 11.1, Inside: 22, Convects: 4, Radiant: stefan * math.Pow(22+zero, 4)}
		at := time.Duration(0)
		for ; s.Surface() < 14.1 && at < 1000*time.Hour; at += 5 * time.Minute {
			m.Step(&s, &e, 5*time.Minute)
		}
		if at < c.ready {
			t.Errorf("before a %s the skin is ready after %v", c.kind, at)
		}
		t.Logf("%s: lag %v, ready after %v", c.kind, m.Lag(4).Round(time.Minute), at)
	}
}

func TestStepAllocatesNothing(t *testing.T) {
	m := cored(t)
	s, e := m.At(10), Exposure{Air: 10, DewPoint: 9.5, Inside: 10, Convects: 5, Radiant: 290}
	if n := testing.AllocsPerRun(100, func() {
		m.Step(&s, &e, 5*time.Minute)
		m.Step(&s, &e, 7*time.Minute)
	}); n != 0 {
		t.Errorf("%v allocations", n)
	}
}
