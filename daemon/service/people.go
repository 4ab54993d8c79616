package service

import (
	"context"
	"time"

	"fairwindow/config"
	"fairwindow/daemon/store"
	"fairwindow/notify"
)

// ledgerBack is how far back deliveries count: a repeat is a matter of minutes, an offer that is
// taken back of days.
const ledgerBack = 4 * 24 * time.Hour

// rosterAhead is how far ahead quiet hours and shifts are looked at: past a long weekend.
const rosterAhead = 8 * 24 * time.Hour

// roster is whom this yard tells, with their hours around now.
func (f *facts) roster(now time.Time) (notify.Roster, error) {
	r := notify.Roster{Shifts: map[string][]notify.Span{}}
	for _, p := range f.yard.People {
		quiet, err := f.yard.QuietHours(p, now.Add(-24*time.Hour), now.Add(rosterAhead))
		if err != nil {
			return r, err
		}
		one := notify.Person{
			Name: p.Name, Crews: p.Crews, Quiet: spansOf(quiet), Next: p.Next, After: p.After.Std(), Ways: waysOf(p),
			Hears: notify.Hears{Places: p.Hears.Places, Boats: p.Hears.Boats, Crews: p.Hears.Crews},
		}
		for _, k := range p.Hears.Kinds {
			one.Hears.Kinds = append(one.Hears.Kinds, notify.Kind(k))
		}
		r.People = append(r.People, one)
	}
	for _, c := range f.yard.Crews {
		shifts, err := f.yard.ShiftsOf(c.Name, now.Add(-24*time.Hour), now.Add(rosterAhead))
		if err != nil {
			return r, err
		}
		r.Shifts[c.Name] = spansOf(shifts)
	}
	return r, nil
}

func spansOf(spans []config.Span) []notify.Span {
	var out []notify.Span
	for _, s := range spans {
		out = append(out, notify.Span(s))
	}
	return out
}

// waysOf are a person's ways; who has none looks at the page.
func waysOf(p config.Person) []notify.Way {
	var ways []notify.Way
	if p.Mail != "" {
		ways = append(ways, notify.ByMail)
	}
	if p.Webhook.URL != "" {
		ways = append(ways, notify.ByWebhook)
	}
	if p.Push {
		ways = append(ways, notify.ByPush)
	}
	if len(ways) == 0 {
		ways = append(ways, notify.ByPage)
	}
	return ways
}

// address adds to a change whom its notices are told, so that both are kept or neither. Callers
// hold the turn.
func (s *Service) address(ctx context.Context, c *store.Change) error {
	if len(c.Notices) == 0 || len(s.facts.yard.People) == 0 {
		return nil
	}
	roster, err := s.facts.roster(c.At)
	if err != nil {
		return err
	}
	rows, err := s.store.Deliveries(ctx, c.At.Add(-ledgerBack))
	if err != nil {
		return err
	}
	ledger := ledgerOf(rows)
	for _, n := range c.Notices {
		r := notify.Route(n, roster, ledger, c.At)
		c.Deliveries = append(c.Deliveries, r.Deliveries...)
		c.Dropped = append(c.Dropped, r.Dropped...)
		c.Hastened = append(c.Hastened, r.Hastened...)
		ledger = after(ledger, r)
	}
	return nil
}

func ledgerOf(rows []store.Delivered) []notify.Told {
	ledger := make([]notify.Told, 0, len(rows))
	for _, r := range rows {
		ledger = append(ledger, r.Told)
	}
	return ledger
}

// after is the ledger with what was decided, for the next notice of the same change.
func after(ledger []notify.Told, r notify.Routed) []notify.Told {
	at := map[notify.Ref]int{}
	for i, t := range ledger {
		at[notify.Ref{ID: t.Notice.ID, Revision: t.Notice.Revision, Person: t.Person, Way: t.Way}] = i
	}
	for _, d := range r.Dropped {
		ledger[at[d.Ref]].Off = true
	}
	for _, h := range r.Hastened {
		ledger[at[h.Ref]].Due = h.Due
	}
	for _, d := range r.Deliveries {
		if d.Answer != notify.Nothing {
			ledger = append(ledger, notify.Told{Notice: d.Notice, Person: d.Person, Way: d.Way, Due: d.Due, Why: d.Why})
		}
	}
	return ledger
}
