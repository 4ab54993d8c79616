package planner

import (
	"slices"
	"strings"
	"time"

	"fairwindow/config"
)

// Life is what was done right for the next coat, a wipe or a sanding, and how
// long it stays right.
type Life struct {
	Key   Key
	Ended time.Time
	Until time.Time
	Again string // what it is called when it is done once more: wipe again
}

// What is the stage's name, the same when it was done once more.
func (l Life) What() string { return strings.TrimSuffix(l.Again, again) }

// RenewedBy reports whether a stage of that name does it once more.
func (l Life) RenewedBy(stage string) bool { return onceMore(stage) == l.Again }

// Lives are what an area's next coat has to be quicker than: the stages done since
// the last coat whose result lasts only so long. What is being done once more is
// none of them, and of what was done twice the last time counts.
func (w Work) Lives(boat, area string) []Life {
	var lives []Life
	for _, p := range w.Stages(boat, area) {
		if (p.Done || len(p.Passes) > 0) && p.Stage.Kind == config.Coat {
			lives = nil
			continue
		}
		if !perishes(p.Stage.Kind) || p.Stage.Life <= 0 || !p.Done && !p.Running {
			continue
		}
		lives = slices.DeleteFunc(lives, func(l Life) bool { return l.RenewedBy(p.Key.Stage) })
		if p.Done && !p.Ended.IsZero() {
			lives = append(lives, Life{Key: p.Key, Ended: p.Ended, Until: p.Ended.Add(p.Stage.Life.Std()), Again: onceMore(p.Key.Stage)})
		}
	}
	slices.SortStableFunc(lives, func(a, b Life) int { return a.Until.Compare(b.Until) })
	return lives
}
