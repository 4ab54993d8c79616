package notify

import "time"

// passable reports whether somebody must be found who hears a notice: a list of changes is read
// when the shift begins, and what is taken back asks for nothing.
func (n Notice) passable() bool {
	return n.Kind != StageMoved && n.Kind != StagePutOff && !n.Withdrawn
}

// Pass decides what goes on to the next person because the one who was told did not call it heard
// within his time, counted from when it was due: that a way out is broken must not stop it. It
// ends with who has nobody next, with anybody's "heard", and with what is over or overtaken. The
// second result is when to ask again; zero: not before the ledger changes.
func Pass(roster Roster, ledger []Told, now time.Time) ([]Delivery, time.Time) {
	type of struct {
		id       string
		revision int
		person   string
	}
	first := map[of]Told{}
	has := map[Ref]bool{}
	var order []of
	for _, t := range ledger {
		has[t.ref()] = true
		if t.Off {
			continue
		}
		k := of{t.Notice.ID, t.Notice.Revision, t.Person}
		if was, known := first[k]; !known {
			first[k] = t
			order = append(order, k)
		} else {
			if t.Due.Before(was.Due) {
				was.Due = t.Due
			}
			was.Heard = was.Heard || t.Heard
			first[k] = was
		}
	}
	var out []Delivery
	var next time.Time
	for _, k := range order {
		t := first[k]
		p, ok := roster.person(k.person)
		to, there := roster.person(p.Next)
		if !ok || !there || t.Heard || !t.Notice.passable() || overtaken(t.Notice, ledger) {
			continue
		}
		when := t.Due.Add(p.After)
		if when.After(now) {
			if next.IsZero() || when.Before(next) {
				next = when
			}
			continue
		}
		if t.Notice.over(when) && !t.Notice.Kind.breaks() {
			continue
		}
		due := now
		if !t.Notice.Kind.breaks() {
			due = to.free(now)
		}
		for _, way := range to.Ways {
			d := Delivery{Notice: t.Notice, Person: to.Name, Way: way, Answer: Tell, Why: PassedOn, Due: due}
			if due.After(now) {
				d.Answer = Hold
			}
			if r := (Ref{t.Notice.ID, t.Notice.Revision, to.Name, way}); !has[r] {
				has[r] = true
				out = append(out, d)
			}
		}
	}
	return out, next
}

func overtaken(n Notice, ledger []Told) bool {
	for _, t := range ledger {
		if t.Notice.At.Before(n.At) {
			continue
		}
		if overtakes(t.Notice, n) {
			return true
		}
	}
	return false
}
