package config

import (
	"fmt"
	"math"

	"fairwindow/conditions/unit"
)

// kitOff is how far a kit's volumes may lie off the mix: tins are filled to a per cent or so.
const kitOff = 0.03

// kit checks that what comes in the tins is what the mix asks for.
func (c *checker) kit(path string, m Mix) {
	kit := m.Kit
	if kit == (Kit{}) {
		c.densities(path+".density", m)
		return
	}
	base, hardener := float64(kit.Base.SI), float64(kit.Hardener.SI)
	switch {
	case !(base > 0) || hardener < 0:
		c.fault(path+".kit.base", fmt.Sprintf("a kit with %s of base", orNone(kit.Base)), "write what the tins hold, like {base: 4 L, hardener: 2 L}")
	case m.Hardener > 0 && hardener == 0:
		c.fault(path+".kit.hardener", "the mix has hardener and the kit has none", "write what the tin of hardener holds, like 2 L")
	case m.Base > 0 && math.Abs(hardener*m.Base-base*m.Hardener) > kitOff*(base*m.Hardener+hardener*m.Base)/2:
		c.fault(path+".kit.hardener", fmt.Sprintf("a kit of %s and %s is not %g parts of base to %g of hardener", kit.Base, orNone(kit.Hardener), m.Base, m.Hardener),
			fmt.Sprintf("write the volumes on the tins, or mend the mix; %s of base go with %.4g L of hardener", kit.Base, base*m.Hardener/m.Base))
	}
	c.densities(path+".density", m)
}

// densities checks that paint weighs what paint weighs.
func (c *checker) densities(path string, m Mix) {
	one := func(name string, d unit.Written[unit.Density]) {
		if !d.IsZero() && !(d.SI >= 0.5 && d.SI <= 5) {
			c.fault(path+"."+name, fmt.Sprintf("%s is no density of paint", d), "write 0.5 kg/L to 5 kg/L, or lb/gal, as the maker's data sheet has it")
		}
	}
	one("base", m.Density.Base)
	one("hardener", m.Density.Hardener)
	one("reducer", m.Density.Reducer)
}
