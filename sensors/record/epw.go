package record

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"fairwindow/conditions"
)

// epwFields and the nines that are missing values are those of the EnergyPlus
// auxiliary programs manual, whose fields count from 1.
var epwFields = []field{
	{of: conditions.AirTemperature, at: 6, missing: 99.9, own: same},
	{of: conditions.DewPointTemp, at: 7, missing: 99.9, own: same},
	{of: conditions.RelHumidity, at: 8, missing: 999, own: same},
	{of: conditions.AirPressure, at: 9, missing: 999999, own: same},
	{of: conditions.Shortwave, at: 13, missing: 9999, own: same},
	{of: conditions.WindSpeed, at: 21, missing: 999, own: same},
	{of: conditions.Cloud, at: 22, missing: 99, own: tenths},
	{of: conditions.Rain, at: 33, missing: 999, own: same},
}

// readEPW reads an EnergyPlus weather file: eight lines of header, then hours
// in local standard time, 1 to 24, each ending at its number.
func readEPW(text string, want Options) (file, error) {
	table := csv.NewReader(strings.NewReader(text))
	table.FieldsPerRecord = -1
	table.LazyQuotes = true
	place, err := table.Read()
	if err != nil {
		return file{}, fmt.Errorf("line 1: %w", err)
	}
	if len(place) < 9 {
		return file{}, fmt.Errorf("line 1: LOCATION has %d fields, of 10", len(place))
	}
	zone, err := strconv.ParseFloat(place[8], 64)
	if err != nil || math.Abs(zone) > 14 || math.IsNaN(zone) {
		return file{}, fmt.Errorf("line 1, field 9: %q is not an offset from UTC in hours", place[8])
	}
	out := file{needs: []conditions.Variable{conditions.AirTemperature, conditions.DewPointTemp,
		conditions.RelHumidity, conditions.WindSpeed, conditions.AirPressure}}
	year := typical{year: want.Year, zone: zone}
	for {
		cells, err := table.Read()
		if errors.Is(err, io.EOF) {
			return out, nil
		}
		if err != nil {
			return file{}, err
		}
		line, _ := table.FieldPos(0)
		if line <= 8 {
			continue
		}
		if len(cells) < 34 {
			return file{}, fmt.Errorf("line %d: %d fields, fewer than 34; is the file cut off?", line, len(cells))
		}
		at, err := year.ending(cells[0], cells[1], cells[2], cells[3])
		if errors.Is(err, errNotInYear) {
			continue
		}
		if err != nil {
			return file{}, fmt.Errorf("line %d, fields 1 to 4: %w", line, err)
		}
		r := Row{Line: line, At: at, Said: map[conditions.Variable]float64{}}
		for _, f := range epwFields {
			r.below(f.of, cells[f.at], f.missing, f.own)
		}
		out.rows = append(out.rows, r)
	}
}
