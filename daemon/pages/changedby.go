package pages

import (
	"fmt"
	"net/http"
	"time"

	"fairwindow/daemon/signed"
)

// changedView is who changed what, the latest first.
type changedView struct {
	By    string
	Day   string
	Names []string
	Lines []changedLine
	More  bool // there are more than are shown
}

type changedLine struct{ At, What, About, By, As, From, Through string }

// changesShown keeps the page short; a day of one person is never longer.
const changesShown = 300

func (p *pages) changedBy(w http.ResponseWriter, r *http.Request) error {
	c, q := p.clock(r), r.URL.Query()
	v := changedView{By: q.Get("by"), Day: q.Get("day")}
	var from, to time.Time
	if day, err := time.ParseInLocation(time.DateOnly, v.Day, c.zone); err == nil {
		from, to = c.midnight(day, 0), c.midnight(day, 1)
	} else {
		v.Day = ""
	}
	all, err := p.Door.Signed(r.Context(), v.By, from, to, changesShown+1)
	if err != nil {
		return fmt.Errorf("who changed what: %w", err)
	}
	if v.Names, err = p.Door.Signers(r.Context()); err != nil {
		return fmt.Errorf("who ever changed something: %w", err)
	}
	for i, l := range all {
		if i == changesShown {
			v.More = true
			break
		}
		v.Lines = append(v.Lines, changeLine(c, l))
	}
	return show(p, w, r, screen[changedView]{"changes", "Who changed what", http.StatusOK, v})
}

func changeLine(c clock, l signed.Line) changedLine {
	as := l.Role
	switch l.Role {
	case signed.Typed:
		as = "name typed, not proven"
	case signed.Machine:
		as = "token"
	case signed.Stranger:
		as = "not signed in"
	case signed.Command, "":
		as = "command line"
	}
	by := l.By
	if by == "" {
		by = "no name"
	}
	from := l.Device
	if l.Address != "" {
		from += " at " + l.Address
	}
	return changedLine{At: c.moment(l.At), What: capital(l.Kind), About: l.About, By: by, As: as, From: from, Through: l.Through}
}
