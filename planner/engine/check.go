package engine

import "fmt"

// checker holds a result against its problem, rule by rule. It shares nothing with
// the search and looks at every slot.
type checker struct {
	p      *Problem
	r      *Result
	faults []string
	stays  [][]Stay // by owner
	crews  [][]int  // what is taken, by slot
}

// Check says what in a result breaks the problem's rules, or is summed up wrongly;
// nothing if all is well. The problem must be valid.
func Check(p Problem, r Result) []string {
	c := &checker{p: &p, r: &r, stays: make([][]Stay, len(p.Owners)), crews: make([][]int, len(p.Crews))}
	if len(r.Starts) != len(p.Tasks) {
		return []string{fmt.Sprintf("starts: %d for %d tasks", len(r.Starts), len(p.Tasks))}
	}
	for k := range c.crews {
		c.crews[k] = make([]int, p.Slots)
	}
	for i := range p.Tasks {
		c.shape(i)
	}
	for k, s := range r.Stays {
		if s.Owner < 0 || s.Owner >= len(p.Owners) || s.Place < 0 || s.Place >= len(p.Places) || s.Mover < -1 || s.Mover >= len(p.Crews) || s.From < 0 || s.To > p.Slots {
			c.fault("stays[%d]: names what is not there, or leaves the grid", k)
		}
	}
	if len(c.faults) > 0 {
		return c.faults
	}
	c.where()
	for i := range p.Tasks {
		if r.Starts[i].Mode >= 0 {
			c.task(i)
		}
	}
	for l := range p.Lags {
		c.lag(l)
	}
	for b := range p.Blocks {
		c.block(b)
	}
	c.sides()
	c.people()
	c.objective()
	return c.faults
}

func (c *checker) fault(format string, a ...any) {
	c.faults = append(c.faults, fmt.Sprintf(format, a...))
}

func (c *checker) entry(table int, s Slot) Slot {
	if s >= c.p.Slots || c.p.Tables[table][max(s, 0)] == None {
		return c.p.Slots
	}
	return c.p.Tables[table][max(s, 0)]
}

// parts are the spans in which a task goes on.
func (c *checker) parts(i int) []Span {
	if s := &c.r.Starts[i]; len(s.Parts) == 0 {
		return []Span{{s.Start, s.Finish}}
	}
	return c.r.Starts[i].Parts
}

// shape is a start by itself: its mode, its length, its parts.
func (c *checker) shape(i int) {
	t, s := &c.p.Tasks[i], &c.r.Starts[i]
	if s.Mode < 0 {
		return
	}
	if s.Mode >= len(t.Modes) || s.Start < 0 || s.Start >= c.p.Slots || s.Finish > c.p.Slots || s.Finish < s.Start {
		c.fault("starts[%d]: mode %d, %d to %d", i, s.Mode, s.Start, s.Finish)
		return
	}
	long, at := Slot(0), s.Start
	for k, part := range c.parts(i) {
		if k == 0 && part.From != s.Start || part.From < at || part.To < part.From {
			c.fault("starts[%d]: part %d begins at %d", i, k, part.From)
			return
		}
		long, at = long+part.To-part.From, part.To
		if k+1 < len(s.Parts) && part.To-part.From < max(t.Least, 1) {
			c.fault("starts[%d]: part %d is shorter than %d", i, k, t.Least)
		}
	}
	if len(s.Parts) > 1 && !t.Pauses || at != s.Finish || long != t.Modes[s.Mode].Long {
		c.fault("starts[%d]: %d slots of work to %d, want %d to %d", i, long, at, t.Modes[s.Mode].Long, s.Finish)
	}
	if s.Start < t.Release || t.Fixed && s.Start != t.Release || t.Owner >= 0 && s.Start < c.p.Owners[t.Owner].Arrives {
		c.fault("starts[%d]: at %d, before it may or off its slot", i, s.Start)
	}
}

// in is when an owner has been brought in for its nth stay.
func (c *checker) in(o, n int) Slot {
	if s := c.stays[o][n]; n > 0 || c.p.Owners[o].Place < 0 {
		return s.From + c.p.Places[s.Place].Move
	}
	return c.stays[o][n].From
}

// where checks that owners are in one place at a time, that there is room, and that
// somebody brings them in.
func (c *checker) where() {
	room := make([][]int, len(c.p.Places))
	for q := range room {
		room[q] = make([]int, c.p.Slots)
	}
	for _, s := range c.r.Stays {
		c.stays[s.Owner] = append(c.stays[s.Owner], s)
		for t := s.From; t < s.To; t++ {
			if room[s.Place][t]++; room[s.Place][t] == c.p.Places[s.Place].Room+1 {
				c.fault("places[%d]: too full at %d", s.Place, t)
			}
		}
	}
	for o := range c.stays {
		w := &c.p.Owners[o]
		if w.Place >= 0 && (len(c.stays[o]) == 0 || c.stays[o][0].Place != w.Place || c.stays[o][0].From != w.Arrives) {
			c.fault("owners[%d]: is not put in place %d at %d", o, w.Place, w.Arrives)
			continue
		}
		for n, s := range c.stays[o] {
			if n > 0 && s.From != c.stays[o][n-1].To || s.To < s.From || s.From < w.Arrives {
				c.fault("owners[%d]: stay %d from %d to %d does not follow", o, n, s.From, s.To)
			}
			if n == 0 && w.Place >= 0 {
				if s.To < w.Held {
					c.fault("owners[%d]: moved at %d, held until %d", o, s.To, w.Held)
				}
				continue
			}
			c.movedIn(o, n)
		}
	}
}

func (c *checker) movedIn(o, n int) {
	s := c.stays[o][n]
	p := &c.p.Places[s.Place]
	if s.From < c.p.Owners[o].Held {
		c.fault("owners[%d]: moved at %d, held until %d", o, s.From, c.p.Owners[o].Held)
	}
	for _, shut := range p.Shut {
		if shut.From < s.From+max(p.Move, 1) && s.From < shut.To {
			c.fault("owners[%d]: moved at %d into place %d, which is shut", o, s.From, s.Place)
		}
	}
	if s.To < s.From+p.Move {
		c.fault("owners[%d]: stay %d ends before it is moved in", o, n)
	}
	if p.Move == 0 || len(p.Movers) == 0 {
		return
	}
	for _, m := range p.Movers {
		if m == s.Mover {
			c.use(m, 1, s.From, s.From+p.Move)
			return
		}
	}
	c.fault("owners[%d]: stay %d is moved by crew %d", o, n, s.Mover)
}

func (c *checker) use(crew, n int, from, to Slot) {
	for t := max(from, 0); t < min(to, c.p.Slots); t++ {
		c.crews[crew][t] += n
	}
	if from < 0 || to > c.p.Slots {
		c.fault("crews[%d]: used outside the grid", crew)
	}
}

func (c *checker) people() {
	for k := range c.p.Crews {
		for t, taken := range c.crews[k] {
			if there := c.there(k, Slot(t)); taken > there {
				c.fault("crews[%d]: %d of %d at %d", k, taken, there, t)
				break
			}
		}
	}
}

func (c *checker) there(crew int, t Slot) int {
	n := 0
	for _, level := range c.p.Crews[crew].Hours {
		if level.From <= t {
			n = level.N
		}
	}
	return n
}

// objective adds the terms up again.
func (c *checker) objective() {
	var sum int64
	want := c.terms()
	for _, t := range c.r.Terms {
		sum += t.Amount
		if w, ok := want[t.Name]; !ok || w != t.Amount {
			c.fault("terms: %s is %d, want %d", t.Name, t.Amount, w)
		}
	}
	var all int64
	for _, w := range want {
		all += w
	}
	if sum != c.r.Objective || all != sum {
		c.fault("objective: %d, the terms are %d, want %d", c.r.Objective, sum, all)
	}
	if c.r.Bound > c.r.Objective {
		c.fault("bound: %d is above the objective %d", c.r.Bound, c.r.Objective)
	}
}
