package planner

import (
	"fmt"
	"regexp"
	"strings"
)

// What is put in before a coat, or after one that was stopped. A stage done
// once more is "wipe again".
const (
	reactivate = "reactivate"
	abrade     = "abrade"
	again      = " again"
	restOf     = "rest of "
)

// repairName is a repair's name: what, and the coat it is for, with a number if
// one of that name is taken: wipe again (2) for finish primer.
func repairName(what, coat string, taken func(string) bool) string {
	name := what + " for " + coat
	for n := 2; taken(name); n++ {
		name = fmt.Sprintf("%s (%d) for %s", what, n, coat)
	}
	return name
}

var repairNames = regexp.MustCompile(`^(reactivate|abrade|.+ again)(?: \(\d+\))? for (.+)$`)

// repairOf is what a repair's name says is done, and the coat it is for.
func repairOf(name string) (what, coat string, ok bool) {
	parts := repairNames.FindStringSubmatch(name)
	if parts == nil {
		return "", "", false
	}
	return parts[1], parts[2], true
}

// revives reports whether a stage of that name is a reactivation.
func revives(name string) bool {
	what, _, ok := repairOf(name)
	return ok && what == reactivate
}

// onceMore is what a stage done again is called, the stage itself done again or not.
func onceMore(stage string) string {
	if what, _, ok := repairOf(stage); ok && strings.HasSuffix(what, again) {
		return what
	}
	return stage + again
}
