package planner

import (
	"encoding/binary"
	"math/rand/v2"
	"slices"
)

// improve looks for a schedule that costs less, among so many: it walks from neighbour
// to neighbour, at first also to some that cost a little more, and keeps the best. What
// kind of neighbour is asked for next is drawn by how often its kind has helped. None is
// laid out twice: in a small yard there are few. The draws are seeded: the same problem
// gives the same plan.
func (m *model) improve(best *schedule, rounds int) *schedule {
	if len(best.turns) < 2 || rounds == 0 {
		return best
	}
	if again := best.again(m.ordered(best.turns)); again.weighs() <= best.weighs() {
		best = again // with its marks
	}
	draw := rand.New(rand.NewPCG(1, uint64(len(m.areas))))
	least := best.weighs()
	now, costs := best, least
	laid := map[string]bool{turnsKey(best.wants): true}
	credit := make([]float64, len(neighbours))
	for i := range credit {
		credit[i] = 1
	}
	for n := range rounds {
		kind := drawn(draw, credit)
		turns := m.ordered(neighbours[kind](now, draw))
		key := turnsKey(turns)
		if len(turns) == 0 || laid[key] {
			credit[kind] = max(credit[kind]*0.95, 0.2)
			continue
		}
		laid[key] = true
		s := now.again(turns)
		c := s.weighs()
		if c < costs {
			credit[kind]++
		} else {
			credit[kind] = max(credit[kind]*0.95, 0.2)
		}
		left := 1 - float64(n)/float64(rounds)
		if float64(c) <= float64(costs)+allowance*left*float64(least) {
			now, costs = s, c
		}
		if c < least {
			best, least = s, c
		} else if float64(costs) > (1+2*allowance*left)*float64(least) {
			now, costs = best, least // it has strayed too far
		}
	}
	return best
}

// turnsKey tells turns apart.
func turnsKey(turns []turn) string {
	key := make([]byte, 0, 4*len(turns))
	for _, t := range turns {
		key = binary.AppendUvarint(key, uint64(t.area))
		key = binary.AppendUvarint(key, uint64(t.place+1))
	}
	return string(key)
}

// allowance is how much more a neighbour may cost at first, as a share of the least.
// Measured on small generated yards, whose optimum is known.
const allowance = 0.05

func drawn(draw *rand.Rand, credit []float64) int {
	sum := 0.0
	for _, c := range credit {
		sum += c
	}
	x := draw.Float64() * sum
	for i, c := range credit {
		if x -= c; x < 0 {
			return i
		}
	}
	return len(credit) - 1
}

// neighbours are the ways to change the turns of a schedule; nil if there is
// nothing of the kind to change.
var neighbours = [...]func(*schedule, *rand.Rand) []turn{blockSooner, boatSooner, boatsSwapped, elsewhere, anywhereAgain, troubledSooner}

// blockSooner gives one block its turn before another boat's.
func blockSooner(s *schedule, draw *rand.Rand) []turn {
	turns := slices.Clone(s.turns)
	i := 1 + draw.IntN(len(turns)-1)
	for to := i - 1; to >= 0 && turns[to].area != turns[i].area; to-- {
		if s.model.areas[turns[to].area].boat != s.model.areas[turns[i].area].boat && (to == 0 || draw.IntN(3) == 0) {
			t := turns[i]
			copy(turns[to+1:i+1], turns[to:i])
			turns[to] = t
			return turns
		}
	}
	return nil
}

// boatSooner gives all that is left of one boat its turns before another boat's first.
func boatSooner(s *schedule, draw *rand.Rand) []turn {
	at := draw.IntN(len(s.turns))
	boat := s.model.areas[s.turns[draw.IntN(len(s.turns))].area].boat
	var its, others []turn
	for _, t := range s.turns[at:] {
		if s.model.areas[t.area].boat == boat {
			its = append(its, t)
		} else {
			others = append(others, t)
		}
	}
	if len(its) == 0 || len(others) == 0 {
		return nil
	}
	return slices.Concat(s.turns[:at], its, others)
}

// boatsSwapped has two boats take each other's turns.
func boatsSwapped(s *schedule, draw *rand.Rand) []turn {
	boatOf := func(t turn) int { return s.model.areas[t.area].boat }
	a, b := boatOf(s.turns[draw.IntN(len(s.turns))]), boatOf(s.turns[draw.IntN(len(s.turns))])
	if a == b {
		return nil
	}
	var as, bs []turn
	for _, t := range s.turns {
		switch boatOf(t) {
		case a:
			as = append(as, t)
		case b:
			bs = append(bs, t)
		}
	}
	turns := make([]turn, 0, len(s.turns))
	next := func(from, other *[]turn) {
		if len(*from) == 0 {
			from = other
		}
		turns, *from = append(turns, (*from)[0]), (*from)[1:]
	}
	for _, t := range s.turns {
		switch boatOf(t) {
		case a:
			next(&bs, &as)
		case b:
			next(&as, &bs)
		default:
			turns = append(turns, t)
		}
	}
	return turns
}

// elsewhere wants one block in another place.
func elsewhere(s *schedule, draw *rand.Rand) []turn {
	i := draw.IntN(len(s.turns))
	t := s.turns[i]
	if t.place < 0 {
		return nil
	}
	nth := 0
	for _, u := range s.turns[:i] {
		if u.area == t.area {
			nth++
		}
	}
	blocks := blocksOf(s.model.areas[t.area].jobs)
	if nth >= len(blocks) {
		return nil
	}
	var places []int
	for p := range s.places {
		if s.places[p].like != s.places[t.place].like && s.takes(p, s.model.areas[t.area].boat, blocks[nth]) {
			places = append(places, p)
		}
	}
	if len(places) == 0 {
		return nil
	}
	turns := slices.Clone(s.turns)
	turns[i].place = places[draw.IntN(len(places))]
	return turns
}

// anywhereAgain leaves the places of one boat to what ends soonest.
func anywhereAgain(s *schedule, draw *rand.Rand) []turn {
	boat := s.model.areas[s.turns[draw.IntN(len(s.turns))].area].boat
	turns := slices.Clone(s.turns)
	for i := range turns {
		if s.model.areas[turns[i].area].boat == boat {
			turns[i].place = -1
		}
	}
	return turns
}

// troubledSooner gives all turns of a boat that is late, or has a stage without a start,
// before a turn of another boat; the later the boat, the likelier it is drawn.
func troubledSooner(s *schedule, draw *rand.Rand) []turn {
	trouble := make([]float64, len(s.boats))
	for i := range s.boats {
		if !s.model.boats[i].gone {
			trouble[i] = s.late(i)
		}
	}
	for _, m := range s.missed {
		trouble[s.model.areas[m.job.area].boat] += givenUp
	}
	sum := 0.0
	for _, t := range trouble {
		sum += t
	}
	if sum == 0 {
		return nil
	}
	boat := drawn(draw, trouble)
	first := slices.IndexFunc(s.turns, func(t turn) bool { return s.model.areas[t.area].boat == boat })
	if first <= 0 {
		return nil
	}
	at := draw.IntN(first)
	var its, others []turn
	for _, t := range s.turns[at:] {
		if s.model.areas[t.area].boat == boat {
			its = append(its, turn{t.area, -1})
		} else {
			others = append(others, t)
		}
	}
	return slices.Concat(s.turns[:at], its, others)
}
