package pages

import (
	"context"
	"encoding/csv"
	"math"
	"net/http"
	"net/http/httptest"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"fairwindow/conditions"
	"fairwindow/planner"
	"fairwindow/sensors"
)

func (f *fake) Heard(ctx context.Context, place string, from, to time.Time) ([]sensors.Reading, error) {
	all, err := f.Readings(ctx, place, from, to)
	return slices.DeleteFunc(all, func(r sensors.Reading) bool { return !r.At.Before(to) }), err
}

func TestPlaceSpans(t *testing.T) {
	c := clock{now: now, zone: testZone(t)}
	day := func(d int) time.Time { return at(d, 0, 0) }
	for _, one := range []struct {
		query    string
		from, to time.Time
		title    string
		fault    string
	}{
		{"", now.Add(-24 * time.Hour), now.Add(48 * time.Hour), "A day past, two days ahead", ""},
		{"span=12h", now.Add(-12 * time.Hour), now.Add(12 * time.Hour), "12 hours past, 12 ahead", ""},
		{"span=7d", now.Add(-168 * time.Hour), now.Add(168 * time.Hour), "7 days past, 7 ahead", ""},
		{"span=nonsense", now.Add(-24 * time.Hour), now.Add(48 * time.Hour), "A day past, two days ahead", ""},
		{"first=2026-04-05", day(5), day(6), "Sun 5 Apr 2026", ""},
		{"last=2026-04-05", day(5), day(6), "Sun 5 Apr 2026", ""},
		{"first=2026-04-03&last=2026-04-05", day(3), day(6), "Fri 3 Apr 2026 to Sun 5 Apr 2026", ""},
		// The clocks go forward on 29 March: that day has 23 hours.
		{"first=2026-03-29", time.Date(2026, 3, 29, 0, 0, 0, 0, time.UTC), time.Date(2026, 3, 29, 23, 0, 0, 0, time.UTC), "Sun 29 Mar 2026", ""},
		{"first=2026-03-01&last=2026-04-04", time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC), day(5), "Sun 1 Mar 2026 to Sat 4 Apr 2026", ""},
		{"first=2026-03-01&last=2026-04-05", now.Add(-24 * time.Hour), now.Add(48 * time.Hour), "A day past, two days ahead", "At most 35 days"},
		{"first=2026-04-05&last=2026-04-04", now.Add(-24 * time.Hour), now.Add(48 * time.Hour), "A day past, two days ahead", "before the first"},
		{"first=5+April", now.Add(-24 * time.Hour), now.Add(48 * time.Hour), "A day past, two days ahead", "2026-04-05"},
		{"first=9999-12-31", now.Add(-24 * time.Hour), now.Add(48 * time.Hour), "A day past, two days ahead", "beyond any forecast"},
	} {
		got := placeSpanOf(httptest.NewRequest("GET", "/place/x?"+one.query, nil), "x", c)
		if !got.from.Equal(one.from) || !got.to.Equal(one.to) || got.Title != one.title || !strings.Contains(got.Fault, one.fault) || (got.Fault == "") != (one.fault == "") {
			t.Errorf("%q: %s to %s, %q, %q", one.query, got.from, got.to, got.Title, got.Fault)
		}
	}
}

func testZone(t testing.TB) *time.Location {
	t.Helper()
	zone, err := time.LoadLocation("Europe/Lisbon")
	if err != nil {
		t.Fatal(err)
	}
	return zone
}

// A span that is too long is refused with a word, and the page is there all the same.
func TestAnImpossibleSpan(t *testing.T) {
	answer, body := get(t, newFake(), "/place/Booth%201?first=2025-01-01&last=2026-04-01")
	if answer.StatusCode != http.StatusUnprocessableEntity {
		t.Errorf("status %d", answer.StatusCode)
	}
	has(t, body, "At most 35 days at once", `value="2025-01-01"`, "Within the limits")
	answer, body = get(t, newFake(), "/place/Booth%201/air.csv?first=2025-01-01&last=2026-04-01")
	if answer.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(body, "At most 35 days") {
		t.Errorf("the file: %d %s", answer.StatusCode, body)
	}
}

// A past day shows what was measured on it, without a now and without a forecast; above it
// stands what is measured now.
func TestAPastDay(t *testing.T) {
	_, body := get(t, newFake(), "/place/Booth%201?first=2026-04-06")
	has(t, body, "Mon 6 Apr 2026", "measured 0 min ago", "as they are in force now")
	hasNot(t, body, "nowline", ">forecast<", "Tue 7 Apr 11:00")
}

// The table says of each hour what was measured or is foretold; a gap reads so.
func TestTheFiguresBehindTheChart(t *testing.T) {
	_, slip := get(t, newFake(), "/place/Slip%202")
	has(t, slip, "outside: wind ≤ 8 m/s")
	f := newFake()
	gone := now.Add(-6 * time.Hour)
	var kept []conditions.Moment
	for _, m := range f.moments {
		if m.At.Before(gone.Add(-90*time.Minute)) || m.At.After(gone.Add(90*time.Minute)) {
			kept = append(kept, m)
		}
	}
	f.moments = kept
	_, body := get(t, f, "/place/Booth%201")
	_, table, _ := strings.Cut(body, `id="figures"`)
	has(t, table,
		`<th scope="row">Tue 7 Apr 04:00</th><td>not measured</td><td colspan="6">–</td>`,
		// 16 °C over a dew point of 11.6 °C; nine in ten lie within 1.645 deviations of 0.6 K.
		`<th scope="row">Tue 7 Apr 10:00</th><td>measured</td><td>4.4 ±1.0</td>`,
		`<th scope="row">Wed 8 Apr 12:00</th><td>forecast</td>`, "within, chance",
	)
	if n := strings.Count(table, "<tr data-x="); n != 72 {
		t.Errorf("%d rows for three days", n)
	}
}

// The file is read by another reader of CSV, and its figures are those of the air.
func TestTheFile(t *testing.T) {
	f := newFake()
	answer, body := get(t, f, "/place/Booth%201/air.csv")
	if got := answer.Header.Get("Content-Type"); answer.StatusCode != http.StatusOK || got != "text/csv; charset=utf-8" {
		t.Fatalf("%d %s", answer.StatusCode, got)
	}
	rows, err := csv.NewReader(strings.NewReader(body)).ReadAll()
	if err != nil || len(rows) != 1+145+48 {
		t.Fatalf("%d rows, %v", len(rows), err)
	}
	if rows[0][0] != "time" || rows[1][0] != "2026-04-06T10:20:00+01:00" || rows[1][1] != "measured" || rows[len(rows)-1][1] != "forecast" {
		t.Errorf("%q %q %q", rows[0], rows[1], rows[len(rows)-1])
	}
	first := f.moments[0]
	if air, err := strconv.ParseFloat(rows[1][2], 64); err != nil || math.Abs(air-float64(first.Air)) > .005 {
		t.Errorf("air %s, measured %v", rows[1][2], first.Air)
	}
	if answer, _ := get(t, f, "/place/nowhere/air.csv"); answer.StatusCode != http.StatusNotFound {
		t.Errorf("status %d", answer.StatusCode)
	}
}

// A longer span has fewer hours, not a larger page.
func TestEverySpanStaysSmall(t *testing.T) {
	f := newFake()
	f.moments = nil
	for at := now.Add(-40 * 24 * time.Hour); !at.After(now); at = at.Add(15 * time.Minute) {
		f.moments = append(f.moments, momentAt(at, conditions.Measured))
	}
	for _, query := range []string{"span=12h", "span=1d", "span=3d", "span=7d", "first=2026-03-10&last=2026-04-06", "first=2026-04-01"} {
		for _, place := range []string{"Booth%201", "Slip%202"} {
			_, body := get(t, f, "/place/"+place+"?"+query)
			if len(body) > 150_000 {
				t.Errorf("%s of %s: %d bytes", query, place, len(body))
			}
			if n := strings.Count(body, "<tr data-x="); n > tableRows+1 || n < 20 {
				t.Errorf("%s of %s: %d rows", query, place, n)
			}
		}
	}
}

func TestStays(t *testing.T) {
	f := newFake()
	f.draft.Blocks = append(f.draft.Blocks, planner.Block{Boat: "Ada & Sons", Place: "Booth 1", From: at(13, 12, 0), To: at(15, 12, 0), Swap: "Plover", Move: 2 * time.Hour},
		planner.Block{Boat: "Gone", Place: "Booth 1", From: at(1, 0, 0), To: at(2, 0, 0)})
	_, body := get(t, f, "/place/Booth%201")
	has(t, body, "Who stands here", `Kestrel</a> <b>now</b>`, "<td>Thu 9 Apr 13:00</td><td>Mon 13 Apr 12:00</td>", "changes places with Plover, in 2 h")
	hasNot(t, body, "Gone")
}

// What a booth did is a strip; after the last word has lapsed nobody knows.
func TestModes(t *testing.T) {
	a := axis{at(7, 0, 0), at(8, 0, 0)}
	said := func(hour, minute int, mode float64) sensors.Reading {
		return sensors.Reading{At: at(7, hour, minute), Values: map[conditions.Variable]float64{conditions.BoothMode: mode}}
	}
	ch := chart{Left: 0, Right: 240}
	ch.modes([]sensors.Reading{said(6, 0, 0), said(6, 20, 0), said(6, 40, 1), said(7, 0, 1), said(9, 0, 2)}, a, 0, clock{now: at(7, 9, 10), zone: testZone(t)}, 30*time.Minute)
	var got []string
	for _, m := range ch.Modes {
		got = append(got, m.Title)
	}
	if want := "idle, Tue 7 Apr 06:00–06:40; spraying, Tue 7 Apr 06:40–07:30; curing, Tue 7 Apr 09:00–09:10"; strings.Join(got, "; ") != want {
		t.Errorf("%q, want %q", got, want)
	}
}

// A gap in what was heard is a gap in its spark, and a doubtful value is a mark beneath.
func TestSpark(t *testing.T) {
	var readings []sensors.Reading
	for minute := -600; minute <= 0; minute += 15 {
		if minute > -400 && minute < -200 {
			continue
		}
		r := sensors.Reading{At: now.Add(time.Duration(minute) * time.Minute), Values: map[conditions.Variable]float64{conditions.AirTemperature: 20 + float64(minute)/100}}
		if minute == -105 {
			r.Flags = []sensors.Flag{{Of: conditions.AirTemperature, Fault: sensors.Stuck}}
		}
		readings = append(readings, r)
	}
	s := sparks(readings, 0, clock{now: now, zone: time.UTC}, unitsOf("SI"))
	if len(s) != 1 || strings.Count(s[0].Path, "M") != 3 || strings.Count(s[0].Doubts, "M") != 1 || s[0].From != "14.0 °C" || s[0].To != "20.0 °C" {
		t.Errorf("%+v", s)
	}
}

// A long chart leaves out no dip of the margin.
func TestTheWorstIsDrawn(t *testing.T) {
	var moments []conditions.Moment
	for n := range 16 {
		m := momentAt(at(6, 0, 15*n), conditions.Measured)
		m.Coldest, m.DewPoint = 20, 10
		if n == 6 {
			m.DewPoint = 19
		}
		moments = append(moments, m)
	}
	var got []float64
	for _, m := range worst(moments, time.Hour) {
		got = append(got, float64(margin(m)))
	}
	if want := []float64{10, 1, 10, 10}; !slices.Equal(got, want) {
		t.Errorf("%v, want %v", got, want)
	}
}
