package conditions

import (
	"math"
	"time"

	"fairwindow/conditions/skin"
	"fairwindow/conditions/sky"
	"fairwindow/conditions/unit"
)

// Stand is a place with a hull in it: what is between the hull and the sky, and
// which way the bow points.
type Stand struct {
	Enclosure
	Site    sky.Site
	Heading float64 // of the bow, degrees from north over east
	// Sun is the part of the sun that reaches a hull here: 1 in the open, less beside
	// a neighbour or under a film, 0 under a roof.
	Sun float64
	// Film is a thin cover that takes its own temperature from sky and sun: a tent's.
	Film bool
}

// Moment is the air's side of a moment here, and a tent's film where the cloud is
// known. Without a sun that was foretold the cloud lets its part of it through.
func (s Stand) Moment(w Weather, m Mode) Moment {
	in := s.Enclosure.Moment(w, m)
	if s.Film && in.Sure != Unknown && unit.Known(w.Cloud) {
		level := w.Shortwave
		if math.IsNaN(level) {
			level = sky.Through(w.Cloud) * sky.SunAt(s.Site, w.At).Clear()
		}
		in.Film = unit.Some(s.filmAt(w, in.Air, level))
	}
	return in
}

// Figures of what a place does to a surface in it.
const (
	// albedo is the ground's: concrete and gravel reflect 0.2 to 0.3 of the sun.
	// Common practice of solar engineering, as the published checks have it.
	albedo = 0.2
	// blown is the air past a hull while a booth sprays: 100 ft/min through its
	// cross-section, 29 CFR 1910.107(b)(5)(i).
	blown unit.Speed = 0.5
	// stirred is the same while it cures. Our judgement, no source.
	stirred unit.Speed = 0.2
	// overcast and cloudless are the cloud that stands in for one that nobody gave.
	overcast  unit.Share = 1
	cloudless unit.Share = 0
)

// SurfaceError is the standard deviation of a hull's surface as the model has it
// without a reading, over that of the air. In the open it is of the size by which
// published formulas of the sky and of convection differ from each other; under
// a roof less of it is left. The figures are our judgement.
func (s Stand) SurfaceError() unit.TempDiff {
	switch {
	case s.OwnAir:
		return 0.3
	case s.Film:
		return 0.8
	case s.Roofed:
		return 0.4
	}
	return 1
}

// past is the moving air at a hull; an unknown wind is none, which leaves a
// surface the coldest by night and the warmest by day.
func (s Stand) past(wind unit.Speed, m Mode) unit.Speed {
	switch {
	case s.OwnAir && m == Spraying:
		return blown
	case s.OwnAir && m == Curing:
		return stirred
	case s.OwnAir || !unit.Known(wind):
		return 0
	case s.Roofed:
		return windUnderRoof * wind
	}
	return wind
}

// breeze is the wind by which a hull's lag in the open is told. Our judgement: a
// light breeze.
const breeze unit.Speed = 3

// Lag is the time in which a hull here takes up 63 % of a change of the air, on
// the facet that is slowest at it.
func (s Stand) Lag(h Hull, m Mode) time.Duration {
	var slowest time.Duration
	for _, f := range h {
		slowest = max(slowest, f.Skin.Lag(s.stirs(breeze, 0, f.Tilt, m)))
	}
	return slowest
}

// stirs is convection at a facet, W/(m² K), in the wind outdoors. An idle booth's
// air stands: its past is 0.
func (s Stand) stirs(wind unit.Speed, over unit.TempDiff, tilt float64, m Mode) float64 {
	return skin.Convects(s.past(wind, m), over, tilt)
}

// WithLag is the hull with its heat scaled, so that each facet has the lag that the
// yard has measured in this place.
func (s Stand) WithLag(h Hull, m Mode, lag time.Duration) Hull {
	scaled := make(Hull, len(h))
	for i, f := range h {
		f.Skin = f.Skin.WithLag(lag, s.stirs(breeze, 0, f.Tilt, m))
		scaled[i] = f
	}
	return scaled
}

// hourLight is how much sun there is in one hour: the clear sky's, by the sun's
// height, times the part of it that comes through.
type hourLight struct {
	known bool
	// The two are one as given; where nothing was given they are those of an overcast
	// and of a clear sky.
	least, most float64
}

// lightOf works out one hour's part of the clear sky. Shortwave is the mean of the
// hour before to.At, as forecasts give it.
func (s Stand) lightOf(from, to *Weather) hourLight {
	if !math.IsNaN(to.Shortwave) {
		var clear float64
		const parts = 4
		for i := range parts {
			at := to.At.Add(-time.Duration(2*i+1) * to.At.Sub(from.At) / (2 * parts))
			clear += sky.SunAt(s.Site, at).Clear() / parts
		}
		through := 0.0
		if clear > 0 {
			// Haurwitz is a usual clear sky: a very clear one has a little more, and in
			// the hours of sunrise and sunset the mean of few moments means little.
			through = min(max(0, to.Shortwave/clear), 1.2)
		}
		return hourLight{known: true, least: through, most: through}
	}
	cloud := to.Cloud
	if unit.Known(from.Cloud) && unit.Known(cloud) {
		cloud = (from.Cloud + cloud) / 2
	}
	if through := sky.Through(cloud); !math.IsNaN(through) {
		return hourLight{known: true, least: through, most: through}
	}
	return hourLight{least: sky.Through(overcast), most: sky.Through(cloudless)}
}

// filmAt is the temperature of a tent's film between the sky and the air inside,
// NaN where there is none: a balance of the sun that it keeps, long wave on both
// sides and convection on both, linear about the outdoor air. It has no heat of
// its own. Below the dew point inside it drips.
func (s Stand) filmAt(w Weather, inside unit.Temperature, level float64) unit.Temperature {
	if !s.Film || !unit.Known(w.Air) || !unit.Known(inside) {
		return unit.NaN[unit.Temperature]()
	}
	const (
		keeps = 0.1 // of the sun, by a white or clear film. Our judgement, no source.
		emits = 0.9 // paints and plastics, open literature
	)
	cloud := w.Cloud
	if !unit.Known(cloud) {
		cloud = cloudless // the colder: it drips the sooner
	}
	out := skin.Convects(s.past(w.Wind, Idle)/windUnderRoof, 0, 0)
	in := skin.Still(inside.Over(w.Air), 0)
	radiates := 4 * emits * sky.Black(w.Air) / (float64(w.Air) + 273.15)
	sun := keeps * max(0, level)
	if math.IsNaN(sun) {
		sun = 0
	}
	lost := emits * (sky.Black(w.Air) - sky.LongWave(w.Air, w.DewPoint, cloud, 0))
	rise := (sun - lost + (in+radiates)*float64(inside.Over(w.Air))) / (out + in + 2*radiates)
	return w.Air.Plus(unit.TempDiff(rise))
}
