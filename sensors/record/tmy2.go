package record

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"

	"fairwindow/conditions"
)

// tmy2Line is the length of a line of hours, bytes.
const tmy2Line = 142

// tmy2Fields are those of the User's Manual for TMY2s (NREL/SP-463-7668, 1995),
// table 3-2, from memory, whose positions count from 1. It has neither gusts nor an hour's rain.
var tmy2Fields = []field{
	{conditions.Shortwave, 17, 21, 9999, same},
	{conditions.Cloud, 59, 61, 99, tenths},
	{conditions.AirTemperature, 67, 71, 9999, tenths},
	{conditions.DewPointTemp, 73, 77, 9999, tenths},
	{conditions.RelHumidity, 79, 82, 999, same},
	{conditions.AirPressure, 84, 88, 9999, times(100)},
	{conditions.WindSpeed, 95, 98, 999, tenths},
}

// isTMY2 knows the header: a station's number, city, state, zone, latitude,
// longitude and elevation at fixed places.
func isTMY2(head string) bool {
	head = strings.TrimRight(head, "\r")
	return len(head) >= 59 && head[0] == ' ' && strings.Contains("NS", head[37:38]) && strings.Contains("EW", head[45:46]) && digits(head[1:6])
}

func digits(text string) bool {
	return text != "" && strings.Trim(text, "0123456789") == ""
}

// readTMY2 reads a typical year of fixed width: a header, then hours in local
// standard time, 1 to 24, each ending at its number; years of two digits are of
// the 1900s.
func readTMY2(text string, want Options) (file, error) {
	lines := strings.Split(text, "\n")
	zone, err := strconv.ParseFloat(strings.TrimSpace(lines[0][33:36]), 64)
	if err != nil || !(math.Abs(zone) <= 14) {
		return file{}, fmt.Errorf("line 1, bytes 34 to 36: %q is not an offset from UTC in hours", lines[0][33:36])
	}
	var out file
	for _, f := range tmy2Fields {
		out.needs = append(out.needs, f.of)
	}
	year := typical{year: want.Year, zone: zone}
	for i, line := range lines[1:] {
		line = strings.TrimRight(line, "\r")
		if line == "" {
			continue
		}
		if len(line) < tmy2Line {
			return file{}, fmt.Errorf("line %d: %d bytes, of %d; is the file cut off?", i+2, len(line), tmy2Line)
		}
		at, err := year.ending("19"+line[1:3], line[3:5], line[5:7], line[7:9])
		if errors.Is(err, errNotInYear) {
			continue
		}
		if err != nil {
			return file{}, fmt.Errorf("line %d, bytes 2 to 9: %w", i+2, err)
		}
		r := Row{Line: i + 2, At: at, Said: map[conditions.Variable]float64{}}
		for _, f := range tmy2Fields {
			r.below(f.of, line[f.at:f.end], f.missing, f.own)
		}
		out.rows = append(out.rows, r)
	}
	return out, nil
}
