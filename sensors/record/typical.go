package record

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"

	"fairwindow/conditions"
)

// field is one of a form whose values stand at fixed places.
type field struct {
	of      conditions.Variable
	at, end int     // bytes of a line from 0; of an EPW at alone, a column from 0
	missing float64 // this and all above it stand for no value
	own     func(float64) float64
}

func tenths(v float64) float64 { return v / 10 }

// typical sets the hours of a typical year, whose months come from different
// years, to one.
type typical struct {
	year int     // 0 until the first hour tells
	zone float64 // local standard time's offset from UTC, h
}

// errNotInYear is the leap day of a file whose hours are set to a year that has none.
var errNotInYear = errors.New("no hour of the year asked for")

// ending is the end of an hour, 1 to 24, of a local day.
func (t *typical) ending(year, month, day, hour string) (time.Time, error) {
	var n [4]int
	for i, text := range []string{year, month, day, hour} {
		v, err := strconv.Atoi(strings.TrimSpace(text))
		if err != nil || v < 0 || v > 2200 {
			return time.Time{}, fmt.Errorf("year %q, month %q, day %q, hour %q is no hour of a year", year, month, day, hour)
		}
		n[i] = v
	}
	if real := time.Date(n[0], time.Month(n[1]), n[2], 0, 0, 0, 0, time.UTC); real.Month() != time.Month(n[1]) || real.Day() != n[2] || n[3] < 1 || n[3] > 24 {
		return time.Time{}, fmt.Errorf("year %q, month %q, day %q, hour %q is no hour of a year", year, month, day, hour)
	}
	if t.year == 0 {
		t.year = n[0]
	}
	begun := time.Date(t.year, time.Month(n[1]), n[2], 0, 0, 0, 0, time.UTC)
	if begun.Day() != n[2] {
		return time.Time{}, errNotInYear
	}
	return begun.Add(time.Duration((float64(n[3]) - t.zone) * float64(time.Hour))), nil
}
