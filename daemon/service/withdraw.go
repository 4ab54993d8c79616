package service

import (
	"time"

	"fairwindow/notify"
)

// takeBack says of something told under this watch that it no longer holds, and begins its next
// occurrence. What was never told is not taken back.
func (w *watches) takeBack(name string, n notify.Notice, now time.Time) []notify.Notice {
	one := w.by[name]
	if one == nil {
		return nil
	}
	known := one.Known[string(n.Kind)+" 0"]
	if known.Revision == 0 {
		return nil
	}
	n.At, n.Occurrence, n.Withdrawn = now, max(one.Occurrence, 1), true
	n.ID, n.Revision = notify.ID(n), known.Revision+1
	one.again()
	w.touch(name)
	return []notify.Notice{n}
}

// notReady takes back that a coat may be sanded: work on it has begun, or dew has come.
func (g *guarding) notReady(c candidate, why string, sure notify.Sure) {
	n := c.notice(notify.ReadyToSand)
	n.Cause = notify.Cause{Text: why, Sure: sure}
	if sure == "" {
		n.Do = "ask the crew before you begin too"
	}
	g.out = append(g.out, g.watch.takeBack(string(ofSanding)+" "+c.Key.String(), n, g.now)...)
}
