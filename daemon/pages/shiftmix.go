package pages

import (
	"fmt"
	"net/http"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
)

// hotter is a rise of the hull within a pass that is worth a word even with one reducer.
const hotter = 3

// shiftMix adds the mix sheet of the coat at hand: by which reading of the hull, and
// whether the outlook has it warmer by the end of the pass.
func (p *pages) shiftMix(r *http.Request, v *shiftView, s crewStage) error {
	ctx, c, u, yard := r.Context(), p.clock(r), p.units(r), p.Plans.Yard()
	air, err := p.airNow(ctx, s.place, c, yard)
	if err != nil {
		return err
	}
	v.Mix = mixFor(s.stageNow, s.boat, yard, air, u)
	if v.Mix.Sheet == nil {
		return nil
	}
	readings, err := p.Air.Readings(ctx, s.place, c.now.Add(-stale(yard)), c.now.Add(tooSoon))
	if err != nil {
		return fmt.Errorf("readings of %s: %w", s.place, err)
	}
	v.Mix.Sheet.Basis = "for a hull of " + u.tempText(air.moment.Coldest) + ", its coldest spot, worked out from the air of " + s.place
	if read, ok := lastRead(readings, conditions.Surface); ok && (read.Boat == "" || read.Boat == s.Key.Boat) {
		v.Mix.Sheet.Basis = "for a hull of " + u.tempText(air.moment.Coldest) + ", its coldest spot, by " + read.Source + " at " + c.hour(read.At)
	}
	card, _ := yard.Card(s.Stage.Card)
	takes := passTakes(s.stageNow, sizeOf(s.boat, s.Key.Area).SI)
	begins := c.now
	if !s.Running && s.plan.Start.After(begins) {
		begins = s.plan.Start
	}
	ends := begins.Add(takes)
	ahead, err := p.Air.Ahead(ctx, s.place, ends.Add(time.Hour))
	if err != nil {
		return fmt.Errorf("outlook of %s: %w", s.place, err)
	}
	v.Hotter = willBeHotter(card, sizeOf(s.boat, s.Key.Area).SI, air.moment.Coldest, ahead, begins, ends, c, u)
	return nil
}

// willBeHotter warns where the outlook has the hull so much warmer within a pass that
// another reducer would be for it.
func willBeHotter(card config.Card, area unit.Area, now unit.Temperature, ahead []conditions.Moment, from, to time.Time, c clock, u units) string {
	warm, when := now, time.Time{}
	for _, m := range ahead {
		if m.At.Before(from.Add(-time.Hour)) || m.At.After(to.Add(time.Hour)) || !(m.Coldest > warm) {
			continue
		}
		warm, when = m.Coldest, m.At
	}
	if when.IsZero() {
		return ""
	}
	words := fmt.Sprintf("By %s the outlook has the hull at %s", c.hour(when), u.tempText(warm))
	is, err := card.Sheet(area, now)
	if err != nil {
		return ""
	}
	then, err := card.Sheet(area, warm)
	switch {
	case err != nil:
		return words + ", for which the card has no variant: ask before you mix."
	case then.Variant != is.Variant && then.Reducer != "":
		return fmt.Sprintf("%s: that is for %s, reducer %s. Mix for the hotter, or finish before.", words, then.Variant, then.Reducer)
	case then.Variant != is.Variant:
		return words + ": that is for " + then.Variant + "."
	case warm.Over(now) >= hotter:
		return words + ": a pot will last shorter, " + length(then.PotLife) + "."
	}
	return ""
}

func standsAt(card config.Card, temp float64) time.Duration {
	return conditions.Stands(card.Induct, unit.Temperature(temp))
}
