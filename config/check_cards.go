package config

import (
	"fmt"
	"slices"
	"sort"

	"fairwindow/conditions"
)

func (c *checker) cards() {
	named(c, "cards", "name", "card", c.y.Cards, cardName)
	for i, card := range c.y.Cards {
		path := fmt.Sprintf("cards[%d]", i)
		if card.Revision < 0 {
			c.fault(path+".revision", fmt.Sprintf("%d is no revision", card.Revision), "write 1 or more, one higher at each change")
		}
		if card.Material == "" {
			c.warn(path+".material", "nobody knows what this card is of", "write material:, like epoxy primer")
		}
		if card.Profile != "" {
			c.refers(path+".profile", "profile", card.Profile, names(c.y.Profiles, profileName))
		} else if c.y.Profile == "" {
			c.warn(path+".profile", "where this card is silent nothing speaks", "write profile: here or for the whole yard")
		}
		c.limits(path+".limits", card.Limits)
		if card.Limits.PaintBelow != nil && c.y.PaintStore.IsZero() {
			c.fault(path+".limits.paint_below", "nobody knows how warm the paint is", "write paint_store: at the top, like \"18 C\"")
		}
		c.limits(path+".protected", card.Protected)
		c.cure(path+".cure", card.Cure)
		c.protection(path, card)
		c.mix(path, card)
		c.variants(path, card)
	}
}

// protection checks that the end of a coat's protected time can be told.
func (c *checker) protection(path string, card Card) {
	until := card.protectedUntil()
	c.protectedBy(path+".protect_until", card, until)
	for i, one := range card.Protection {
		at := fmt.Sprintf("%s.protection[%d]", path, i)
		c.limits(at+".limits", one.Limits)
		if one.Limits == (Limits{}) {
			c.fault(at+".limits", "nothing is kept off here", "write at least one limit, like {rain_max: 10 %}")
		}
		if one.Until == "" {
			c.fault(at+".until", "nobody knows how long this lasts", "write until: and a milestone, like touch_dry")
			continue
		}
		if c.protectedBy(at+".until", card, one.Until) && slices.Index(Milestones(), one.Until) > slices.Index(Milestones(), until) {
			c.fault(at+".until", fmt.Sprintf("this lasts until a coat is %s, after the end of all protection, when it is %s", one.Until, until),
				fmt.Sprintf("write protect_until: %s, or leave protect_until out", one.Until))
		}
	}
}

// protectedBy checks a milestone that ends a protection.
func (c *checker) protectedBy(path string, card Card, m conditions.Milestone) bool {
	if !c.milestone(path, m) {
		return false
	}
	switch {
	case m == conditions.LastRecoat || m == conditions.Reactivate:
		c.fault(path, fmt.Sprintf("%s is an end; nothing can wait for it to be reached", m), "wait for a beginning, like touch_dry or protected")
	case !times(card.Cure, m):
		c.fault(path, fmt.Sprintf("no table of this card tells when a coat is %s", m),
			fmt.Sprintf("write cure: %s:, or name a milestone that has a table", m))
	default:
		return true
	}
	return false
}

// times reports whether a cure tells when a milestone is reached.
func times(cure conditions.Cure, m conditions.Milestone) bool {
	banded := len(cure.Bands) > 0 && (m == conditions.Recoat || m == conditions.LastRecoat)
	return banded || len(cure.Of(m)) > 0
}

func (c *checker) mix(path string, card Card) {
	m := card.Mix
	if !(m.Base > 0) || m.Base > 1000 {
		c.fault(path+".mix.base", fmt.Sprintf("%g parts of base make no mix", m.Base), "write parts by volume, like base: 2 and hardener: 1")
	}
	if !(m.Hardener >= 0) || m.Hardener > 1000 {
		c.fault(path+".mix.hardener", fmt.Sprintf("%g parts of hardener make no mix", m.Hardener), "write parts by volume, 0 for a one-part paint")
	}
	if m.Reducer.SI < 0 || m.Reducer.SI > 1 {
		c.fault(path+".mix.reducer", fmt.Sprintf("%s of reducer", m.Reducer), "write its share of the mixed base and hardener, 0 % to 100 %")
	}
	c.kit(path+".mix", m)
	s := card.Spread
	if !(s.Solids.SI > 0 && s.Solids.SI <= 1) {
		c.fault(path+".spread.solids", fmt.Sprintf("volume solids of %s", orNone(s.Solids)), "write more than 0 % and at most 100 %")
	}
	if !(s.Dry.SI > 0 && s.Dry.SI <= 5000) {
		c.fault(path+".spread.dry_film", fmt.Sprintf("a dry film of %s", orNone(s.Dry)), "write the dry film of one pass, like \"25 um\"")
	}
	if !(s.Loss.SI >= 0 && s.Loss.SI < 1) {
		c.fault(path+".spread.loss", fmt.Sprintf("a loss of %s leaves nothing on the hull", s.Loss), "write 0 % or more and less than 100 %")
	}
	if card.PotLife.Lasts <= 0 {
		c.fault(path+".pot_life.lasts", fmt.Sprintf("a pot lasts %s", card.PotLife.Lasts), "write how long, like \"2 h\", and at which temperature")
	}
	if card.PotLife.At.IsZero() {
		c.fault(path+".pot_life.at", "nobody knows at which temperature the pot lasts so long", "write at:, like \"21 C\"")
	}
	f := card.FlashOff
	c.atLeastZero(path+".flash_off.least", f.Least)
	if f.Greatest < 0 || (f.Greatest > 0 && f.Greatest < f.Least) {
		c.fault(path+".flash_off.greatest", fmt.Sprintf("the greatest flash-off (%s) is shorter than the least (%s)", f.Greatest, f.Least), "make greatest the longer, or leave it out")
	}
	c.atLeastZero(path+".wet_edge", card.WetEdge)
	for j, in := range card.Induct {
		at := fmt.Sprintf("%s.induction[%d]", path, j)
		if in.From.IsZero() || in.To.IsZero() || in.From.SI >= in.To.SI {
			c.fault(at+".to", fmt.Sprintf("nothing lies between %s and %s", orNone(in.From), orNone(in.To)), "make to: the warmer of the two")
		}
		c.atLeastZero(at+".stands", in.Stands)
		for _, warmer := range card.Induct {
			if warmer.From.SI > in.From.SI && warmer.Stands > in.Stands {
				c.warn(at+".stands", fmt.Sprintf("a mix stands shorter cold (%s from %s) than warm (%s from %s)", in.Stands, in.From, warmer.Stands, warmer.From), "write how long it stands; the colder the longer")
				break
			}
		}
	}
}

// orNone words a quantity that may not have been written.
func orNone(q interface {
	IsZero() bool
	String() string
}) string {
	if q.IsZero() {
		return "nothing"
	}
	return q.String()
}

func (c *checker) variants(path string, card Card) {
	named(c, path+".variants", "name", "variant", card.Variants, func(v Variant) string { return v.Name })
	for j, v := range card.Variants {
		at := fmt.Sprintf("%s.variants[%d]", path, j)
		if v.From.IsZero() || v.To.IsZero() || v.From.SI >= v.To.SI {
			c.fault(at+".to", fmt.Sprintf("no hull lies between %s and %s", orNone(v.From), orNone(v.To)), "make to: the warmer of the two")
		}
		c.oneOf(at+".method", v.Method, Spray, Brush, Roll)
	}
	c.gaps(path, card)
}

// gaps warns where the card allows a hull for which it has no variant.
func (c *checker) gaps(path string, card Card) {
	if len(card.Variants) == 0 || card.Limits.SurfaceMin == nil || card.Limits.SurfaceMax == nil {
		return
	}
	sorted := append([]Variant(nil), card.Variants...)
	sort.SliceStable(sorted, func(i, j int) bool { return sorted[i].From.SI < sorted[j].From.SI })
	reached := card.Limits.SurfaceMin.SI
	for _, v := range sorted {
		if v.From.SI > reached {
			break
		}
		reached = max(reached, v.To.SI)
	}
	if reached < card.Limits.SurfaceMax.SI {
		c.warn(path+".variants", fmt.Sprintf("from %.1f C on no variant is given, though the card allows a hull of %s", float64(reached), *card.Limits.SurfaceMax),
			"let the variants' ranges meet and cover the card's surface limits")
	}
}

func (c *checker) milestone(path string, m conditions.Milestone) bool {
	return c.oneOf(path, string(m), texts(Milestones())...)
}
