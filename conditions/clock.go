package conditions

import (
	"maps"
	"slices"
	"time"

	"fairwindow/conditions/unit"
)

// Clock is how far one coat has cured at one time. A milestone's progress is 1
// when it is reached.
type Clock struct {
	Coated time.Time `json:"coated"` // end of the last pass
	At     time.Time `json:"at"`     // run up to here
	// Slow runs on the coldest spot, Fast on the warmest; openings go by Slow,
	// closings by Fast.
	Slow map[Milestone]float64 `json:"slow"`
	Fast map[Milestone]float64 `json:"fast"`
	// Hottest is the highest surface temperature held for an hour on the warmest
	// spot since the coat, Coolest the lowest seen on the coldest spot; both for Bands.
	Hottest unit.Temperature `json:"hottest"`
	Coolest unit.Temperature `json:"coolest"`
	// Hour holds the last hour's warmest-spot temperatures, one every five
	// minutes, from which Hottest grows.
	Hour []unit.Temperature `json:"hour,omitempty"`
	// Silent is time spent beyond the card's tables, of temperature or of humidity,
	// or with no known temperature, where nothing was counted towards an opening
	// that was still to come.
	Silent time.Duration `json:"silent,omitempty"`
	// Waiting is the part of Silent that was beyond the Bands: the recoat window
	// opens that much later.
	Waiting time.Duration `json:"waiting,omitempty"`
}

// Hottest is sampled at whole five minutes; twelve in a row are an hour. A true
// hour never holds fewer, and eleven are never one: to within five minutes, on
// the side that closes sooner.
const (
	sampled = 5 * time.Minute
	hour    = 12
)

// reached allows for the rounding of progress summed over many steps.
const reached = 1 - 1e-9

// Closes tells the milestones that end a permission from those that give one.
func (m Milestone) Closes() bool { return m == LastRecoat || m == Reactivate }

// milestones in the order in which a coat meets them; an array, which costs no memory.
func milestones() [10]Milestone {
	return [10]Milestone{
		DustFree, TouchDry, Protected, Taped, Recoat, Sandable, Movable, LastRecoat, Reactivate, Launch,
	}
}

// Start is the clock of a coat whose last pass ended at a time.
func (c Cure) Start(coated time.Time) Clock {
	nan := unit.NaN[unit.Temperature]()
	return Clock{
		Coated: coated, At: coated, Hottest: nan, Coolest: nan,
		Slow: map[Milestone]float64{}, Fast: map[Milestone]float64{},
	}
}

// Run is the clock after the coat has stood in a steady exposure over
// [k.At, until). The clock given is left as it is and shares nothing with the
// one returned; a time not after k.At changes nothing.
//
// Openings go by the coldest spot and stand still beyond their table and while
// it is unknown (Silent). Closings go by the warmest: beyond the table at the
// rate of its nearer end, and while unknown at the fastest rate of the table.
// A humidity factor is taken the same way, but where only the humidity is unknown
// an opening goes on, at the factor that makes it slowest.
func (c Cure) Run(k Clock, until time.Time, e Exposure) Clock {
	k.Slow, k.Fast, k.Hour = cloned(k.Slow), cloned(k.Fast), slices.Clone(k.Hour)
	if !until.After(k.At) {
		return k
	}
	span := until.Sub(k.At)
	slower, spoken := c.slowing(e.Humidity)
	faster := c.hastening(e.Humidity)
	silent := false
	for _, m := range milestones() {
		table := c.Of(m)
		switch {
		case len(table) == 0 || len(c.Bands) > 0 && (m == Recoat || m == LastRecoat):
		case m.Closes():
			k.Fast[m] += faster * table.fastest(e.Warmest) * span.Hours()
		default:
			rate, ok := table.Rate(e.Coldest)
			if !ok || !spoken {
				silent = silent || k.Slow[m] < reached
				rate = 0
			}
			k.Slow[m] += slower * rate * span.Hours()
		}
	}
	if len(c.Bands) > 0 {
		if !c.inBands(e.Coldest) && k.Slow[Recoat] < reached {
			silent = true
			k.Waiting += span
		}
		k.band(c, until, e.Coldest, e.Warmest)
	}
	if silent {
		k.Silent += span
	}
	k.At = until
	return k
}

func cloned(progress map[Milestone]float64) map[Milestone]float64 {
	if progress == nil {
		return map[Milestone]float64{}
	}
	return maps.Clone(progress)
}

// band carries on what the rule of the hottest hour needs: the extremes, and
// how far the window's two ends are by now.
func (k *Clock) band(c Cure, until time.Time, coldest, warmest unit.Temperature) {
	first, last := c.Bands[0], c.Bands[len(c.Bands)-1]
	if !unit.Known(coldest) {
		coldest = first.From.SI
	}
	if !unit.Known(warmest) {
		warmest = last.To.SI
	}
	if !(k.Coolest <= coldest) {
		k.Coolest = coldest
	}
	k.sample(until, warmest)
	elapsed := until.Sub(k.Coated)
	opens, closes, ok := c.column(*k)
	if !ok {
		return
	}
	k.Slow[Recoat] = max(k.Slow[Recoat], share(elapsed, opens))
	if unit.Known(k.Hottest) {
		k.Fast[LastRecoat] = max(k.Fast[LastRecoat], share(elapsed, closes))
	}
}

func share(elapsed, of time.Duration) float64 {
	if of <= 0 {
		return 1
	}
	return float64(elapsed) / float64(of)
}

// sample takes the warmest spot at every whole five minutes of (k.At, until]
// and raises Hottest to the least of the last twelve.
func (k *Clock) sample(until time.Time, warmest unit.Temperature) {
	every := int64(sampled / time.Second)
	marks := until.Unix()/every - k.At.Unix()/every
	for range min(marks, hour) {
		if len(k.Hour) == hour {
			k.Hour = k.Hour[1:]
		}
		k.Hour = append(k.Hour, warmest)
		if held := slices.Min(k.Hour); len(k.Hour) == hour && !(k.Hottest >= held) {
			k.Hottest = held
		}
	}
}

// Reached reports whether the coat has passed a milestone: openings by Slow,
// closings by Fast. A card that says nothing of a milestone never reaches it.
func (c Cure) Reached(k Clock, m Milestone) bool { return k.Progress(m) >= reached }

// Progress towards a milestone, by the spot that it goes by: 1 is reached, and it
// goes on beyond.
func (k Clock) Progress(m Milestone) float64 {
	if m.Closes() {
		return k.Fast[m]
	}
	return k.Slow[m]
}

// Window is the recoat window by Bands, since Coated: it opens by the coolest
// temperature met, plus the time spent beyond the bands, and closes by the
// hottest hour; an opening that has come stays. It is not ok without bands, and
// before any temperature is known. A hull hotter than all bands for an hour has
// no window left: closes is 0 then.
func (c Cure) Window(k Clock) (opens, closes time.Duration, ok bool) {
	opens, closes, ok = c.column(k)
	if ok && k.Slow[Recoat] >= reached {
		opens = min(opens, k.At.Sub(k.Coated))
	}
	return opens, closes, ok && closes > 0
}
