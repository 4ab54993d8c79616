package sensors

import (
	"cmp"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"
)

// rotatedAway finds the file that was being read under our path and now has
// another name in the same folder, then those that stood under our path after
// it, oldest first. A copy of it, made before it was emptied, counts too.
func (t *GrowingFile) rotatedAway() []string {
	dir, base := filepath.Split(t.options.Path)
	entries, err := os.ReadDir(filepath.Clean(dir + "."))
	if err != nil {
		return nil
	}
	type other struct {
		name string
		at   time.Time
	}
	var old *other
	sure := false
	var all []other
	for _, e := range entries {
		info, err := e.Info()
		if err != nil || !info.Mode().IsRegular() || !rotatedFrom(e.Name(), base) {
			continue
		}
		one := other{filepath.Join(dir, e.Name()), info.ModTime()}
		all = append(all, one)
		same, copied := t.was(one.name, info)
		// The file itself is surer than one that holds the same.
		if same || copied && !sure {
			old, sure = &one, same
		}
	}
	if old == nil {
		return nil
	}
	if t.alone {
		return []string{old.name}
	}
	slices.SortFunc(all, func(a, b other) int { return cmp.Or(a.at.Compare(b.at), cmp.Compare(a.name, b.name)) })
	names := []string{old.name}
	for _, one := range all {
		if one.at.After(old.at) {
			names = append(names, one.name)
		}
	}
	return names
}

// was reports whether a file is the one that was being read, or a copy of it.
func (t *GrowingFile) was(name string, info os.FileInfo) (same, copied bool) {
	f, err := os.Open(name)
	if err != nil {
		return false, false
	}
	defer f.Close()
	if !t.state.stands(f) {
		return false, false
	}
	same = t.state.Node != "" && t.state.Node == nodeOf(info)
	return same, !same && t.state.Offset > 0
}

// rotatedFrom reports whether a name is one that rotation gives: the first name
// with numbers or a date behind it or before its ending, like log.csv.1,
// log.csv-20260406 or log-2026-04-06.csv.
func rotatedFrom(name, base string) bool {
	ending := filepath.Ext(base)
	stem := strings.TrimSuffix(base, ending)
	more, ok := strings.CutPrefix(name, stem)
	if !ok || name == base {
		return false
	}
	if behind, ok := strings.CutPrefix(more, ending); ok {
		more = behind
	} else {
		more = strings.TrimSuffix(more, ending)
	}
	return more != "" && strings.Trim(more, "0123456789.-_T") == "" || more == ".old" || more == ".bak"
}
