package engine

// begin starts a trial, which ends in keepTrial or undo.
func (f *full) begin() {
	f.logging = true
	f.log, f.changed, f.keptTasks = f.log[:0], f.changed[:0], f.keptTasks[:0]
}

// touch keeps an owner as it was before the trial.
func (f *full) touch(o int) {
	if !f.logging || f.touched[o] {
		return
	}
	f.touched[o] = true
	f.changed = append(f.changed, o)
	f.before[o].copyFrom(&f.owners[o])
}

// keep keeps a task as it was before the trial.
func (f *full) keep(i int) {
	if !f.logging || f.isKept[i] {
		return
	}
	f.isKept[i] = true
	f.keptTasks = append(f.keptTasks, i)
	f.kept[i].copyFrom(&f.at[i])
}

func (f *full) endTrial() {
	for _, o := range f.changed {
		f.touched[o] = false
	}
	for _, i := range f.keptTasks {
		f.isKept[i] = false
	}
	f.logging = false
}

// undo gives back all that a trial took, and puts back what it took out.
func (f *full) undo() {
	for n := len(f.log) - 1; n >= 0; n-- {
		t := &f.log[n]
		t.of.take(t.from, t.to, -t.n)
	}
	for _, o := range f.changed {
		f.owners[o].copyFrom(&f.before[o])
	}
	for _, i := range f.keptTasks {
		f.at[i].copyFrom(&f.kept[i])
		f.done[f.plan.of[i]] = f.at[i].mode >= 0
	}
	f.endTrial()
}

// pcg is a small random stream, one for each logical worker (PCG-XSH-RR, O'Neill
// 2014, from memory).
type pcg struct{ state, inc uint64 }

func newPCG(seed, stream uint64) pcg {
	r := pcg{inc: stream<<1 | 1}
	r.next()
	r.state += seed
	r.next()
	return r
}

func (r *pcg) next() uint32 {
	old := r.state
	r.state = old*6364136223846793005 + r.inc
	x := uint32(((old >> 18) ^ old) >> 27)
	rot := uint32(old >> 59)
	return x>>rot | x<<((-rot)&31)
}

// below is a number of [0, n).
func (r *pcg) below(n int) int { return int(uint64(r.next()) * uint64(n) >> 32) }
