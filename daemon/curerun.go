package main

import (
	"math"
	"strings"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
	"fairwindow/daemon/chart"
)

// cureRun is one coat followed on each side of the hull.
type cureRun struct {
	card        config.Card
	coated, now time.Time
	zone        *time.Location
	gap         time.Duration // beyond which nothing was measured; 0 for a steady surface
	notes       []string
	facets      []curing
}

// curing is one side: what it stood in, and how far its clock came.
type curing struct {
	name   string
	spells []conditions.Spell
	last   conditions.Exposure // as last measured
	clock  conditions.Clock
	// reached is when each milestone was or will be; nothing for one that is never
	// reached if the surface stays as it is.
	reached map[conditions.Milestone]time.Time
	trail   []conditions.Clock // some of the clock's past and future, for the chart
	blind   time.Duration      // not measured
}

// stays is how long a surface is taken to stay as it is: longer than any card's cure.
const stays = 400 * 24 * time.Hour

// follow runs every side's clock.
func (r *cureRun) follow() {
	for i := range r.facets {
		r.facets[i].run(r.card.Cure, r.coated, r.now)
	}
}

func (f *curing) run(cure conditions.Cure, coated, now time.Time) {
	f.clock, f.reached = cure.Start(coated), map[conditions.Milestone]time.Time{}
	thin := max(1, len(f.spells)/600)
	for i, s := range f.spells {
		if !unit.Known(s.Coldest) {
			f.blind += s.Until.Sub(f.clock.At)
		}
		next := cure.Run(f.clock, s.Until, s.Exposure)
		f.pass(cure, f.clock, next, s)
		if f.clock = next; i%thin == 0 || i == len(f.spells)-1 {
			f.trail = append(f.trail, next)
		}
	}
	if !unit.Known(f.last.Coldest) {
		return // nothing is known that could stay
	}
	ahead := conditions.Spell{Until: now.Add(stays), Exposure: f.last}
	f.pass(cure, f.clock, cure.Run(f.clock, ahead.Until, ahead.Exposure), ahead)
}

// pass notes the milestones between two states of the clock.
func (f *curing) pass(cure conditions.Cure, from, to conditions.Clock, over conditions.Spell) {
	for _, m := range config.Milestones() {
		if _, have := f.reached[m]; have || !cure.Reached(to, m) {
			continue
		}
		if at, ok := cure.When(from, m, []conditions.Spell{over}); ok {
			f.reached[m] = at
		}
	}
}

// progress towards a milestone, by what it goes by, at most 1.
func progress(k conditions.Clock, m conditions.Milestone) float64 {
	if closing(m) {
		return min(1, k.Fast[m])
	}
	return min(1, k.Slow[m])
}

// closing tells the milestones that end a permission: they go by the fastest side.
func closing(m conditions.Milestone) bool {
	return m == conditions.LastRecoat || m == conditions.Reactivate
}

// given reports whether the card says anything of a milestone.
func given(cure conditions.Cure, m conditions.Milestone) bool {
	return len(cure.Of(m)) > 0 || len(cure.Bands) > 0 && (m == conditions.Recoat || m == conditions.LastRecoat)
}

// reach is one side's way to a milestone.
type reach struct {
	Facet    string     `json:"facet"`
	At       *time.Time `json:"at"` // reached or expected; null: not if the surface stays as it is
	Reached  bool       `json:"reached"`
	Progress float64    `json:"progress"`
}

// milestoneRow is one milestone on the slowest and on the fastest side.
type milestoneRow struct {
	Milestone conditions.Milestone `json:"milestone"`
	Slowest   reach                `json:"slowest"`
	Fastest   reach                `json:"fastest"`
}

// decides is the side that the milestone goes by.
func (m milestoneRow) decides() reach {
	if closing(m.Milestone) {
		return m.Fastest
	}
	return m.Slowest
}

func (r *cureRun) row(m conditions.Milestone) milestoneRow {
	row := milestoneRow{Milestone: m}
	for i, f := range r.facets {
		at := reach{Facet: f.name, Progress: progress(f.clock, m)}
		if when, ok := f.reached[m]; ok {
			at.At, at.Reached = &when, !when.After(r.now)
		}
		if i == 0 || at.after(row.Slowest) {
			row.Slowest = at
		}
		if i == 0 || row.Fastest.after(at) {
			row.Fastest = at
		}
	}
	return row
}

// after reports whether this side comes later than another; never is last.
func (a reach) after(b reach) bool {
	switch {
	case a.At == nil && b.At == nil:
		return a.Progress < b.Progress
	case a.At == nil || b.At == nil:
		return a.At == nil
	}
	return a.At.After(*b.At)
}

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

// marks are the milestones' letters in the chart.
var marks = map[conditions.Milestone]rune{
	conditions.DustFree: 'd', conditions.TouchDry: 't', conditions.Protected: 'p', conditions.Taped: 'a', conditions.Recoat: 'R',
	conditions.Sandable: 's', conditions.Movable: 'm', conditions.LastRecoat: 'L', conditions.Reactivate: 'W', conditions.Launch: 'B',
}

// chart draws the progress of each milestone on the side that it goes by, from the
// coat until the recoat window has closed, or past what else is soon reached.
func (r *cureRun) chart(a cureAnswer) chart.Chart {
	end := r.now.Add(time.Hour)
	for _, row := range a.Milestones {
		if at := row.decides().At; at != nil && row.Milestone != conditions.Launch && row.Milestone != conditions.Reactivate && at.After(end) {
			end = *at
		}
	}
	if most := r.now.Add(14 * 24 * time.Hour); end.After(most) {
		end = most
	}
	end = end.Add(end.Sub(r.coated) / 20)
	trails := make([][]conditions.Clock, len(r.facets))
	for i, f := range r.facets {
		trails[i] = append([]conditions.Clock{r.card.Cure.Start(r.coated)}, f.trail...)
		if !unit.Known(f.last.Coldest) {
			continue
		}
		const steps = 300
		k := f.clock
		for n := 1; n <= steps; n++ {
			k = r.card.Cure.Run(k, r.now.Add(time.Duration(n)*end.Sub(r.now)/steps), f.last)
			trails[i] = append(trails[i], k)
		}
	}
	c := chart.Chart{Title: "Progress of " + r.card.Title(), Unit: "%", From: r.coated, To: end, Zone: r.zone, Least: 100, Rows: 10, Now: r.now}
	for _, row := range a.Milestones {
		l := chart.Line{Letter: marks[row.Milestone], Name: milestoneWords(row.Milestone)}
		for n := range trails[0] {
			part := math.Inf(1)
			if closing(row.Milestone) {
				part = 0
			}
			for _, t := range trails {
				if n < len(t) {
					if p := progress(t[n], row.Milestone); closing(row.Milestone) {
						part = max(part, p)
					} else {
						part = min(part, p)
					}
				}
			}
			l.Points = append(l.Points, chart.Point{At: trails[0][n].At, Value: 100 * part})
			if part >= 1 {
				break
			}
		}
		c.Lines = append(c.Lines, l)
	}
	if w := a.Recoat; w.Opens != nil && w.State != windowMissed {
		to := end
		if w.Closes != nil {
			to = *w.Closes
		}
		c.Strips = append(c.Strips, chart.Strip{Letter: '=', Name: "recoat", Spans: [][2]time.Time{{*w.Opens, to}}})
	}
	if len(a.Gaps) > 0 {
		gap := chart.Strip{Letter: '?', Name: "gap"}
		for _, s := range a.Gaps {
			gap.Spans = append(gap.Spans, [2]time.Time{s.From, s.To})
		}
		c.Strips = append(c.Strips, gap)
	}
	return c
}

func milestoneWords(m conditions.Milestone) string {
	switch m {
	case conditions.Protected:
		return "dew no longer marks it"
	case conditions.Taped:
		return "may be taped"
	case conditions.Recoat:
		return "may be recoated"
	case conditions.LastRecoat:
		return "last recoat"
	case conditions.Reactivate:
		return "last reactivation"
	case conditions.Movable, conditions.Sandable:
		return string(m)
	case conditions.Launch:
		return "launch"
	}
	return strings.ReplaceAll(string(m), "_", "-")
}
