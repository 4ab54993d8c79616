package record

import (
	"fmt"
	"sort"
	"time"

	"fairwindow/conditions"
	"fairwindow/sensors"
)

// hourly makes one row of the rows of each hour, dated at its end: the mean of
// each variable that at least half of the hour's rows should and do have (our
// judgement, no source), of gusts the greatest, and no rain where a row of the
// hour lacks it, for that may have been the shower. Faults and line are kept.
func hourly(rows []Row, every time.Duration) []Row {
	sort.SliceStable(rows, func(i, j int) bool { return rows[i].At.Before(rows[j].At) })
	full := int(time.Hour / every)
	var out []Row
	for len(rows) > 0 {
		end := rows[0].At.Add(time.Hour - 1).Truncate(time.Hour)
		n := sort.Search(len(rows), func(i int) bool { return rows[i].At.After(end) })
		hour := Row{Line: rows[0].Line, At: end, Said: map[conditions.Variable]float64{}}
		count := map[conditions.Variable]int{}
		for i, r := range rows[:n] {
			if i > 0 && r.At.Equal(rows[i-1].At) {
				hour.Faults = append(hour.Faults, repeated(r))
				continue
			}
			hour.Faults = append(hour.Faults, r.Faults...)
			for of, v := range r.Said {
				count[of]++
				if of == conditions.GustSpeed {
					v = max(v, hour.Said[of])
				} else {
					v += hour.Said[of]
				}
				hour.Said[of] = v
			}
		}
		for _, b := range plausible { // in a fixed order, for the faults
			of, have := b.of, count[b.of]
			switch {
			case have == 0:
			case 2*have < full, of == conditions.Rain && have < full:
				delete(hour.Said, of)
				hour.fault(of, sensors.Missing, fmt.Sprintf("%d of the hour's %d records have it", have, full))
			case of != conditions.GustSpeed:
				hour.Said[of] /= float64(have)
			}
		}
		out, rows = append(out, hour), rows[n:]
	}
	return out
}
