package service

import (
	"encoding/json"
	"fmt"
	"strings"
	"time"

	"fairwindow/notify"
	"fairwindow/planner"
)

// topic is what a watch is about. Each counts its own occurrences: a stage that
// is moved twice is told twice, though its window opened only once.
type topic string

const (
	ofWindow  topic = "window"  // opens, closing, closed, lapsed, shortened, and the running coat
	ofMove    topic = "move"    // moved, put off
	ofStart   topic = "start"   // a told start that passed unreported
	ofReading topic = "reading" // measure now
	ofSanding topic = "sanding" // ready to sand
	ofRecoat  topic = "recoat"  // by the coat beneath
	ofWeekend topic = "weekend" // by the next coat
	ofWet     topic = "wet"
	ofPot     topic = "pot" // each by the minute it was mixed
)

// watch is what is remembered of one announced thing, so that people are told
// once: a stage's window, a coat's clock, a source that may fall silent.
type watch struct {
	Gate       notify.Gate             `json:"gate"`
	Occurrence int                     `json:"occurrence"`
	Known      map[string]notify.Known `json:"known,omitempty"`
	Do         map[string]string       `json:"do,omitempty"`    // what people were told to do, by the same names
	Due        time.Time               `json:"due,omitzero"`    // a told start that passed unreported; of a pot: by when it is to be used
	Coated     time.Time               `json:"coated,omitzero"` // of a recoat: the coat it is about
	Heard      time.Time               `json:"heard,omitzero"`  // of a source: its last word
	Aged       time.Time               `json:"aged,omitzero"`   // of a window: until when what is known to be too old was young
	saved      time.Time               // as much of it as was handed to the store
}

// again begins the next occurrence: what was told was of the one before. An
// occurrence's number is never used twice, or its notices would pass for repeats.
func (w *watch) again() {
	w.Occurrence++
	if w.Occurrence == 1 && len(w.Known) > 0 {
		w.Occurrence = 2 // those of a watch that never began one are of the first
	}
	w.Known = nil
}

// endsNow notes the end that people know now, by whichever notice they heard
// it, so that the next change is counted from there.
func (w *watch) endsNow(until time.Time) {
	for _, kind := range []notify.Kind{notify.WindowOpens, notify.WindowShortened} {
		slot := string(kind) + " 0"
		if known, ok := w.Known[slot]; ok {
			known.Until = until
			w.Known[slot] = known
		}
	}
}

// watches is all of them, with what is not saved yet.
type watches struct {
	by    map[string]*watch
	fresh map[string]bool
}

const memoryOf = "watch/"

// recall takes back what the store remembers.
func (w *watches) recall(memory map[string]json.RawMessage) error {
	w.by, w.fresh = map[string]*watch{}, map[string]bool{}
	for key, text := range memory {
		name, ours := strings.CutPrefix(key, memoryOf)
		if !ours {
			continue
		}
		var one watch
		if err := json.Unmarshal(text, &one); err != nil {
			return fmt.Errorf("the guard's memory of %s can't be read: %w", name, err)
		}
		one.saved = one.Heard
		w.by[name] = &one
	}
	return nil
}

// at is the watch of a name, made if it is new.
func (w *watches) at(name string) *watch {
	if w.by[name] == nil {
		w.by[name] = &watch{}
	}
	return w.by[name]
}

// of is the watch of one topic of a stage.
func (w *watches) of(t topic, k planner.Key) (*watch, string) {
	name := string(t) + " " + k.String()
	return w.at(name), name
}

// open reports whether people know an open window of a stage.
func (w *watches) open(k planner.Key) bool {
	one := w.by[string(ofWindow)+" "+k.String()]
	return one != nil && one.Gate.Open
}

// renew begins the next occurrence, if anything was told of the one before.
func (w *watches) renew(t topic, k planner.Key) {
	name := string(t) + " " + k.String()
	if one := w.by[name]; one != nil && len(one.Known) > 0 {
		one.again()
		w.touch(name)
	}
}

// forget lets go of all that is about a boat that is gone.
func (w *watches) forget(boat string) {
	for name := range w.by {
		_, about, _ := strings.Cut(name, " ")
		if about == boat || strings.HasPrefix(about, boat+", ") {
			delete(w.by, name)
			w.touch(name)
		}
	}
}

// touch marks a watch as changed.
func (w *watches) touch(name string) { w.fresh[name] = true }

// heardSave is how often a source's last word is saved: after a start the readings
// themselves tell it.
const heardSave = time.Minute

// heard notes that a source gave a sign of life.
func (w *watches) heard(source string, at time.Time) {
	name := "source " + source
	one := w.at(name)
	if !at.After(one.Heard) {
		return
	}
	one.Heard = at
	if at.Sub(one.saved) >= heardSave {
		one.saved = at
		w.touch(name)
	}
}

// dirty reports whether something is not saved yet.
func (w *watches) dirty() bool { return len(w.fresh) > 0 }

// changes is what is not saved yet, for the store.
func (w *watches) changes() (map[string]json.RawMessage, error) {
	out := map[string]json.RawMessage{}
	for name := range w.fresh {
		if w.by[name] == nil {
			out[memoryOf+name] = nil // forgotten
			continue
		}
		text, err := json.Marshal(w.by[name])
		if err != nil {
			return nil, err
		}
		out[memoryOf+name] = text
	}
	return out, nil
}

// saved forgets what was unsaved.
func (w *watches) saved() { w.fresh = map[string]bool{} }

// say decides whether a notice goes out, and remembers it if so.
func (w *watches) say(name string, n notify.Notice, now time.Time) []notify.Notice {
	one := w.at(name)
	n.At = now
	if n.Occurrence == 0 {
		n.Occurrence = max(one.Occurrence, 1)
	}
	n.ID = notify.ID(n)
	slot := fmt.Sprintf("%s %d", n.Kind, n.Pass)
	known := one.Known[slot]
	decision := notify.Decide(known, n, now)
	if !decision.Send && decision.Reason != notify.Over && known.Revision > 0 && n.Do != one.Do[slot] {
		decision.Send, decision.Revision = true, known.Revision+1 // something else is to be done now
	}
	if !decision.Send {
		return nil
	}
	n.Revision = decision.Revision
	if one.Known == nil {
		one.Known = map[string]notify.Known{}
	}
	if one.Do == nil {
		one.Do = map[string]string{}
	}
	one.Do[slot] = n.Do
	one.Known[slot] = one.Known[slot].After(n)
	w.touch(name)
	return []notify.Notice{n}
}
