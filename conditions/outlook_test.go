package conditions

import (
	"encoding/json"
	"math"
	"testing"
	"time"

	"fairwindow/conditions/unit"
)

// hourly is a forecast of one air temperature an hour from monday on.
func hourly(air ...unit.Temperature) []Weather {
	var series []Weather
	for i, a := range air {
		w := outdoors(a, 70)
		w.At = monday.Add(time.Duration(i) * time.Hour)
		w.RainChance = unit.Share(i) / 10
		series = append(series, w)
	}
	return series
}

func TestAt(t *testing.T) {
	series := hourly(10, 14, 12)
	near(t, "between", At(series, after(0.25)).Air, 11, 1e-9)
	near(t, "on a point", At(series, after(1)).Air, 14, 0)
	near(t, "rain of the hour it lies in", At(series, after(1.5)).RainChance, 0.2, 1e-12)
	for _, hours := range []float64{-0.01, 2.01} {
		if w := At(series, after(hours)); w.Sure != Unknown || unit.Known(w.Air) || !w.At.Equal(after(hours)) {
			t.Errorf("%v h: %+v", hours, w)
		}
	}
	if w := At(nil, monday); w.Sure != Unknown {
		t.Errorf("no series: %+v", w)
	}
	series[2].At = after(7)
	if w := At(series, after(4)); !unit.Known(w.Air) {
		t.Errorf("six hours are not bridged: %+v", w)
	}
	series[2].At = after(7.1)
	if w := At(series, after(4)); w.Sure != Unknown || unit.Known(w.Air) {
		t.Errorf("more than six hours are bridged: %+v", w)
	}
	series = hourly(10, 14)
	series[1].Sure, series[1].Gust = Pencilled, unit.NaN[unit.Speed]()
	if w := At(series, after(0.5)); w.Sure != Pencilled || unit.Known(w.Gust) || !unit.Known(w.Wind) {
		t.Errorf("the less sure decides: %+v", w)
	}
}

// TestCorrect: the offset of the last reading fades by 6 h, and so does what it
// tells of the error; the instrument's own error stays.
func TestCorrect(t *testing.T) {
	model := hourly(10, 10, 10, 10, 10, 10, 10, 10, 10, 10, 10, 10, 10)
	read := outdoors(12, 70)
	read.Sure, read.At = Measured, after(2)
	older := read
	older.At, older.Air = after(1), 5
	got := Correct(model, read, older)
	near(t, "before it", got[1].Air, 10, 0)
	near(t, "an hour after", got[3].Air, 10+2*math.Exp(-1.0/6), 1e-9)
	near(t, "six hours after", got[8].Air, 10+2/math.E, 1e-9)
	offset := read.DewPoint.Over(model[2].DewPoint)
	near(t, "dew point", got[8].DewPoint, float64(model[8].DewPoint)+float64(offset)/math.E, 1e-9)
	if !(got[3].AirError < got[8].AirError && got[8].AirError < 1.8 && got[3].AirError >= 0.3) {
		t.Errorf("errors %v, %v", got[3].AirError, got[8].AirError)
	}
	near(t, "model as it was", model[8].Air, 10, 0)

	wet := read
	wet.Air, wet.DewPoint = 2, 11
	for _, w := range Correct(model, wet) {
		if w.DewPoint > w.Air {
			t.Errorf("dew point over air: %+v", w)
		}
	}
	doubtful := read
	doubtful.Sure = Unknown
	for _, readings := range [][]Weather{nil, {doubtful}} {
		if got := Correct(model, readings...); got[3].Air != 10 || got[3].AirError != 1.8 {
			t.Errorf("corrected by %+v: %+v", readings, got[3])
		}
	}
}

// TestUsual: a sine with its greatest at 15 h local, and a mean that is the day's.
func TestUsual(t *testing.T) {
	u := Usual{Air: 14, Swing: 8, DewPoint: 11, Scatter: 3, Wind: 4, RainHours: 0.12}
	near(t, "15 h", u.Weather(monday, 15).Air, 18, 1e-9)
	near(t, "3 h", u.Weather(monday, 3).Air, 10, 1e-9)
	near(t, "dew point at 3 h", u.Weather(monday, 3).DewPoint, 10, 1e-9)
	var mean float64
	for hour := range 24 {
		mean += float64(u.Weather(monday, float64(hour)).Air) / 24
	}
	near(t, "mean", mean, 14, 1e-9)
	w := u.Weather(monday, 9)
	if w.Sure != Pencilled || w.AirError != 3 || w.RainChance != 0.12 || unit.Known(w.Cloud) || unit.Known(w.Gust) {
		t.Errorf("%+v", w)
	}
}

// TestWeatherJSON: unknown is null and comes back unknown, sun included.
func TestWeatherJSON(t *testing.T) {
	for _, w := range []Weather{nothing(monday), outdoors(12, 70)} {
		text, err := json.Marshal(w)
		if err != nil {
			t.Fatal(err)
		}
		var back Weather
		if err := json.Unmarshal(text, &back); err != nil {
			t.Fatal(err)
		}
		if again, _ := json.Marshal(back); string(again) != string(text) {
			t.Errorf("%s came back as %s", text, again)
		}
	}
	var w Weather
	if err := json.Unmarshal([]byte(`{"air":12.5,"shortwave":430,"cloud":null}`), &w); err != nil {
		t.Fatal(err)
	}
	if w.Air != 12.5 || w.Shortwave != 430 || unit.Known(w.Cloud) {
		t.Errorf("%+v", w)
	}
}
