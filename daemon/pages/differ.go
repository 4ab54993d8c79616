package pages

import (
	"net/url"
	"slices"
	"strings"
)

// leaf is one thing that can be said of a thing, by a key that holds in every version
// of it: rows go by their names. areas/topsides is a whole row, areas/topsides/size a
// field of it, areas/ the order of all.
type leaf struct{ key, label, text string }

// differs is one leaf in which two versions differ; empty is not there.
type differs struct{ key, label, was, is string }

// leaves are all that is said of a thing.
func (k writing[T]) leaves(v T) []leaf {
	var all []leaf
	for _, s := range k.head(&v) {
		all = append(all, leaf{s.path, strings.ToLower(s.label), s.shown()})
	}
	for _, l := range k.lists {
		var order []string
		for i := range l.count(&v) {
			slots := l.slots(&v, i, "")
			if l.name == nil {
				order = append(order, skinText(slots))
				continue
			}
			name := l.name(&v, i)
			order = append(order, name)
			var said []string
			for _, s := range slots[1:] { // the first is the name
				if text := s.shown(); text != "" {
					said = append(said, strings.ToLower(s.label)+" "+text)
				}
			}
			all = append(all, leaf{rowKey(l.key, name), l.noun + " " + name, strings.Join(said, ", ")})
			for _, s := range slots[1:] {
				all = append(all, leaf{rowKey(l.key, name) + "/" + s.path, name + ", " + strings.ToLower(s.label), s.shown()})
			}
		}
		label := "order of the " + l.noun + "s"
		if l.name == nil {
			label = l.noun + "s"
		}
		all = append(all, leaf{l.key + "/", label, strings.Join(order, ", ")})
	}
	return all
}

// shown is a slot's text on one line.
func (s slot) shown() string { return strings.ReplaceAll(s.text(), "\n", ", ") }

// differences are all leaves in which two versions differ. Of a row that only one of
// them has, the row alone is told.
func (k writing[T]) differences(was, is T) []differs {
	before, after := k.leaves(was), k.leaves(is)
	find := func(all []leaf, key string) (string, bool) {
		i := slices.IndexFunc(all, func(l leaf) bool { return l.key == key })
		if i < 0 {
			return "", false
		}
		return all[i].text, true
	}
	var found []differs
	told := map[string]bool{}
	for _, l := range append(slices.Clone(before), after...) {
		if told[l.key] {
			continue
		}
		told[l.key] = true
		a, inA := find(before, l.key)
		b, inB := find(after, l.key)
		list, row, _ := strings.Cut(l.key, "/")
		switch depth := strings.Count(l.key, "/"); {
		case depth == 1 && row != "": // a whole row: its fields are told where both have it
			if inA != inB {
				found = append(found, differs{l.key, l.label, orThere(a, inA), orThere(b, inB)})
			}
		case depth == 2 && inA != inB:
		case depth == 1 && k.isNamed(list) && !sameSet(a, b): // rows that came and went are told
		case a != b:
			found = append(found, differs{l.key, l.label, a, b})
		}
	}
	return found
}

// orThere is a row's text; one with nothing in it is there all the same.
func orThere(text string, in bool) string {
	if in && text == "" {
		return "there"
	}
	return text
}

func sameSet(a, b string) bool {
	x, y := strings.Split(a, ", "), strings.Split(b, ", ")
	slices.Sort(x)
	slices.Sort(y)
	return slices.Equal(x, y)
}

// isNamed tells a list whose rows have names.
func (k writing[T]) isNamed(list string) bool {
	return slices.ContainsFunc(k.lists, func(l listOf[T]) bool { return l.key == list && l.name != nil })
}

// rowKey is the key of a row, and begins those of its fields.
func rowKey(list, name string) string { return list + "/" + url.PathEscape(name) }

// settled is mine with what of theirs is asked for by its key.
func (k writing[T]) settled(mine, theirs T, takes func(key string) bool) T {
	heads := k.head(&theirs)
	for i, s := range k.head(&mine) {
		if takes(s.path) {
			_ = s.take(heads[i].text()) // it was read from such a text
		}
	}
	for _, l := range k.lists {
		l.settle(&mine, &theirs, takes)
	}
	return mine
}
