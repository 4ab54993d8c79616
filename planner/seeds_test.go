package planner

import "testing"

// seeds is how many drawn yards a test tries: fewer where tests are asked to be short,
// as under the race detector, which in a pure package has little to find.
func seeds(all int) int {
	if testing.Short() {
		return max(1, all/6)
	}
	return all
}
