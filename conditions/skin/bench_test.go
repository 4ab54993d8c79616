package skin

import (
	"testing"
	"time"
)

func cored(t testing.TB) *Model {
	layers, _ := Build("cored")
	behind, _ := Behind("open")
	m, err := New(Skin{Layers: layers, Absorbs: 0.9, Emits: 0.9, Behind: behind})
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// BenchmarkStep is a three-layer skin over 5 minutes, dry and dewing.
func BenchmarkStep(b *testing.B) {
	m := cored(b)
	for name, e := range map[string]Exposure{
		"dry":    {Air: 15, DewPoint: 5, Inside: 15, Convects: 8, Sun: 500, Radiant: 330},
		"dewing": {Air: 10, DewPoint: 9.5, Inside: 10, Convects: 5, Radiant: 290},
	} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			s := m.At(10)
			i := 0
			for b.Loop() {
				// The sun changes, as it does, so that there is something to solve.
				if i++; i&1 == 0 {
					e.Sun += 10
				} else {
					e.Sun -= 10
				}
				m.Step(&s, &e, 5*time.Minute)
			}
		})
	}
	b.Logf("%d nodes", m.last+1)
}

// BenchmarkConvects is the wind's share of the cost of a step.
func BenchmarkConvects(b *testing.B) {
	for b.Loop() {
		Convects(3, 2.5, 90)
	}
}
