package planner

import (
	"math/rand/v2"
	"slices"
)

// improve looks among the neighbours of a schedule's turns for one that costs
// less, so many schedules long. What kind of neighbour is asked for next is drawn
// by how often its kind has helped. The draws are seeded: the same problem gives
// the same plan.
func (m *model) improve(best *schedule, effort int) *schedule {
	if again := best.again(best.turns); again.cost().total() <= best.cost().total() {
		best = again // with its marks
	}
	draw := rand.New(rand.NewPCG(1, uint64(len(m.areas))))
	least := best.cost().total()
	if len(best.turns) < 2 {
		return best
	}
	credit := make([]float64, len(neighbours))
	for i := range credit {
		credit[i] = 1
	}
	for range effort {
		kind := drawn(draw, credit)
		turns := neighbours[kind](best, draw)
		if turns == nil {
			credit[kind] *= 0.9
			continue
		}
		s := best.again(turns)
		// What costs as much is taken too: a plateau is walked over, not stood on.
		switch c := s.cost().total(); {
		case c < least:
			best, least, credit[kind] = s, c, credit[kind]+1
		case c == least:
			best = s
		default:
			credit[kind] = max(credit[kind]*0.95, 0.2)
		}
	}
	return best
}

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
	p := draw.IntN(len(s.places))
	if s.turns[i].place < 0 || p == s.turns[i].place || s.places[p].like == s.places[s.turns[i].place].like {
		return nil
	}
	turns := slices.Clone(s.turns)
	turns[i].place = p
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
		trouble[s.model.areas[m.job.area].boat] += weekMinutes
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
