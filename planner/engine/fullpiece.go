package engine

// outline is what the general kernel knows about a problem before it lays anything.
type outline struct {
	pieces   []piece
	of       []int   // task -> piece
	ins      [][]int // lags into a task
	outs     [][]int
	rising   []bool // tables that never fall
	shut     []stock
	runs     []run     // where pausing work may go on
	runOf    [][][]int // task, mode, place+1 -> run, or -1
	dues     [][]goal  // by task: what waits for it
	ofOwner  [][]int   // pieces
	turn     []int     // by piece: each after those it waits for
	shortest []Slot    // by task: its shortest mode
	quick    []bool    // by task: a repair before it takes no time
	tail     []Slot    // by task: from its finish until all that waits for it is done, at least
}

// piece is a block, blocks of one owner that wait for each other, or a task
// outside of all blocks.
type piece struct {
	owner  int
	tasks  []int
	before []int  // per task: positions in tasks that must be done first
	places []int  // where all its tasks can be done; nil is wherever the owner is
	free   bool   // it holds no place
	clash  bool   // its own tasks can get into each other's way in an air
	merged bool   // or in a crew: they are of several blocks
	rest   []Slot // by task: the least that is done after it
	told   bool
	priced bool // starts have a cost
	after  []int
	next   []int // pieces that wait for it
	fixed  bool
	goals  []goal // what waits for its last task
}

// goal is a due date that waits for a task: how much must still be done after it.
type goal struct {
	latest Slot // finish of the task, to be in time
	weight int64
}

// run is where work of some crews in some place may go on: by slot, the first slot
// from it on that is open, and the first that is not.
type run struct{ opens, closes []int32 }

func (p *outline) comesBack(f *full, o int) bool {
	for _, u := range p.ofOwner[o] {
		if !p.pieces[u].free && !f.done[u] {
			return true
		}
	}
	return false
}

func newOutline(p *Problem) *outline {
	n := len(p.Tasks)
	o := &outline{of: make([]int, n), ins: make([][]int, n), outs: make([][]int, n), ofOwner: make([][]int, len(p.Owners))}
	for l := range p.Lags {
		o.ins[p.Lags[l].After] = append(o.ins[p.Lags[l].After], l)
		o.outs[p.Lags[l].Before] = append(o.outs[p.Lags[l].Before], l)
	}
	o.rising = make([]bool, len(p.Tables))
	for t, table := range p.Tables {
		o.rising[t] = rises(table)
	}
	o.shut = make([]stock, len(p.Places))
	for q := range p.Places {
		o.shut[q] = newStock(p.Slots, 0)
		for _, s := range p.Places[q].Shut {
			o.shut[q].take(s.From, s.To, 1)
		}
	}
	for u, group := range groups(p) {
		o.pieces = append(o.pieces, o.piece(p, group))
		for _, i := range group.tasks {
			o.of[i] = u
		}
		if w := o.pieces[u].owner; w >= 0 {
			o.ofOwner[w] = append(o.ofOwner[w], u)
		}
	}
	o.links(p)
	o.takeTurns()
	o.findRuns(p)
	o.findGoals(p)
	return o
}

func rises(table []Slot) bool {
	for s := 1; s < len(table); s++ {
		if table[s] != None && (table[s-1] == None || table[s] < table[s-1]) {
			return false
		}
	}
	return true
}

func (o *outline) piece(p *Problem, g group) piece {
	u := piece{owner: p.Tasks[g.tasks[0]].Owner, tasks: g.tasks, before: g.before, clash: g.merged, merged: g.merged}
	u.free = true
	fits := make([]bool, len(p.Places))
	for q := range fits {
		fits[q] = !p.Places[q].Waits
	}
	sides := map[int]int{}
	for _, i := range g.tasks {
		t := &p.Tasks[i]
		u.told = u.told || t.Told != nil && t.Told.Weight > 0
		u.fixed = u.fixed || t.Fixed
		any, here := false, make([]bool, len(p.Places))
		for m := range t.Modes {
			mode := &t.Modes[m]
			u.priced = u.priced || mode.Cost >= 0
			if mode.Place < 0 {
				any = true
			} else {
				here[mode.Place], u.free = true, false
			}
			for _, s := range mode.Sides {
				bit := 1
				if s.Far {
					bit = 2
				}
				sides[s.Air] |= bit
			}
		}
		for q := range fits {
			fits[q] = fits[q] && (any || here[q])
		}
	}
	for _, both := range sides {
		u.clash = u.clash || both == 3
	}
	if !u.free {
		for q, ok := range fits {
			if ok {
				u.places = append(u.places, q)
			}
		}
	}
	return u
}

// links says which pieces wait for which.
func (o *outline) links(p *Problem) {
	seen := map[[2]int]bool{}
	for l := range p.Lags {
		a, b := o.of[p.Lags[l].Before], o.of[p.Lags[l].After]
		if a == b || seen[[2]int{a, b}] {
			continue
		}
		seen[[2]int{a, b}] = true
		o.pieces[a].next = append(o.pieces[a].next, b)
		o.pieces[b].after = append(o.pieces[b].after, a)
	}
}

// takeTurns ranks the pieces; what a fixed piece waits for is as pressing as itself.
func (o *outline) takeTurns() {
	n := len(o.pieces)
	o.turn = make([]int, n)
	waits, ready := make([]int, n), make([]int, 0, n)
	for u := range o.pieces {
		if waits[u] = len(o.pieces[u].after); waits[u] == 0 {
			ready = append(ready, u)
		}
	}
	for k := 0; k < len(ready); k++ {
		o.turn[ready[k]] = k
		for _, v := range o.pieces[ready[k]].next {
			if waits[v]--; waits[v] == 0 {
				ready = append(ready, v)
			}
		}
	}
	for k := len(ready) - 1; k >= 0; k-- {
		for _, v := range o.pieces[ready[k]].next {
			o.pieces[ready[k]].fixed = o.pieces[ready[k]].fixed || o.pieces[v].fixed
		}
	}
}

// findRuns works out where each task that pauses may go on.
func (o *outline) findRuns(p *Problem) {
	type key struct {
		uses         string
		place, works int
	}
	known := map[key]int{}
	o.runOf = make([][][]int, len(p.Tasks))
	for i := range p.Tasks {
		t := &p.Tasks[i]
		if !t.Pauses {
			continue
		}
		o.runOf[i] = make([][]int, len(t.Modes))
		for m := range t.Modes {
			mode := &t.Modes[m]
			o.runOf[i][m] = make([]int, len(p.Places)+1)
			name := make([]byte, 0, 8*len(mode.Uses))
			for _, use := range mode.Uses {
				if p.Crews[use.Crew].always(use.N) {
					continue
				}
				name = append(name, byte(use.Crew), byte(use.Crew>>8), byte(use.N), byte(use.N>>8))
			}
			for q := -1; q < len(p.Places); q++ {
				if mode.Place >= 0 && q != mode.Place || mode.Place < 0 && q >= 0 && p.Places[q].Waits {
					o.runOf[i][m][q+1] = -1
					continue
				}
				k := key{string(name), q, mode.Works}
				if _, ok := known[k]; !ok {
					known[k] = len(o.runs)
					o.runs = append(o.runs, newRun(p, o, mode, q))
				}
				o.runOf[i][m][q+1] = known[k]
			}
		}
	}
}

// always reports whether so many are there in every slot.
func (c *Crew) always(n int) bool {
	if len(c.Hours) == 0 || c.Hours[0].From > 0 {
		return n == 0
	}
	for _, l := range c.Hours {
		if l.N < n {
			return false
		}
	}
	return true
}

func newRun(p *Problem, o *outline, mode *Mode, place int) run {
	open := make([]bool, p.Slots)
	for s := range open {
		open[s] = place < 0 || o.shut[place].at(Slot(s)) == 0
		if mode.Works >= 0 {
			open[s] = open[s] && p.Tables[mode.Works][s] == Slot(s)
		}
	}
	for _, use := range mode.Uses {
		hours := p.Crews[use.Crew].Hours
		k := -1
		for s := range open {
			for k+1 < len(hours) && hours[k+1].From <= Slot(s) {
				k++
			}
			open[s] = open[s] && (use.N == 0 || k >= 0 && hours[k].N >= use.N)
		}
	}
	r := run{make([]int32, p.Slots), make([]int32, p.Slots)}
	opens, closes := int32(p.Slots), int32(p.Slots)
	for s := int(p.Slots) - 1; s >= 0; s-- {
		if open[s] {
			opens = int32(s)
		} else {
			closes = int32(s)
		}
		r.opens[s], r.closes[s] = opens, closes
	}
	return r
}
