package planner

import (
	"fmt"
	"reflect"
	"slices"
	"strings"
	"time"

	"fairwindow/conditions/unit"
	"fairwindow/config"
)

// ChangeKind names what would be other than it is.
type ChangeKind string

// The kinds of change.
const (
	Heat       ChangeKind = "heater"       // of a booth: SetPoint, Heater or both
	Dry        ChangeKind = "dehumidifier" // in a booth, a shed or under a tent: Takes, DownTo, Leaks
	Cover      ChangeKind = "tent"         // over a slip
	Staff      ChangeKind = "people"       // People more in a crew, less than 0: fewer
	WorkOn     ChangeKind = "shifts"       // of a crew on a Weekday
	Promise    ChangeKind = "promise"      // a boat's launch, on Day
	SwapPlaces ChangeKind = "swap places"  // of Boat and Other
	SwapTurns  ChangeKind = "swap turns"   // of Boat and Other: the launch promised, and the arrival to come
	PutOff     ChangeKind = "put off"      // a boat's arrival, to Day or by By
	TakeOut    ChangeKind = "take out"     // a boat
)

// Change is one thing that would be other than it is in a problem. Only what its
// kind needs is set; the rest is as usual.
type Change struct {
	Kind  ChangeKind `json:"kind"`
	Place string     `json:"place,omitempty"`
	// Crew is a crew's name, or what one of the only crew with a skill is called:
	// painter, of the skill paint.
	Crew  string `json:"crew,omitempty"`
	Boat  string `json:"boat,omitempty"` // its name, or the one word of it that no other boat has
	Other string `json:"other,omitempty"`

	SetPoint unit.Written[unit.Temperature] `json:"set_point,omitzero"`
	Heater   unit.Written[unit.Power]       `json:"heater,omitzero"`
	Takes    unit.Written[unit.WaterRate]   `json:"takes,omitzero"`
	DownTo   unit.Written[unit.Humidity]    `json:"down_to,omitzero"`
	Leaks    unit.Written[unit.Flow]        `json:"leaks,omitzero"`
	People   int                            `json:"people,omitempty"`
	Weekday  time.Weekday                   `json:"weekday,omitempty"`
	Starts   string                         `json:"starts,omitempty"` // 07:00, yard time
	Length   unit.Duration                  `json:"length,omitempty"`
	Day      string                         `json:"day,omitempty"` // 2026-05-30 or 2026-05-30 08:00, yard time
	By       unit.Duration                  `json:"by,omitempty"`
}

// NoChange is the error of a change after which the yard would be as it is.
type NoChange struct{ Why string }

func (n NoChange) Error() string { return n.Why + ": nothing changes" }

// Apply is the problem with the change made. The given problem stays as it is.
// What a place's instruments read before its air was changed no longer counts.
// Its errors say what is wrong and what would be right; NoChange is one of them.
func (c Change) Apply(p Problem) (Problem, error) {
	how := map[ChangeKind]func(Problem) (Problem, error){
		Heat: c.heat, Dry: c.dry, Cover: c.cover, Staff: c.staff, WorkOn: c.workOn, Promise: c.promise,
		SwapPlaces: c.swapPlaces, SwapTurns: c.swapTurns, PutOff: c.putOff, TakeOut: c.takeOut,
	}[c.Kind]
	if how == nil {
		return Problem{}, fmt.Errorf("nobody knows a change called %q", c.Kind)
	}
	changed, err := how(p)
	if err != nil {
		return Problem{}, err
	}
	if f, wrong := newFault(p, changed); wrong {
		return Problem{}, fmt.Errorf("%s; %s", f.What, f.Right)
	}
	return changed, nil
}

// newFault is the first thing wrong in the changed yard or its boats that was not
// wrong before. A boat that was taken out shifts the paths of the others; a system
// that names a kind of place which is now another is the plan's to judge.
func newFault(p, changed Problem) (config.Fault, bool) {
	is := changed.Yard.Check()
	was := p.Yard.Check()
	if len(p.Boats) == len(changed.Boats) {
		is = append(is, config.CheckBoats(changed.Yard, changed.Boats)...)
		was = append(was, config.CheckBoats(p.Yard, p.Boats)...)
	}
	for _, f := range is {
		if !f.Warning && !strings.HasPrefix(f.Path, "systems") && !slices.ContainsFunc(was, func(o config.Fault) bool { return o.Path == f.Path && o.What == f.What }) {
			return f, true
		}
	}
	return config.Fault{}, false
}

// changePlace is the problem with one place as it would be.
func changePlace(p Problem, i int, place config.Place) (Problem, error) {
	if reflect.DeepEqual(p.Yard.Places[i], place) {
		return p, NoChange{place.Name + " is so already"}
	}
	p.Yard.Places = slices.Clone(p.Yard.Places)
	p.Yard.Places[i] = place
	p.Measured = slices.DeleteFunc(slices.Clone(p.Measured), func(m PlaceNow) bool { return m.Place == place.Name })
	return p, nil
}

// placeIn finds a place of the yard by its name, or says which there are among
// those that would do.
func placeIn(y config.Yard, name string, suits func(config.Place) bool, why string) (int, error) {
	var all, good []string
	for _, p := range y.Places {
		all = append(all, p.Name)
		if suits(p) {
			good = append(good, p.Name)
		}
	}
	i := slices.IndexFunc(all, func(n string) bool { return strings.EqualFold(n, name) })
	switch {
	case i < 0:
		return -1, unknown("place", name, all)
	case !suits(y.Places[i]) && len(good) == 0:
		return -1, fmt.Errorf("%s is a %s: %s, and this yard has none", all[i], y.Places[i].Kind, why)
	case !suits(y.Places[i]):
		return -1, fmt.Errorf("%s is a %s: %s; name %s", all[i], y.Places[i].Kind, why, either(good))
	}
	return i, nil
}

// crewIn finds a crew by its name, or by what people with a skill of it are called.
func crewIn(y config.Yard, name string) (int, error) {
	var all, can []string
	only := -1
	for i, c := range y.Crews {
		if strings.EqualFold(c.Name, name) {
			return i, nil
		}
		all = append(all, c.Name)
		if slices.ContainsFunc(c.Skills, func(skill string) bool { return does(name, skill) }) {
			can, only = append(can, c.Name), i
		}
	}
	switch {
	case len(can) == 1:
		return only, nil
	case len(can) > 1:
		return -1, fmt.Errorf("there is a %s in each of %s: name the crew, like %q", name, strings.Join(can, ", "), "crew "+can[0])
	}
	return -1, unknown("crew", name, all)
}

// does reports whether a word is what somebody with a skill is called: paint,
// painter and painters of paint, wiper of wipe.
func does(word, skill string) bool {
	word, skill = strings.ToLower(word), strings.ToLower(skill)
	er := strings.TrimSuffix(skill, "e") + "er"
	return word == skill || word == er || word == er+"s"
}

// boatIn finds a boat by its name, or by a word of it that no other boat has.
func boatIn(p Problem, name string) (int, error) {
	var all []string
	part := -1
	for i, b := range p.Boats {
		if strings.EqualFold(b.Name, name) {
			return i, nil
		}
		all = append(all, b.Name)
		if slices.ContainsFunc(strings.Fields(b.Name), func(w string) bool { return strings.EqualFold(w, name) }) {
			if part >= 0 {
				return -1, fmt.Errorf("%q may be %s or %s: write its whole name", name, all[part], b.Name)
			}
			part = i
		}
	}
	if part < 0 {
		return -1, unknown("boat", name, all)
	}
	return part, nil
}

// unknown names what there is instead of what there is not.
func unknown(noun, name string, all []string) error {
	if len(all) == 0 {
		return fmt.Errorf("there is no %s %q, and no other", noun, name)
	}
	// The word that most names begin with, as in Boat Tern, is left out by people.
	near, ok := config.Near(name, all)
	for _, full := range all {
		if _, last, two := strings.Cut(full, " "); two && !ok {
			if _, ok = config.Near(name, []string{last}); ok {
				near = full
			}
		}
	}
	if ok {
		return fmt.Errorf("there is no %s %q: did you mean %s? There %s", noun, name, near, are(all))
	}
	return fmt.Errorf("there is no %s %q; there %s", noun, name, are(all))
}

func are(all []string) string {
	if len(all) == 1 {
		return "is " + all[0]
	}
	return "are " + strings.Join(all[:len(all)-1], ", ") + " and " + all[len(all)-1]
}

func either(all []string) string {
	if len(all) == 1 {
		return all[0]
	}
	return strings.Join(all[:len(all)-1], ", ") + " or " + all[len(all)-1]
}
