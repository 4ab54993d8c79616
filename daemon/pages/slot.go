package pages

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"fairwindow/conditions/unit"
	"fairwindow/config"
)

// slot is one field of something people write down: how it is asked for, and how its
// text goes in and out. Its path is that of the checks' faults: areas[1].size.
type slot struct {
	path, label, hint string
	kind              slotKind
	options           []string
	none              string // what the empty choice is called
	must              bool   // it can't be left empty
	rare              bool   // behind a fold until it holds something
	unfit             bool   // asked of other kinds of stage only
	picks             string // the browser's own field for it: a calendar, with or without a clock
	text              func() string
	take              func(string) error
}

type slotKind string

const (
	slotTyped  slotKind = "typing"
	slotChosen slotKind = "choosing"
	slotTicked slotKind = "ticking" // any number of the options, a line each
	slotLines  slotKind = "lines"   // a text of several lines
)

// from lets one of its options be chosen, or none, which has a name.
func (s slot) from(options []string, none string) slot {
	s.kind, s.options, s.none = slotChosen, options, none
	return s
}

// near suggests what may be typed.
func (s slot) near(options []string) slot {
	s.options = options
	return s
}

// needed can't be left empty, and says so itself.
func (s slot) needed() slot {
	s.must = true
	return s
}

// Fields that a browser has a calendar for.
const (
	dayPicker    = "date"
	momentPicker = "datetime-local"
)

// day is picked from a calendar.
func (s slot) day() slot {
	s.picks = dayPicker
	return s
}

// moment is picked from a calendar and a clock, which part day and time by a T.
func (s slot) moment() slot {
	s.picks = momentPicker
	take := s.take
	s.take = func(text string) error {
		if at, err := time.Parse(wall, text); err == nil {
			text = at.Format(dayAndTime)
		}
		return take(text)
	}
	return s
}

// dayAndTime is how a time is written in the book; wall is how a browser's field writes it.
const dayAndTime = "2006-01-02 15:04"

// picked is a text as the browser's own field shows it, which would show nothing of any
// other: that is typed.
func (s slot) picked(text string) (value, field string) {
	switch s.picks {
	case dayPicker:
		if _, err := time.Parse(time.DateOnly, text); err == nil || text == "" {
			return text, s.picks
		}
	case momentPicker:
		for _, form := range []string{dayAndTime, wall} {
			if at, err := time.Parse(form, text); err == nil {
				return at.Format(wall), s.picks
			}
		}
		if text == "" {
			return "", s.picks
		}
	}
	return text, ""
}

func (s slot) rarely() slot {
	s.rare = true
	return s
}

func (s slot) only(fits bool) slot {
	s.unfit = !fits
	return s
}

func wordsSlot[W ~string](path, label, hint string, of *W) slot {
	return slot{path: path, label: label, hint: hint, kind: slotTyped,
		text: func() string { return string(*of) },
		take: func(text string) error { *of = W(text); return nil },
	}
}

// measureSlot is a quantity as it was written; a decimal comma is read as a point.
func measureSlot[Q ~float64](path, label, hint string, of *unit.Written[Q]) slot {
	return slot{path: path, label: label, hint: hint, kind: slotTyped,
		text: func() string {
			if of.IsZero() {
				return ""
			}
			return of.String()
		},
		take: func(text string) error {
			point, err := pointed(text)
			if err != nil {
				return err
			}
			return of.UnmarshalText([]byte(point))
		},
	}
}

// boundSlot is a limit that may not be set.
func boundSlot[Q ~float64](path, label, hint string, of **unit.Written[Q]) slot {
	return slot{path: path, label: label, hint: hint, kind: slotTyped,
		text: func() string {
			if *of == nil {
				return ""
			}
			return (*of).String()
		},
		take: func(text string) error {
			if *of = nil; text == "" {
				return nil
			}
			point, err := pointed(text)
			if err != nil {
				return err
			}
			read, err := unit.Parse[Q](point)
			if err == nil {
				*of = &read
			}
			return err
		},
	}
}

func lastingSlot(path, label, hint string, of *unit.Duration) slot {
	return slot{path: path, label: label, hint: hint, kind: slotTyped,
		text: func() string {
			if *of == 0 {
				return ""
			}
			return of.String()
		},
		take: func(text string) error {
			if *of = 0; text == "" {
				return nil
			}
			point, err := pointed(text)
			if err != nil {
				return err
			}
			return of.UnmarshalText([]byte(point))
		},
	}
}

func countedSlot(path, label, hint string, of *int) slot {
	return slot{path: path, label: label, hint: hint, kind: slotTyped,
		text: func() string {
			if *of == 0 {
				return ""
			}
			return strconv.Itoa(*of)
		},
		take: func(text string) error {
			if *of = 0; text == "" {
				return nil
			}
			n, err := strconv.Atoi(text)
			if err != nil {
				return fmt.Errorf("%q is not a whole number; write one like %q", text, hint)
			}
			if n == 0 {
				return fmt.Errorf("0 would count as if nothing were written; write 1 or more, or leave it empty")
			}
			*of = n
			return nil
		},
	}
}

// listedSlot is several words, a line each.
func listedSlot[W ~string](path, label, hint string, of *[]W) slot {
	return slot{path: path, label: label, hint: hint, kind: slotLines,
		text: func() string {
			all := make([]string, len(*of))
			for i, w := range *of {
				all[i] = string(w)
			}
			return strings.Join(all, "\n")
		},
		take: func(text string) error {
			*of = nil
			for line := range strings.Lines(text) {
				if line = strings.TrimSpace(line); line != "" {
					*of = append(*of, W(line))
				}
			}
			return nil
		},
	}
}

func tickedSlot[W ~string](path, label string, of *[]W, options []string) slot {
	s := listedSlot(path, label, "", of)
	s.kind, s.options = slotTicked, options
	return s
}

// limitsSlot is all limits in one text, a line each: margin: 3 C.
func limitsSlot(path, label string, of *config.Limits) slot {
	return slot{path: path, label: label, hint: "margin: 1 C", kind: slotLines,
		text: func() string {
			var all []string
			for _, s := range limitSlots(of) {
				if text := s.text(); text != "" {
					all = append(all, s.path+": "+text)
				}
			}
			return strings.Join(all, "\n")
		},
		take: func(text string) error {
			*of = config.Limits{}
			slots := limitSlots(of)
			var known []string
			for _, s := range slots {
				known = append(known, s.path)
			}
			for line := range strings.Lines(text) {
				if line = strings.TrimSpace(line); line == "" {
					continue
				}
				name, value, _ := strings.Cut(line, ":")
				name, value = strings.ReplaceAll(strings.TrimSpace(name), " ", "_"), strings.TrimSpace(value)
				i := slices.Index(known, name)
				switch near, ok := config.Near(name, known); {
				case i >= 0 && value == "":
					return fmt.Errorf("%s has no value; write it like %q", name, slots[i].path+": "+slots[i].hint)
				case i >= 0:
					if err := slots[i].take(value); err != nil {
						return fmt.Errorf("%s: %w", name, err)
					}
				case ok:
					return fmt.Errorf("there is no limit %q; did you mean %q?", name, near)
				default:
					return fmt.Errorf("there is no limit %q; use %s", name, strings.Join(known, ", "))
				}
			}
			return nil
		},
	}
}

// pointed reads a decimal comma as a point. One before three digits may part
// thousands, and is asked about: nobody's 1,200 kg becomes 1.2.
func pointed(text string) (string, error) {
	point := strings.ReplaceAll(text, ",", ".")
	if thousands.MatchString(text) {
		return "", fmt.Errorf("%q may be read in two ways; write %q or %q", text, strings.ReplaceAll(text, ",", ""), point)
	}
	return point, nil
}

var thousands = regexp.MustCompile(`,[0-9]{3}([^0-9]|$)`)
