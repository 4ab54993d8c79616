package conditions

import (
	"math"
	"time"

	"fairwindow/conditions/unit"
)

// together is the correlation between a forecast's errors of air temperature
// and of dew point: pairs of one Nordic 2.5 km model with its stations, February 2019.
const together = 0.59

// errorByLead is the root mean square error of air temperature and dew point by
// lead of the same model and month (MEPS, some 200 lowland stations, verified
// with the harp package's data). A later lead is never given less than an
// earlier one: what fell after 12 and 24 h was that week's weather.
var errorByLead = [...]struct {
	lead     time.Duration
	air, dew unit.TempDiff
}{
	{0, 1.228, 1.453},
	{3 * time.Hour, 1.557, 1.602},
	{6 * time.Hour, 1.603, 1.636},
	{12 * time.Hour, 1.776, 1.722},
	{24 * time.Hour, 1.810, 1.722},
	{growsFrom, 1.810, 1.722},
	{growsTo, 1.810 + growth*5, 1.722 + growth*5},
}

// Mean absolute errors grow by 0.25 to 0.3 K a day from day 3 to 7 (from
// memory); a normal error's standard deviation is √(π/2) of its mean absolute
// value. Beyond a week the season takes over, and it grows no more.
const (
	growsFrom               = 48 * time.Hour
	growsTo                 = 168 * time.Hour
	growth    unit.TempDiff = 0.275 * 1.2533 // K a day
)

// Spread is the standard deviation of a forecast's error at a lead, of a place
// that has not corrected it: of air temperature, of dew point, and of their
// difference, from their correlation. A hull near the air's temperature has that
// margin. In the pairs themselves the difference errs by 1.6 to 1.8 K at every
// lead, so within 12 h, where a reading should correct it, this is up to a
// quarter too small.
func Spread(lead time.Duration) (air, dew, margin unit.TempDiff) {
	last := len(errorByLead) - 1
	air, dew = errorByLead[last].air, errorByLead[last].dew
	for i := 1; i <= last; i++ {
		a, b := errorByLead[i-1], errorByLead[i]
		if lead < b.lead {
			part := max(0, unit.TempDiff(lead-a.lead)/unit.TempDiff(b.lead-a.lead))
			air, dew = a.air+part*(b.air-a.air), a.dew+part*(b.dew-a.dew)
			break
		}
	}
	return air, dew, difference(air, dew, together)
}

// difference is the standard deviation of the difference of air and dew point.
func difference(air, dew unit.TempDiff, correlation float64) unit.TempDiff {
	return unit.TempDiff(math.Sqrt(float64(air*air + dew*dew - 2*unit.TempDiff(correlation)*air*dew)))
}
