package skin

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"fairwindow/conditions/unit"
)

func near[T ~float64](t *testing.T, what string, got T, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(float64(got)-want) <= tolerance) {
		t.Errorf("%s: got %.6g, want %.6g within %g", what, float64(got), want, tolerance)
	}
}

func made(t testing.TB, s Skin) *Model {
	t.Helper()
	m, err := New(s)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// of is one layer of a material of Materials.
func of(t testing.TB, name string, thick unit.Length) []Layer {
	t.Helper()
	l, ok := Material(name)
	if !ok {
		t.Fatalf("no material %q", name)
	}
	l.Thick = thick
	return []Layer{l}
}

// shared reads a table that is not part of the repository. The test is skipped
// where it is absent, except where every check must run.
func shared(t testing.TB, name string) []map[string]float64 {
	t.Helper()
	dir, err := os.Getwd()
	for err == nil {
		if _, missing := os.Stat(filepath.Join(dir, "go.mod")); missing == nil {
			break
		}
		if filepath.Dir(dir) == dir {
			t.Fatal("no go.mod above the test")
		}
		dir = filepath.Dir(dir)
	}
	f, err := os.Open(filepath.Join(dir, "..", "shared", "published", name))
	if os.IsNotExist(err) && os.Getenv("CI") != "true" {
		t.Skipf("%s is absent: not checked", name)
	}
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var out []map[string]float64
	for _, row := range rows[1:] {
		r := map[string]float64{}
		for i, name := range rows[0] {
			if r[name], err = strconv.ParseFloat(row[i], 64); err != nil {
				t.Fatal(err)
			}
		}
		out = append(out, r)
	}
	return out
}

func TestNewSaysWhatIsWrong(t *testing.T) {
	good := func() Skin {
		return Skin{Layers: append(of(t, "filler", 0.002), of(t, "steel", 0.006)...), Absorbs: 0.5, Emits: 0.9, Behind: Backing{Convects: 8}}
	}
	for _, c := range []struct {
		name  string
		spoil func(*Skin)
		says  []string // nil: nothing wrong
	}{
		{"good", func(*Skin) {}, nil},
		{"insulated", func(s *Skin) { s.Behind = Backing{} }, nil},
		{"no layer", func(s *Skin) { s.Layers = nil }, []string{"no layer", "at least one"}},
		{"no thickness", func(s *Skin) { s.Layers[1].Thick = 0 }, []string{"layer 2 from outside", "thickness is 0 m", "0.008"}},
		{"negative", func(s *Skin) { s.Layers[0].Conducts = -1 }, []string{"layer 1 from outside", "conductivity is -1", "more than 0"}},
		{"unknown", func(s *Skin) { s.Layers[0].Density = math.NaN() }, []string{"layer 1 from outside", "density is NaN"}},
		{"endless", func(s *Skin) { s.Layers[0].Heat = math.Inf(1) }, []string{"heat capacity is +Inf"}},
		{"absorptance", func(s *Skin) { s.Absorbs = 1.2 }, []string{"absorptance is 1.2", "0 to 1"}},
		{"emissivity", func(s *Skin) { s.Emits = math.NaN() }, []string{"emissivity is NaN", "0 to 1"}},
		{"backing", func(s *Skin) { s.Behind.Convects = -8 }, []string{"behind the skin", "convection is -8", "0 or more"}},
		{"mass out of reach", func(s *Skin) { s.Behind = Backing{Mass: 1e5} }, []string{"no heat reaches", "8 W/(m² K)"}},
		{"coupling of nothing", func(s *Skin) { s.Behind.Couples = 1 }, []string{"of no mass"}},
		{"too many", func(s *Skin) { s.Layers = make([]Layer, 12) }, []string{"12 layers", "at most 11"}},
		{"two at once", func(s *Skin) { s.Layers[0].Thick, s.Layers[1].Heat = -1, 0 }, []string{"layer 1", "layer 2"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := good()
			c.spoil(&s)
			_, err := New(s)
			if c.says == nil {
				if err != nil {
					t.Fatal(err)
				}
				return
			}
			for _, says := range c.says {
				if err == nil || !strings.Contains(err.Error(), says) {
					t.Errorf("the error is %v; it should say %q", err, says)
				}
			}
		})
	}
}

// TestNodesHoldTheSkin: however it is cut, the nodes hold the heat of the layers
// and the mass, the way through them resists as the layers do, and each element is
// as swift as it should be and not much more.
func TestNodesHoldTheSkin(t *testing.T) {
	for _, build := range []string{"laminate", "cored", "aluminium", "steel", "wood"} {
		for _, kind := range []string{"open", "cabin", "tank", "keel"} {
			layers, _ := Build(build)
			behind, _ := Behind(kind)
			m := made(t, Skin{Layers: layers, Emits: 0.9, Behind: behind})
			heat, resists := behind.Mass, 0.0
			for _, l := range layers {
				heat += l.Density * l.Heat * float64(l.Thick)
				resists += float64(l.Thick) / l.Conducts
			}
			if behind.Mass > 0 {
				resists += 1 / behind.Convects
			}
			gotHeat, gotResists := 0.0, 0.0
			for i := range m.last + 1 {
				gotHeat += m.heat[i]
			}
			for i := range m.last {
				gotResists += 1 / m.path[i]
			}
			for i, n := range (Skin{Layers: layers, Behind: behind}).elements() {
				l, part := layers[i], float64(layers[i].Thick)/float64(n)
				slow := part * part * l.Density * l.Heat / l.Conducts
				if slow > swift.Seconds() && m.last < nodes-1 || n > 1 && slow < swift.Seconds()/4 {
					t.Errorf("%s %s: layer %d is cut into %d of %.0f s", build, kind, i+1, n, slow)
				}
			}
			near(t, build+" "+kind+" heat", gotHeat, heat, 1e-9*heat)
			near(t, build+" "+kind+" resistance", gotResists, resists, 1e-12)
		}
	}
}

func TestNames(t *testing.T) {
	names := Materials()
	if len(names) == 0 {
		t.Fatal("no materials")
	}
	for i, name := range names {
		if i > 0 && names[i-1] >= name {
			t.Errorf("%s stands after %s", name, names[i-1])
		}
		made(t, Skin{Layers: of(t, name, 0.01), Emits: 0.9})
	}
	for _, known := range []bool{false, true} {
		name := map[bool]string{false: "paper", true: "laminate"}[known]
		_, material := Material(name)
		layers, build := Build(name)
		if material != known || build != known || (layers != nil) != known {
			t.Errorf("%s: material %v, build %v", name, material, build)
		}
	}
	if _, ok := Behind("nothing of ours"); ok {
		t.Error("anything is behind")
	}
	if _, ok := Absorptance("plaid"); ok {
		t.Error("plaid has an absorptance")
	}
	before := 0.0
	for _, colour := range []string{"white", "light", "medium", "dark"} {
		a, ok := Absorptance(colour)
		if !ok || a <= before || a > 1 {
			t.Errorf("%s absorbs %v, %v after %v", colour, a, ok, before)
		}
		before = a
	}
	// Light below 0.475, medium to 0.7, dark above: classes of the open literature.
	if a, _ := Absorptance("light"); a >= 0.475 {
		t.Errorf("light absorbs %v", a)
	}
	if a, _ := Absorptance("medium"); a < 0.475 || a > 0.7 {
		t.Errorf("medium absorbs %v", a)
	}
}

func TestStepOfNoLength(t *testing.T) {
	m := cored(t)
	s := m.At(12)
	was := s
	for _, dt := range []time.Duration{0, -time.Hour} {
		m.Step(&s, &Exposure{Air: 30, Inside: 30, Convects: 10}, dt)
		if s != was {
			t.Errorf("%v changed the state", dt)
		}
	}
}
