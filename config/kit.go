package config

import (
	"fmt"
	"math"
	"time"

	"fairwindow/conditions/unit"
)

// KitPots parts a sheet into pots of whole kits, where the card says that only whole
// kits are mixed, and says what is left over of the last. As many kits go into one pot as
// can be laid within its life, for a pass that takes so long. It is an error if a single
// kit can't be.
func (c Card) KitPots(s Sheet, takes time.Duration) (pots []Pot, left Parts, err error) {
	kit := c.Mix.Kit
	holds, need := kit.Base.SI+kit.Hardener.SI, s.Litres.Base+s.Litres.Hardener
	if !(holds > 0) || !(need > 0) {
		return nil, Parts{}, fmt.Errorf("%s says nothing of kits", c.Title())
	}
	// A millionth of a kit too few is rounding, not a reason to open a tin.
	kits := int(math.Ceil(float64(need/holds) - 1e-6))
	each := time.Duration(float64(takes) * float64(holds/need))
	most := kits
	if s.PotLife > 0 && each > 0 {
		useful := s.PotLife - s.Stands
		if most = int(useful / each); most < 1 {
			return nil, Parts{}, fmt.Errorf("one kit of %s takes %s to lay here, and lasts %s after it has stood: more hands, or a cooler hull",
				c.Title(), unit.Duration(each.Round(time.Minute)), unit.Duration(max(useful, 0).Round(time.Minute)))
		}
	}
	n := (kits + most - 1) / max(most, 1)
	laid := 0
	for i := range n {
		in := (kits*(i+1))/n - (kits*i)/n
		use := time.Duration(laid) * each
		laid += in
		part := unit.Volume(in)
		pots = append(pots, Pot{
			Mix: use - s.Stands, Use: use, Until: min(takes, time.Duration(laid)*each), Kits: in,
			Litres: Parts{part * kit.Base.SI, part * kit.Hardener.SI, part * holds * unit.Volume(c.Mix.Reducer.SI)},
		})
	}
	over := unit.Volume(kits)*holds - need
	share := func(of unit.Volume) unit.Volume { return max(0, over) * of / holds }
	return pots, Parts{share(kit.Base.SI), share(kit.Hardener.SI), share(holds * unit.Volume(c.Mix.Reducer.SI))}, nil
}

// Weighs is what each part weighs; NaN where the card does not say.
func (d Density) Weighs(p Parts) (base, hardener, reducer unit.Mass) {
	weighs := func(v unit.Volume, d unit.Written[unit.Density]) unit.Mass {
		if d.IsZero() {
			return unit.NaN[unit.Mass]()
		}
		return unit.Mass(float64(v) * float64(d.SI) / 1000)
	}
	return weighs(p.Base, d.Base), weighs(p.Hardener, d.Hardener), weighs(p.Reducer, d.Reducer)
}
