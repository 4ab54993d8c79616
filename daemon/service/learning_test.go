package service

import (
	"fmt"
	"math"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"fairwindow/conditions"
	"fairwindow/config"
)

// learningYard has a weather station, and a shed with an instrument, beside the booth.
var learningYard = strings.NewReplacer(`
crews:`, `
  - {name: shed, kind: shed, length: 25 m, width: 8 m}
crews:`, `
sensors:`, `
sensors:
  - {name: station, place: outdoors, every: 30 min, values: {air: {path: air}, dew_point: {path: dew_point}, wind: {path: wind}}}
  - {name: hygro, place: shed, every: 30 min, values: {air: {path: air}, dew_point: {path: dew_point}}}`).Replace(yardText)

// truth is the weather of these days outdoors: 11 to 19 °C, warmest at 15 h.
func truth(t time.Time) (air, dew float64) {
	turn := 2 * math.Pi * (float64(t.Hour()) + float64(t.Minute())/60 - 15) / 24
	return 15 + 4*math.Cos(turn), 6 + 0.5*math.Sin(turn)
}

// The forecast is always 2 K too warm and its dew point 1 K too low; the shed is
// 0.8 K warmer than the air outdoors.
const tooWarm, tooDry, shedOver = 2.0, 1.0, 0.8

func wrong(t time.Time) (air, dew string) {
	a, d := truth(t)
	return fmt.Sprint(math.Round(10*(a+tooWarm)) / 10), fmt.Sprint(math.Round(10*(d-tooDry)) / 10)
}

// weatherUntil plays the clock with both instruments at every tick and a new wrong
// forecast every six hours.
func (r *rig) weatherUntil(end time.Time) {
	r.t.Helper()
	say := func() {
		now := r.clock.Now()
		if now.Minute() == 0 && now.Hour()%6 == 0 {
			r.forecast(now.Format("20060102T15")+".csv", now, wrong)
		}
		air, dew := truth(now)
		for _, body := range []string{
			fmt.Sprintf(`{"source": "station", "values": {"air": %.2f, "dew_point": %.2f, "wind": %.2f}}`, air, dew, 3+air/100),
			fmt.Sprintf(`{"source": "hygro", "values": {"air": %.2f, "dew_point": %.2f}}`, air+shedOver, dew),
		} {
			if code, answer := r.send(body); code != http.StatusAccepted {
				r.t.Fatalf("%s: %d %s", body, code, answer)
			}
		}
		r.settle()
	}
	say()
	r.during(end, say)
}

// TestTheForecastIsLearned: a forecast that is always wrong by the same is put right,
// outdoors and in a shed that has its own instrument, also after a restart, which
// learns nothing anew; and the plan's problem says what it was put right by.
func TestTheForecastIsLearned(t *testing.T) {
	t.Parallel()
	r := newRig(t, learningYard)
	r.tick = 30 * time.Minute
	r.start()
	r.weatherUntil(at(0, 18, 0))
	off := func(series []conditions.Weather, over float64) (air, dew float64) {
		t.Helper()
		n := 0.0
		for h := 24; h < 72; h++ { // by then nothing is left of the latest reading
			hour := r.clock.Now().Truncate(time.Hour).Add(time.Duration(h) * time.Hour)
			w := conditions.At(series, hour)
			if w.Sure != conditions.Foretold {
				t.Fatalf("%v in %d h is %s", hour, h, w.Sure)
			}
			wantAir, wantDew := truth(hour)
			air, dew, n = air+float64(w.Air)-wantAir-over, dew+float64(w.DewPoint)-wantDew, n+1
		}
		return air / n, dew / n
	}
	problem := func() (p struct {
		Outdoors, Shed []conditions.Weather
		Experience     conditions.Experience
	}) {
		r.svc.mu.Lock()
		defer r.svc.mu.Unlock()
		all := r.svc.facts.problem(r.clock.Now())
		p.Outdoors, p.Shed, p.Experience = all.Outdoors, all.Around["shed"], all.Experience
		return p
	}
	before := problem()
	if air, dew := off(before.Outdoors, 0); math.Abs(air-tooWarm) > 0.1 || math.Abs(dew+tooDry) > 0.1 {
		t.Fatalf("on the first day it is off by %.2f and %.2f", air, dew)
	}
	if len(before.Shed) != 0 || len(before.Experience.Places) != 0 {
		t.Errorf("learned on the first day: %s", asJSON(t, before.Experience))
	}

	r.weatherUntil(at(4, 7, 0))
	check := func(when string) {
		t.Helper()
		p := problem()
		if air, dew := off(p.Outdoors, 0); math.Abs(air) > 0.4 || math.Abs(dew) > 0.3 {
			t.Errorf("%s: outdoors it is off by %.2f and %.2f", when, air, dew)
		}
		if air, dew := off(p.Shed, shedOver); math.Abs(air) > 0.4 || math.Abs(dew) > 0.3 {
			t.Errorf("%s: in the shed it is off by %.2f and %.2f", when, air, dew)
		}
		published, _, _ := conditions.Spread(30 * time.Hour)
		if w := conditions.At(p.Outdoors, at(5, 12, 0)); !(w.AirError < published) || w.Together == 0 {
			t.Errorf("%s: error %v where %v is published, together %v", when, w.AirError, published, w.Together)
		}
		if asJSON(t, p.Experience) != asJSON(t, r.svc.facts.learned.of("model").Experience) || len(p.Experience.Places) != 2 {
			t.Errorf("%s: the plan's evidence is of %d places", when, len(p.Experience.Places))
		}
	}
	check("after four days")
	was := r.svc.facts.learned
	own := was.of("model")
	if was.At.Hour() != night || own.Pairs["shed"] < 80 || own.Pairs["shed"] > own.Pairs[config.Outdoors] {
		t.Errorf("learned at %v from %v", was.At, own.Pairs)
	}
	came, taken, pairs, err := r.svc.Taught(t.Context(), "shed", r.clock.Now())
	if err != nil || pairs != own.Pairs["shed"] || !(came.Air.Over(taken.Air) > 0.8) {
		t.Errorf("the page is told %v for %v, from %d pairs, %v", taken.Air, came.Air, pairs, err)
	}
	r.restart()
	if is := r.svc.facts.learned; asJSON(t, is) != asJSON(t, was) {
		t.Errorf("after a restart\n%s\nwas\n%s", asJSON(t, is), asJSON(t, was))
	}
	check("after a restart")
}

// TestLastNight: three o'clock by the yard's clock, summer and winter.
func TestLastNight(t *testing.T) {
	zone, err := time.LoadLocation("America/New_York")
	if err != nil {
		t.Fatal(err)
	}
	for now, want := range map[string]string{
		"2026-06-01T06:59:00Z": "2026-05-31T07:00:00Z",
		"2026-06-01T07:00:00Z": "2026-06-01T07:00:00Z",
		"2026-12-01T07:30:00Z": "2026-11-30T08:00:00Z",
		"2026-12-01T08:00:00Z": "2026-12-01T08:00:00Z",
	} {
		is, err := time.Parse(time.RFC3339, now)
		if err != nil {
			t.Fatal(err)
		}
		if got := lastNight(is, zone).UTC().Format(time.RFC3339); got != want {
			t.Errorf("at %s: %s, want %s", now, got, want)
		}
	}
}

// records is a year of an invented site in our own table, whose Mays are warm: 25 °C
// about noon and a dew point of 4 °C, where the yard file's months say 18 and 6.
func records(days int) string {
	var b strings.Builder
	b.WriteString("time,air_C,dew_point_C,wind_m/s\n")
	for h := range 24 * days {
		at := time.Date(2025, 1, 1, h, 0, 0, 0, time.UTC)
		fmt.Fprintf(&b, "%s,%.1f,4,%d\n", at.Format(time.RFC3339), 22-3*math.Cos(2*math.Pi*float64(at.Hour())/24)+float64(h%5)/10, 2+h%3)
	}
	return b.String()
}

// TestRecordsMakeTheSeason: beyond the forecast the site's records count, what they
// leave out and where they are too short the months of the yard file; a file that is
// not there is named, and a reload without it keeps the yard in force.
func TestRecordsMakeTheSeason(t *testing.T) {
	t.Parallel()
	far := at(30, 12, 0)
	pencilled := func(r *rig) conditions.Weather {
		t.Helper()
		r.svc.mu.Lock()
		defer r.svc.mu.Unlock()
		return conditions.At(r.svc.facts.problem(r.clock.Now()).Outdoors, far)
	}
	r := newRig(t, yardText+"records: site.csv\n")
	if _, err := New(t.Context(), r.options()); err == nil || !strings.Contains(err.Error(), "the records can't be read") || !strings.Contains(err.Error(), "site.csv") {
		t.Fatalf("without the file: %v", err)
	}
	file := filepath.Join(r.folder, "site.csv")
	if err := os.WriteFile(file, []byte(records(365)), 0o600); err != nil {
		t.Fatal(err)
	}
	r.start()
	hours, _, err := Records(r.svc.Yard(), r.folder)
	if err != nil {
		t.Fatal(err)
	}
	season, err := conditions.SeasonOf(hours)
	if err != nil {
		t.Fatal(err)
	}
	w, want := pencilled(r), season.Weather(far)
	if w.Sure != conditions.Pencilled || w.Air != want.Air || w.DewPoint != want.DewPoint || w.Wind != want.Wind || w.AirError != want.AirError {
		t.Errorf("pencilled %+v, want %+v", w, want)
	}
	if math.Abs(float64(w.Air)-25.2) > 0.3 || w.RainChance != 0 {
		t.Errorf("%v °C at noon, rain %v: the records say 25.2, the months 0", w.Air, w.RainChance)
	}
	alone, err := Once(Alone{Yard: r.svc.Yard(), Folder: r.folder, At: r.clock.Now()})
	if got := conditions.At(alone.Outdoors, far); err != nil || got.Air != w.Air {
		t.Errorf("without a daemon %v, %v", got.Air, err)
	}

	r.yard = yardText + "records: gone.csv\n"
	if err := r.svc.Reload(t.Context()); err == nil || !strings.Contains(err.Error(), "gone.csv") {
		t.Errorf("reload: %v", err)
	}
	if again := pencilled(r); again.Air != w.Air {
		t.Errorf("after a bad reload %v, was %v", again.Air, w.Air)
	}
	r.yard = yardText
	if err := r.svc.Reload(t.Context()); err != nil {
		t.Fatal(err)
	}
	months := pencilled(r)
	if months.Air == w.Air || months.DewPoint != 6 {
		t.Errorf("without records %v, %v", months.Air, months.DewPoint)
	}
	if err := os.WriteFile(file, []byte(records(200)), 0o600); err != nil {
		t.Fatal(err)
	}
	r.yard = yardText + "records: site.csv\n"
	if err := r.svc.Reload(t.Context()); err != nil {
		t.Fatal(err)
	}
	if short := pencilled(r); short.Air != months.Air {
		t.Errorf("with half a year of records %v, the months say %v", short.Air, months.Air)
	}
}
