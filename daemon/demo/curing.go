package demo

import (
	"math"
	"time"

	"fairwindow/conditions"
)

// progress is the part of a milestone that dt brings at a temperature. The
// truth's time is a straight line in the logarithm over °C between the card's
// points, and goes on along it beyond them: paint cures outside its table too,
// only nobody has measured how fast. A card without the milestone is at once there.
func progress(table conditions.Table, temp float64, dt time.Duration) float64 {
	if len(table) == 0 {
		return 1
	}
	return dt.Hours() / hoursTo(table, temp)
}

func hoursTo(table conditions.Table, temp float64) float64 {
	hours := func(i int) float64 { return math.Max(table[i].Takes.Std().Hours(), 0.01) }
	if len(table) == 1 { // double for each 10 K less, the trade's rule
		return hours(0) * math.Exp2((float64(table[0].At.SI)-temp)/10)
	}
	i := 0
	for i < len(table)-2 && temp > float64(table[i+1].At.SI) {
		i++
	}
	from, to := float64(table[i].At.SI), float64(table[i+1].At.SI)
	part := (temp - from) / math.Max(to-from, 0.1)
	return math.Exp(math.Log(hours(i)) + (math.Log(hours(i+1))-math.Log(hours(i)))*part)
}
