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

// Summary is what came of a play, its times on the yard's clock. Waited and Notices are the
// daemon's to tell: whoever holds its store fills them in before printing.
type Summary struct {
	Seed uint64    `json:"seed"`
	From time.Time `json:"from"`
	To   time.Time `json:"to"`

	Boats    []BoatEnd `json:"boats"`
	Stages   int       `json:"stages"` // finished
	Coats    int       `json:"coats"`
	Passes   int       `json:"passes"`
	Stopped  int       `json:"stopped"`  // coats left after some of their passes, the window having closed
	Rejected int       `json:"rejected"` // by inspection
	Moves    int       `json:"moves"`
	Away     int       `json:"away"` // stages that could not be done because somebody was away

	Outcomes []Outcome `json:"outcomes"` // of every pass, by first drop

	Presses   int `json:"presses"`
	Late      int `json:"late"`     // presses entered long after the fact
	Messages  int `json:"messages"` // of instruments
	Silent    int `json:"silent"`   // messages that an instrument should have sent
	Forecasts int `json:"forecasts"`

	Waited  map[planner.Cause]float64 `json:"waited_h"` // that stages waited, h
	Notices map[string]int            `json:"notices"`  // by kind
}

// BoatEnd is what became of one boat.
type BoatEnd struct {
	Boat     string    `json:"boat"`
	Promised time.Time `json:"promised,omitzero"`
	Arrived  bool      `json:"arrived"`
	Launched time.Time `json:"launched,omitzero"` // zero: not yet
	Finished int       `json:"finished"`          // stages
}

func (p *player) summary(to time.Time) Summary {
	s, t := p.sum, p.crews.tally
	zone, err := p.Yard.Location()
	if err != nil {
		zone = time.UTC // a yard without a zone was refused long before
	}
	s.From, s.To = s.From.In(zone), to.In(zone)
	s.Stages, s.Coats, s.Passes, s.Stopped = t.stages, t.coats, t.passes, t.stopped
	s.Rejected, s.Moves, s.Away, s.Late = t.rejections, t.moves, t.cant, t.late
	s.Outcomes = p.crews.score.outcomes()
	for i := range s.Outcomes {
		o := &s.Outcomes[i]
		o.From, o.To, o.At = o.From.In(zone), o.To.In(zone), o.At.In(zone)
	}
	for _, b := range p.Boats {
		end := BoatEnd{Boat: b.Name, Launched: p.crews.gone[b.Name]}
		end.Promised, _ = p.Yard.Time(b.Promised)
		end.Promised, end.Launched = end.Promised.In(zone), end.Launched.In(zone)
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
	line("played", "%s to %s, seed %d", s.From.Format(minuteLayout), s.To.Format(minuteLayout), s.Seed)
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
		line("waited", "%7.1f h %s", s.Waited[cause], cause)
	}
	for _, kind := range slices.Sorted(maps.Keys(s.Notices)) {
		line("notices", "%7d %s", s.Notices[kind], strings.ReplaceAll(kind, "_", " "))
	}
	return b.String()
}

func (e BoatEnd) state() string {
	promised := "no launch promised"
	if !e.Promised.IsZero() {
		promised = "promised for " + e.Promised.Format(dayLayout)
	}
	switch {
	case !e.Launched.IsZero():
		return fmt.Sprintf("%d stages done, launched %s, %s", e.Finished, e.Launched.Format(minuteLayout), promised)
	case e.Arrived:
		return fmt.Sprintf("%d stages done, in the yard, %s", e.Finished, promised)
	}
	return "not come yet, " + promised
}

// descending are the causes by time waited, the longest first.
func descending(waited map[planner.Cause]float64) []planner.Cause {
	causes := slices.Collect(maps.Keys(waited))
	slices.SortFunc(causes, func(a, b planner.Cause) int {
		return cmp.Or(cmp.Compare(waited[b], waited[a]), cmp.Compare(a, b))
	})
	return causes
}
