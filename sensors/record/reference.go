package record

import (
	"fmt"
	"strings"
	"time"

	"fairwindow/conditions"
	"fairwindow/sensors"
)

// referenceFields are columns, from 0, of the US Climate Reference Network's
// five-minute records (its public readme, from memory). Wind is measured at
// 1.5 m, where it is weaker than at the usual 10 m; it stays as it is. The flag
// of a value is the column behind it; air and rain have none.
var referenceFields = []struct {
	of      conditions.Variable
	at      int
	missing string
	flagged bool
	own     func(float64) float64
}{
	{conditions.AirTemperature, 8, "-9999.0", false, same},
	{conditions.Rain, 9, "-9999.0", false, times(12)}, // of five minutes
	{conditions.Shortwave, 10, "-99999", true, same},
	{conditions.RelHumidity, 15, "-9999", true, same},
	{conditions.WindSpeed, 21, "-99.00", true, same},
}

const referenceColumns = 23

func isReference(head string) bool {
	cells := strings.Fields(clean(head))
	return len(cells) == referenceColumns && len(cells[0]) == 5 && digits(cells[0]) && len(cells[1]) == 8 && digits(cells[1])
}

// clean drops the bytes of nought that a logger writes while it starts.
func clean(line string) string { return strings.ReplaceAll(line, "\x00", "") }

// readReference reads five-minute records of one station in UTC as hours.
func readReference(text string, _ Options) (file, error) {
	var out file
	for _, f := range referenceFields {
		out.needs = append(out.needs, f.of)
	}
	for i, line := range strings.Split(text, "\n") {
		cells := strings.Fields(clean(line))
		if len(cells) == 0 {
			continue
		}
		if len(cells) != referenceColumns {
			return file{}, fmt.Errorf("line %d: %d values, of %d; is the file cut off?", i+1, len(cells), referenceColumns)
		}
		at, err := time.Parse("20060102 1504", cells[1]+" "+cells[2])
		if err != nil {
			return file{}, fmt.Errorf("line %d, columns 2 and 3: %q is not a time in UTC; it should look like 20190101 1610", i+1, cells[1]+" "+cells[2])
		}
		r := Row{Line: i + 1, At: at, Said: map[conditions.Variable]float64{}}
		if strings.Contains(line, "\x00") {
			r.fault("", sensors.Unreadable, "bytes of nought in the line; the rest is read")
		}
		for _, f := range referenceFields {
			switch {
			case cells[f.at] == f.missing:
			case f.flagged && cells[f.at+1] != "0":
				r.fault(f.of, sensors.Unreadable, fmt.Sprintf("%s, which the station itself flags with %s", cells[f.at], cells[f.at+1]))
			default:
				r.take(f.of, cells[f.at], f.own)
			}
		}
		out.rows = append(out.rows, r)
	}
	out.rows = hourly(out.rows, 5*time.Minute)
	return out, nil
}
