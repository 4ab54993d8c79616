package planner

import (
	"math"
	"slices"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
	"fairwindow/planner/engine"
)

// stand is one boat step by step: its hull, and the stretch in one air it is in.
type stand struct {
	air   *outlook
	hulls []brought
	in    []*stretchIn
}

// stretchIn is a hull in one place's air of one mode, from a step on.
type stretchIn struct {
	from  int
	track *track
	*surface
	came brought // its difference from a hull that has long stood there
}

// moment is the air and the hull at a step.
func (st *stand) moment(k engine.Slot) conditions.Moment {
	in, at := st.in[k], st.hulls[k]
	m := in.track.moment(k)
	m.Coldest, m.Warmest, m.Wet = at.cold, at.warm, in.Wet[k]
	m.SurfaceError = in.doubt * unit.TempDiff(math.Sqrt(1-at.read*at.read))
	m.Paint = st.air.paint
	if to := min(k+perHour, st.air.grid.Slots-1); st.air.rates && to > k {
		later := unit.Temperature(conditions.Decay(time.Duration(in.lag)*step, time.Duration(int(to)-in.from)*step))
		cold, per := in.Coldest[to]+in.came.cold*later, unit.Rate(perHour)/unit.Rate(to-k)
		m.Rate = unit.Some(unit.Rate(cold-m.Coldest) * per)
		m.MarginRate = unit.Some(unit.Rate(cold-in.track.moment(to).DewPoint-m.Coldest+m.DewPoint) * per)
	}
	return m
}

// stands is the place where a boat stands and the mode that its booth is in, slot by
// slot.
func (c *checker) stands(b config.Boat) (where, mode []int) {
	air := c.outlook()
	n := int(air.grid.Slots)
	open := len(c.yard.Places)
	where, mode = make([]int, n), make([]int, n)
	for i := range where {
		where[i] = open
	}
	blocks := c.blocksOf(b.Name)
	var since time.Time // the boat has not left the place from here on
	now := idle
	for k, block := range blocks {
		p := slices.IndexFunc(c.yard.Places, func(x config.Place) bool { return x.Name == block.Place })
		from, to := max(0, int(air.grid.Floor(block.From))), min(n, int(air.grid.Ceil(block.To)))
		if k == 0 || blocks[k-1].Place != block.Place || blocks[k-1].To.Before(block.From) {
			since, now = block.From, idle
		}
		if k == 0 && from == 0 && c.midway(b) {
			now = curing
		}
		if k+1 == len(blocks) {
			to = n // what is not planned beyond stays as it is
		}
		var coats []Planned
		for _, s := range c.plan.Stages {
			if s.Key.Boat == b.Name && s.Kind == config.Coat && s.Place == block.Place && s.placed() && c.yard.Places[p].Booth != nil {
				coats = append(coats, s)
			}
		}
		for i := from; i < to; i++ {
			where[i], mode[i] = p, now
			if len(coats) == 0 {
				continue
			}
			t := air.grid.Time(engine.Slot(i))
			for _, s := range coats {
				if !t.Before(s.Start) && t.Before(s.End) {
					mode[i] = spraying
				} else if !t.Before(s.End) && !s.End.Before(since) {
					mode[i], now = curing, curing
				}
			}
		}
	}
	return where, mode
}

// stand follows a part of the boat from stay to stay.
func (c *checker) stand(b config.Boat, h *hull, part int, where, mode []int) stand {
	air, n := c.outlook(), len(where)
	st := stand{air: air, hulls: make([]brought, n), in: make([]*stretchIn, n)}
	at := c.begins(b, h, part, mode[0], where[0])
	for i := 0; i < n; {
		j := i
		for j < n && where[j] == where[i] && mode[j] == mode[i] {
			j++
		}
		at = st.follow(i, j, where[i], mode[i], h, part, at)
		i = j
	}
	return st
}

// brought is a hull as it comes from elsewhere: its cold spot, its warm one, and
// how much of both rests on a reading.
type brought struct {
	cold, warm unit.Temperature
	read       float64
}

// follow fills [i, j) and returns the hull at j. What it brought fades from a hull
// that has long stood there.
func (st *stand) follow(i, j, where, mode int, h *hull, part int, at brought) brought {
	in := &stretchIn{from: i, track: st.air.airs[where].tracks[mode], surface: st.air.surface(where, mode, h, part)}
	in.came = brought{at.cold - in.Coldest[i], at.warm - in.Warmest[i], at.read}
	lag := time.Duration(in.lag) * step
	for k := i; k <= j; k++ {
		left := conditions.Decay(lag, time.Duration(k-i)*step)
		at = brought{in.Coldest[k] + in.came.cold*unit.Temperature(left), in.Warmest[k] + in.came.warm*unit.Temperature(left), in.came.read * left}
		if k < j {
			st.hulls[k], st.in[k] = at, in
		}
	}
	return at
}

// midway is a boat that is between the stages of a block in its booth, with a coat on.
func (c *checker) midway(b config.Boat) bool {
	for _, a := range b.Areas {
		stages := c.work.Stages(b.Name, a.Name)
		coated := false
		for i, s := range stages {
			coated = coated || s.Done && s.Stage.Kind == config.Coat
			if !s.Done {
				under := i > 0 && s.Stage.Block != "" && stages[i-1].Stage.Block == s.Stage.Block
				if coated && (under || s.Running) {
					return true
				}
				break
			}
		}
	}
	return false
}

// begins is the hull at the start: as measured, its difference from a hull that
// has long stood there fading since; else that hull.
func (c *checker) begins(b config.Boat, h *hull, part, mode, first int) brought {
	air := c.outlook()
	now := c.work.Place(b.Name)
	where := slices.IndexFunc(c.yard.Places, func(x config.Place) bool { return x.Name == now.Place })
	if where < 0 && !now.Arrived.IsZero() {
		where = slices.IndexFunc(c.yard.Places, func(x config.Place) bool { return x.Name == b.Place })
	}
	if where < 0 {
		where = len(c.yard.Places) // it comes by water
	}
	if where != first {
		mode = idle // it leaves at once
	}
	f := air.surface(where, mode, h, part)
	at := brought{f.Coldest[0], f.Warmest[0], 0}
	for _, m := range c.p.Hulls {
		now := m.Moment
		if m.Boat != b.Name || m.Part != "" && m.Part != partNames[part] ||
			now.Sure == conditions.Unknown || !unit.Known(now.Coldest) || !unit.Known(now.Warmest) {
			continue
		}
		age := air.grid.Steps(air.grid.Origin.Sub(now.At))
		left := conditions.Decay(time.Duration(f.lag)*step, time.Duration(age)*step)
		at = brought{f.Coldest[0] + (now.Coldest-f.Coldest[0])*unit.Temperature(left), f.Warmest[0] + (now.Warmest-f.Warmest[0])*unit.Temperature(left), 0}
		if now.Sure == conditions.Measured {
			at.read = left
		}
	}
	return at
}
