package config

import "strings"

// Near is the word among some that is most likely meant by a mistyped one;
// false if none is near.
func Near(word string, among []string) (string, bool) {
	best, least := "", 1+len(word)/3 // a third of the letters may be wrong, and one in any case
	found := false
	for _, candidate := range among {
		if d := distance(strings.ToLower(word), strings.ToLower(candidate), least); d < least || (d == least && !found) {
			best, least, found = candidate, d, true
		}
	}
	return best, found
}

// distance is Levenshtein's: insertions, deletions and replacements, with a
// swap of two neighbours counted as one. Beyond most the exact number does not
// matter.
func distance(a, b string, most int) int {
	x, y := []rune(a), []rune(b)
	if len(x)-len(y) > most || len(y)-len(x) > most {
		return most + 1
	}
	before, last, row := make([]int, len(y)+1), make([]int, len(y)+1), make([]int, len(y)+1)
	for j := range last {
		last[j] = j
	}
	for i := 1; i <= len(x); i++ {
		row[0] = i
		for j := 1; j <= len(y); j++ {
			differ := 1
			if x[i-1] == y[j-1] {
				differ = 0
			}
			row[j] = min(last[j]+1, row[j-1]+1, last[j-1]+differ)
			if i > 1 && j > 1 && x[i-1] == y[j-2] && x[i-2] == y[j-1] {
				row[j] = min(row[j], before[j-2]+1)
			}
		}
		before, last, row = last, row, before
	}
	return last[len(y)]
}
