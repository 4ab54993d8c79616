package conditions

// Runs are the runs of true as half-open pairs of indices, in order.
func Runs(open []bool) [][2]int {
	var runs [][2]int
	for i := 0; i < len(open); i++ {
		if !open[i] {
			continue
		}
		from := i
		for i < len(open) && open[i] {
			i++
		}
		runs = append(runs, [2]int{from, i})
	}
	return runs
}
