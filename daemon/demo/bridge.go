package demo

import (
	"fmt"
	"math"
	"sort"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
)

// contradiction is how far a recorded humidity may lie from that of its own
// temperature and dew point: both are rounded to whole degrees Fahrenheit in
// some hours, which alone makes 3 %.
const contradiction = 5.0 // % RH

// longestBridge is the longest gap a truth is drawn across; a longer one is a
// hole in the recording, and the play must not lie in it.
const longestBridge = 24 * time.Hour

// bridge turns rows into a truth without holes: faults are listed, and each
// value that cannot be is drawn linearly between the good ones beside it.
func bridge(rows []row, o Recording) ([]Hour, []Fault, error) {
	// A stable sort keeps the first of two rows of one hour, as a broker would.
	sort.SliceStable(rows, func(i, j int) bool { return rows[i].at.Before(rows[j].at) })
	from, to := o.From.UTC().Truncate(time.Hour), o.To.UTC()
	var faults []Fault
	byHour := map[int64]row{}
	for _, w := range rows {
		hour := w.at.Truncate(time.Hour)
		if hour.Before(from) || hour.After(to) {
			continue
		}
		if _, ok := byHour[hour.Unix()]; ok {
			faults = append(faults, Fault{Line: w.line, At: hour, What: HourRepeated, Was: math.NaN()})
			continue
		}
		byHour[hour.Unix()] = w
	}
	var hours []Hour
	var good []row
	for at := from; !at.After(to); at = at.Add(time.Hour) {
		w, ok := byHour[at.Unix()]
		if !ok {
			faults = append(faults, Fault{At: at, What: HourMissing, Was: math.NaN()})
			hours = append(hours, Hour{At: at, Said: &Said{Silent: true}})
			good = append(good, unknownRow())
			continue
		}
		clean, found := judge(w)
		hour := Hour{At: at}
		if len(found) > 0 {
			hour.Said = &Said{Air: w.air, DewPoint: w.dew, Humidity: w.humid, Wind: w.wind, Gust: w.gust, Rain: w.rain}
		}
		for _, f := range found {
			f.At, f.Line = at, w.line
			faults = append(faults, f)
		}
		hours, good = append(hours, hour), append(good, clean)
	}
	if err := fill(hours, good); err != nil {
		return nil, nil, err
	}
	complete(hours, good, o.Site)
	return hours, faults, nil
}

func unknownRow() row {
	n := math.NaN()
	return row{air: n, dew: n, humid: n, wind: n, gust: n, rain: n, cloud: n, short: n}
}

// judge lists what is wrong with a row and blanks it. Gusts, cloud and sun are
// left out of most recordings and are no fault; rain is none where the file
// never has it, which complete treats as dry.
func judge(w row) (row, []Fault) {
	var found []Fault
	check := func(of conditions.Variable, v *float64, needed bool) {
		switch {
		case !unit.Known(*v) && needed:
			found = append(found, Fault{Of: of, What: ValueMissing, Was: math.NaN()})
		case !inRange(of, *v):
			found = append(found, Fault{Of: of, What: Implausible, Was: *v})
			*v = math.NaN()
		}
	}
	check(conditions.AirTemperature, &w.air, true)
	check(conditions.DewPointTemp, &w.dew, true)
	check(conditions.RelHumidity, &w.humid, true)
	check(conditions.WindSpeed, &w.wind, true)
	check(conditions.GustSpeed, &w.gust, false)
	check(conditions.Rain, &w.rain, false)
	if unit.Known(w.air) && unit.Known(w.dew) && unit.Known(w.humid) {
		if math.Abs(humidityOf(w.air, w.dew)-w.humid) > contradiction {
			found = append(found, Fault{Of: conditions.RelHumidity, What: Contradictory, Was: w.humid})
			// Nobody can say which of the two is right.
			w.dew, w.humid = math.NaN(), math.NaN()
		} else if w.dew > w.air {
			w.dew = w.air
		}
	}
	return w, found
}

// fill draws air, dew point and wind across what is not known.
func fill(hours []Hour, good []row) error {
	for _, c := range []struct {
		name string
		from func(row) float64
		to   func(*Hour) *float64
	}{
		{"air temperature", func(w row) float64 { return w.air }, func(h *Hour) *float64 { return &h.Air }},
		{"dew point", func(w row) float64 { return w.dew }, func(h *Hour) *float64 { return &h.DewPoint }},
		{"wind", func(w row) float64 { return w.wind }, func(h *Hour) *float64 { return &h.Wind }},
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
				return fmt.Errorf("recorded weather has no %s for %d hours before %s: longer than %s cannot be bridged",
					c.name, i-last-1, hours[i].At.Format(time.RFC3339), longestBridge)
			}
			for k := last + 1; k <= i; k++ {
				*c.to(&hours[k]) = before + (v-before)*float64(k-last)/float64(i-last)
			}
			last = i
		}
		if last < 0 {
			return fmt.Errorf("recorded weather has no %s from %s on", c.name, hours[0].At.Format(time.RFC3339))
		}
		if time.Duration(len(hours)-1-last)*time.Hour > longestBridge {
			return fmt.Errorf("recorded weather has no %s after %s", c.name, hours[last].At.Format(time.RFC3339))
		}
		for k := last + 1; k < len(hours); k++ {
			*c.to(&hours[k]) = *c.to(&hours[last])
		}
	}
	return nil
}

// complete adds what most recordings leave out: gusts as 1.4 times the wind
// (the WMO's usual factor over open land, from memory), no rain, cloud and sun.
func complete(hours []Hour, good []row, site Site) {
	for i := range hours {
		h, w := &hours[i], good[i]
		h.DewPoint = math.Min(h.DewPoint, h.Air)
		h.Gust = math.Max(h.Wind, known(w.gust, 1.4*h.Wind))
		h.Rain = known(w.rain, 0)
		h.Cloud = clamp(known(w.cloud, guessCloud(h.Air, h.DewPoint, h.Rain)), 0, 1)
		h.Shortwave = known(w.short, hourOfSun(site, h.At, h.Cloud))
	}
}

// known is a value, or another where it is not known.
func known(v, otherwise float64) float64 {
	if unit.Known(v) {
		return v
	}
	return otherwise
}
