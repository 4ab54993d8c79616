// Package record answers one question: what was the weather? It reads files of
// hourly records as conditions.Weather:
//
//   - tables of airport stations in US units, several stations in one file (station.go)
//   - EnergyPlus weather files, EPW (epw.go)
//   - typical years of the TMY2 form (tmy2.go)
//   - five-minute records of the US Climate Reference Network (reference.go)
//   - our own table, which is also that of forecasts (table.go)
//
// A file says which of these it is by its first line. What cannot be believed
// is listed and becomes NaN; what the file has not is NaN too. Nothing is
// filled in: that is for whoever asks, and says so.
//
// It is pure: no clock, no I/O, no state.
package record

import (
	"errors"
	"fmt"
	"math"
	"sort"
	"strings"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
)

// Options tell what a file does not.
type Options struct {
	Station string         // which of several stations; empty for the first
	Zone    *time.Location // of times that the file gives without one
	Year    int            // that a typical year is set to; 0 for that of its first hour
}

// Row is one hour of a file.
type Row struct {
	Line int // of the file, from 1; 0 in our own table
	At   time.Time
	// Said is what the file says, believable or not, in the unit of each variable.
	Said map[conditions.Variable]float64
	// Weather is what may be believed of it. It is Measured where air and dew
	// point are known, else Unknown.
	Weather conditions.Weather
	// Faults tell why the two differ, and what is missing.
	Faults []Fault
}

// Value is what the file says of a variable; NaN for nothing.
func (r Row) Value(of conditions.Variable) float64 {
	if v, ok := r.Said[of]; ok {
		return v
	}
	return math.NaN()
}

// file is what a form's reader makes of a text.
type file struct {
	rows  []Row                 // without Weather, in the order of the file
	needs []conditions.Variable // that each row of this form should have
	note  string                // what was taken otherwise than the file's own words say
}

// Read gives the weather of a file, each hour once, in the order of time, and
// what was found wrong: one line for each kind of fault, with the count and
// where it is first. Of two records of one hour the first in the file stands.
// Temperatures are in °C, wind in m/s, rain and sun those of the hour before,
// sun in W/m². The error names file, line and column, and what would be right.
func Read(name string, text []byte, want Options) ([]conditions.Weather, []string, error) {
	rows, note, err := believed(name, text, want)
	if err != nil {
		return nil, nil, err
	}
	var hours []conditions.Weather
	var found tally
	var last time.Time
	for i, r := range rows {
		hour := r.At.Truncate(time.Hour)
		if i > 0 && hour.Equal(last) {
			found.add(repeated(r), 1)
			continue
		}
		if missing := int(hour.Sub(last)/time.Hour) - 1; i > 0 && missing > 0 {
			found.add(absent(r, last.Add(time.Hour)), missing)
		}
		last = hour
		for _, f := range r.Faults {
			found.add(f, 1)
		}
		hours = append(hours, r.Weather)
	}
	lines := found.lines()
	if note != "" {
		lines = append([]string{note}, lines...)
	}
	return hours, lines, nil
}

// Rows gives every record of a file in the order of time, those of one time in
// the order of the file, with the faults of each. Hours that are missing or
// repeated are not among these: they are plain from the times. Its errors are
// Read's.
func Rows(name string, text []byte, want Options) ([]Row, error) {
	rows, _, err := believed(name, text, want)
	return rows, err
}

func believed(name string, text []byte, want Options) ([]Row, string, error) {
	plain := strings.TrimPrefix(string(text), "\ufeff")
	read := formOf(plain)
	found, err := read(plain, want)
	if err == nil && len(found.rows) == 0 {
		err = errors.New("no records after the header; is the file cut off?")
	}
	if err != nil {
		return nil, "", fmt.Errorf("%s: %w", name, err)
	}
	for i := range found.rows {
		found.rows[i].judge(found.needs)
	}
	sort.SliceStable(found.rows, func(i, j int) bool { return found.rows[i].At.Before(found.rows[j].At) })
	return found.rows, found.note, nil
}

// formOf tells the form of a file by its first line. What is none is read as a
// table of stations, whose error then says what columns it lacks.
func formOf(text string) func(string, Options) (file, error) {
	head, _, _ := strings.Cut(text, "\n")
	switch {
	case strings.HasPrefix(head, "LOCATION,"):
		return readEPW
	case isTMY2(head):
		return readTMY2
	case isReference(head):
		return readReference
	case isTable(text):
		return readTable
	}
	return readStations
}

// Blank is the weather at a time of which nothing is known.
func Blank(at time.Time) conditions.Weather {
	return conditions.Weather{
		At: at.UTC(), Air: unit.NaN[unit.Temperature](), DewPoint: unit.NaN[unit.Temperature](),
		Wind: unit.NaN[unit.Speed](), Gust: unit.NaN[unit.Speed](), Rain: unit.NaN[unit.RainRate](),
		RainChance: unit.NaN[unit.Share](), Cloud: unit.NaN[unit.Share](), Shortwave: math.NaN(),
		Sure: conditions.Unknown,
	}
}
