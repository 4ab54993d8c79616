package demo

import (
	"errors"
	"fmt"
	"math"
	"time"

	"fairwindow/sensors/record"
)

// Recording says which part of a file of recorded weather to replay, and where.
type Recording struct {
	Origin   string // a station in the file, such as EWR; default the first
	From, To time.Time
	Site     Site           // where the sun is reckoned
	Zone     *time.Location // of times that the file gives without one
}

// Recorded makes a truth of hourly weather that was really measured: any file
// that package record reads, typical years set to that of From. Faults stay in
// what the instruments say and are listed; the truth bridges them from the
// hours beside them. Where the file has no cloud or sun, cloud is guessed from
// humidity and rain and the sun from cloud (see guessCloud). Errors name the
// file.
func Recorded(name string, text []byte, o Recording) ([]Hour, []record.Fault, error) {
	if !o.From.Before(o.To) {
		return nil, nil, fmt.Errorf("recorded weather from %s to %s: From must be before To", o.From.Format(time.RFC3339), o.To.Format(time.RFC3339))
	}
	if o.To.Sub(o.From) > 2*366*24*time.Hour {
		return nil, nil, errors.New("recorded weather for more than two years was asked for; ask for less")
	}
	rows, err := record.Rows(name, text, record.Options{Station: o.Origin, Zone: o.Zone, Year: o.From.UTC().Year()})
	if err != nil {
		return nil, nil, err
	}
	hours, faults, err := bridge(rows, o)
	if err != nil {
		return nil, nil, fmt.Errorf("%s: %w", name, err)
	}
	return hours, faults, nil
}

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
