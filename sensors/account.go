package sensors

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
)

// Account is how one source stands at a time: what it measures and where, when
// it last spoke, what was doubted of it, and what somebody must see to.
type Account struct {
	Source   string                `json:"source"`
	Place    string                `json:"place,omitempty"`
	Boat     string                `json:"boat,omitempty"`
	ByHand   bool                  `json:"by_hand,omitempty"` // no sensor of the yard file
	Measures []conditions.Variable `json:"measures"`
	Every    unit.Duration         `json:"every,omitzero"` // how often it should speak; 0: not known
	Due      string                `json:"calibration_due,omitempty"`
	At       time.Time             `json:"at,omitzero"` // of the newest reading, by our clock if its own is ahead; zero: nothing was heard
	// Values are those of the newest reading; null is no number.
	Values map[conditions.Variable]*float64 `json:"values,omitempty"`
	// Hour and Day count the flags of the last hour and of the last 24.
	Hour map[Fault]int `json:"hour,omitempty"`
	Day  map[Fault]int `json:"day,omitempty"`
	// Checked is when it last agreed with an instrument that was read by hand beside it.
	Checked time.Time `json:"checked,omitzero"`
	// Exposed is a humidity sensor's time in solvent vapour since it was checked, CheckAfter
	// after how much of it the yard wants it checked; 0: never.
	Exposed    *Exposed      `json:"exposed,omitempty"`
	CheckAfter unit.Duration `json:"check_after,omitzero"`
	// Asks are the doubts that stand now; with none all is well.
	Asks []Flag `json:"asks,omitempty"`
}

// Well reports whether nobody need see to the source.
func (a Account) Well() bool { return len(a.Asks) == 0 }

// silentAfter is after how many of its intervals without a word a source is silent.
const silentAfter = 3

// Accounts tells of every sensor of the yard file, in its order, then of what was
// typed by hand, by name. readings are those of the last days and, of a sensor that
// has been silent longer, its last one. exposed
// is how long each sensor has hung in vapour.
func Accounts(y config.Yard, readings []Reading, exposed map[string]Exposed, now time.Time) []Account {
	by := map[string][]Reading{}
	for _, r := range readings {
		by[r.Source] = append(by[r.Source], r)
	}
	for _, one := range by {
		slices.SortStableFunc(one, func(a, b Reading) int { return spoken(a).Compare(spoken(b)) })
	}
	said := maps.Clone(by)
	var all []Account
	for _, s := range y.Sensors {
		a := Account{Source: s.Name, Place: s.Place, Boat: s.Boat, Every: s.Every, Due: s.Due, Measures: slices.Sorted(maps.Keys(s.Values))}
		a.heard(by[s.Name], now)
		a.silence(s, now)
		a.calibration(now)
		a.exposure(s, exposed)
		delete(by, s.Name)
		all = append(all, a)
	}
	for _, name := range slices.Sorted(maps.Keys(by)) {
		a := Account{Source: name, ByHand: true}
		a.heard(by[name], now)
		last := by[name][len(by[name])-1]
		a.Place, a.Boat, a.Measures = last.Place, last.Boat, slices.Sorted(maps.Keys(last.Values))
		a.Asks = nil // nobody waits for the next word of a person
		all = append(all, a)
	}
	for i := range all {
		all[i].compare(said, all)
	}
	offsets(y, said, now, func(source string, f Flag) {
		i := slices.IndexFunc(all, func(a Account) bool { return a.Source == source })
		all[i].Asks = append(all[i].Asks, f)
	})
	return all
}

// compare holds a sensor against what was last read by hand beside it.
func (a *Account) compare(said map[string][]Reading, all []Account) {
	var newest told
	var apart []difference
	for _, hand := range all {
		if a.ByHand || a.Place == "" || !hand.ByHand {
			continue
		}
		for _, r := range said[hand.Source] {
			by, ok := tells(r, 0)
			if !ok || r.Place != a.Place || by.at.Before(newest.at) {
				continue
			}
			if is, ok := closest(said[a.Source], by.at); ok {
				newest, apart = by, differences(is, by)
			}
		}
	}
	if newest.source == "" {
		return
	}
	if len(apart) == 0 {
		a.Checked = newest.at
	}
	for _, d := range apart {
		a.Asks = append(a.Asks, Flag{Of: d.of, Fault: Apart, Note: d.String()})
	}
}

// closest is what a source said within beside of a time, the nearest to it.
func closest(readings []Reading, at time.Time) (told, bool) {
	var best told
	found := false
	for _, r := range readings {
		t, ok := tells(r, 0)
		if gap := t.at.Sub(at).Abs(); ok && gap <= beside && (!found || gap < best.at.Sub(at).Abs()) {
			best, found = t, true
		}
	}
	return best, found
}

// heard takes in what a source said, oldest first.
func (a *Account) heard(readings []Reading, now time.Time) {
	a.Hour, a.Day = map[Fault]int{}, map[Fault]int{}
	for _, r := range readings {
		age := now.Sub(r.Received) // its own time may be what is doubtful
		for _, f := range r.Flags {
			if age <= 24*time.Hour {
				a.Day[f.Fault]++
			}
			if age <= time.Hour {
				a.Hour[f.Fault]++
			}
		}
	}
	if len(readings) == 0 {
		return
	}
	last := readings[len(readings)-1]
	a.At, a.Values = spoken(last), map[conditions.Variable]*float64{}
	for _, f := range last.Flags {
		if f.Fault != Repeated { // one that came twice asks for nobody
			a.Asks = append(a.Asks, f)
		}
	}
	a.repeats(readings, now)
	for v, x := range last.Values {
		a.Values[v] = nil
		if !math.IsNaN(x) && !math.IsInf(x, 0) {
			a.Values[v] = &x
		}
	}
}

// spoken is when a source said something: what a clock that is ahead dates after its own
// arrival was said no later than that.
func spoken(r Reading) time.Time {
	if r.At.After(r.Received) && !r.Received.IsZero() {
		return r.Received
	}
	return r.At
}

// oftenRepeated is how many readings of an hour must be at hand to call their repeats many.
const oftenRepeated = 6

// repeats asks for a source of which half the readings of the last hour may be repeats:
// it speaks oftener than the yard file says, or its broker delivers twice.
func (a *Account) repeats(readings []Reading, now time.Time) {
	all, repeated := 0, 0
	for _, r := range readings {
		if now.Sub(r.Received) > time.Hour {
			continue
		}
		all++
		if slices.ContainsFunc(r.Flags, func(f Flag) bool { return f.Fault == Repeated }) {
			repeated++
		}
	}
	if all >= oftenRepeated && 2*repeated >= all {
		a.ask(Repeated, "%d of the last hour's %d readings; write how often it speaks at every:, or the path of its own time at time: or of its count at sequence:", repeated, all)
	}
}

func (a *Account) silence(s config.Sensor, now time.Time) {
	switch {
	case a.At.IsZero():
		a.ask(Silent, "nothing was ever heard; %s", awaited(s))
	case a.Every > 0 && now.Sub(a.At) > silentAfter*a.Every.Std():
		a.ask(Silent, "it should speak every %s and was last heard %s ago", a.Every, whole(now.Sub(a.At)))
	}
}

// awaited says where a sensor's word is waited for, which is what to look at first.
func awaited(s config.Sensor) string {
	switch {
	case s.Modbus != nil:
		var rows []string
		for _, r := range runs(s) {
			rows = append(rows, r.String())
		}
		return fmt.Sprintf("it is asked at %s, unit %d, for %s; the pages and the log say what it answers", s.Modbus.Address, s.Modbus.UnitID(), strings.Join(rows, " and "))
	case s.Topic != "" && s.Broker != "":
		return fmt.Sprintf("it is awaited at topic %s of broker %s, to the letter", s.Topic, s.Broker)
	case s.Topic != "":
		return fmt.Sprintf("it is awaited at topic %s of the program's own MQTT port, to the letter", s.Topic)
	case s.Subject != "":
		return fmt.Sprintf("it is awaited at subject %s, to the letter", s.Subject)
	case s.File != "":
		return fmt.Sprintf("it is awaited in file %s", s.File)
	}
	return fmt.Sprintf("it is awaited at POST /v1/readings as source %q", s.Name)
}

// calibration is asked about even of a source that has nothing new to say.
func (a *Account) calibration(now time.Time) {
	c := checker{r: &Reading{At: now}, sensor: config.Sensor{Due: a.Due}}
	c.calibration()
	for _, f := range c.r.Flags {
		if !slices.ContainsFunc(a.Asks, func(have Flag) bool { return have.Fault == f.Fault }) {
			a.Asks = append(a.Asks, f)
		}
	}
}

func (a *Account) ask(f Fault, note string, args ...any) {
	a.Asks = append(a.Asks, Flag{Fault: f, Note: fmt.Sprintf(note, args...)})
}

// Counted words counts of flags, the most frequent first.
func Counted(flags map[Fault]int) string {
	var parts []string
	for _, f := range slices.SortedFunc(maps.Keys(flags), func(a, b Fault) int {
		return cmp.Or(cmp.Compare(flags[b], flags[a]), cmp.Compare(a, b))
	}) {
		parts = append(parts, fmt.Sprintf("%d %s", flags[f], f))
	}
	return strings.Join(parts, ", ")
}

// Remembered is how far back the readings go that an account is made of.
const Remembered = 72 * time.Hour
