package engine

// lag checks a lag, and the repair of one whose greatest is passed.
func (c *checker) lag(l int) {
	lag := &c.p.Lags[l]
	b, a := &c.r.Starts[lag.Before], &c.r.Starts[lag.After]
	if a.Mode < 0 {
		return
	}
	if b.Mode < 0 {
		c.fault("lags[%d]: task %d has a start, task %d before it has none", l, lag.After, lag.Before)
		return
	}
	if a.Start < b.Finish+lag.Least {
		c.fault("lags[%d]: starts at %d, %d slots after %d at least", l, a.Start, lag.Least, b.Finish)
	}
	if len(lag.Opens) > 0 && lag.Opens[b.Mode] >= 0 && a.Start < c.entry(lag.Opens[b.Mode], b.Finish) {
		c.fault("lags[%d]: starts at %d, opens at %d", l, a.Start, c.entry(lag.Opens[b.Mode], b.Finish))
	}
	if len(lag.Ripe) > 0 && lag.Need > 0 && c.gained(lag, b.Finish, a.Start) < lag.Need {
		c.fault("lags[%d]: starts at %d with %d of %d gained", l, a.Start, c.gained(lag, b.Finish, a.Start), lag.Need)
	}
	if c.broken(l) {
		c.repair(l)
	}
}

// broken reports whether a lag's greatest is passed.
func (c *checker) broken(l int) bool {
	lag := &c.p.Lags[l]
	b, a := &c.r.Starts[lag.Before], &c.r.Starts[lag.After]
	if !lag.Bounded || a.Mode < 0 || b.Mode < 0 {
		return false
	}
	last := b.Finish + lag.Greatest
	if len(lag.Closes) > 0 {
		if lag.Closes[b.Mode] < 0 || b.Finish >= c.p.Slots {
			return false
		}
		last = c.p.Tables[lag.Closes[b.Mode]][b.Finish]
	}
	return a.Start > last
}

func (c *checker) repair(l int) {
	lag := &c.p.Lags[l]
	b, a := &c.r.Starts[lag.Before], &c.r.Starts[lag.After]
	if lag.Repair == nil {
		c.fault("lags[%d]: starts at %d, too late after %d", l, a.Start, b.Finish)
		return
	}
	if !a.Repair {
		c.fault("starts[%d]: has no repair for lags[%d]", lag.After, l)
	}
	from := a.Start - lag.Repair.Long
	if from < b.Finish {
		c.fault("lags[%d]: its repair begins at %d, before %d", l, from, b.Finish)
	}
	for _, use := range lag.Repair.Uses {
		c.use(use.Crew, use.N, from, a.Start)
	}
	c.open(lag.After, Span{from, a.Start})
	for k := range c.p.Blocks {
		t := c.p.Blocks[k].Tasks
		for n := 1; n < len(t); n++ {
			if t[n] == lag.After && c.r.Starts[t[n-1]].Finish > from {
				c.fault("lags[%d]: its repair begins at %d, before task %d is done", l, from, t[n-1])
			}
		}
	}
}

// gained is the progress of a task from its finish to a slot, slot by slot.
func (c *checker) gained(lag *Lag, from, to Slot) Slot {
	o := c.p.Tasks[lag.Before].Owner
	if o < 0 {
		return 0
	}
	var sum Slot
	for _, s := range c.stays[o] {
		if table := lag.Ripe[s.Place]; table >= 0 {
			for t := max(s.From, from); t < min(s.To, to) && t+1 < c.p.Slots; t++ {
				sum += c.p.Tables[table][t+1] - c.p.Tables[table][t]
			}
		}
	}
	return sum
}

// terms are the objective's, added up from the starts and stays alone.
func (c *checker) terms() map[string]int64 {
	sum := map[string]int64{"lateness": 0, "start": 0, "repair": 0, "change": 0, "hold": 0, "move": 0, "makespan": 0, "unplaced": 0}
	var last Slot
	for i := range c.p.Tasks {
		t, s := &c.p.Tasks[i], c.r.Starts[i]
		place := -1
		if s.Mode < 0 {
			s.Start, s.Finish = c.p.Slots, c.p.Slots
			sum["unplaced"] += c.p.Weights.Unplaced
		} else {
			if cost := t.Modes[s.Mode].Cost; cost >= 0 {
				sum["start"] += int64(c.p.Tables[cost][s.Start])
			}
			if place = t.Modes[s.Mode].Place; place < 0 && t.Owner >= 0 {
				for _, stay := range c.stays[t.Owner] {
					if stay.From <= s.Start && s.Start < stay.To {
						place = stay.Place
					}
				}
			}
		}
		last = max(last, s.Finish)
		if t.Due != nil {
			ready := s.Finish
			if t.Due.Ready >= 0 && s.Mode >= 0 {
				ready = c.entry(t.Due.Ready, s.Finish)
			}
			sum["lateness"] += t.Due.Weight * int64(max(0, ready-t.Due.At))
		}
		if t.Told != nil {
			sum["change"] += t.Told.Weight * int64(max(s.Start-t.Told.Start, t.Told.Start-s.Start))
			if t.Told.Place >= 0 && t.Told.Place != place {
				sum["change"] += t.Told.Other
			}
		}
	}
	for l := range c.p.Lags {
		if c.broken(l) && c.p.Lags[l].Repair != nil {
			sum["repair"] += c.p.Lags[l].Repair.Cost
		}
	}
	for o := range c.stays {
		for n, s := range c.stays[o] {
			sum["hold"] += c.p.Places[s.Place].Hold * int64(s.To-s.From)
			if n > 0 || c.p.Owners[o].Place < 0 {
				sum["move"] += c.p.Weights.Move
			}
		}
	}
	sum["makespan"] = c.p.Weights.Makespan * int64(last)
	return sum
}
