package planner

import (
	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
	"fairwindow/planner/engine"
)

// What the conditions say is worked out once: a search asks for the same starts and
// the same cures again and again, whatever else it moves.

// start is all that the judgement of a coat hangs on beside the model: boats that are
// alike in it, and bring the same along, get the same answer.
type start struct {
	rules     *conditions.Rules // of one card in one place
	skin      *surface          // of the hull's part there while it is sprayed
	at, slots int32
	// What the hull brings along, as its meeting has it.
	off, top unit.Temperature
	read     float64
}

// startsKept bounds the table to some 10 MB: a start that was forgotten is judged again.
const startsKept = 1 << 16

// coating judges a coat that starts at t: every slot of the spraying track from
// the first drop to the last, and every slot of the curing track from then until
// the coat is protected.
func (m *model) coating(j *job, place int, w way, t engine.Slot) outcome {
	if t+j.slots >= m.grid.Slots {
		return judging(t).failed(m.grid.Slots - 1)
	}
	wet := m.out.meet(w, t, place, spraying, j.part)
	brings := &wet.parts[j.part]
	key := start{
		rules: m.rulesOf(j, place), skin: brings.surface, at: int32(t), slots: int32(j.slots),
		off: brings.off, top: brings.top, read: brings.read,
	}
	if known, ok := m.starts[key]; ok {
		return known
	}
	out := m.judge(j, place, &wet, nil)
	if len(m.starts) >= startsKept {
		clear(m.starts)
	}
	m.starts[key] = out
	return out
}

// trust sets the least deviations from a limit. What was judged by others is forgotten.
func (m *model) trust(firm, pencil float64) {
	m.firm, m.pencil, m.starts = firm, pencil, map[start]outcome{}
}

// ruling is what a stage's rules hang on.
type ruling struct {
	kind   config.StageKind
	name   string
	card   string
	limits conditions.Limits
	place  int
}

// pace is the progress of a coat towards one milestone: an opening goes by the coldest
// facet, a closing by the warmest.
type pace struct {
	*rates
	closes bool
}

func (p pace) at(cold, warm unit.Temperature) float64 {
	if p.closes {
		return p.fast(warm)
	}
	return p.slow(cold)
}

// stretch is the slots of progress that are added up once: long enough that a cure of
// weeks is soon counted, short against what a hull takes to come to rest.
const stretch = 2 * perHour

// over is the progress in the stretch from s on, on a hull that has long stood there.
func (f *surface) over(p pace, s engine.Slot) float64 {
	sums := f.cured[p]
	if sums == nil {
		sums = make([]float64, len(f.Coldest)/int(stretch))
		if f.cured == nil {
			f.cured = map[pace][]float64{}
		}
		f.cured[p] = sums
	}
	kept := &sums[s/stretch]
	if *kept == 0 { // not counted yet, or no progress
		for i := s; i < s+stretch; i++ {
			*kept += p.at(f.Coldest[i], f.Warmest[i])
		}
	}
	return *kept
}
