package demo

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"time"
)

// readEPW reads an EnergyPlus weather file: eight lines of header, then hours
// in local standard time, 1 to 24, each ending at its number. Missing values
// are the nines of the EnergyPlus auxiliary programs manual. Its fields count
// from 1: 7 dry bulb, 8 dew point, 9 humidity, 14 sun on the level, 22 wind,
// 23 total cover in tenths, 34 rain depth.
func readEPW(in io.Reader, o Recording) ([]row, error) {
	table := csv.NewReader(in)
	table.FieldsPerRecord = -1
	table.LazyQuotes = true
	place, err := table.Read()
	if err != nil {
		return nil, fmt.Errorf("EPW, line 1: %w", err)
	}
	if len(place) < 9 {
		return nil, fmt.Errorf("EPW, line 1: LOCATION has %d fields, of 10", len(place))
	}
	zone, err := strconv.ParseFloat(place[8], 64)
	if err != nil || math.Abs(zone) > 14 || math.IsNaN(zone) {
		return nil, fmt.Errorf("EPW, line 1: %q is not an offset from UTC in hours", place[8])
	}
	var rows []row
	for {
		cells, err := table.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, fmt.Errorf("EPW: %w", err)
		}
		line, _ := table.FieldPos(0)
		if line <= 8 {
			continue
		}
		if len(cells) < 34 {
			return nil, fmt.Errorf("EPW, line %d: %d fields, fewer than 34", line, len(cells))
		}
		at, ok := hourEnding(cells, o.From.UTC().Year(), zone)
		if !ok {
			return nil, fmt.Errorf("EPW, line %d: month %q, day %q, hour %q is no hour of a year", line, cells[1], cells[2], cells[3])
		}
		rows = append(rows, row{
			line: line, at: at,
			air: below(cells[6], 99.9), dew: below(cells[7], 99.9), humid: below(cells[8], 999),
			wind: below(cells[21], 999), gust: math.NaN(),
			rain: below(cells[33], 999), cloud: below(cells[22], 99) / 10, short: below(cells[13], 9999),
		})
	}
	if len(rows) == 0 {
		return nil, errors.New("EPW: no hours after the header")
	}
	return rows, nil
}

func hourEnding(cells []string, year int, zone float64) (time.Time, bool) {
	month, errMonth := strconv.Atoi(cells[1])
	day, errDay := strconv.Atoi(cells[2])
	hour, errHour := strconv.Atoi(cells[3])
	if errMonth != nil || errDay != nil || errHour != nil || month < 1 || month > 12 || day < 1 || day > 31 || hour < 1 || hour > 24 {
		return time.Time{}, false
	}
	local := time.Date(year, time.Month(month), day, hour, 0, 0, 0, time.UTC)
	return local.Add(-time.Duration(zone * float64(time.Hour))), true
}

// below is a cell's number, or NaN from the value that stands for missing on.
func below(cell string, missing float64) float64 {
	if v := numberIn(cell); v < missing {
		return v
	}
	return math.NaN()
}
