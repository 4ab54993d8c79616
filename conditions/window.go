package conditions

import "time"

// Window is a span in which every verdict is yes, half open.
type Window struct {
	From time.Time `json:"from"`
	To   time.Time `json:"to"`
	// Closes is the bound that ends it; nil when the verdicts end first or the
	// next is unknown, and Why then says which.
	Closes *Bound `json:"closes,omitempty"`
	Why    string `json:"why,omitempty"`
}

// Windows are the runs of yes among verdicts in the order of time. A verdict
// holds until the next one's time; the last one holds for step.
func Windows(verdicts []Verdict, step time.Duration) []Window {
	open := make([]bool, len(verdicts))
	for i, v := range verdicts {
		open[i] = v.Answer == Yes
	}
	var windows []Window
	for _, run := range Runs(open) {
		w := Window{From: verdicts[run[0]].At}
		if run[1] == len(verdicts) {
			w.To, w.Why = verdicts[run[1]-1].At.Add(step), "nothing is known beyond"
		} else {
			end := verdicts[run[1]]
			w.To, w.Why = end.At, end.Why
			if end.Binding >= 0 {
				bound := end.Margins[end.Binding].Bound
				w.Closes = &bound
			}
		}
		windows = append(windows, w)
	}
	return windows
}

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
