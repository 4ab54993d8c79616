package pages

import (
	"slices"

	"fairwindow/config"
	"fairwindow/planner"
)

// placeStay is one boat's stay in a place, by the plan.
type placeStay struct {
	Boat link
	From string
	To   string
	Now  bool
	Move string // how it is brought
}

// staysShown is how many stays a page lists.
const staysShown = 6

// stays are who stands in a place now and who comes next.
func stays(plan planner.Plan, place config.Place, c clock) []placeStay {
	blocks := slices.DeleteFunc(slices.Clone(plan.Blocks), func(b planner.Block) bool {
		return b.Place != place.Name || !b.To.After(c.now)
	})
	slices.SortStableFunc(blocks, func(a, b planner.Block) int { return a.From.Compare(b.From) })
	var all []placeStay
	for _, b := range blocks[:min(len(blocks), staysShown)] {
		s := placeStay{Boat: link{b.Boat, boatLink(b.Boat)}, From: c.moment(b.From), To: c.moment(b.To), Now: !b.From.After(c.now)}
		switch {
		case b.Swap != "":
			s.Move = "changes places with " + b.Swap + ", in " + length(b.Move)
		case b.Move > 0 && b.Mover != "":
			s.Move = "brought in by " + b.Mover + ", in " + length(b.Move)
		case b.Move > 0:
			s.Move = "brought in, in " + length(b.Move)
		}
		all = append(all, s)
	}
	return all
}
