package demo

import (
	"bufio"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
)

// Recording says which part of a file of recorded weather to replay, and where.
type Recording struct {
	Origin   string // a station in the file, such as EWR; default the first
	From, To time.Time
	Site     Site           // where the sun is reckoned
	Zone     *time.Location // of times that the file gives without one
}

// Fault is one doubtful thing in a recording. The truth bridges it; the
// instruments repeat it.
type Fault struct {
	Line int // of the file; 0 for an hour that is not in it
	At   time.Time
	Of   conditions.Variable // empty: the whole hour
	What FaultKind
	Was  float64 // as recorded, in the variable's own unit; NaN when missing
}

// FaultKind is the closed set of what is wrong in recordings.
type FaultKind string

// What is wrong in recordings.
const (
	HourMissing   FaultKind = "hour missing"
	HourRepeated  FaultKind = "hour repeated"
	ValueMissing  FaultKind = "value missing"
	Implausible   FaultKind = "implausible"
	Contradictory FaultKind = "humidity contradicts dew point"
)

// row is one recorded hour, in the units of Hour; NaN is not given.
type row struct {
	line                           int
	at                             time.Time
	air, dew, humid                float64
	wind, gust, rain, cloud, short float64
}

// Recorded reads hourly weather that was really measured: the ASOS tables (US
// units, several origins, UTC in time_hour or zoneless local times in date) or
// an EnergyPlus EPW file, whose years are set to that of From. Faults stay in
// what the instruments say and are listed; the truth bridges them from the
// hours beside them. Where the file has no cloud or sun, cloud is guessed from
// humidity and rain and the sun from cloud (see guessCloud).
func Recorded(r io.Reader, o Recording) ([]Hour, []Fault, error) {
	if !o.From.Before(o.To) {
		return nil, nil, fmt.Errorf("recorded weather from %s to %s: From must be before To", o.From.Format(time.RFC3339), o.To.Format(time.RFC3339))
	}
	if o.To.Sub(o.From) > 2*366*24*time.Hour {
		return nil, nil, errors.New("recorded weather for more than two years was asked for; ask for less")
	}
	in := bufio.NewReader(r)
	head, _ := in.Peek(9)
	read := readASOS
	if string(head) == "LOCATION," {
		read = readEPW
	}
	rows, err := read(in, o)
	if err != nil {
		return nil, nil, err
	}
	return bridge(rows, o)
}

// readASOS reads the rows of one origin.
func readASOS(in io.Reader, o Recording) ([]row, error) {
	table := csv.NewReader(in)
	table.ReuseRecord = true
	head, err := table.Read()
	if err != nil {
		return nil, fmt.Errorf("recorded weather, line 1: no header: %w", err)
	}
	column := map[string]int{}
	for i, name := range head {
		column[strings.TrimSpace(name)] = i
	}
	for _, need := range []string{"origin", "temp", "dewp", "humid", "wind_speed", "wind_gust", "precip"} {
		if _, ok := column[need]; !ok {
			return nil, fmt.Errorf("recorded weather, line 1: no column %q", need)
		}
	}
	when, err := clockOf(column, o.Zone)
	if err != nil {
		return nil, err
	}
	var rows []row
	origin := o.Origin
	for {
		cells, err := table.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, fmt.Errorf("recorded weather: %w", err)
		}
		line, _ := table.FieldPos(0)
		if origin == "" {
			origin = cells[column["origin"]]
		}
		if cells[column["origin"]] != origin {
			continue
		}
		at, err := when(cells)
		if err != nil {
			return nil, fmt.Errorf("recorded weather, line %d: %w", line, err)
		}
		number := func(name string) float64 { return numberIn(cells[column[name]]) }
		rows = append(rows, row{
			line: line, at: at,
			air: fahrenheit(number("temp")), dew: fahrenheit(number("dewp")), humid: number("humid"),
			wind: number("wind_speed") * 0.44704, gust: number("wind_gust") * 0.44704,
			rain: number("precip") * 25.4, cloud: math.NaN(), short: math.NaN(),
		})
	}
	if len(rows) == 0 {
		return nil, fmt.Errorf("recorded weather: no rows of origin %q", origin)
	}
	return rows, nil
}

// clockOf tells how a table gives its times.
func clockOf(column map[string]int, zone *time.Location) (func([]string) (time.Time, error), error) {
	if i, ok := column["time_hour"]; ok {
		return func(cells []string) (time.Time, error) { return time.Parse(time.RFC3339, cells[i]) }, nil
	}
	i, ok := column["date"]
	if !ok {
		return nil, errors.New(`recorded weather, line 1: no column "time_hour" or "date"`)
	}
	if zone == nil {
		return nil, errors.New(`recorded weather: the column "date" has no zone; name the zone of its station`)
	}
	return func(cells []string) (time.Time, error) {
		at, err := time.ParseInLocation(time.DateTime, cells[i], zone)
		return at.UTC(), err
	}, nil
}

// numberIn is a cell's number; NaN for NA, blanks and what is no number.
func numberIn(cell string) float64 {
	v, err := strconv.ParseFloat(strings.TrimSpace(cell), 64)
	if err != nil || math.IsInf(v, 0) {
		return math.NaN()
	}
	return v
}

func fahrenheit(v float64) float64 { return (v - 32) * 5 / 9 }

// guessCloud is a cover for hours whose file has none: overcast in rain, else
// rising with humidity as in large-scale models, 1 − √((100 − RH)/(100 − 55))
// (Sundqvist 1978 with a critical humidity of 55 %, from memory). It is a
// guess: at night a moist clear sky counts as cloudy.
func guessCloud(air, dew, rain float64) float64 {
	if rain > 0 {
		return 1
	}
	return clamp(1-math.Sqrt(clamp((100-humidityOf(air, dew))/45, 0, 1)), 0, 1)
}

// plausible bounds: the extremes ever recorded at sea level, with room.
var plausible = map[conditions.Variable][2]float64{
	conditions.AirTemperature: {-60, 58}, conditions.DewPointTemp: {-75, 36}, conditions.RelHumidity: {0, 101},
	conditions.WindSpeed: {0, 75}, conditions.GustSpeed: {0, 115}, conditions.Rain: {0, 310},
}

func inRange(of conditions.Variable, v float64) bool {
	b := plausible[of]
	return !unit.Known(v) || v >= b[0] && v <= b[1]
}
