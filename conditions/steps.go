package conditions

import (
	"math"
	"time"

	"fairwindow/conditions/skin"
	"fairwindow/conditions/sky"
	"fairwindow/conditions/unit"
)

// climate is what surrounds any hull in a place up to the end of one step: the air, and
// the weather outdoors.
type climate struct {
	at    time.Time
	known bool
	air   skin.Exposure // without what hangs on the facet
	out   Weather       // air, dew point and wind
	past  skin.Wind     // the air that moves past the hull
	// The light: where it is not known that of a covered and of a clear sky, of which
	// each facet takes the worse. One in the shade may get more under thin cloud than
	// under none.
	thin, bright sky.Light
	// Where the cloud is not known it is none for the cold side and all for the warm.
	clear, covered unit.Share
	parted         bool // the two sides differ
}

// on is the light on a facet.
func (c *climate) on(n sky.Normal, worse func(a, b float64) float64) float64 {
	thin := c.thin.Onto(n, albedo)
	if c.bright == c.thin {
		return thin
	}
	return worse(thin, c.bright.Onto(n, albedo))
}

// steps calls each with the climate of every step of an outlook, from slot 1 on.
func (s Stand) steps(o Outlook, m Mode, step time.Duration, each func(slot int, c *climate)) {
	if step <= 0 {
		return
	}
	slot, start := 0, o.Outdoors[0].At
	for i := 1; i < len(o.Outdoors); i++ {
		a, b := &o.Outdoors[i-1], &o.Outdoors[i]
		light := s.lightOf(a, b)
		for at := start.Add(time.Duration(slot+1) * step); !at.After(b.At); at = at.Add(step) {
			slot++
			part := float64(at.Sub(a.At)) / float64(b.At.Sub(a.At))
			c := climate{at: at}
			c.air.Air = between(o.Inside[i-1].Air, o.Inside[i].Air, part)
			c.air.DewPoint = between(o.Inside[i-1].DewPoint, o.Inside[i].DewPoint, part)
			c.air.Inside = c.air.Air
			if c.known = unit.Known(c.air.Air) && unit.Known(c.air.DewPoint); c.known {
				s.outside(&c, light, a, b, m, part)
			}
			each(slot, &c)
		}
	}
}

// outside is the weather's side of a climate, part of the way from one hour to the next.
func (s Stand) outside(c *climate, light hourLight, a, b *Weather, m Mode, part float64) {
	var sun sky.Sun
	open := !s.Roofed && !s.OwnAir
	if s.Sun > 0 && (light.most > 0 || !light.known) {
		sun = sky.SunAt(s.Site, c.at)
	}
	level := sun.Clear()
	cloud := between(a.Cloud, b.Cloud, part)
	if open {
		c.air.Rain = max(0, orNone(float64(b.Rain)))
	}
	c.parted = !light.known && level > 0 && s.Sun > 0 || open && !unit.Known(cloud)
	c.thin, c.bright = sun.Light(light.least*level), sun.Light(light.most*level)
	c.out.Air, c.out.DewPoint = between(a.Air, b.Air, part), between(a.DewPoint, b.DewPoint, part)
	c.out.Wind = between(a.Wind, b.Wind, part)
	c.past = skin.Blow(s.past(c.out.Wind, m))
	c.clear, c.covered = cloud, cloud
	if !unit.Known(cloud) {
		c.clear, c.covered = cloudless, overcast
	}
}

func orNone(v float64) float64 {
	if math.IsNaN(v) {
		return 0
	}
	return v
}
