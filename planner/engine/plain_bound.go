package engine

import "slices"

// least is a bound that no schedule is shorter than: the longest chain, and for each
// crew what all its work needs, between the shortest way to it and from it on.
func (k *plain) least(p *Problem) int32 {
	n := len(k.name)
	b := k.chain()
	for c := range p.Crews {
		there, _ := p.Crews[c].constant(p.Slots)
		work, head, tail := int64(0), int32(1<<30), int32(1<<30)
		for i := range n {
			need := int64(0)
			for _, u := range p.Tasks[k.name[i]].Modes[0].Uses {
				if u.Crew == c {
					need += int64(u.N)
				}
			}
			if need > 0 && k.long[i] > 0 {
				work += need * int64(k.long[i])
				head = min(head, k.ways[1].tail[i]-k.long[i])
				tail = min(tail, k.ways[0].tail[i]-k.long[i])
			}
		}
		if work > 0 {
			b = max(b, head+tail+int32((work+int64(there)-1)/int64(there)))
		}
	}
	return b
}

// chain is how long the longest chain of tasks takes.
func (k *plain) chain() int32 { return slices.Max(k.ways[0].tail) }
