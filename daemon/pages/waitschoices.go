package pages

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"fairwindow/planner"
	"fairwindow/planner/waits"
)

// picks is one field to narrow the list down by.
type picks struct {
	Name, Label string
	Options     []pick
}

type pick struct {
	Value, Words string
	Chosen       bool
}

// leastOf is how long a deferral is at least to be listed. Without a word it is an hour, from
// which on people are told of a move; sums and files have the shorter ones too.
func leastOf(word string) time.Duration {
	switch word {
	case "any":
		return 0
	case "4h":
		return 4 * time.Hour
	case "day":
		return 24 * time.Hour
	}
	return time.Hour
}

func leastChoices(now string) picks {
	p := picks{Name: "least", Label: "Put off by"}
	for _, o := range [][2]string{{"", "an hour or more"}, {"4h", "4 hours or more"}, {"day", "a day or more"}, {"any", "any time"}} {
		p.Options = append(p.Options, pick{o[0], o[1], leastOf(o[0]) == leastOf(now)})
	}
	return p
}

// within words what was chosen of fields whose first option is all; their order narrows nothing.
func within(fields []picks) string {
	var words []string
	for _, f := range fields {
		for _, o := range f.Options[1:] {
			switch {
			case !o.Chosen || f.Name == "sort":
			case f.Name == "week" || f.Name == "kind":
				words = append(words, strings.ToLower(f.Label)+" "+o.Words)
			default:
				words = append(words, o.Words)
			}
		}
	}
	return strings.Join(words, "; ")
}

// choices are what the list can be narrowed down by: what it has.
func (v *waitsView) choices(all []waits.Entry, lines []waits.Line, only waits.Only, sort string) {
	seen := map[string]map[string]bool{"boat": {}, "place": {}, "cause": {}, "week": {}, "kind": {}}
	for _, e := range all {
		seen["boat"][e.Key.Boat], seen["place"][e.Place], seen["cause"][string(e.Cause)], seen["kind"][string(e.Kind)] = true, true, true, true
	}
	for _, l := range lines {
		seen["week"][l.Week], seen["cause"][string(l.Cause)] = true, true
	}
	for _, f := range []struct{ name, label, any, now string }{
		{"boat", "Boat", "every boat", only.Boat}, {"place", "Place", "every place", only.Place}, {"cause", "Cause", "every cause", string(only.Cause)},
		{"week", "Week", "every week", only.Week}, {"kind", "Stage", "every kind of stage", string(only.Kind)},
	} {
		field := picks{f.name, f.label, []pick{{"", f.any, f.now == ""}}}
		if f.now != "" {
			seen[f.name][f.now] = true // what was asked for is shown, though there be none
		}
		for value := range seen[f.name] {
			words := value
			if f.name == "cause" {
				words = CauseName(planner.Cause(value))
			}
			if value != "" {
				field.Options = append(field.Options, pick{value, words, value == f.now})
			}
		}
		slices.SortFunc(field.Options[1:], func(a, b pick) int { return cmp.Compare(a.Words, b.Words) })
		v.Choices = append(v.Choices, field)
	}
	v.Choices = append(v.Choices, picks{"sort", "In order", []pick{
		{"", "newest first", sort == ""}, {"longest", "longest first", sort == "longest"}, {"boat", "by boat", sort == "boat"},
	}})
}
