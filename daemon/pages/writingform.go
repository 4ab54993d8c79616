package pages

import (
	"slices"
	"strconv"
	"strings"
)

// writingForm is a boat or a system as it is being written down.
type writingForm struct {
	Heading  string
	Noun     string
	Name     string // of what is edited; empty for a new one
	Action   string
	Revision string
	Once     string
	Keep     string // what the button says
	Then     string // what keeping it does
	Foresees bool   // that can be asked in figures
	Foreseen []string
	Back     link
	History  string // an address; empty for a new one
	Fields   []fieldView
	More     foldView
	Groups   []groupView
	Notes    []string // warnings about the whole
	Fault    string
	By       byField
	Remove   *removeForm
}

// fieldView is one field with what is wrong with it.
type fieldView struct {
	Path, Label, Hint, Value, None string
	Kind                           slotKind
	Options                        []optionView
	List                           string // the id of its suggestions
	Picks                          string // the browser's own field for it
	Fixed                          bool
	Faults, Notes                  []string
	Focus                          bool
}

type optionView struct {
	Value, Label string
	On           bool
}

// foldView is fields that few need.
type foldView struct {
	Title  string
	Open   bool
	Fields []fieldView
}

// groupView is a list.
type groupView struct {
	Key, Title, Noun, Help string
	Fold, Open             bool
	Rows                   []groupRow
	Faults, Notes          []string
}

type groupRow struct {
	Index         int
	Number        int
	Legend        string
	Fields        []fieldView
	More          foldView
	First, Last   bool
	Faults, Notes []string
	Focus         bool
}

// removeForm asks why something is taken out.
type removeForm struct {
	Action, Revision, Once, Why, Fault string
	By                                 byField
}

// form shows a form as it was typed, with what is wrong beside each field.
func (k writing[T]) form(t typed, bad, warnings amiss, fixed bool) writingForm {
	v, _ := k.read(t)
	f := writingForm{Noun: k.noun, Notes: warnings[""], Fault: strings.Join(bad[""], " ")}
	f.More.Title = "More about it"
	for _, s := range k.head(&v) {
		one := s.view(t, bad, warnings)
		one.Fixed = fixed && s.path == k.key
		one.place(s, &f.Fields, &f.More)
	}
	for _, l := range k.lists {
		g := groupView{Key: l.key, Title: l.title, Noun: l.noun, Help: l.help, Fold: l.rare, Faults: bad[l.key], Notes: warnings[l.key]}
		n := l.count(&v)
		for i := range n {
			at := strings.TrimSuffix(rowAt(l.key, i), ".")
			row := groupRow{Index: i, Number: i + 1, First: i == 0, Last: i == n-1, Faults: bad[at], Notes: warnings[at], More: foldView{Title: "More about this " + l.noun}}
			if l.name != nil {
				row.Legend = l.name(&v, i)
			}
			for _, s := range l.slots(&v, i, rowAt(l.key, i)) {
				one := s.view(t, bad, warnings)
				one.place(s, &row.Fields, &row.More)
			}
			g.Rows = append(g.Rows, row)
		}
		g.Open = n > 0 || len(g.Faults) > 0
		f.Groups = append(f.Groups, g)
	}
	return f
}

// place puts a field among those that are seen, or behind the fold. One that does not
// fit and holds nothing is left out.
func (f fieldView) place(s slot, seen *[]fieldView, fold *foldView) {
	holds := f.Value != "" || len(f.Faults) > 0
	switch {
	case s.unfit && !holds:
	case s.rare:
		fold.Fields = append(fold.Fields, f)
		fold.Open = fold.Open || holds || len(f.Notes) > 0
	default:
		*seen = append(*seen, f)
	}
}

// view is a slot with what was typed into it.
func (s slot) view(t typed, bad, warnings amiss) fieldView {
	f := fieldView{
		Path: s.path, Label: s.label, Hint: s.hint, Value: t.text[s.path], Kind: s.kind, None: s.none,
		Faults: bad[s.path], Notes: warnings[s.path],
	}
	f.Value, f.Picks = s.picked(f.Value)
	switch s.kind {
	case slotChosen:
		options := s.options
		if f.Value != "" && !slices.Contains(options, f.Value) {
			options = append([]string{f.Value}, options...) // what was there is not lost
		}
		for _, o := range options {
			f.Options = append(f.Options, optionView{o, spaced(o), o == f.Value})
		}
	case slotTicked:
		on := strings.Split(f.Value, "\n")
		if f.Value == "" {
			on = nil
		}
		options := slices.Clone(on) // first, for their order is kept
		for _, o := range s.options {
			if !slices.Contains(on, o) {
				options = append(options, o)
			}
		}
		for _, o := range options {
			f.Options = append(f.Options, optionView{o, o, slices.Contains(on, o)})
		}
	default:
		if len(s.options) > 0 {
			f.List = "near-" + strings.NewReplacer("[", "-", "].", "-", "_", "-").Replace(s.path)
			for _, o := range s.options {
				f.Options = append(f.Options, optionView{Value: o})
			}
		}
	}
	return f
}

// spaced writes one of our words as people do.
func spaced(word string) string { return strings.ReplaceAll(word, "_", " ") }

// focus marks the row that a button was about.
func (f *writingForm) focus(list string, row int) {
	for i := range f.Groups {
		g := &f.Groups[i]
		if g.Key != list {
			continue
		}
		g.Open = true
		if row < len(g.Rows) {
			g.Rows[row].Focus = true
			if len(g.Rows[row].Fields) > 0 {
				g.Rows[row].Fields[0].Focus = true
			}
		}
	}
}

// revision reads the revision that a form was made from.
func revision(text string) int64 {
	n, err := strconv.ParseInt(text, 10, 64)
	if err != nil {
		return 0
	}
	return n
}
