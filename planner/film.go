package planner

import (
	"math"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
	"fairwindow/planner/engine"
)

// card is a coating with its cure worked out for every tenth of a degree.
type card struct {
	config.Card
	rates   map[conditions.Milestone]*rates
	protect [][]config.Protection // per place, once asked for
	stands  map[conditions.Milestone]conditions.Milestone
}

// The range of rates kept ready, °C, and how many a degree.
const (
	coldestRate = -20
	warmestRate = 70
	perDegree   = 10
)

// rates is one milestone's progress a slot by surface temperature.
type rates struct {
	table conditions.Table
	at    [(warmestRate-coldestRate)*perDegree + 1]float64
}

func newCard(c config.Card) *card {
	k := &card{Card: c, rates: map[conditions.Milestone]*rates{}, stands: map[conditions.Milestone]conditions.Milestone{}}
	for _, m := range cureOrder {
		k.stands[m] = standsFor(c.Cure, m)
		table := c.Cure.Cautious(m)
		if len(table) == 0 {
			continue
		}
		r := &rates{table: table}
		for i := range r.at {
			perHourly, _ := table.Rate(coldestRate + unit.Temperature(i)/perDegree)
			r.at[i] = perHourly / float64(perHour)
		}
		k.rates[m] = r
	}
	return k
}

// slow is the progress in one slot towards an opening: none where the table is silent.
func (r *rates) slow(t unit.Temperature) float64 {
	x := (float64(t) - coldestRate) * perDegree
	i := int(math.Floor(x))
	if !(x >= 0) || i+1 >= len(r.at) {
		return 0
	}
	a, b := r.at[i], r.at[i+1]
	if a == 0 || b == 0 { // at an end of the table: no halfway
		rate, _ := r.table.Rate(t)
		return rate / float64(perHour)
	}
	return a + (b-a)*(x-float64(i))
}

// fast is the progress towards a closing, as conditions.Cure.Run counts it: at
// the table's nearer end beyond it, at its fastest when the surface is unknown.
func (r *rates) fast(t unit.Temperature) float64 {
	first, last := r.table[0].At.SI, r.table[len(r.table)-1].At.SI
	if unit.Known(t) {
		if rate := r.slow(min(max(t, first), last)); rate > 0 {
			return rate
		}
	}
	var most float64
	for _, p := range r.table {
		if h := p.Takes.Std().Hours(); h > 0 {
			most = max(most, 1/h/float64(perHour))
		}
	}
	return most
}

// cureOrder is the milestones in the order in which a coat meets them.
var cureOrder = [...]conditions.Milestone{
	conditions.DustFree, conditions.TouchDry, conditions.Protected, conditions.Taped, conditions.Recoat,
	conditions.Sandable, conditions.Movable, conditions.LastRecoat, conditions.Reactivate, conditions.Launch,
}

// standsFor is the milestone that stands for m where a card is silent: the next
// later opening that it gives, else the last earlier one; empty if it gives none.
// Nothing else makes a coat fit for water than the card's own launch, or its last opening.
func standsFor(c conditions.Cure, m conditions.Milestone) conditions.Milestone {
	gives := func(o conditions.Milestone) bool {
		return len(c.Of(o)) > 0 || len(c.Bands) > 0 && (o == conditions.Recoat || o == conditions.LastRecoat)
	}
	if m == "" || gives(m) {
		return m
	}
	place, earlier := len(cureOrder), conditions.Milestone("")
	for i, o := range cureOrder {
		if o == m {
			place = i
		}
		if o == conditions.LastRecoat || o == conditions.Reactivate || o == conditions.Launch || !gives(o) {
			continue
		}
		if i > place {
			return o
		}
		earlier = o
	}
	return earlier
}

// instead is standsFor, worked out once.
func (c *card) instead(m conditions.Milestone) conditions.Milestone { return c.stands[m] }

// film is the last coat on an area.
type film struct {
	card   *card
	key    Key
	part   int         // of the hull
	coated engine.Slot // end of its last pass
	clock  *conditions.Clock
	read   engine.Slot // in which the clock was read: the first, or a later one if the machine's clock was set back since
	left   float64     // of that slot, after the clock was read
	sanded bool        // since: no recoat window any more
	// revived is a coat that was reactivated: its window ends where reactivating does.
	revived bool
	ageless bool // nobody knows when it was put on: open for all, lapsed for a recoat
}

// never is beyond every horizon.
const never engine.Slot = 1 << 30

// from is the slot the film's clock runs on from to a milestone, how far it is by
// then, and how much of that slot is still to count: a plan is made between two
// slots. What closes counts all of it, which is no later.
func (f *film) from(m conditions.Milestone) (first engine.Slot, done, left float64) {
	switch {
	case f.clock == nil:
		return max(f.coated, 0), 0, 1
	case m == conditions.LastRecoat || m == conditions.Reactivate:
		return f.read, f.clock.Fast[m], 1
	}
	return f.read, f.clock.Slow[m], f.left
}

// whole allows for the rounding of many small parts of progress.
const whole = 1 - 1e-6

// opens is the first slot at which a milestone is reached along the way; never
// if it is not within the grid. Without a film, or where the card gives no
// milestone at all, it is the grid's start.
func (o *outlook) opens(f *film, m conditions.Milestone, w way) engine.Slot {
	if f == nil || f.ageless || m == "" {
		return 0
	}
	if m = f.card.instead(m); m == "" {
		return max(f.coated, 0)
	}
	if m == conditions.Recoat && len(f.card.Cure.Bands) > 0 {
		opens, _ := o.band(f, w)
		return opens
	}
	return o.reach(f, m, w, pace{rates: f.card.rates[m]})
}

// closes is the first slot at which the film may no longer be overcoated as it is.
func (o *outlook) closes(f *film, w way) engine.Slot {
	switch {
	case f == nil || f.sanded:
		return never
	case f.ageless:
		return 0
	case f.revived:
		return o.revivable(f, w)
	case len(f.card.Cure.Bands) > 0:
		_, closes := o.band(f, w)
		return closes
	case f.card.rates[conditions.LastRecoat] == nil:
		return never
	}
	return o.reach(f, conditions.LastRecoat, w, pace{f.card.rates[conditions.LastRecoat], true})
}

// revivable is the first slot at which reactivating does no more; 0 where the
// card allows none.
func (o *outlook) revivable(f *film, w way) engine.Slot {
	if f.ageless || f.card.rates[conditions.Reactivate] == nil {
		return 0
	}
	return o.reach(f, conditions.Reactivate, w, pace{f.card.rates[conditions.Reactivate], true})
}

// reach is the first slot at which a film has come all the way to a milestone. Where
// the hull no longer shows what it brought along, whole stretches are counted at once.
func (o *outlook) reach(f *film, m conditions.Milestone, w way, p pace) engine.Slot {
	s, sum, left := f.from(m)
	if sum >= whole {
		return 0
	}
	for i := range w {
		l, end := &w[i], o.grid.Slots
		if i+1 < len(w) {
			end = w[i+1].from
		}
		rests := l.rests(f.part)
		for s < end {
			if sum >= whole {
				return s
			}
			if s%stretch == 0 && s >= rests && s+stretch <= end && left == 1 {
				if more := l.parts[f.part].over(p, s); sum+more < whole {
					sum, s = sum+more, s+stretch
					continue
				}
			}
			sum += left * p.at(l.on(s, f.part))
			left = 1
			s++
		}
	}
	return never
}

// clockAt is a coat's clock at a time, if it was read before: of what lies between nothing
// is known.
func clockAt(cure conditions.Cure, read conditions.Clock, at time.Time) conditions.Clock {
	nan := unit.NaN[unit.Temperature]()
	return cure.Run(read, at, conditions.Exposure{Coldest: nan, Warmest: nan})
}
