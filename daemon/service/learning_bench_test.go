package service

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
	"fairwindow/daemon/store"
	"fairwindow/sensors"
)

// BenchmarkLearning is a night's learning after two months: an issue of five days
// every six hours, and readings of five spots every ten minutes, 43 000 in all.
func BenchmarkLearning(b *testing.B) {
	places, instruments, spots := "", "", []string{config.Outdoors}
	for _, kind := range []string{"shed", "tent", "slip", "standing"} {
		places += fmt.Sprintf("\n  - {name: %s 1, kind: %s, length: 25 m, width: 8 m}", kind, kind)
		spots = append(spots, kind+" 1")
	}
	for _, spot := range spots {
		instruments += fmt.Sprintf("\n  - {name: at %s, place: %s, values: {air: {path: air}, dew_point: {path: dew_point}}}", spot, spot)
	}
	r := newRig(b, strings.NewReplacer("\ncrews:", places+"\ncrews:", "\nsensors:", "\nsensors:"+instruments).Replace(yardText))
	from := monday.Add(-lookBack)
	kept, err := store.Open(r.state)
	if err != nil {
		b.Fatal(err)
	}
	for day := from; day.Before(monday); day = day.Add(24 * time.Hour) {
		c := store.Change{At: day}
		for now := day; now.Before(day.Add(24 * time.Hour)); now = now.Add(10 * time.Minute) {
			air, dew := truth(now)
			for _, spot := range spots {
				c.Readings = append(c.Readings, sensors.Reading{
					Source: "at " + spot, Place: spot, At: now, Received: now, Key: spot + now.String(),
					Values: map[conditions.Variable]float64{conditions.AirTemperature: air, conditions.DewPointTemp: dew},
				})
			}
			if now.Minute() == 0 && now.Hour()%6 == 0 {
				f := sensors.Forecast{Source: "model", Issued: now, Received: now}
				for h := range 120 {
					w := conditions.At(nil, now.Add(time.Duration(h)*time.Hour))
					air, dew := truth(w.At)
					w.Air, w.DewPoint = unit.Temperature(air+tooWarm), unit.Temperature(dew-tooDry)
					w.Sure = conditions.Foretold
					f.Points = append(f.Points, w)
				}
				c.Forecasts = append(c.Forecasts, store.NewForecast{Forecast: f})
			}
		}
		if _, err := kept.Commit(b.Context(), c); err != nil {
			b.Fatal(err)
		}
	}
	if err := kept.Close(); err != nil {
		b.Fatal(err)
	}
	r.start()
	yard, now := r.svc.Yard(), r.clock.Now()
	b.ResetTimer()
	for range b.N {
		pairs, err := r.svc.pairs(b.Context(), yard, now)
		if err != nil || len(pairs) < 20000 {
			b.Fatalf("%d pairs, %v", len(pairs), err)
		}
		conditions.Learn(pairs)
		b.ReportMetric(float64(len(pairs)), "pairs")
	}
}
