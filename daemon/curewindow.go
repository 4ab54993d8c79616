package main

import (
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
)

// windowState is where a coat stands to its recoat window.
type windowState string

const (
	windowNone   windowState = "none"        // the card gives none
	windowStill  windowState = "stands"      // it does not open if the surface stays as it is
	windowToCome windowState = "not yet"     // still to open
	windowOpen   windowState = "open"        //
	windowClosed windowState = "closed"      // it was open
	windowMissed windowState = "never opens" // on one side it closes before it opens on another
)

// recoat is the window for the next coat.
type recoat struct {
	State windowState `json:"state"`
	Opens *time.Time  `json:"opens"`
	// Closes is null where the card gives no end, Reactivate where it allows none.
	Closes     *time.Time `json:"closes"`
	Reactivate *time.Time `json:"reactivate_until"`
	Bands      *banded    `json:"bands,omitempty"`
}

// banded is what the rule of the hottest hour goes by.
type banded struct {
	Coolest      unit.Temperature `json:"coolest"`
	CoolestFacet string           `json:"coolest_facet"`
	Opens        unit.Duration    `json:"opens"` // since the coat
	Hottest      unit.Temperature `json:"hottest_hour"`
	HottestFacet string           `json:"hottest_facet"`
	Closes       unit.Duration    `json:"closes"`
	// Assumed: the hottest hour was not measured, so it is the end of the hottest band.
	Assumed bool `json:"hottest_assumed,omitempty"`
}

func (r *cureRun) recoat(rows []milestoneRow) recoat {
	var w recoat
	found := false
	for _, row := range rows {
		switch at := row.decides().At; row.Milestone {
		case conditions.Recoat:
			w.Opens, found = at, true
		case conditions.LastRecoat:
			w.Closes = at
		case conditions.Reactivate:
			w.Reactivate = at
		}
	}
	w.Bands = r.banded()
	switch {
	case !found:
		w.State = windowNone
	case w.Closes != nil && !w.Closes.After(r.now) && (w.Opens == nil || !w.Opens.Before(*w.Closes)),
		w.Closes != nil && w.Opens != nil && !w.Opens.Before(*w.Closes):
		w.State = windowMissed
	case w.Opens == nil:
		w.State = windowStill
	case w.Closes != nil && !w.Closes.After(r.now):
		w.State = windowClosed
	case w.Opens.After(r.now):
		w.State = windowToCome
	default:
		w.State = windowOpen
	}
	return w
}

// banded is nil for a card without bands, or while no temperature is known.
func (r *cureRun) banded() *banded {
	var b *banded
	for _, f := range r.facets {
		k := f.clock
		if !k.At.After(k.Coated) && unit.Known(f.last.Coldest) { // a steady surface that nothing is over yet
			k = r.card.Cure.Run(k, k.Coated.Add(time.Hour), f.last)
		}
		opens, closes, ok := r.card.Cure.Window(k)
		if !ok && (len(r.card.Cure.Bands) == 0 || !unit.Known(k.Coolest)) {
			continue
		}
		if b == nil {
			b = &banded{Coolest: k.Coolest, CoolestFacet: f.name, Opens: unit.Duration(opens), Hottest: k.Hottest, HottestFacet: f.name, Closes: unit.Duration(closes)}
			continue
		}
		if k.Coolest < b.Coolest {
			b.Coolest, b.CoolestFacet = k.Coolest, f.name
		}
		if !(k.Hottest <= b.Hottest) && unit.Known(k.Hottest) {
			b.Hottest, b.HottestFacet = k.Hottest, f.name
		}
		b.Opens, b.Closes = max(b.Opens, unit.Duration(opens)), min(b.Closes, unit.Duration(closes))
	}
	if b != nil {
		bands := r.card.Cure.Bands
		for _, f := range r.facets {
			b.Assumed = b.Assumed || f.name == b.HottestFacet && f.blind >= time.Hour && b.Hottest == bands[len(bands)-1].To.SI
		}
	}
	return b
}
