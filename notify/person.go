package notify

import (
	"slices"
	"time"
)

// Way is how a message reaches a person.
type Way string

// Every way there is.
const (
	ByMail    Way = "mail"
	ByWebhook Way = "webhook"
	ByPush    Way = "push"
	ByPage    Way = "page" // he looks by himself: the way of who has no other
)

// Span is a half-open span of time.
type Span struct{ From, To time.Time }

// Person is one who may be told, with his hours around now.
type Person struct {
	Name  string
	Crews []string
	Hears Hears
	Quiet []Span // in order, none touching another
	Next  string // who is told what he has not heard within After; empty: nobody
	After time.Duration
	Ways  []Way
}

// Hears says what a person wants to hear of. An empty list leaves nothing out, nor does one about
// something that a notice does not speak of: a silent probe belongs to no boat and concerns each.
type Hears struct {
	Places, Boats, Crews []string
	Kinds                []Kind
}

func (h Hears) of(n Notice) bool {
	in := func(list []string, word string) bool {
		return len(list) == 0 || word == "" || slices.Contains(list, word)
	}
	return in(h.Places, n.Place) && in(h.Boats, n.Boat) && in(h.Crews, n.Crew) &&
		(len(h.Kinds) == 0 || slices.Contains(h.Kinds, n.Kind))
}

// free is the first moment from t on that is not in his quiet hours.
func (p Person) free(t time.Time) time.Time {
	for _, q := range p.Quiet {
		if !t.Before(q.From) && t.Before(q.To) {
			t = q.To
		}
	}
	return t
}

// Roster is all who may be told, with the shifts of each crew around now, in order.
type Roster struct {
	People []Person
	Shifts map[string][]Span
}

func (r Roster) person(name string) (Person, bool) {
	i := slices.IndexFunc(r.People, func(p Person) bool { return p.Name == name })
	if i < 0 {
		return Person{}, false
	}
	return r.People[i], true
}

// listBefore is how long before its shift a crew gets the list of what changed in the plan.
const listBefore = 30 * time.Minute

// list is when a change of plan is told: before the next shift of his crews or, if he has none,
// of the crew whose work it is; now, if that shift is on or nobody knows of one.
func (r Roster) list(p Person, n Notice, now time.Time) time.Time {
	crews := p.Crews
	if len(crews) == 0 {
		crews = []string{n.Crew}
	}
	var first time.Time
	for _, crew := range crews {
		for _, s := range r.Shifts[crew] {
			if !s.To.After(now) {
				continue
			}
			if first.IsZero() || s.From.Before(first) {
				first = s.From
			}
			break
		}
	}
	if due := first.Add(-listBefore); due.After(now) {
		return due
	}
	return now
}
