package service

import (
	"context"
	"sync"

	"fairwindow/daemon/store"
	"fairwindow/sensors"
)

// takenAtOnce is how many readings are gathered into one transaction at most, so that
// the guard's other work never waits long for it.
const takenAtOnce = 2000

// taking is one call's readings on their way to the disk.
type taking struct {
	readings []sensors.Reading
	signed   []store.Signature
	ended    bool
	err      error
}

// gathering is the calls whose readings wait for the next transaction. Whoever gets
// the turn takes in what has gathered, his own and that of others, since a disk can
// be asked to be sure only so often a second.
type gathering struct {
	mu    sync.Mutex
	calls []*taking
}

func (g *gathering) add(t *taking) {
	g.mu.Lock()
	defer g.mu.Unlock()
	g.calls = append(g.calls, t)
}

// next is those that came first, as many as one transaction takes; one at least.
func (g *gathering) next() []*taking {
	g.mu.Lock()
	defer g.mu.Unlock()
	n, readings := 0, 0
	for n < len(g.calls) && (n == 0 || readings+len(g.calls[n].readings) <= takenAtOnce) {
		readings += len(g.calls[n].readings)
		n++
	}
	first := g.calls[:n:n]
	g.calls = g.calls[n:]
	return first
}

// TakeReadings marks what is doubtful, keeps all of it, and lets the guard
// judge before it returns: when it returns nil, the readings and the notices
// they caused are on disk. Calls that come while a transaction runs share the next
// one, and all fail if it fails.
func (s *Service) TakeReadings(ctx context.Context, readings []sensors.Reading) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	for _, r := range readings {
		if err := store.Whole(r); err != nil {
			return err // alone, before others share its fate
		}
	}
	mine := &taking{readings: readings, signed: signedReadings(ctx, readings)}
	s.gathering.add(mine)
	s.mu.Lock()
	defer s.mu.Unlock()
	for !mine.ended {
		calls := s.gathering.next()
		var all []sensors.Reading
		var hands []store.Signature
		for _, c := range calls {
			all = append(all, c.readings...)
			hands = append(hands, c.signed...)
		}
		// Whoever has the turn takes in for others: the hand of his context is not theirs.
		err := s.takeIn(context.Background(), all, hands)
		for _, c := range calls {
			c.ended, c.err = true, err
		}
	}
	return mine.err
}

// takeIn takes in readings that it may change. Callers hold the turn.
func (s *Service) takeIn(ctx context.Context, readings []sensors.Reading, hands []store.Signature) error {
	now := s.clock.Now()
	concerned, byHand := map[string]bool{}, false
	for i, r := range readings {
		sensor, known := s.facts.sensor(r.Source)
		byHand = byHand || !known
		// Readings of one batch see each other: a spike may sit inside it.
		readings[i] = sensors.Check(r, s.facts.before(r), sensor, now)
		s.facts.add(readings[i], now)
		s.watch.heard(r.Source, earlier(r.At, now)) // a device's clock may be years ahead
		concerned[about(r)] = true
	}
	memory, err := s.facts.checked(readings)
	if err != nil {
		return err
	}
	notices := s.guard(now, concerned)
	done, err := s.commit(ctx, store.Change{Readings: readings, Notices: notices, Memory: memory, Signatures: hands})
	if err != nil {
		return err
	}
	s.pasts.came(done.Readings)
	if byHand {
		s.accounts.renew()
	}
	s.health.readings.Add(float64(len(done.Readings)))
	for _, r := range done.Readings {
		for _, f := range r.Flags {
			s.health.flags.WithLabelValues(string(f.Fault)).Inc()
		}
	}
	if why := s.surprised(done.Readings, now); why != "" {
		s.cycle.ask(now, why)
	}
	return nil
}
