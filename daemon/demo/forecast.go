package demo

import (
	"bytes"
	"fmt"
	"math"
	"time"
)

// The errors published for one Nordic 2.5 km model at lowland and coastal
// stations, Feb 2019, 24 h ahead (harpData, MET Norway): RMSE; the correlation
// of air and dew-point errors; the share of variance that is a station's own
// bias; the time in which the rest fades.
const (
	airRMSE, dewRMSE, windRMSE = 1.81, 1.66, 2.0 // K, K, m/s
	cloudRMSE                  = 3.1 / 8         // part of one
	airDewCorrelation          = 0.59
	biasShare                  = 0.4
	errorMemory                = 5.5 // h
)

const (
	issueEvery    = 6 * time.Hour
	issueDelay    = time.Hour // from issue to when the document can be had
	forecastHours = 120
)

// forecaster foretells the weather with errors like the published ones. Half
// of the passing error belongs to the hour foretold, so that two issues tend
// to be wrong together; the other half is each issue's own.
type forecaster struct {
	seed  uint64
	site  Site
	hours []Hour
	bias  errors3
	// shared is the error of each of hours that all issues have in common.
	shared []errors3
}

// errors3 are errors in units of their own spread.
type errors3 struct{ air, dew, wind float64 }

// errorSeries draws errors whose air and dew point go together.
type errorSeries struct{ air, dew, wind persistence }

func newForecaster(seed uint64, hours []Hour, site Site) *forecaster {
	r := luck(seed, "forecast")
	f := &forecaster{seed: seed, site: site, hours: hours, bias: draw(r.NormFloat64)}
	series := newErrorSeries(r.NormFloat64)
	for range hours {
		f.shared = append(f.shared, series.next(r.NormFloat64))
	}
	return f
}

// draw is one set of errors with the published correlation.
func draw(normal func() float64) errors3 {
	air, own, wind := normal(), normal(), normal()
	return errors3{air: air, dew: airDewCorrelation*air + math.Sqrt(1-airDewCorrelation*airDewCorrelation)*own, wind: wind}
}

func newErrorSeries(normal func() float64) errorSeries {
	keep := math.Exp(-1 / errorMemory)
	first := draw(normal)
	return errorSeries{persistence{keep, first.air}, persistence{keep, first.dew}, persistence{keep, first.wind}}
}

func (s *errorSeries) next(normal func() float64) errors3 {
	e := draw(normal)
	return errors3{air: s.air.next(e.air), dew: s.dew.next(e.dew), wind: s.wind.next(e.wind)}
}

// growth is the RMSE at a lead as a part of that at 24 h: two thirds of it at
// once, level from half a day to two days (the published table), then 0.27 K a
// day on 1.30 K of mean error (from memory).
func growth(lead float64) float64 {
	return (1 - 0.32*math.Exp(-lead/5)) * (1 + 0.27/1.30*math.Max(0, (lead-48)/24))
}

// passing is the part of growth that is not the station's bias.
func passing(lead float64) float64 {
	return math.Sqrt(math.Max(0, growth(lead)*growth(lead)-biasShare))
}

// foretold is one hour of an issue.
type foretold struct {
	Hour
	chance float64 // of rain
}

// issue foretells five days of hours from one time on; fewer where the truth ends.
func (f *forecaster) issue(at time.Time) []foretold {
	r := luck(f.seed, "issue", at.UTC().Format(time.RFC3339))
	own := newErrorSeries(r.NormFloat64)
	cover, shift := persist(r, errorMemory), persist(r, 48)
	var out []foretold
	for i, truth := range f.hours {
		lead := truth.At.Sub(at).Hours()
		if lead < 0 {
			continue
		}
		if lead > forecastHours {
			break
		}
		mine, all := own.next(r.NormFloat64), f.shared[i]
		spread, bias := passing(lead), math.Sqrt(biasShare)
		miss := func(bias3, shared, own, rmse float64) float64 {
			return rmse * (bias*bias3 + spread*math.Sqrt2/2*(shared+own))
		}
		h := foretold{Hour: truth}
		h.Air += miss(f.bias.air, all.air, mine.air, airRMSE)
		h.DewPoint = math.Min(h.Air, h.DewPoint+miss(f.bias.dew, all.dew, mine.dew, dewRMSE))
		h.Wind = math.Max(0, h.Wind+miss(f.bias.wind, all.wind, mine.wind, windRMSE))
		h.Gust = math.Max(h.Wind, h.Wind*1.5+0.4*r.NormFloat64())
		h.Cloud = clamp(h.Cloud+cloudRMSE*growth(lead)*cover.next(r.NormFloat64()), 0, 1)
		h.Rain, h.chance = f.rain(i, lead, shift.next(r.NormFloat64()), r.NormFloat64)
		h.Shortwave = hourOfSun(f.site, truth.At, h.Cloud)
		h.Said = nil
		out = append(out, h)
	}
	return out
}

// rain puts showers early or late by hours that grow with the lead, and gives
// as chance the share of twenty members, put early or late around it, that have
// rain. The error model is invented.
func (f *forecaster) rain(i int, lead, shift float64, normal func() float64) (amount, chance float64) {
	late := 0.7 + lead/16 // h, standard deviation
	at := func(hours float64) float64 {
		k := i + int(math.Round(hours))
		if k < 0 || k >= len(f.hours) {
			return 0
		}
		return f.hours[k].Rain
	}
	centre := shift * late
	wet := 0
	for range 20 {
		if at(centre+late*normal()) > 0 {
			wet++
		}
	}
	return at(centre) * math.Exp(0.4*normal()), clamp(float64(wet)/20, 0.01, 0.99)
}

// document writes an issue as the CSV that a folder of forecasts holds.
func document(issued time.Time, hours []foretold) []byte {
	var b bytes.Buffer
	fmt.Fprintf(&b, "# issued %s\n", issued.UTC().Format(time.RFC3339))
	b.WriteString("time,air_C,dew_point_C,humidity_%,wind_m/s,gust_m/s,rain_mm,rain_chance_%,cloud_%,shortwave_W/m2\n")
	for _, h := range hours {
		air, dew := math.Round(h.Air*10)/10, math.Round(h.DewPoint*10)/10
		fmt.Fprintf(&b, "%s,%.1f,%.1f,%.0f,%.1f,%.1f,%.1f,%.0f,%.0f,%.0f\n", h.At.UTC().Format(time.RFC3339), air, dew,
			humidityOf(air, dew), h.Wind, h.Gust, h.Rain, 100*h.chance, 100*h.Cloud, h.Shortwave)
	}
	return b.Bytes()
}
