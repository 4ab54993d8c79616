package pages

import (
	"fmt"
	"net/url"
	"slices"
	"strconv"
	"strings"
)

// typed is a form as somebody filled it in, good or bad: texts by their paths, and how
// many rows each list has.
type typed struct {
	text map[string]string
	rows map[string]int
}

// mostRows bounds a list; no boat has so many areas, no system so many stages.
const mostRows = 100

// typedIn reads a form that was sent. A field sent several times has a line for each.
func typedIn(form url.Values) typed {
	t := typed{map[string]string{}, map[string]int{}}
	for name, values := range form {
		if list, is := strings.CutPrefix(name, "row "); is {
			t.rows[list] = min(len(values), mostRows)
			continue
		}
		text := strings.ReplaceAll(strings.Join(values, "\n"), "\r\n", "\n")
		t.text[name] = strings.TrimSpace(text)
	}
	return t
}

// change does what a button asks of a list: add stages, drop stages 2, up stages 2,
// down stages 2, copy stages 2. Which row it was about is the answer.
func (t *typed) change(do string) (list string, row int) {
	what := strings.Fields(do)
	if len(what) < 2 {
		return "", 0
	}
	list = what[1]
	n := t.rows[list]
	at := n
	if len(what) > 2 {
		i, err := strconv.Atoi(what[2])
		if err != nil || i < 0 || i >= n {
			return list, 0
		}
		at = i
	}
	all := t.take(list)
	switch {
	case what[0] == "add" && n < mostRows:
		all = append(all, map[string]string{})
	case at == n:
	case what[0] == "copy" && n < mostRows:
		all = slices.Insert(all, at+1, all[at])
		at++
	case what[0] == "drop":
		all = slices.Delete(all, at, at+1)
		at = max(0, at-1)
	case what[0] == "up" && at > 0:
		all[at-1], all[at] = all[at], all[at-1]
		at--
	case what[0] == "down" && at+1 < n:
		all[at+1], all[at] = all[at], all[at+1]
		at++
	}
	t.put(list, all)
	return list, at
}

// take takes a list's rows out, each by the rest of its paths.
func (t *typed) take(list string) []map[string]string {
	all := make([]map[string]string, t.rows[list])
	for i := range all {
		all[i] = map[string]string{}
		at := rowAt(list, i)
		for path, text := range t.text {
			if rest, is := strings.CutPrefix(path, at); is {
				all[i][rest] = text
				delete(t.text, path)
			}
		}
	}
	t.rows[list] = 0
	return all
}

func (t *typed) put(list string, all []map[string]string) {
	for i, row := range all {
		for rest, text := range row {
			t.text[rowAt(list, i)+rest] = text
		}
	}
	t.rows[list] = len(all)
}

// rowAt begins the paths of a row: areas[1].
func rowAt(list string, i int) string { return fmt.Sprintf("%s[%d].", list, i) }
