package conditions

import (
	"encoding/json"
	"math"
	"reflect"
	"strconv"
	"strings"
	"testing"
	"time"

	"fairwindow/conditions/unit"
)

// hoursOf reads one of the hourly records of US airports in ../shared/weather as
// measured weather: °F, mph and inches to SI. A wind over 60 m/s is the fault
// that the file is known for. Times without a zone are taken as UTC, which
// shifts the hours of the day and changes nothing else.
func hoursOf(t testing.TB, name string) []Weather {
	t.Helper()
	var out []Weather
	for _, r := range shared(t, "../weather/"+name) {
		at, err := time.Parse(time.RFC3339, r["time_hour"])
		if err != nil {
			if at, err = time.Parse(time.DateTime, r["date"]); err != nil {
				t.Fatal(err)
			}
		}
		value := func(column string) float64 {
			v, err := strconv.ParseFloat(r[column], 64)
			if err != nil {
				return math.NaN()
			}
			return v
		}
		w := nothing(at)
		w.Sure = Measured
		w.Air = unit.Temperature((value("temp") - 32) / 1.8)
		w.DewPoint = unit.Temperature((value("dewp") - 32) / 1.8)
		w.Wind = unit.Speed(value("wind_speed") * 0.44704)
		if w.Wind > 60 {
			w.Wind = unit.NaN[unit.Speed]()
		}
		w.Rain = unit.RainRate(value("precip") * 25.4)
		if !unit.Known(w.Air) || !unit.Known(w.DewPoint) {
			w.Sure = Unknown
		}
		out = append(out, w)
	}
	return out
}

// TestSeasonOfNewark: the season fitted to Newark's 2013 against that year's own
// monthly means, taken straight from the records. A month's mean has an error
// of its own of some 4 K / √10, as weather lasts for three days, and a season must
// not follow it: 1 K over all months, 1.5 K in one (dew point, which scatters by
// half as much again: 1.5 and 2.5 K). Winds are within 0.7 m/s, wet hours within 5 %; and
// the hours' errors about it are, month by month, as large as it says, within a third.
func TestSeasonOfNewark(t *testing.T) {
	records := hoursOf(t, "newark_2013_hourly.csv")
	s, err := SeasonOf(records)
	if err != nil {
		t.Fatal(err)
	}
	type sums struct{ n, air, wind, wet, airOff, dewOff, square, said float64 }
	var months [13]sums
	var mean sums
	for _, w := range records {
		if w.Sure == Unknown || !unit.Known(w.Wind) {
			continue
		}
		usual := s.Weather(w.At)
		if usual.Sure != Pencilled || usual.DewPoint > usual.Air || unit.Known(usual.Cloud) || unit.Known(usual.Gust) {
			t.Fatalf("%+v", usual)
		}
		off := float64(w.Air - usual.Air)
		for _, m := range []*sums{&months[w.At.Month()], &mean} {
			m.n++
			m.air += float64(w.Air)
			m.airOff += off
			m.dewOff += float64(w.DewPoint - usual.DewPoint)
			m.wind += float64(w.Wind - usual.Wind)
			m.wet -= float64(usual.RainChance)
			if w.Rain > 0 {
				m.wet++
			}
			m.square += off * off
			m.said += float64(usual.AirError * usual.AirError)
		}
	}
	var airs, dews, cosine, sine float64
	for month, m := range months[1:] {
		name := time.Month(month + 1).String()
		t.Logf("%-9s %5.1f C, off by %+.2f K, dew point %+.2f K, scatter %.1f K said %.1f K", name, m.air/m.n, m.airOff/m.n, m.dewOff/m.n, math.Sqrt(m.square/m.n), math.Sqrt(m.said/m.n))
		near(t, name+" air", m.airOff/m.n, 0, 1.5)
		near(t, name+" dew point", m.dewOff/m.n, 0, 2.5)
		airs += square(m.airOff/m.n) / 12
		dews += square(m.dewOff/m.n) / 12
		middle := 2 * math.Pi * (float64(month) + 0.5) / 12
		cosine += m.air / m.n * math.Cos(middle) / 6
		sine += m.air / m.n * math.Sin(middle) / 6
		near(t, name+" wind", m.wind/m.n, 0, 0.7)
		near(t, name+" wet", m.wet/m.n, 0, 0.05)
		near(t, name+" scatter", math.Sqrt(m.square/m.said), 1, 0.33)
	}
	near(t, "air over all months", math.Sqrt(airs), 0, 1)
	near(t, "dew point over all months", math.Sqrt(dews), 0, 1.5)
	// The year's first wave, of the twelve means (a month's mean keeps 0.989 of it)
	// and of the fit: 1970 began the turn that the fit counts by. Months are not
	// all of one length: half a kelvin of 13, and three days.
	amplitude := math.Hypot(s.Air[waves], s.Air[2*waves])
	near(t, "amplitude of the year", amplitude, math.Hypot(cosine, sine)/0.989, 0.5)
	lag := math.Atan2(s.Air[2*waves], s.Air[waves]) - math.Atan2(sine, cosine)
	near(t, "days that the fit is late", math.Remainder(lag, 2*math.Pi)*365.25/(2*math.Pi), 0, 3)
	near(t, "air of the year", mean.airOff/mean.n, 0, 1e-2) // but for the few hours without wind
	cold, warm := s.Weather(time.Date(2030, 1, 20, 10, 0, 0, 0, time.UTC)), s.Weather(time.Date(2030, 7, 20, 19, 0, 0, 0, time.UTC))
	if !(cold.Air < 3 && warm.Air > 26 && cold.AirError > warm.AirError) {
		t.Errorf("another year: %+v, %+v", cold, warm)
	}
	// The afternoon is warmer than the night by the summer's swing, here 7 to 9 K.
	night := s.Weather(time.Date(2030, 7, 20, 9, 0, 0, 0, time.UTC))
	near(t, "swing", warm.Air.Over(night.Air), 8, 1.5)

	text, err := json.Marshal(s)
	if err != nil {
		t.Fatal(err)
	}
	var back Season
	if err := json.Unmarshal(text, &back); err != nil || !reflect.DeepEqual(back, s) {
		t.Errorf("%v: came back as %+v", err, back)
	}
}

// TestSeasonOfWaves: a year that is made of such waves is found again, whatever
// order the records come in, and without wind or rain these stay unknown.
func TestSeasonOfWaves(t *testing.T) {
	air := func(at time.Time) float64 {
		turn := 2 * math.Pi * float64(at.Unix()) / year.Seconds()
		day := 2 * math.Pi * float64(at.Hour()) / 24
		return 10 - 9*math.Cos(turn-0.3) + (4-2*math.Cos(turn))*math.Cos(day-4)
	}
	var records []Weather
	for hour := 365*24 - 1; hour >= 0; hour-- {
		w := nothing(monday.Add(time.Duration(hour) * time.Hour))
		w.Sure, w.Air = Measured, unit.Temperature(air(w.At))
		w.DewPoint = w.Air - 4
		records = append(records, w)
	}
	s, err := SeasonOf(records)
	if err != nil {
		t.Fatal(err)
	}
	for hour := range 100 {
		w := s.Weather(monday.Add(time.Duration(hour*91) * time.Hour))
		near(t, "air", w.Air, air(w.At), 1e-6)
		near(t, "dew point", w.DewPoint, air(w.At)-4, 1e-6)
		near(t, "error", w.AirError, 0.3, 0)
		if unit.Known(w.Wind) || unit.Known(w.RainChance) {
			t.Fatalf("%+v", w)
		}
	}
}

// TestColdestDay: the usual coldest day of the Newark records is near the mean of the
// coldest thirty-one days on end that they hold, and a season of nothing has none.
func TestColdestDay(t *testing.T) {
	hours := hoursOf(t, "newark_2013_hourly.csv")
	season, err := SeasonOf(hours)
	if err != nil {
		t.Fatal(err)
	}
	var sums, counts [367]float64
	for _, w := range hours {
		if w.Sure == Measured {
			sums[w.At.YearDay()] += float64(w.Air)
			counts[w.At.YearDay()]++
		}
	}
	coldest := math.Inf(1)
	for day := 1; day+30 <= 365; day++ {
		sum, count := 0.0, 0.0
		for d := day; d <= day+30; d++ {
			sum, count = sum+sums[d], count+counts[d]
		}
		coldest = min(coldest, sum/count)
	}
	got := season.ColdestDay()
	if math.Abs(float64(got.Air)-coldest) > 1.5 || got.DewPoint > got.Air { // two waves a year; our judgement, no source
		t.Errorf("%.2f °C, dew point %.2f, want about %.2f °C", got.Air, got.DewPoint, coldest)
	}
	if none := (Season{}).ColdestDay(); unit.Known(none.Air) {
		t.Errorf("of nothing: %+v", none)
	}
}

func TestSeasonRefuses(t *testing.T) {
	day := func(n, hours int) []Weather {
		var records []Weather
		for i := range n * hours {
			w := outdoors(12, 70)
			w.At = monday.Add(time.Duration(i/hours)*24*time.Hour - 9*time.Hour + time.Duration(i%hours)*time.Hour)
			records = append(records, w)
		}
		return records
	}
	for _, c := range []struct {
		records []Weather
		says    string
	}{
		{nil, "hold 0 different days"},
		{day(299, 24), "hold 299 different days of the year with air and dew point; a season needs 300"},
		{append(day(200, 24), day(200, 24)...), "hold 200 different days"},
		{day(365, 1), "air temperature: the records do not cover the year and the clock"},
	} {
		if _, err := SeasonOf(c.records); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%d records: %v, not %q", len(c.records), err, c.says)
		}
	}
	if w := (Season{}).Weather(monday); w.Sure != Unknown || unit.Known(w.Air) {
		t.Errorf("a season never fitted knows %+v", w)
	}
}
