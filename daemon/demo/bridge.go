package demo

import (
	"fmt"
	"math"
	"slices"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/sensors"
	"fairwindow/sensors/record"
)

// longestBridge is the longest gap a truth is drawn across; a longer one is a
// hole in the recording, and the play must not lie in it.
const longestBridge = 24 * time.Hour

// bridge turns rows, in the order of time, into a truth without holes: faults
// are listed, and each value that cannot be is drawn linearly between the good
// ones beside it.
func bridge(rows []record.Row, o Recording) ([]Hour, []record.Fault, error) {
	from, to := o.From.UTC().Truncate(time.Hour), o.To.UTC()
	var faults []record.Fault
	fault := func(line int, at time.Time, what sensors.Fault) {
		faults = append(faults, record.Fault{Line: line, At: at, Was: math.NaN(), Flag: sensors.Flag{Fault: what}})
	}
	byHour := map[int64]record.Row{}
	for _, r := range rows {
		hour := r.At.Truncate(time.Hour)
		if hour.Before(from) || hour.After(to) {
			continue
		}
		// The first of two rows of one hour stays, as a broker would have it.
		if _, ok := byHour[hour.Unix()]; ok {
			fault(r.Line, hour, sensors.Repeated)
			continue
		}
		byHour[hour.Unix()] = r
	}
	var hours []Hour
	var good []conditions.Weather
	for at := from; !at.After(to); at = at.Add(time.Hour) {
		r, ok := byHour[at.Unix()]
		if !ok {
			fault(0, at, sensors.Missing)
			hours = append(hours, Hour{At: at, Said: &Said{Silent: true}})
			good = append(good, record.Blank(at))
			continue
		}
		found := played(r.Faults)
		hour := Hour{At: at}
		if len(found) > 0 {
			hour.Said = saidBy(r)
		}
		faults = append(faults, found...)
		hours, good = append(hours, hour), append(good, r.Weather)
	}
	if err := fill(hours, good); err != nil {
		return nil, nil, err
	}
	complete(hours, good, o.Site)
	return hours, faults, nil
}

// played are the faults that a play can show: its instruments tell no pressure.
func played(faults []record.Fault) []record.Fault {
	return slices.DeleteFunc(slices.Clone(faults), func(f record.Fault) bool { return f.Of == conditions.AirPressure })
}

// saidBy is a row as the instruments will repeat it.
func saidBy(r record.Row) *Said {
	return &Said{
		Air: r.Value(conditions.AirTemperature), DewPoint: r.Value(conditions.DewPointTemp), Humidity: r.Value(conditions.RelHumidity),
		Wind: r.Value(conditions.WindSpeed), Gust: r.Value(conditions.GustSpeed), Rain: r.Value(conditions.Rain),
	}
}

// fill draws air, dew point and wind across what is not known.
func fill(hours []Hour, good []conditions.Weather) error {
	for _, c := range []struct {
		name string
		from func(conditions.Weather) float64
		to   func(*Hour) *float64
	}{
		{"air temperature", func(w conditions.Weather) float64 { return float64(w.Air) }, func(h *Hour) *float64 { return &h.Air }},
		{"dew point", func(w conditions.Weather) float64 { return float64(w.DewPoint) }, func(h *Hour) *float64 { return &h.DewPoint }},
		{"wind", func(w conditions.Weather) float64 { return float64(w.Wind) }, func(h *Hour) *float64 { return &h.Wind }},
	} {
		last := -1
		for i := range hours {
			v := c.from(good[i])
			if !unit.Known(v) {
				continue
			}
			before := v // before the first good hour there is only the first
			if last >= 0 {
				before = *c.to(&hours[last])
			}
			if time.Duration(i-last-1)*time.Hour > longestBridge {
				return fmt.Errorf("it has no %s for %d hours before %s: longer than %s cannot be bridged",
					c.name, i-last-1, hours[i].At.Format(time.RFC3339), longestBridge)
			}
			for k := last + 1; k <= i; k++ {
				*c.to(&hours[k]) = before + (v-before)*float64(k-last)/float64(i-last)
			}
			last = i
		}
		if last < 0 {
			return fmt.Errorf("it has no %s from %s on", c.name, hours[0].At.Format(time.RFC3339))
		}
		if time.Duration(len(hours)-1-last)*time.Hour > longestBridge {
			return fmt.Errorf("it has no %s after %s", c.name, hours[last].At.Format(time.RFC3339))
		}
		for k := last + 1; k < len(hours); k++ {
			*c.to(&hours[k]) = *c.to(&hours[last])
		}
	}
	return nil
}

// complete adds what most recordings leave out: gusts as 1.4 times the wind
// (the WMO's usual factor over open land, from memory), no rain, cloud and sun.
func complete(hours []Hour, good []conditions.Weather, site Site) {
	for i := range hours {
		h, w := &hours[i], good[i]
		h.DewPoint = math.Min(h.DewPoint, h.Air)
		h.Gust = math.Max(h.Wind, known(float64(w.Gust), 1.4*h.Wind))
		h.Rain = known(float64(w.Rain), 0)
		h.Cloud = clamp(known(float64(w.Cloud), guessCloud(h.Air, h.DewPoint, h.Rain)), 0, 1)
		h.Shortwave = known(w.Shortwave, hourOfSun(site, h.At, h.Cloud))
	}
}

// known is a value, or another where it is not known.
func known(v, otherwise float64) float64 {
	if unit.Known(v) {
		return v
	}
	return otherwise
}
