package conditions

import (
	"math"
	"testing"
	"time"

	"fairwindow/conditions/skin"
	"fairwindow/conditions/sky"
	"fairwindow/conditions/unit"
)

// BenchmarkSixWeeks is one place for six weeks in slots of five minutes: the
// surface of five facets, and the verdict and its chance for each of six cards.
// It must take no more than 20 ms on one core, and allocate nothing for a slot.
func BenchmarkSixWeeks(b *testing.B) {
	const weeks, step = 6, 5 * time.Minute
	start := time.Date(2026, 4, 6, 0, 0, 0, 0, time.UTC)
	look := Outlook{}
	place := Stand{Site: sky.Site{Latitude: 38.7, Longitude: -9.2}, Heading: 200, Sun: 1}
	for h := range weeks*7*24 + 1 {
		at := start.Add(time.Duration(h) * time.Hour)
		day := math.Cos(2 * math.Pi * (float64(h%24) - 15) / 24)
		w := Weather{
			At: at, Air: unit.Temperature(16 + 5*day), DewPoint: unit.Temperature(11 + day), Wind: unit.Speed(3 + day), Gust: 6,
			Cloud: unit.Share(0.5 + 0.4*math.Sin(float64(h)/31)), Shortwave: math.NaN(), Sure: Foretold, AirError: 1.5, DewError: 1.5,
		}
		look.Outdoors = append(look.Outdoors, w)
		look.Inside = append(look.Inside, place.Moment(w, Idle))
	}
	layers, _ := skin.Build("cored")
	behind, _ := skin.Behind("cabin")
	model, err := skin.New(skin.Skin{Layers: layers, Absorbs: 0.4, Emits: 0.9, Behind: behind})
	if err != nil {
		b.Fatal(err)
	}
	hull := NewHull(model, model, model)[1:]
	cards := make([]Rules, 6)
	for i := range cards {
		more := float64(i) / 10
		cards[i] = Rules{
			{Of: OfMargin, Least: true, At: 3 - more}, {Of: OfHumidity, At: 85 - more}, {Of: OfAir, Least: true, At: 10 + more},
			{Of: OfAir, At: 32}, {Of: OfSurface, Least: true, At: 10}, {Of: OfSurface, At: 35}, {Of: OfWind, At: 6.7},
		}
	}
	const n = weeks*7*24*12 + 1
	b.ReportAllocs()
	var open int
	var sure float64
	for b.Loop() {
		open = 0
		surface := place.Surface(hull, look, Idle, step, n)
		for slot := range n {
			hour := min(slot/12, len(look.Inside)-2)
			in, next := &look.Inside[hour], &look.Inside[hour+1]
			part := float64(slot-12*hour) / 12
			m := *in
			m.Air, m.DewPoint = between(in.Air, next.Air, part), between(in.DewPoint, next.DewPoint, part)
			m.Coldest, m.Warmest, m.Wet = surface.Coldest[slot], surface.Warmest[slot], surface.Wet[slot]
			for i := range cards {
				z, _ := Score(&m, cards[i])
				if z >= 0 {
					open++
				}
				sure += Chance(z)
			}
		}
	}
	if open == 0 || open == 6*n || !(sure > 0) {
		b.Fatalf("%d verdicts of yes: the bench did not do its work", open)
	}
	b.ReportMetric(n, "slots")
}
