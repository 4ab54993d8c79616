package service

import (
	"context"
	"fmt"
	"slices"
	"sort"
	"sync"
	"time"

	"fairwindow/conditions"
	"fairwindow/sensors"
)

// pasts keeps what was worked out of each place's past: a page is asked for again and
// again, and what is past only changes by a reading that comes late.
type pasts struct {
	mu      sync.Mutex
	by      map[string]*pastOf
	flights map[*flight]bool
}

// pastOf is one place's past while the same boats stand there.
type pastOf struct {
	who     string
	moments map[int64]conditions.Moment // by Unix time; of a gap it is one that is not sure
	newest  int64
}

// flight is one working out under way; what came in meanwhile may not be in it.
type flight struct {
	place, boat string
	until       time.Time // from then on it is not to be kept; zero: all is
}

// mostPast is how many moments of a place are kept: six weeks of quarter hours.
const mostPast = 4032

// pastReach is how long a reading is heard in the past.
const pastReach = time.Hour

// pastAtOnce is how much of the past is read at once: of ten sensors that speak each minute
// two weeks are 200 000 readings, which take 100 MB. The hour before each part is read twice.
const pastAtOnce = 6 * time.Hour

// whose says who stands in a place, by which its past is another.
func whose(boat string, since map[string]time.Time) string {
	names := []string{"of " + boat}
	for b, t := range since {
		names = append(names, fmt.Sprint(b, t.UnixNano()))
	}
	slices.Sort(names)
	return fmt.Sprint(names)
}

// begin gives what is known of the times asked for, and a flight for the rest.
func (p *pasts) begin(place, boat, who string, times []time.Time) (map[int64]conditions.Moment, *flight) {
	p.mu.Lock()
	defer p.mu.Unlock()
	f := &flight{place: place, boat: boat}
	if p.flights == nil {
		p.flights, p.by = map[*flight]bool{}, map[string]*pastOf{}
	}
	p.flights[f] = true
	known := map[int64]conditions.Moment{}
	of := p.by[place]
	if of == nil || of.who != who {
		return known, f
	}
	for _, at := range times {
		if m, ok := of.moments[at.Unix()]; ok {
			known[at.Unix()] = m
		}
	}
	return known, f
}

// end keeps what a flight has worked out.
func (p *pasts) end(f *flight, who string, found map[int64]conditions.Moment) {
	p.mu.Lock()
	defer p.mu.Unlock()
	delete(p.flights, f)
	of := p.by[f.place]
	if of == nil || of.who != who || len(of.moments)+len(found) > mostPast {
		of = &pastOf{who: who, moments: map[int64]conditions.Moment{}}
		p.by[f.place] = of
	}
	for at, m := range found {
		if f.until.IsZero() || at < f.until.Unix() {
			of.moments[at] = m
			of.newest = max(of.newest, at)
		}
	}
}

// came forgets what committed readings may have changed.
func (p *pasts) came(readings []sensors.Reading) {
	p.mu.Lock()
	defer p.mu.Unlock()
	for _, r := range readings {
		for f := range p.flights {
			if (f.place == r.Place || r.Boat != "" && f.boat == r.Boat) && (f.until.IsZero() || r.At.Before(f.until)) {
				f.until = r.At
			}
		}
		for place, of := range p.by {
			if place != r.Place && r.Boat == "" || r.At.Unix() > of.newest {
				continue
			}
			for at := r.At.Truncate(pastStep); !at.After(r.At.Add(pastReach)); at = at.Add(pastStep) {
				delete(of.moments, at.Unix())
			}
		}
	}
}

// forget lets all go: readings were folded.
func (p *pasts) forget() {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.by = map[string]*pastOf{}
	for f := range p.flights {
		f.until = time.Unix(0, 0)
	}
}

// wereThen is what was measured in a spot at each of some times, in their order; one at
// which nothing good had been measured within the hour is left out.
func (s *Service) wereThen(ctx context.Context, at sensors.Spot, times []time.Time) ([]conditions.Moment, error) {
	who := whose(at.Boat, s.standIn(at.Place))
	known, f := s.pasts.begin(at.Place, at.Boat, who, times)
	found := map[int64]conditions.Moment{}
	defer func() { s.pasts.end(f, who, found) }()
	var out []conditions.Moment
	missing := slices.DeleteFunc(slices.Clone(times), func(t time.Time) bool { _, ok := known[t.Unix()]; return ok })
	for len(missing) > 0 {
		// Each run of times that nobody has asked for yet is read once, a long one in parts.
		n := 1
		for n < len(missing) && missing[n].Sub(missing[n-1]) <= 2*pastReach && missing[n].Sub(missing[0]) < pastAtOnce {
			n++
		}
		if err := s.workOut(ctx, at, missing[:n], found); err != nil {
			return nil, err
		}
		missing = missing[n:]
	}
	for _, t := range times {
		m, ok := known[t.Unix()]
		if !ok {
			m = found[t.Unix()]
		}
		if m.Sure == conditions.Measured {
			m.At = t
			out = append(out, m)
		}
	}
	return out, nil
}

// workOut merges what a spot's readings said at each of some times.
func (s *Service) workOut(ctx context.Context, spot sensors.Spot, times []time.Time, found map[int64]conditions.Moment) error {
	from, to := times[0].Add(-pastReach), times[len(times)-1].Add(time.Millisecond)
	readings, err := s.Readings(ctx, spot.Place, from, to)
	if err != nil {
		return err
	}
	folded, err := s.folded(ctx, spot.Place, from, to)
	if err != nil {
		return err
	}
	readings = inTurn(readings, folded)
	for _, at := range times {
		upTo := sort.Search(len(readings), func(i int) bool { return readings[i].At.After(at) })
		since := sort.Search(upTo, func(i int) bool { return !readings[i].At.Before(at.Add(-pastReach)) })
		found[at.Unix()] = sensors.Merge(words(readings[since:upTo], at), spot, at, pastReach)
	}
	return nil
}
