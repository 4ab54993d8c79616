package planner

import "slices"

// swaps: two boats that change places leave at once, each for where the other was, and
// the one that hangs aside is brought in right after the other, by the same crew. A boat
// hangs aside in a swap only, and each move takes its time.
func (c *checker) swaps() {
	for _, boat := range c.p.Boats {
		blocks := c.blocksOf(boat.Name)
		for i, b := range blocks {
			if b.Swap == "" && b.Aside == 0 {
				continue
			}
			key := Key{Boat: b.Boat}
			others := c.blocksOf(b.Swap)
			n := slices.IndexFunc(others, func(o Block) bool { return o.From.Equal(b.From) && o.Swap == b.Boat && o.Boat != b.Boat })
			if n < 0 {
				c.report(key, "place", "into %s at %v in a swap with %q, which does not change places with it", b.Place, b.From, b.Swap)
				continue
			}
			o := others[n]
			if from, back := c.cameFrom(blocks, i), c.cameFrom(others, n); from != o.Place || back != b.Place {
				c.report(key, "place", "a swap with %s from %s into %s, and that from %s into %s", b.Swap, from, b.Place, back, o.Place)
			}
			if place, _ := c.yard.Place(b.Place); b.Move-b.Aside < place.Move.Std() {
				c.report(key, "place", "%v to be brought into %s, which takes %v", b.Move-b.Aside, b.Place, place.Move.Std())
			}
			first, second := b, o
			if first.Aside > 0 {
				first, second = o, b
			}
			if first.Aside != 0 || second.Aside != first.Move || first.Mover != second.Mover {
				c.report(key, "place", "a swap with %s whose moves do not follow each other", b.Swap)
			}
		}
	}
}

// cameFrom is the place that a boat is brought from into one of its blocks.
func (c *checker) cameFrom(blocks []Block, i int) string {
	if i > 0 {
		return blocks[i-1].Place
	}
	return c.work.Place(blocks[i].Boat).Place
}
