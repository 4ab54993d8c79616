package pages

import (
	"slices"
	"strings"

	"fairwindow/config"
)

// writing is how one kind of thing is written down: how it is asked for, read, checked
// and compared with another of its kind.
type writing[T any] struct {
	noun  string // boat, system
	key   string // the path of its name
	name  func(T) string
	head  func(*T) []slot
	lists []listOf[T]
	check func(T) []config.Fault
}

// listOf is a list in a T.
type listOf[T any] struct {
	key, title, noun, help string
	rare                   bool
	count                  func(*T) int
	resize                 func(*T, int)
	slots                  func(t *T, i int, at string) []slot
	name                   func(t *T, i int) string // nil: rows have none, and the list is compared as one
	// settle gives mine those rows and fields of theirs that are asked for by their keys.
	settle func(mine, theirs *T, takes func(key string) bool)
}

// rowsOf makes a list of a T's field.
func rowsOf[T, R any](key, title, noun string, of func(*T) *[]R, name func(R) string, slots func(*T, *R, string) []slot) listOf[T] {
	l := listOf[T]{
		key: key, title: title, noun: noun,
		count: func(t *T) int { return len(*of(t)) },
		resize: func(t *T, n int) {
			if *of(t) = nil; n > 0 {
				*of(t) = make([]R, n)
			}
		},
		slots: func(t *T, i int, at string) []slot { return slots(t, &(*of(t))[i], at) },
	}
	if name == nil {
		l.settle = func(mine, theirs *T, takes func(string) bool) {
			if takes(key + "/") {
				*of(mine) = slices.Clone(*of(theirs))
			}
		}
		return l
	}
	l.name = func(t *T, i int) string { return name((*of(t))[i]) }
	l.settle = func(mine, theirs *T, takes func(string) bool) {
		find := func(t *T, row string) int {
			return slices.IndexFunc(*of(t), func(r R) bool { return name(r) == row })
		}
		*of(mine) = slices.DeleteFunc(slices.Clone(*of(mine)), func(r R) bool {
			return find(theirs, name(r)) < 0 && takes(rowKey(key, name(r)))
		})
		for j, r := range *of(theirs) {
			i := find(mine, name(r))
			if i < 0 {
				if takes(rowKey(key, name(r))) {
					at := min(j, len(*of(mine)))
					*of(mine) = slices.Insert(*of(mine), at, r)
				}
				continue
			}
			others := slots(theirs, &(*of(theirs))[j], "")
			for k, s := range slots(mine, &(*of(mine))[i], "") {
				if takes(rowKey(key, name(r)) + "/" + s.path) {
					_ = s.take(others[k].text()) // it was read from such a text
				}
			}
		}
		if takes(key + "/") {
			slices.SortStableFunc(*of(mine), func(a, b R) int { return find(theirs, name(a)) - find(theirs, name(b)) })
		}
	}
	return l
}

// slots are all fields of a thing, by the paths that a form gives them.
func (k writing[T]) slots(t *T) []slot {
	all := k.head(t)
	for _, l := range k.lists {
		for i := range l.count(t) {
			all = append(all, l.slots(t, i, rowAt(l.key, i))...)
		}
	}
	return all
}

// typed is a thing as a form holds it.
func (k writing[T]) typed(v T) typed {
	t := typed{map[string]string{}, map[string]int{}}
	for _, s := range k.slots(&v) {
		t.text[s.path] = s.text()
	}
	for _, l := range k.lists {
		t.rows[l.key] = l.count(&v)
	}
	return t
}

// read is the thing that a form holds, and what of it can't be read, by path.
func (k writing[T]) read(t typed) (T, amiss) {
	var v T
	bad := amiss{}
	for _, l := range k.lists {
		l.resize(&v, t.rows[l.key])
	}
	for _, s := range k.slots(&v) {
		if err := s.take(t.text[s.path]); err != nil {
			bad.add(s.path, err.Error())
		}
	}
	return v, bad
}

// amiss is what is wrong, by the path of a field, of a list, or of the whole: "".
type amiss map[string][]string

func (f amiss) add(path, sentence string) {
	sentence = capital(sentence)
	if !strings.HasSuffix(sentence, "?") {
		sentence += "."
	}
	f[path] = append(f[path], sentence)
}

// checked adds what the checks say of a thing, each beside the field that it is about
// unless that is known to be bad already; warnings apart.
func (k writing[T]) checked(v T, bad amiss) (warnings amiss) {
	warnings = amiss{}
	known := map[string]bool{"": true}
	lacks := map[string]string{}
	for _, s := range k.slots(&v) {
		known[s.path] = true
		if s.must && s.text() == "" {
			lacks[s.path] = s.label + " can't be left empty; write it like " + s.hint
			if s.kind == slotChosen {
				lacks[s.path] = s.label + " can't be left empty; " + s.none
			}
		}
	}
	for _, l := range k.lists {
		known[l.key] = true
		for i := range l.count(&v) {
			known[strings.TrimSuffix(rowAt(l.key, i), ".")] = true
		}
	}
	unread := map[string]bool{}
	for path := range bad {
		unread[path] = true
	}
	for _, f := range k.check(v) {
		path := f.Path
		for !known[path] {
			path = path[:max(0, strings.LastIndexAny(path, ".["))]
		}
		switch {
		case lacks[path] != "":
			if len(bad[path]) == 0 {
				bad.add(path, lacks[path])
			}
		case f.Warning:
			warnings.add(path, f.What+"; "+f.Right)
		case !unread[path]:
			bad.add(path, f.What+"; "+f.Right)
		}
	}
	return warnings
}
