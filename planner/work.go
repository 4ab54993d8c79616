package planner

import (
	"cmp"
	"slices"
	"time"

	"fairwindow/config"
)

// Work is what has been done so far: the state of every stage and every boat
// that the presses tell of. It is a fold of the presses in the order in which
// things happened, so a late, doubled or disordered press gives the same Work, and
// one that was struck through the same as if it had never been.
type Work struct {
	areas  []*areaWork
	from   *reported
	boats  []BoatNow
	Strays []Press // presses that name no boat, area or stage that is known
}

// areaWork is one area's stages in order, those that were put in among them.
type areaWork struct {
	boat, area string
	stages     []Progress
}

// Progress is how far one stage is.
type Progress struct {
	Key     Key          `json:"key"`
	Stage   config.Stage `json:"stage"`
	Repair  bool         `json:"repair,omitempty"` // put in by a rejection or a lapsed window
	Done    bool         `json:"done"`
	Running bool         `json:"running,omitempty"`
	Paused  bool         `json:"paused,omitempty"`
	Started time.Time    `json:"started,omitzero"`
	Ended   time.Time    `json:"ended,omitzero"`
	Worked  []Span       `json:"worked,omitempty"` // spans that are over
	Passes  []Span       `json:"passes,omitempty"` // of a coat, done
	Pots    []Pot        `json:"pots,omitempty"`   // of a coat, mixed
	Place   string       `json:"place,omitempty"`  // where the boat stood when it started
	By      string       `json:"by,omitempty"`     // who started or finished it

	Held     string    `json:"held,omitempty"` // who holds it
	HeldWhy  string    `json:"held_why,omitempty"`
	Pinned   time.Time `json:"pinned,omitzero"`
	PinnedTo string    `json:"pinned_to,omitempty"` // a place
	PinnedBy string    `json:"pinned_by,omitempty"`
	After    Key       `json:"after,omitzero"` // a stage of another boat that people said goes first
	AfterBy  string    `json:"after_by,omitempty"`
	Cant     string    `json:"cant,omitempty"` // why it could not be done
	CantAt   time.Time `json:"cant_at,omitzero"`
	CantBy   string    `json:"cant_by,omitempty"`
	Rejected string    `json:"rejected,omitempty"` // why it was opened again
	Override string    `json:"override,omitempty"` // why it was started outside its limits
	OverBy   string    `json:"override_by,omitempty"`

	since time.Time // of the running part
}

// Pot is paint that was mixed for a pass.
type Pot struct {
	Pass  int       `json:"pass"` // from 1
	Mixed time.Time `json:"mixed"`
}

// Standing are the pots that were mixed for the pass at hand, oldest first.
func (p Progress) Standing() []Pot {
	if p.Done {
		return nil
	}
	var some []Pot
	for _, pot := range p.Pots {
		if pot.Pass == len(p.Passes)+1 {
			some = append(some, pot)
		}
	}
	return some
}

// WorkedBy is the time worked at the stage up to at.
func (p Progress) WorkedBy(at time.Time) time.Duration {
	var sum time.Duration
	for _, s := range p.Worked {
		sum += s.To.Sub(s.From)
	}
	if p.Running && !p.Paused && at.After(p.since) {
		sum += at.Sub(p.since)
	}
	return sum
}

// BoatNow is where a boat is. Place is empty until it has been put somewhere.
type BoatNow struct {
	Boat     string    `json:"boat"`
	Place    string    `json:"place,omitempty"`
	Since    time.Time `json:"since,omitzero"`
	Arrived  time.Time `json:"arrived,omitzero"`
	Launched time.Time `json:"launched,omitzero"`
}

// LastCoat is the last coat on an area.
type LastCoat struct {
	Key    Key       `json:"key"`
	Card   string    `json:"card"`
	Passes int       `json:"passes"`
	Ended  time.Time `json:"ended,omitzero"` // of its last pass; zero if nobody said
	Place  string    `json:"place,omitempty"`
	Sanded bool      `json:"sanded,omitempty"` // since, so that its recoat window counts no more
}

// Replay folds the presses into the state of each stage and boat. A system that
// the yard does not have gives an area without stages.
func Replay(y config.Yard, boats []config.Boat, presses []Press) Work {
	all := inOrder(presses)
	w := Work{from: &reported{y, boats, all}}
	for _, b := range boats {
		w.boats = append(w.boats, standsNow(y, b))
		for _, a := range b.Areas {
			w.areas = append(w.areas, newArea(y, b.Name, a))
		}
	}
	for _, p := range Standing(all) {
		if !w.take(p) {
			w.Strays = append(w.Strays, p)
		}
	}
	return w
}

// standsNow is where a boat is before anybody reported anything: one that came in
// half done stands where it was put.
func standsNow(y config.Yard, b config.Boat) BoatNow {
	now := BoatNow{Boat: b.Name}
	for _, a := range b.Areas {
		if arrived, err := y.Time(b.Arrives); a.Done != "" && b.Place != "" && err == nil {
			now.Place, now.Arrived, now.Since = b.Place, arrived, arrived
		}
	}
	return now
}

func newArea(y config.Yard, boat string, a config.Area) *areaWork {
	aw := &areaWork{boat: boat, area: a.Name}
	system, _ := y.System(a.System)
	_, done, _ := system.Stage(a.Done)
	if a.Done == "" {
		done = -1
	}
	doneAt, _ := y.Time(a.DoneAt)
	for i, s := range system.Stages {
		p := Progress{Key: Key{Boat: boat, Area: a.Name, Stage: s.Name}, Stage: s, Done: i <= done}
		if p.Done {
			p.Ended = doneAt
		}
		aw.stages = append(aw.stages, p)
	}
	return aw
}

// inOrder sorts presses by when they happened and drops those pressed twice.
func inOrder(presses []Press) []Press {
	sorted := slices.Clone(presses)
	slices.SortStableFunc(sorted, func(a, b Press) int {
		return cmp.Or(a.Happened.Compare(b.Happened), cmp.Compare(a.ID, b.ID), a.Entered.Compare(b.Entered))
	})
	once, ids := map[string]bool{}, map[int64]bool{}
	return slices.DeleteFunc(sorted, func(p Press) bool {
		again := p.Once != "" && once[p.Once] || p.ID != 0 && ids[p.ID]
		once[p.Once], ids[p.ID] = true, true
		return again
	})
}

// Stage is the progress of one stage.
func (w Work) Stage(k Key) (Progress, bool) {
	if a := w.area(k.Boat, k.Area); a != nil {
		if i := a.find(k.Stage); i >= 0 {
			return a.stages[i], true
		}
	}
	return Progress{}, false
}

// Stages are an area's stages in order.
func (w Work) Stages(boat, area string) []Progress {
	if a := w.area(boat, area); a != nil {
		return slices.Clone(a.stages)
	}
	return nil
}

// Place is where a boat is; the zero BoatNow if it is not known.
func (w Work) Place(boat string) BoatNow {
	if b := w.boat(boat); b != nil {
		return *b
	}
	return BoatNow{}
}

// LastCoat is the last coat on an area, or the coat that runs and has a pass
// done; false if there is none.
func (w Work) LastCoat(boat, area string) (LastCoat, bool) {
	a := w.area(boat, area)
	if a == nil {
		return LastCoat{}, false
	}
	var last LastCoat
	var found bool
	for _, p := range a.stages {
		switch {
		case p.Stage.Kind == config.Coat && (p.Done || len(p.Passes) > 0):
			last, found = LastCoat{Key: p.Key, Card: p.Stage.Card, Passes: len(p.Passes), Ended: p.coated(), Place: p.Place}, true
			if p.Done && last.Passes == 0 {
				last.Passes = p.Stage.Passes
			}
		case p.Stage.Kind == config.Sand && p.Done:
			last.Sanded = true
		}
	}
	return last, found
}

func (p Progress) coated() time.Time {
	if n := len(p.Passes); n > 0 {
		return p.Passes[n-1].To
	}
	return p.Ended
}

func (w *Work) boat(name string) *BoatNow {
	for i := range w.boats {
		if w.boats[i].Boat == name {
			return &w.boats[i]
		}
	}
	return nil
}

func (w *Work) area(boat, area string) *areaWork {
	for _, a := range w.areas {
		if a.boat == boat && a.area == area {
			return a
		}
	}
	return nil
}

func (a *areaWork) find(stage string) int {
	return slices.IndexFunc(a.stages, func(p Progress) bool { return p.Key.Stage == stage })
}
