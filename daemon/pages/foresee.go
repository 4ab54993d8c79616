package pages

import (
	"fmt"
	"net/http"
	"time"

	"fairwindow/config"
	"fairwindow/planner"
)

// foreseeBoat words what the plan would be with a boat so.
func (p *pages) foreseeBoat(r *http.Request, b config.Boat) ([]string, error) {
	before, after, err := p.Book.Foresee(r.Context(), b)
	if err != nil {
		return nil, err
	}
	return p.clock(r).foreseen(planner.Compare(before, after)), nil
}

// foreseen words a difference by launches first, which is what was promised.
func (c clock) foreseen(d planner.Difference) []string {
	var said []string
	for _, l := range d.Launches {
		is := l.After
		switch sooner, both := l.Sooner(); {
		case is.Likely.IsZero() && is.Promised.IsZero():
			said = append(said, fmt.Sprintf("%s is no longer planned.", l.Boat))
		case is.Likely.IsZero():
			said = append(said, fmt.Sprintf("%s has no launch within the plan.", l.Boat))
		case !both:
			said = append(said, fmt.Sprintf("%s launches %s, %s.", l.Boat, c.day(is.Likely), againstPromise(is)))
		case sooner >= time.Hour:
			said = append(said, fmt.Sprintf("%s launches %s sooner, %s, %s.", l.Boat, length(sooner), c.day(is.Likely), againstPromise(is)))
		case sooner <= -time.Hour:
			said = append(said, fmt.Sprintf("%s launches %s later, %s, %s.", l.Boat, length(-sooner), c.day(is.Likely), againstPromise(is)))
		case !l.Before.Promised.Equal(is.Promised):
			said = append(said, fmt.Sprintf("%s launches as before, %s, %s.", l.Boat, c.day(is.Likely), againstPromise(is)))
		}
	}
	if len(said) == 0 {
		said = append(said, "No launch moves by an hour or more.")
	}
	if n := len(d.Moved); n > 0 {
		said = append(said, howMany(n, "stage that was planned gets", "stages that were planned get")+" another start, place or crew.")
	}
	return append(said, "Worked out from what is known now; what is kept meanwhile by others counts too.")
}

// againstPromise says how a launch stands to its promise.
func againstPromise(l planner.Launch) string {
	switch late := l.Likely.Sub(l.Promised); {
	case late >= time.Hour:
		return length(late) + " after its promise"
	case late <= -time.Hour:
		return length(-late) + " before its promise"
	}
	return "as promised"
}
