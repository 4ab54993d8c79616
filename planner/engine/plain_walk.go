package engine

// walk goes from schedule to schedule: an iterated local search whose step is to make a
// few tasks of one window of time go earlier or later and to generate the schedule
// again, now forward, now backward (justification: Tormos & Lova 2001, Valls, Ballestín
// & Quintanilla 2005). One that is no longer than the last always takes its place, which
// is what lets the walk leave a plateau; a longer one sometimes does, see grace. The
// schedules of a herd take turns to go a step.
type walk struct {
	k       *plain
	dice    dice
	herd    []layout
	at      int    // whose turn it is
	now     layout // that one; what herd[at] holds meanwhile is old
	next    layout
	best    layout
	placed  int64 // tasks for which a slot was looked for
	hot     int64 // placed when the walk was hottest
	cold    int64 // and when it has cooled
	keys    []int32
	count   []int32
	order   []int32
	free    []uint64
	untaken []uint64
	upto    int32 // what is taken of free is before
}

// layout is a schedule in one direction of time; its slots are counted from where that
// direction begins.
type layout struct {
	way  int
	ends []int32
	span int32
}

// What a step does to the keys, each measured on the published sets: some few to many
// tasks begin in a window, half of which are moved by up to most slots. A try that is at
// most slack longer is justified before it is judged.
const (
	few, many = 5, 12
	most      = 50
	slack     = 4
)

// newWalk is a walk of a herd of so many.
func newWalk(k *plain, herd int, seed uint64) *walk {
	n := len(k.name)
	w := &walk{k: k, dice: dice(seed)}
	for _, l := range []*layout{&w.now, &w.next, &w.best} {
		l.ends = make([]int32, n)
	}
	w.keys, w.order = make([]int32, n), make([]int32, n)
	w.count = make([]int32, 2*k.slots+4*most+2)
	w.free, w.untaken = make([]uint64, k.slots), make([]uint64, k.slots)
	for t := range w.untaken {
		w.untaken[t] = k.full
	}
	w.upto = k.slots
	chain := k.chain()
	for i, after := range k.ways[0].tail {
		w.keys[i] = chain - after // the latest start, which is the rule for the first order
	}
	w.generate(&w.now, 0, 0, k.slots)
	w.best.take(&w.now)
	w.gather(herd)
	return w
}

// generate makes a schedule by the keys, of which the first keep tasks stay as they are
// in it; false if it would be longer than limit.
func (w *walk) generate(l *layout, way, keep int, limit int32) bool {
	y := &w.k.ways[way]
	y.line(w.keys, w.count, w.order)
	copy(w.free[:w.upto], w.untaken)
	w.upto = min(limit, w.k.slots)
	placed, ok := y.serial(w.order, keep, limit, w.k.guards, w.free, l.ends)
	w.placed += int64(placed)
	if !ok {
		return false
	}
	l.way, l.span = way, 0
	for _, end := range l.ends {
		l.span = max(l.span, end)
	}
	return true
}

// step tries one change of the schedule whose turn it is.
func (w *walk) step() {
	w.pass()
	grace := w.grace()
	way, keep := w.change()
	if !w.generate(&w.next, way, keep, w.now.span+max(slack, grace)) {
		return
	}
	if w.next.span > w.now.span+grace {
		w.next.turn(w.keys)
		if !w.generate(&w.next, 1-way, 0, w.now.span+grace) {
			return
		}
	}
	w.now, w.next = w.next, w.now
	if w.now.span < w.best.span {
		w.best.take(&w.now)
	}
}

// face sets the keys to the starts of the schedule as it is now in one of the two
// directions; whether it is the schedule's own, in which what begins before any change
// stays as it is.
func (w *walk) face() (way int, own bool) {
	way = int(w.dice.below(2))
	if way != w.now.way {
		w.now.turn(w.keys)
		return way, false
	}
	copy(w.next.ends, w.now.ends)
	for i, end := range w.now.ends {
		w.keys[i] = end - w.k.long[i]
	}
	return way, true
}

// alter sets the keys to the order of the schedule with some tasks moved, of which the
// first keep are as in it.
func (w *walk) alter() (way, keep int) {
	span := w.now.span
	wide := 1 + span*(few+w.dice.below(many-few+1))/int32(len(w.keys))
	move := 1 + w.dice.below(most)
	from := w.dice.below(span+wide) - wide
	least := int32(-1 << 30)
	way, own := w.face()
	if own {
		from = max(from, 0)
		least = 2 * from
	}
	for i, key := range w.keys {
		if own && key < from {
			keep++
		}
		w.keys[i] = 2 * key
		if key >= from && key < from+wide {
			if r := w.dice.roll(); r&1 == 0 {
				w.keys[i] = max(least, 2*key-2*move+int32((r>>32)*uint64(4*move+1)>>32))
			}
		}
	}
	w.k.ways[way].settle(w.keys)
	return way, keep
}

// turn sets keys to the starts of the schedule as seen from its end.
func (l *layout) turn(keys []int32) {
	for i, end := range l.ends {
		keys[i] = l.span - end
	}
}

func (l *layout) take(m *layout) {
	l.way, l.span = m.way, m.span
	copy(l.ends, m.ends)
}
