package engine

import "context"

// Solve looks for the schedule of a problem that costs least. The error names what
// is wrong with the problem, if it is malformed; a problem that cannot be kept has a
// result all the same, with tasks that have no start. The context is asked between
// rounds only, and a result comes back even if it is done from the start.
func Solve(ctx context.Context, p Problem, e Effort) (Result, error) {
	if err := p.Valid(); err != nil {
		return Result{}, err
	}
	// What asks for less is searched faster, or deeper: crews and an order alone, and
	// lags that may be too long as well as too short.
	if k := plainOf(&p); k != nil {
		return k.search(ctx, e), nil
	}
	if k := laggedOf(&p); k != nil {
		return k.search(ctx, e), nil
	}
	return newGeneral(&p).search(ctx, e), nil
}
