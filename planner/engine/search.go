package engine

// Search looks for the order of n things whose schedule costs least. It tries
// the first orders, then, round by round, each neighbour in which one thing goes
// before the one in front of it; rounds bounds how many orders are tried beyond
// the first. Equal costs keep the order that was found first, so the answer
// depends on nothing but the arguments.
func Search(first [][]int, rounds int, cost func(order []int) int64) []int {
	var best []int
	var least int64
	tried := map[string]bool{}
	try := func(order []int) bool {
		if id := text(order); tried[id] {
			return false
		} else {
			tried[id] = true
		}
		c := cost(order)
		if best != nil && c >= least {
			return false
		}
		best, least = append([]int(nil), order...), c
		return true
	}
	for _, order := range first {
		try(order)
	}
	for improved := true; improved && rounds > 0; {
		improved = false
		for i := 1; i < len(best) && rounds > 0; i++ {
			order := append([]int(nil), best...)
			order[i-1], order[i] = order[i], order[i-1]
			rounds--
			improved = try(order) || improved
		}
	}
	return best
}

func text(order []int) string {
	b := make([]byte, 0, 2*len(order))
	for _, i := range order {
		b = append(b, byte(i), byte(i>>8))
	}
	return string(b)
}
