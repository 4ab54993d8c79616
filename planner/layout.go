package planner

import (
	"slices"

	"fairwindow/conditions"
	"fairwindow/config"
	"fairwindow/planner/engine"
)

// layout is the stages of one block laid out in one place, one after the other.
type layout struct {
	s      *schedule
	boat   int
	area   int
	place  int
	entry  engine.Slot
	stays  []stay
	push   bool // where a coat would lapse, try its forerunner later; else repair
	jobs   []*job
	at     []*placed
	least  []engine.Slot // starts not before, set by pushing
	films  []*film       // before each job
	tries  int
	lapsed bool // a greatest wait broke at least once
	known  way  // with the first coats laid; stale without them
	coats  int
	undone bool // a coat was taken back since
	why    refusal
	// outdone: not laid to its end, since another place has the whole block over before this
	// stage would end.
	outdone bool
}

// pushes bounds how often the stages of one block are tried later.
const pushes = 60

// run lays the stages out; false if one finds no start, with the refusal in why.
func (l *layout) run() bool {
	l.least = make([]engine.Slot, len(l.jobs))
	l.films = []*film{l.s.areas[l.area].film}
	for i := 0; i < len(l.jobs); {
		next, ok := l.lay(i)
		if !ok {
			return false
		}
		i = next
	}
	return true
}

func (l *layout) back(i int) int {
	l.at, l.films, l.undone = l.at[:i], l.films[:i+1], true
	return i
}

// way is the boat's, with the coats laid so far. Only a coat in a booth changes it.
func (l *layout) way() way {
	coats := coatsOf(l.at)
	n := 0
	if l.place >= 0 && l.s.places[l.place].Booth != nil {
		n = len(coats)
	}
	if l.known == nil || n != l.coats || l.undone {
		l.known = l.s.wayOf(l.boat, l.stays, append(l.s.boats[l.boat].coats(), coats...))
		l.coats, l.undone = n, false
	}
	return l.known
}

func coatsOf(all []*placed) []*placed {
	var coats []*placed
	for _, p := range all {
		if p.coating {
			coats = append(coats, p)
		}
	}
	return coats
}

// lay lays job i and says which comes next: a later one, or an earlier one that
// must be tried again.
func (l *layout) lay(i int) (int, bool) {
	s, j, f, w := l.s, l.jobs[i], l.films[i], l.way()
	if j.at.Running && i == 0 {
		l.keep(s.underway(l, j, f, w))
		return i + 1, true
	}
	ready := l.ready(i, j, f, w)
	if ready >= never {
		l.why = refusal{cause: OutOfLimits, next: never, note: "the coat before it does not cure within the horizon"}
		return i, false
	}
	at := &site{boat: l.boat, area: l.area, place: l.place, way: w, film: f, entry: l.entry}
	for _, c := range coatsOf(l.at) {
		if clear := s.places[l.place].clear; clear > 0 {
			at.clear = max(at.clear, c.end+clear)
		}
	}
	p, why := s.earliest(at, j, max(ready, l.least[i]))
	if p == nil {
		l.why = why
		return i, false
	}
	p.ready = ready
	if l.outdone = float64(p.end) >= s.beat; l.outdone {
		l.why = refusal{cause: GaveWay, next: never}
		return i, false
	}
	if wet := l.stillProtected(p, w); wet > p.start && l.tries <= 2*pushes {
		l.tries++
		l.least[i] = wet
		return i, true
	}
	if j.coats() {
		if next, again := l.lapses(i, p, f, w); again {
			return next, next >= 0
		}
	}
	l.keep(p)
	return i + 1, true
}

// ready is when all that comes before is done.
func (l *layout) ready(i int, j *job, f *film, w way) engine.Slot {
	s := l.s
	ready := max(s.now, s.areas[l.area].ended)
	if i > 0 {
		ready = max(s.now, l.at[i-1].end)
	}
	if after := s.model.areas[l.area].after; after >= 0 {
		ready = max(ready, s.areas[after].ended)
	}
	if !j.unlimited() {
		ready = max(ready, s.out.opens(f, j.stage.Needs(), w))
	}
	return max(ready, s.model.boats[l.boat].arrives)
}

// stillProtected is until when a coat may not be sprayed because the booth's air while
// it is would spoil the one beneath, which is not protected yet; its start if it may.
func (l *layout) stillProtected(p *placed, w way) engine.Slot {
	if !p.coating || l.place < 0 || l.s.places[l.place].Booth == nil {
		return p.start
	}
	for k := len(l.at) - 1; k >= 0; k-- {
		if under := l.at[k]; under.coating {
			if under.protect <= p.start || under.running {
				return p.start
			}
			sprayed := l.s.out.then(w, p.start, p.place, spraying)
			if l.s.holds([]*placed{under}, l.s.out.then(sprayed, p.end, p.place, curing)) {
				return p.start
			}
			return under.protect
		}
	}
	return p.start
}

// unlimited is a stage that waits for no milestone before it starts: a hold
// itself waits for its own.
func (j *job) unlimited() bool { return j.stage.Kind == config.Hold && j.stage.After == "" }

func (l *layout) keep(p *placed) {
	l.at = append(l.at, p)
	l.films = append(l.films, after(p))
}

// after is the film on an area once a stage is done.
func after(p *placed) *film {
	switch {
	case p.coating:
		return &film{card: p.job.card, key: p.job.key, part: p.job.part, coated: p.end}
	case p.film == nil:
		return nil
	case p.job.stage.Kind == config.Sand:
		f := *p.film
		f.sanded = true
		return &f
	case revives(p.job.stage.Name):
		f := *p.film
		f.revived = true
		return &f
	}
	return p.film
}

// lapses asks whether the coat p comes too late for what lies under it. If so
// it says which job is to be laid next: a forerunner later, or a repair; -1 when
// neither helps.
func (l *layout) lapses(i int, p *placed, f *film, w way) (next int, again bool) {
	for k := i - 1; k >= 0; k-- {
		life := l.s.grid.Steps(l.jobs[k].stage.Life.Std())
		if life > 0 && l.followedBy(k, i) && !l.redone(k, i) && p.start > l.at[k].end+life {
			if l.at[k].running {
				return l.insert(i, onceMore(l.jobs[k].stage.Name))
			}
			return l.later(k, p.start-life-(l.at[k].end-l.at[k].start))
		}
	}
	if closes := l.s.out.closes(f, w); p.start >= closes {
		l.lapsed = true
		if k := l.forerunner(f); l.push && k >= 0 && l.tries < pushes {
			return l.later(k, l.at[k].start+max(1, p.start-closes+1))
		}
		return l.repair(i, p, f, w)
	}
	if lapsed, ok := l.outlived(i, p); ok {
		return l.insert(i, onceMore(lapsed.Name))
	}
	return i, false
}

// followedBy reports whether job i is the next coat after job k, which counts
// only for what a coat must follow.
func (l *layout) followedBy(k, i int) bool {
	if !perishes(l.jobs[k].stage.Kind) {
		return false
	}
	for n := k + 1; n < i; n++ {
		if l.jobs[n].coats() {
			return false
		}
	}
	return true
}

// redone reports whether job k is done once more before job i.
func (l *layout) redone(k, i int) bool {
	return slices.ContainsFunc(l.jobs[k+1:i], func(j *job) bool {
		return onceMore(j.stage.Name) == onceMore(l.jobs[k].stage.Name)
	})
}

func perishes(k config.StageKind) bool {
	return k == config.Wipe || k == config.Sand || k == config.Mask
}

// later tries job k at a later start.
func (l *layout) later(k int, from engine.Slot) (int, bool) {
	if l.tries++; l.tries > 2*pushes {
		l.why = refusal{cause: KeptClose, next: never, note: "no start is near enough to the stage before it"}
		return -1, true
	}
	l.least[k] = max(from, l.at[k].start+1)
	return l.back(k), true
}

// forerunner is the job in this block that put the film on, or -1.
func (l *layout) forerunner(f *film) int {
	for k, p := range l.at {
		if p.coating && p.job.key == f.key {
			return k
		}
	}
	return -1
}

// outlived is a stage done earlier whose result no longer lasts until p.
func (l *layout) outlived(i int, p *placed) (config.Stage, bool) {
	for k := 0; k < i; k++ {
		if l.jobs[k].coats() || perishes(l.jobs[k].stage.Kind) {
			return config.Stage{}, false // it is laid in this block, and seen to there
		}
	}
	stages := l.s.work.Stages(p.job.key.Boat, p.job.key.Area)
	var found config.Stage
	var ok bool
	for _, done := range stages {
		if done.Key == p.job.key {
			break
		}
		if done.Stage.Kind == config.Coat {
			ok = false
		}
		life := done.Stage.Life.Std()
		if done.Done && life > 0 && perishes(done.Stage.Kind) {
			found, ok = done.Stage, l.s.grid.Time(p.start).After(done.Ended.Add(life))
		}
	}
	return found, ok
}

// repair puts a repair before coat i: reactivating while the card allows it,
// else abrading.
func (l *layout) repair(i int, p *placed, f *film, w way) (int, bool) {
	for k := 0; k < i; k++ {
		if what, coat, ok := repairOf(l.jobs[k].stage.Name); ok && coat == p.job.stage.Name && what == reactivate && l.jobs[k].repair {
			l.remove(k) // it came too late to reactivate after all
			return l.insert(l.back(k), abrade)
		}
	}
	if p.start < l.s.out.revivable(f, w) {
		return l.insert(i, reactivate)
	}
	return l.insert(i, abrade)
}

// taken reports whether the area has a stage of that name, done, open or laid.
func (l *layout) taken(name string) bool {
	if _, ok := l.s.work.Stage(Key{Boat: l.s.model.boats[l.boat].Name, Area: l.s.model.areas[l.area].Name, Stage: name}); ok {
		return true
	}
	return slices.ContainsFunc(l.jobs, func(j *job) bool { return j.stage.Name == name })
}

func (l *layout) remove(k int) {
	l.jobs = append(l.jobs[:k:k], l.jobs[k+1:]...)
	l.least = append(l.least[:k:k], l.least[k+1:]...)
}

// insert puts a repair in for coat i, before the wipe that comes right before it
// if it raises dust, and lays it next.
func (l *layout) insert(i int, what string) (int, bool) {
	for !l.jobs[i].coats() {
		i++ // the coat the repair is for, after one was taken out before it
	}
	if l.tries++; l.tries > 2*pushes {
		l.why = refusal{cause: KeptClose, next: never, note: "no repair comes near enough to the coat after it"}
		return -1, true
	}
	coat, area := l.jobs[i], &l.s.model.areas[l.area]
	name := repairName(what, coat.stage.Name, l.taken)
	r := repairStage(name, coat.stage, area.all)
	if r.Kind == config.Sand && i > 0 && l.jobs[i-1].stage.Kind == config.Wipe {
		i--
	}
	progress := Progress{Key: Key{Boat: coat.key.Boat, Area: coat.key.Area, Stage: name}, Stage: r, Repair: true}
	j, err := l.s.newJob(l.area, area.Area, progress)
	if err != nil {
		l.why = refusal{cause: KeptClose, next: never, note: err.Error()}
		return -1, true
	}
	l.jobs = append(l.jobs[:i:i], append([]*job{j}, l.jobs[i:]...)...)
	l.least = append(l.least[:i:i], append([]engine.Slot{0}, l.least[i:]...)...)
	return l.back(i), true
}

// underway places a stage that runs: from when it started to when what is left
// of it should be done.
func (s *schedule) underway(l *layout, j *job, f *film, w way) *placed {
	p := &placed{job: j, place: l.place, crew: -1, ready: s.grid.Floor(j.before), start: s.grid.Floor(j.before), film: f, coating: j.coats(), running: true}
	p.end = s.now + j.slots
	p.parts = []engine.Span{{From: s.now, To: p.end}}
	if e, ok := s.engaged[j]; ok {
		p.crew, p.parts, p.end = e.crew, e.parts, e.end
	}
	if until := j.stage.Until; until != "" && !j.worked() {
		p.end = min(max(s.now, s.out.opens(f, until, w)), s.grid.Slots)
		p.parts = []engine.Span{{From: s.now, To: p.end}}
	}
	if j.coats() && p.place >= 0 && p.end < s.grid.Slots {
		o := s.coating(j, p.place, w, s.now)
		p.z = o.z
		p.protect, p.dustFree = max(o.protect, p.end), max(o.dustFree, p.end)
		if !o.ok {
			after := &film{card: j.card, coated: p.end}
			then := s.out.then(w, p.end, p.place, curing)
			p.protect = min(s.out.opens(after, j.card.ProtectUntil, then), s.grid.Slots)
			p.dustFree = min(s.out.opens(after, conditions.DustFree, then), s.grid.Slots)
		}
	}
	return p
}
