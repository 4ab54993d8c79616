package notify

import "time"

// How far an end must move before people are told again.
const (
	nearerBy = 15 * time.Minute
	laterBy  = time.Hour
)

// Known is what people were last told under one id. The zero Known: nothing.
type Known struct {
	Revision  int       `json:"revision"` // 0: never told
	From      time.Time `json:"from,omitzero"`
	Until     time.Time `json:"until,omitzero"`
	Withdrawn time.Time `json:"withdrawn,omitzero"` // when this occurrence was given up; zero: it stands
}

// After returns what is known once n has gone out.
func (k Known) After(n Notice) Known {
	return Known{Revision: n.Revision, From: n.From, Until: n.Until, Withdrawn: k.Withdrawn}
}

// Reason is why a notice goes out or stays.
type Reason string

// Every reason there is; the first four send.
const (
	First       Reason = "first"        // nobody was told yet
	Nearer      Reason = "nearer"       // an end comes nearer by nearerBy or more
	Later       Reason = "later"        // an end goes out by laterBy or more
	Renewed     Reason = "renewed"      // an end is known now that was not, or no longer
	AlreadyTold Reason = "already_told" // word for word the ends that were told
	Unchanged   Reason = "unchanged"    // an end moved by too little to tell
	Over        Reason = "over"         // what it offers has ended
	Withdrawn   Reason = "withdrawn"    // this occurrence was given up; another gets its own id
)

// Decision says whether a notice goes out, why, and under which revision.
type Decision struct {
	Send     bool   `json:"send"`
	Reason   Reason `json:"reason"`
	Revision int    `json:"revision"` // of the notice to send, else of the one last sent
}

// Decide says whether want goes out, given what people were told under its id. Ends are compared
// with those last told, not with those last computed, so many small moves add up until they are
// worth telling. A beginning already past, in both versions, moves nothing that anybody could
// still use.
func Decide(known Known, want Notice, now time.Time) Decision {
	stay := func(r Reason) Decision { return Decision{Reason: r, Revision: known.Revision} }
	send := func(r Reason) Decision { return Decision{Send: true, Reason: r, Revision: known.Revision + 1} }

	if !known.Withdrawn.IsZero() {
		return stay(Withdrawn)
	}
	if want.Kind.trait().offer && !want.Until.IsZero() && !want.Until.After(now) {
		return stay(Over)
	}
	if known.Revision == 0 {
		return send(First)
	}
	moves := [2]Reason{moved(known.Until, want.Until), AlreadyTold}
	if known.From.After(now) || want.From.After(now) {
		moves[1] = moved(known.From, want.From)
	}
	// The reason most worth hearing first: work may be lost, then time may be gained.
	for _, r := range [...]Reason{Nearer, Renewed, Later} {
		if moves[0] == r || moves[1] == r {
			return send(r)
		}
	}
	if moves[0] == Unchanged || moves[1] == Unchanged {
		return stay(Unchanged)
	}
	return stay(AlreadyTold)
}

// moved names how one end moved from what was told to what is wanted.
func moved(told, want time.Time) Reason {
	switch {
	case told.Equal(want):
		return AlreadyTold
	case told.IsZero() || want.IsZero():
		return Renewed
	case told.Sub(want) >= nearerBy:
		return Nearer
	case want.Sub(told) >= laterBy:
		return Later
	}
	return Unchanged
}
