package engine

import "fmt"

// task checks a task and its modes.
func (j *judge) task(i int) {
	p, t := j.p, &j.p.Tasks[i]
	j.index(t.Owner, len(p.Owners), true, "tasks[%d].owner", i)
	j.span(t.Release, 0, "tasks[%d].release", i)
	j.span(t.Least, 0, "tasks[%d].least", i)
	if len(t.Modes) == 0 || len(t.Modes) > mostCount {
		j.fault("tasks[%d].modes: %d of them; there must be 1 to %d", i, len(t.Modes), mostCount)
	}
	if d := t.Due; d != nil {
		j.money(d.Weight, fmt.Sprintf("tasks[%d].due.weight", i))
		j.index(d.Ready, len(p.Tables), true, "tasks[%d].due.ready", i)
		if d.At < -mostSlots || d.At > 2*mostSlots {
			j.fault("tasks[%d].due.at: %d; it must be a slot", i, d.At)
		}
	}
	if d := t.Told; d != nil {
		j.money(d.Weight, fmt.Sprintf("tasks[%d].told.weight", i))
		j.money(d.Other, fmt.Sprintf("tasks[%d].told.other", i))
		j.index(d.Place, len(p.Places), true, "tasks[%d].told.place", i)
		if d.Start < -mostSlots || d.Start > mostSlots {
			j.fault("tasks[%d].told.start: %d; it must be a slot", i, d.Start)
		}
	}
	for m := range t.Modes {
		j.mode(i, m)
	}
}

func (j *judge) mode(i, m int) {
	p, mode := j.p, &j.p.Tasks[i].Modes[m]
	at := fmt.Sprintf("tasks[%d].modes[%d]", i, m)
	if j.index(mode.Place, len(p.Places), true, "%s.place", at) && mode.Place >= 0 && p.Places[mode.Place].Waits {
		j.fault("%s.place: owners only wait in place %d; name one where work is done", at, mode.Place)
	}
	j.span(mode.Long, 0, "%s.long", at)
	j.uses(mode.Uses, at)
	for _, table := range []struct {
		name string
		k    int
	}{{"starts", mode.Starts}, {"works", mode.Works}, {"soak", mode.Soak}, {"keeps", mode.Keeps}, {"cost", mode.Cost}} {
		j.index(table.k, len(p.Tables), true, "%s.%s", at, table.name)
	}
	j.firsts(mode.Starts, at+".starts")
	j.firsts(mode.Works, at+".works")
	if mode.Cost >= 0 && mode.Cost < len(p.Tables) {
		for s, c := range p.Tables[mode.Cost] {
			if c < 0 || c > mostMoney {
				j.fault("tables[%d][%d]: %d is a cost of %s; it must be 0 to %d", mode.Cost, s, c, at, int64(mostMoney))
				break
			}
		}
	}
	for n, s := range mode.Sides {
		j.index(s.Air, p.Airs, false, "%s.sides[%d].air", at, n)
		j.index(s.Upto, len(p.Tables), true, "%s.sides[%d].upto", at, n)
		j.span(s.Past, 0, "%s.sides[%d].past", at, n)
	}
}

func (j *judge) uses(uses []Use, at string) {
	for n, use := range uses {
		j.index(use.Crew, len(j.p.Crews), false, "%s.uses[%d].crew", at, n)
		j.count(use.N, "%s.uses[%d].n", at, n)
		for m := range n {
			if uses[m].Crew == use.Crew {
				j.fault("%s.uses[%d].crew: %d is named twice; name it once, with all its people", at, n, use.Crew)
			}
		}
	}
}

func (j *judge) lag(l int) {
	p, lag := j.p, &j.p.Lags[l]
	ok := j.index(lag.Before, len(p.Tasks), false, "lags[%d].before", l)
	ok = j.index(lag.After, len(p.Tasks), false, "lags[%d].after", l) && ok
	if lag.Least < -mostSlots || lag.Least > mostSlots {
		j.fault("lags[%d].least: %d; it must be %d to %d", l, lag.Least, -mostSlots, mostSlots)
	}
	if lag.Greatest < -mostSlots || lag.Greatest > mostSlots {
		j.fault("lags[%d].greatest: %d; it must be %d to %d", l, lag.Greatest, -mostSlots, mostSlots)
	}
	j.span(lag.Need, 0, "lags[%d].need", l)
	if !ok {
		return
	}
	modes := len(p.Tasks[lag.Before].Modes)
	j.tables(lag.Opens, modes, fmt.Sprintf("lags[%d].opens", l), "mode of its before")
	j.tables(lag.Closes, modes, fmt.Sprintf("lags[%d].closes", l), "mode of its before")
	j.tables(lag.Ripe, len(p.Places), fmt.Sprintf("lags[%d].ripe", l), "place")
	for _, t := range lag.Ripe {
		if t >= 0 && t < len(p.Tables) && !rises(p.Tables[t]) {
			j.fault("tables[%d]: is progress of lags[%d].ripe; it must not fall", t, l)
		}
	}
	if r := lag.Repair; r != nil {
		j.span(r.Long, 0, "lags[%d].repair.long", l)
		j.money(r.Cost, fmt.Sprintf("lags[%d].repair.cost", l))
		j.uses(r.Uses, fmt.Sprintf("lags[%d].repair", l))
	}
}

// firsts checks a table of the first slots from each slot on that are allowed: what it
// names is not before, within the horizon, and allowed itself.
func (j *judge) firsts(t int, at string) {
	if t < 0 || t >= len(j.p.Tables) || j.allows[t] {
		return
	}
	if j.allows == nil {
		j.allows = map[int]bool{}
	}
	j.allows[t] = true
	table := j.p.Tables[t]
	for s, first := range table {
		if first == None {
			continue
		}
		if first < Slot(s) || first >= Slot(len(table)) || table[first] != first {
			j.fault("tables[%d][%d]: %d is the first slot that %s allows from %d on; it must be %d or later, within the horizon, and have itself as its entry, or be %d for none", t, s, first, at, s, s, None)
			return
		}
	}
}

// tables checks a list of tables that has an entry for each of something.
func (j *judge) tables(list []int, n int, at, of string) {
	if len(list) > 0 && len(list) != n {
		j.fault("%s: %d entries; there must be one for each %s, %d, or none at all", at, len(list), of, n)
	}
	for k, t := range list {
		j.index(t, len(j.p.Tables), true, "%s[%d]", at, k)
	}
}

func (j *judge) blocks() {
	of := make([]int, len(j.p.Tasks))
	for b := range j.p.Blocks {
		block := &j.p.Blocks[b]
		j.index(block.Owner, len(j.p.Owners), true, "blocks[%d].owner", b)
		if len(block.Tasks) == 0 {
			j.fault("blocks[%d].tasks: is empty; name its tasks, or leave it out", b)
		}
		for k, i := range block.Tasks {
			if !j.index(i, len(j.p.Tasks), false, "blocks[%d].tasks[%d]", b, k) {
				continue
			}
			if of[i] > 0 {
				j.fault("blocks[%d].tasks[%d]: task %d is in blocks[%d] already; a task is in one block", b, k, i, of[i]-1)
			}
			of[i] = b + 1
			if o := j.p.Tasks[i].Owner; o != block.Owner {
				j.fault("blocks[%d].tasks[%d]: task %d is of owner %d; it must be of the block's, %d", b, k, i, o, block.Owner)
			}
		}
	}
}

// circles names tasks that wait for themselves, and blocks of two owners that wait
// for each other.
func (j *judge) circles() {
	n := len(j.p.Tasks)
	for i, rank := range taskOrder(j.p) {
		if rank >= n {
			j.fault("%s; take one of these lags out", j.circle(i))
			return
		}
	}
	for _, g := range groups(j.p) {
		for _, i := range g.tasks[1:] {
			if a, b := j.p.Tasks[g.tasks[0]].Owner, j.p.Tasks[i].Owner; a != b {
				j.fault("blocks: those of owners %d and %d wait for each other (tasks %d and %d); split one of them", a, b, g.tasks[0], i)
				return
			}
		}
	}
}

// circle is a chain of lags and blocks from a task that cannot be ranked back to
// where the chain began. Each such task waits for another one.
func (j *judge) circle(i int) string {
	rank, n := taskOrder(j.p), len(j.p.Tasks)
	seen := make([]bool, n)
	var chain []string
	step := func() int {
		for l := range j.p.Lags {
			if lag := &j.p.Lags[l]; lag.After == i && rank[lag.Before] >= n {
				chain = append(chain, fmt.Sprintf("task %d waits for task %d by lags[%d]", i, lag.Before, l))
				return lag.Before
			}
		}
		for b := range j.p.Blocks {
			tasks := j.p.Blocks[b].Tasks
			for k := 1; k < len(tasks); k++ {
				if tasks[k] == i && rank[tasks[k-1]] >= n {
					chain = append(chain, fmt.Sprintf("task %d waits for task %d by blocks[%d]", i, tasks[k-1], b))
					return tasks[k-1]
				}
			}
		}
		return i
	}
	for !seen[i] {
		seen[i] = true
		i = step()
	}
	start := i
	chain = chain[:0]
	for i = step(); i != start; i = step() {
	}
	text := "lags: in a circle: "
	for k, link := range chain {
		if k == 10 {
			return text + ", and so on"
		}
		if k > 0 {
			text += ", "
		}
		text += link
	}
	return text
}
