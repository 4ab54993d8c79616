package service

import (
	"strings"
	"time"

	"fairwindow/config"
	"fairwindow/notify"
	"fairwindow/planner"
)

// life is what was done for a coat and grows old before it, and what the last plan
// has of doing it once more.
type life struct {
	planner.Life
	Redo config.StageKind // the kind of stage that is planned to renew it; empty: none
}

// over reports whether it is too old to start a coat on.
func (l life) over(now time.Time) bool { return !now.Before(l.Until) }

// lives are what a coat has to be quicker than.
func (f *facts) lives(boat, area string) []life {
	var lives []life
	for _, one := range f.work.Lives(boat, area) {
		lives = append(lives, life{Life: one})
	}
	return lives
}

// renews finds which of the lives a planned stage renews, if any.
func renews(lives []life, s planner.Planned) (*life, bool) {
	for i := range lives {
		if s.Repair && lives[i].RenewedBy(s.Key.Stage) {
			return &lives[i], true
		}
	}
	return nil, false
}

// tooOld is the life that is over and that nobody was told of under this watch.
func (c candidate) tooOld(one *watch, now time.Time) (life, bool) {
	for _, l := range c.Lives {
		if l.over(now) && l.Until.After(one.Aged) {
			return l, true
		}
	}
	return life{}, false
}

// mayStart reports whether a coat may go on as far as what was done for it: each is
// young enough, or is a wipe that is planned to be done again right before it.
func (c candidate) mayStart(now time.Time) bool {
	for _, l := range c.Lives {
		if l.over(now) && l.Redo != config.Wipe {
			return false
		}
	}
	return true
}

// aged notes the lives that are over when people hear of a window: they hear what
// to do again with it.
func (c candidate) aged(one *watch, now time.Time) {
	for _, l := range c.Lives {
		if l.over(now) && l.Until.After(one.Aged) {
			one.Aged = l.Until
		}
	}
}

// before is what is still to be wiped right before a coat. A wipe that is planned
// once more is not asked for while the last one is young.
func (c candidate) before(now time.Time) string {
	var left []string
	for _, w := range c.Wipes {
		if w.renewed == nil {
			left = append(left, w.stage)
		} else if w.renewed.over(now) {
			left = append(left, w.renewed.Again)
		}
	}
	if len(left) == 0 {
		return ""
	}
	return strings.Join(left, ", ") + ", then start"
}

// wipeLeft is a wipe that is still to be done, and the life that it renews, if any.
type wipeLeft struct {
	stage   string
	renewed *life
}

// ends is when an open window ends, and by what: the conditions or the coat
// beneath, the shift, or the age of what was done for it, whichever comes first.
func (g *guarding) ends(c candidate, window planner.Window, lastStart time.Time) (time.Time, notify.Cause) {
	until, cause := c.end(window), ending(window)
	if !lastStart.IsZero() && (until.IsZero() || lastStart.Before(until)) {
		until, cause = lastStart, notify.Cause{Text: "then the shift is too short for it"}
	}
	for _, l := range c.Lives {
		if !l.over(g.now) && (until.IsZero() || l.Until.Before(until)) {
			until, cause = l.Until, notify.Cause{Text: "then " + g.age(l) + ": " + l.Again}
		}
	}
	return until, cause
}

// leastToBegin is what it takes at least to mix and to fill a gun. Common practice, no source.
const leastToBegin = 15 * time.Minute

// brief reports whether a window that opens now ends before anybody could use it who has not been
// told of it yet: by the shift or by what was done for it, which nothing moves, or by the weather,
// which may yet turn out better, if the plan has nobody begin before.
func (g *guarding) brief(c candidate, window planner.Window, lastStart time.Time) bool {
	until, _ := g.ends(c, window, lastStart)
	return !until.IsZero() && until.Sub(g.now) < leastToBegin && (!until.Equal(c.end(window)) || c.Start.After(until))
}

// age words what is, or will be, too old.
func (g *guarding) age(l life) string {
	at, layout := l.Ended.In(g.facts.zone), "15:04"
	if y, d := g.now.In(g.facts.zone).Year(), g.now.In(g.facts.zone).YearDay(); at.Year() != y || at.YearDay() != d {
		layout = "Mon 15:04"
	}
	return "the " + l.What() + " of " + at.Format(layout) + " is too old"
}

// lapsedBy tells that what was done for a coat has become too old with its window open.
func (g *guarding) lapsedBy(c candidate, l life, name string) {
	n := c.notice(notify.WindowLapsed)
	n.Until, n.Cause = l.Until, notify.Cause{Text: g.age(l)}
	n.Do = l.Again + ", then wait for the next notice"
	g.say(name, n)
}

// outlived reports whether something has become too old since the last plan, which
// does not know yet that it is to be done again.
func (c *cycle) outlived(now time.Time) bool {
	for _, one := range c.candidates {
		for _, l := range one.Lives {
			if l.over(now) && l.Redo == "" && c.at.Before(l.Until) {
				return true
			}
		}
	}
	return false
}
