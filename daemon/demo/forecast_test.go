package demo

import (
	"bytes"
	"math"
	"testing"
	"time"

	"fairwindow/sensors"
	"fairwindow/sensors/forecast"
)

// errorsAt collects forecast less truth at one lead, over many yards.
type errorsAt struct{ air, dew, wind []float64 }

func collect(leads ...int) map[int]*errorsAt {
	out := map[int]*errorsAt{}
	for _, l := range leads {
		out[l] = &errorsAt{}
	}
	for seed := range uint64(160) {
		sky := Invent(seed, spring, 24, harbour)
		f := newForecaster(seed, sky, harbour)
		for at := spring; at.Before(spring.AddDate(0, 0, 18)); at = at.Add(18 * time.Hour) {
			hours := f.issue(at)
			for _, l := range leads {
				truth := outdoors(sky, at.Add(time.Duration(l)*time.Hour))
				e := out[l]
				e.air = append(e.air, hours[l].Air-truth.Air)
				e.dew = append(e.dew, hours[l].DewPoint-truth.DewPoint)
				e.wind = append(e.wind, hours[l].Wind-truth.Wind)
			}
		}
	}
	return out
}

// CHECKS.md 6: RMSE at 24 h air 1.81 K, dew point 1.66 K, wind 2.0 m/s,
// correlation 0.59; at 3 h 1.56, 1.60 and 1.81 (published/harp_error_by_lead.csv).
// Eight percent for the draw of 160 stations' biases; 20 % for wind, which no
// error takes below calm; 0.12 on the correlation and 15 % on the dew point,
// which no error takes above the air. At 3 h the one curve of growth for all
// three is within 18 % of the table.
func TestForecastErrsAsPublished(t *testing.T) {
	byLead := collect(0, 3, 24, 30, 48, 120)
	day := byLead[24]
	near(t, "air RMSE at 24 h", rms(day.air), airRMSE, 0.08*airRMSE)
	near(t, "dew-point RMSE at 24 h", rms(day.dew), dewRMSE, 0.15*dewRMSE)
	near(t, "wind RMSE at 24 h", rms(day.wind), windRMSE, 0.20*windRMSE)
	near(t, "correlation", correlation(day.air, day.dew), airDewCorrelation, 0.12)
	near(t, "air RMSE at 3 h", rms(byLead[3].air), 1.56, 0.18*1.56)
	near(t, "dew-point RMSE at 3 h", rms(byLead[3].dew), 1.60, 0.18*1.60)
	near(t, "wind RMSE at 3 h", rms(byLead[3].wind), 1.81, 0.20*1.81)
	// 0.27 K a day on 1.30 K from the second day: 62 % more on the fifth.
	near(t, "growth to 120 h", rms(byLead[120].air)/rms(byLead[48].air), 1.62, 0.16)
	// About 40 % of the variance is the station's own bias, the rest fades with
	// 5 to 6 h: over 6 h 0.4 + 0.6 exp(−6/5.5) = 0.60.
	near(t, "correlation over 6 h", correlation(day.air, byLead[30].air), 0.60, 0.08)
	if rms(byLead[0].air) >= rms(byLead[3].air) {
		t.Error("the analysis errs as much as 3 h ahead")
	}
}

func TestForecastDocumentIsRead(t *testing.T) {
	sky := Invent(3, spring, 12, harbour)
	f := newForecaster(3, sky, harbour)
	issued := spring.Add(30 * time.Hour)
	body := document(issued, f.issue(issued))
	if again := document(issued, newForecaster(3, sky, harbour).issue(issued)); !bytes.Equal(body, again) {
		t.Error("one seed gave two documents")
	}
	got, err := forecast.Parse(sensors.Document{Source: "folder", Format: "csv", Body: body, Received: issued.Add(time.Hour), Zone: time.UTC})
	if err != nil {
		t.Fatal(err)
	}
	if !got.Issued.Equal(issued) || len(got.Points) != forecastHours+1 || len(got.Flags) > 0 {
		t.Errorf("issued %s, %d points, flags %v", got.Issued, len(got.Points), got.Flags)
	}
	for i, h := range f.issue(issued) {
		p := got.Points[i]
		if math.Abs(float64(p.Air)-h.Air) > 0.051 || p.DewPoint > p.Air || math.Abs(float64(p.RainChance)-h.chance) > 0.006 {
			t.Fatalf("hour %d: read %+v, written %+v", i, p, h)
		}
	}
}

// A chance of rain must mean something: it rains more often where it is said
// to be likely. The error model of rain is invented; these bounds are wide.
func TestChanceOfRainMeansSomething(t *testing.T) {
	var low, high, lowRain, highRain float64
	for seed := range uint64(40) {
		sky := Invent(seed, spring, 20, harbour)
		for _, h := range newForecaster(seed, sky, harbour).issue(spring.Add(48 * time.Hour)) {
			wet := 0.0
			if outdoors(sky, h.At).Rain > 0 {
				wet = 1
			}
			switch {
			case h.chance < 0.1:
				low, lowRain = low+1, lowRain+wet
			case h.chance > 0.6:
				high, highRain = high+1, highRain+wet
			}
		}
	}
	if lowRain/low > 0.08 || highRain/high < 0.45 {
		t.Errorf("it rained in %.2f of the hours with little chance and %.2f of those with much", lowRain/low, highRain/high)
	}
}

func rms(v []float64) float64 {
	sum := 0.0
	for _, x := range v {
		sum += x * x
	}
	return math.Sqrt(sum / float64(len(v)))
}

func correlation(a, b []float64) float64 {
	var ma, mb, ab, aa, bb float64
	n := float64(len(a))
	for i := range a {
		ma, mb = ma+a[i]/n, mb+b[i]/n
	}
	for i := range a {
		ab, aa, bb = ab+(a[i]-ma)*(b[i]-mb), aa+(a[i]-ma)*(a[i]-ma), bb+(b[i]-mb)*(b[i]-mb)
	}
	return ab / math.Sqrt(aa*bb)
}
