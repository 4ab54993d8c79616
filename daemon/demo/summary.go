package demo

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"fairwindow/planner"
)

// Summary is what came of a play. Waited and Notices are the daemon's to tell:
// whoever holds its store fills them in before printing.
type Summary struct {
	Seed     uint64
	From, To time.Time

	Boats    []BoatEnd
	Stages   int // finished
	Coats    int
	Passes   int
	Stopped  int // coats left after some of their passes, the window having closed
	Rejected int // by inspection
	Moves    int
	Away     int // stages that could not be done because somebody was away

	Outcomes []Outcome // of every pass, by first drop

	Presses   int
	Late      int // presses entered long after the fact
	Messages  int // of instruments
	Silent    int // messages that an instrument should have sent
	Forecasts int

	Waited  map[planner.Cause]time.Duration
	Notices map[string]int // by kind
}

// BoatEnd is what became of one boat.
type BoatEnd struct {
	Boat     string
	Promised time.Time
	Arrived  bool
	Launched time.Time // zero: not yet
	Finished int       // stages
}

func (p *player) summary(to time.Time) Summary {
	s, t := p.sum, p.crews.tally
	s.To = to
	s.Stages, s.Coats, s.Passes, s.Stopped = t.stages, t.coats, t.passes, t.stopped
	s.Rejected, s.Moves, s.Away, s.Late = t.rejections, t.moves, t.cant, t.late
	s.Outcomes = p.crews.score.outcomes()
	for _, b := range p.Boats {
		end := BoatEnd{Boat: b.Name, Launched: p.crews.gone[b.Name]}
		end.Promised, _ = p.Yard.Time(b.Promised)
		end.Arrived = p.crews.here[b.Name] || !end.Launched.IsZero()
		for k := range p.crews.finished {
			if k.Boat == b.Name {
				end.Finished++
			}
		}
		s.Boats = append(s.Boats, end)
	}
	return s
}

// Held counts the passes whose limits held in truth, those broken, and those
// whose protection had not ended.
func (s Summary) Held() (held, broken, open int) {
	for _, o := range s.Outcomes {
		switch {
		case !o.Held:
			broken++
		case o.To.IsZero():
			open++
		default:
			held++
		}
	}
	return held, broken, open
}

// String is the summary as a block of text, the same for the same play.
func (s Summary) String() string {
	var b strings.Builder
	line := func(name, format string, args ...any) {
		fmt.Fprintf(&b, "%-22s "+format+"\n", append([]any{name}, args...)...)
	}
	line("played", "%s to %s, seed %d", s.From.UTC().Format(minuteLayout), s.To.UTC().Format(minuteLayout), s.Seed)
	line("heard", "%d messages (%d did not come), %d forecasts", s.Messages, s.Silent, s.Forecasts)
	line("reported", "%d presses, %d of them late", s.Presses, s.Late)
	line("done", "%d stages, %d coats in %d passes, %d coats stopped early, %d moves", s.Stages, s.Coats, s.Passes, s.Stopped, s.Moves)
	line("went wrong", "%d rejected, %d for want of people", s.Rejected, s.Away)
	held, broken, open := s.Held()
	line("passes in truth", "%d held to the end of protection, %d did not, %d still wanted it", held, broken, open)
	for _, o := range s.Outcomes {
		if !o.Held {
			line("", "%s", o)
		}
	}
	for _, e := range s.Boats {
		line(e.Boat, "%s", e.state())
	}
	for _, cause := range descending(s.Waited) {
		line("waited", "%7.1f h %s", s.Waited[cause].Hours(), cause)
	}
	for _, kind := range slices.Sorted(maps.Keys(s.Notices)) {
		line("notices", "%7d %s", s.Notices[kind], strings.ReplaceAll(kind, "_", " "))
	}
	return b.String()
}

func (e BoatEnd) state() string {
	promised := "no launch promised"
	if !e.Promised.IsZero() {
		promised = "promised for " + e.Promised.UTC().Format(dayLayout)
	}
	switch {
	case !e.Launched.IsZero():
		return fmt.Sprintf("%d stages done, launched %s, %s", e.Finished, e.Launched.UTC().Format(minuteLayout), promised)
	case e.Arrived:
		return fmt.Sprintf("%d stages done, in the yard, %s", e.Finished, promised)
	}
	return "not come yet, " + promised
}

// descending are the causes by time waited, the longest first.
func descending(waited map[planner.Cause]time.Duration) []planner.Cause {
	causes := slices.Collect(maps.Keys(waited))
	slices.SortFunc(causes, func(a, b planner.Cause) int {
		return cmp.Or(cmp.Compare(waited[b], waited[a]), cmp.Compare(a, b))
	})
	return causes
}
