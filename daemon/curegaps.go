package main

import "fairwindow/conditions/unit"

// uncounted is the time on one side in which nothing was counted.
type uncounted struct {
	Facet       string        `json:"facet"`
	NotMeasured unit.Duration `json:"not_measured"`
	// Silent is all the time that did not count towards an opening: not measured, or
	// beyond the card's figures.
	Silent unit.Duration `json:"silent"`
	// Waiting is the part of it by which the recoat window opens later.
	Waiting unit.Duration `json:"waiting"`
}

func (r *cureRun) uncounted() []uncounted {
	all := []uncounted{}
	for _, f := range r.facets {
		if f.blind > 0 || f.clock.Silent > 0 {
			all = append(all, uncounted{f.name, unit.Duration(f.blind), unit.Duration(f.clock.Silent), unit.Duration(f.clock.Waiting)})
		}
	}
	return all
}

// gaps are the stretches in which a side was not measured.
func (r *cureRun) gaps() []span {
	all := []span{}
	for _, f := range r.facets {
		before := r.coated
		for i, s := range f.spells {
			switch blind := !unit.Known(s.Coldest); {
			case blind && (i == 0 || unit.Known(f.spells[i-1].Coldest)):
				all = append(all, span{From: before, To: s.Until, Facets: []string{f.name}})
			case blind:
				all[len(all)-1].To = s.Until
			}
			before = s.Until
		}
	}
	return merged(all)
}

// merged puts gaps of the same hours on several sides together.
func merged(spans []span) []span {
	out := []span{}
	for _, s := range spans {
		found := false
		for i := range out {
			if out[i].From.Equal(s.From) && out[i].To.Equal(s.To) {
				out[i].Facets, found = append(out[i].Facets, s.Facets...), true
			}
		}
		if !found {
			out = append(out, s)
		}
	}
	return out
}
