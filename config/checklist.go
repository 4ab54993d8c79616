package config

import (
	"fmt"
	"maps"
	"slices"
	"strings"
)

// Checklist is what must be answered, go or no-go, before a stage of a kind is started.
type Checklist map[StageKind][]CheckPoint

// CheckPoint is one thing on it.
type CheckPoint struct {
	Words string `yaml:"point" json:"point"`
	// Beside is what the program measures of it, shown beside it: margin, fan, or nothing.
	// It never answers for the person.
	Beside string `yaml:"beside,omitempty" json:"beside,omitempty"`
}

// What may be shown beside a point.
const (
	BesideMargin = "margin"
	BesideFan    = "fan"
)

// longestPoint is what can still be read at arm's length.
const longestPoint = 120

func (c *checker) checklist() {
	for _, kind := range slices.Sorted(maps.Keys(c.y.Checklist)) {
		path := "checklist." + string(kind)
		if !c.oneOf(path, string(kind), texts(StageKinds())...) {
			continue
		}
		said := map[string]bool{}
		for i, p := range c.y.Checklist[kind] {
			at := fmt.Sprintf("%s[%d]", path, i)
			words := strings.TrimSpace(p.Words)
			switch {
			case words == "":
				c.fault(at+".point", "nothing is asked here", "write what must be so, like \"filters checked\"")
			case len(words) > longestPoint:
				c.fault(at+".point", fmt.Sprintf("%d characters are too many to read with gloves on", len(words)), fmt.Sprintf("write at most %d", longestPoint))
			case said[words]:
				c.fault(at+".point", fmt.Sprintf("%q stands here twice", words), "ask it once")
			}
			said[words] = true
			c.oneOf(at+".beside", p.Beside, BesideMargin, BesideFan)
		}
	}
}
