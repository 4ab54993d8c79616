package conditions

import (
	"math"
	"slices"
	"strconv"
	"testing"
	"time"

	"fairwindow/conditions/unit"
)

// lowland reads the real pairs of ../shared/weather: one Nordic 2.5 km model and
// 239 coastal lowland stations, the four issues of 17 February 2019, every 3 h to
// 48 h. They are of one day and one region: good for the size of errors by lead,
// their correlation and the flatness of ranks, and for no more.
func lowland(t testing.TB) []Pair {
	t.Helper()
	var out []Pair
	for _, r := range shared(t, "../weather/meps_lowland_coastal_2019-02-17_pairs.csv") {
		issued, err := time.Parse("2006-01-02T15:04Z", r["init"])
		if err != nil {
			t.Fatal(err)
		}
		value := func(column string) float64 {
			v, err := strconv.ParseFloat(r[column], 64)
			if err != nil {
				return math.NaN()
			}
			return v
		}
		at := issued.Add(time.Duration(number(t, r["lead_h"])) * time.Hour)
		p := Pair{Place: r["station"], Issued: issued, At: at, Forecast: nothing(at), Observed: nothing(at)}
		f, o := &p.Forecast, &p.Observed
		f.Sure, o.Sure = Foretold, Measured
		f.Air, o.Air = unit.Temperature(value("t2m_c_fc")), unit.Temperature(value("t2m_c_ob"))
		f.DewPoint, o.DewPoint = unit.Temperature(value("td2m_c_fc")), unit.Temperature(value("td2m_c_ob"))
		f.Wind, o.Wind = unit.Speed(value("wind10m_ms_fc")), unit.Speed(value("wind10m_ms_ob"))
		if unit.Known(f.Air) && unit.Known(o.Air) && unit.Known(f.DewPoint) && unit.Known(o.DewPoint) {
			out = append(out, p)
		}
	}
	return out
}

// TestPairsOfLowland: the errors' size by lead against the model's of the whole
// month and all stations (harp_error_by_lead.csv): one day of the coast errs by
// 0.75 to 1.1 of it. The correlation of air's and dew point's errors is 0.59 among
// all stations, as the three published errors of air, dew point and their difference
// give it too; on this one day of the coast it is half of that, which is why it is
// learned. And the forecast is smoother than the air, on which the reliability study
// builds.
func TestPairsOfLowland(t *testing.T) {
	pairs := lowland(t)
	air, dew, n := map[time.Duration]float64{}, map[time.Duration]float64{}, map[time.Duration]float64{}
	var ad, aa, dd, ma, md float64
	for _, p := range pairs {
		lead := p.At.Sub(p.Issued)
		a, d := float64(p.Observed.Air.Over(p.Forecast.Air)), float64(p.Observed.DewPoint.Over(p.Forecast.DewPoint))
		air[lead] += a * a
		dew[lead] += d * d
		n[lead]++
		ad, aa, dd, ma, md = ad+a*d, aa+a*a, dd+d*d, ma+a, md+d
	}
	published := map[string]float64{}
	for _, r := range shared(t, "harp_error_by_lead.csv") {
		lead := time.Duration(number(t, r["lead_h"])) * time.Hour
		if r["model"] == "MEPS" {
			published[r["variable"]+r["lead_h"]] = number(t, r["rmse"])
		}
		of := map[string]map[time.Duration]float64{"TT": air, "TD": dew}[r["variable"]]
		if r["model"] != "MEPS" || of == nil {
			continue
		}
		near(t, r["variable"]+" at "+r["lead_h"]+" h, over published", math.Sqrt(of[lead]/n[lead])/number(t, r["rmse"]), 0.93, 0.18)
	}
	all := float64(len(pairs))
	correlation := (ad/all - ma*md/all/all) / math.Sqrt((aa/all-ma*ma/all/all)*(dd/all-md*md/all/all))
	near(t, "correlation", correlation, 0.31, 0.02)
	implied := 0.0
	for _, lead := range []string{"12", "24", "36", "48"} {
		a, d, m := published["TT"+lead], published["TD"+lead], published["DPD"+lead]
		implied += (a*a + d*d - m*m) / (2 * a * d) / 4
	}
	near(t, "correlation that the published errors imply", implied, together, 0.05)
	t.Logf("%d pairs; correlation of the errors %.2f", len(pairs), correlation)

	foretold, measured := changes(pairs)
	t.Logf("the margin changes in 3 h by %.2f K foretold, %.2f K measured", foretold, measured)
	near(t, "smoother", foretold/measured, 0.71, 0.05)
}

// changes is how much a margin changes in 3 h along an issue, foretold and measured.
func changes(pairs []Pair) (foretold, measured float64) {
	type run struct {
		place  string
		issued int64
	}
	last := map[run]Pair{}
	var n float64
	for _, p := range pairs {
		key := run{p.Place, p.Issued.Unix()}
		if b, ok := last[key]; ok && p.At.Sub(b.At) == 3*time.Hour && b.At.After(b.Issued) {
			foretold += square(float64(p.Forecast.Air.Over(p.Forecast.DewPoint) - b.Forecast.Air.Over(b.Forecast.DewPoint)))
			measured += square(float64(p.Observed.Air.Over(p.Observed.DewPoint) - b.Observed.Air.Over(b.Observed.DewPoint)))
			n++
		}
		last[key] = p
	}
	return math.Sqrt(foretold / n), math.Sqrt(measured / n)
}

// TestPairsRanks: what half of the stations teach, as if they were one place,
// against the other half: the share of readings in each tenth of what the
// forecast gives, of air, dew point and margin. Flat is 0.1; a station's own bias is
// in there, errors have a sharper peak than normal ones, and one day of one
// weather has its own luck: 0.07 either way.
func TestPairsRanks(t *testing.T) {
	var teach, hold []Pair
	for _, p := range lowland(t) {
		number, err := strconv.Atoi(p.Place)
		if err != nil {
			t.Fatal(err)
		}
		p.Place = "lowland"
		if number/2%2 == 0 { // stations of one number's neighbourhood fall on both sides
			teach = append(teach, p)
		} else {
			hold = append(hold, p)
		}
	}
	x := Learn(teach)
	var ranks [3][10]float64
	var crps, raw float64
	for _, p := range hold {
		w := x.Correct(p.Forecast, "lowland", p.Issued)
		bare := Experience{}.Correct(p.Forecast, "lowland", p.Issued)
		for i, z := range []float64{
			float64(p.Observed.Air.Over(w.Air) / w.AirError),
			float64(p.Observed.DewPoint.Over(w.DewPoint) / w.DewError),
			float64((p.Observed.Air.Over(p.Observed.DewPoint) - w.Air.Over(w.DewPoint)) / Enclosure{}.Moment(w, Idle).MarginError),
		} {
			ranks[i][min(9, int(10*Chance(z)))] += 1 / float64(len(hold))
		}
		crps += ranked(float64(p.Observed.Air), float64(w.Air), float64(w.AirError)) / float64(len(hold))
		raw += ranked(float64(p.Observed.Air), float64(bare.Air), float64(bare.AirError)) / float64(len(hold))
	}
	t.Logf("%d pairs teach, %d are held against; together %.2f, persists %v; CRPS of air %.3f K, raw %.3f K",
		len(teach), len(hold), x.Together, x.Persists, crps, raw)
	for i, name := range []string{"air", "dew point", "margin"} {
		t.Logf("%-9s %.3f", name, ranks[i])
		if least, most := slices.Min(ranks[i][:]), slices.Max(ranks[i][:]); least < 0.03 || most > 0.17 {
			t.Errorf("%s: tenths from %.3f to %.3f", name, least, most)
		}
	}
	if crps > raw {
		t.Errorf("CRPS %v K is worse than raw, %v K", crps, raw)
	}
}

// TestRanked against printed values of the closed form, to their last digit.
func TestRanked(t *testing.T) {
	near(t, "N(0,1) at 0", ranked(0, 0, 1), 0.233695, 5e-7)
	near(t, "N(0,1) at 1", ranked(1, 0, 1), 0.602441, 5e-7)
	near(t, "N(10,2) at 13", ranked(13, 10, 2), 1.988848, 5e-7)
}
