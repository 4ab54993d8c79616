package notify

import (
	"slices"
	"time"
)

// collapseFor is the time within which a person hears of one kind of thing about one boat once;
// what comes meanwhile is told together when it ends. Urgent kinds do not wait for it.
const collapseFor = 10 * time.Minute

// Answer is what is done about one notice, one person and one way.
type Answer string

// Every answer there is. What is held or collapsed has a time at which it is told.
const (
	Tell     Answer = "tell"     // now
	Hold     Answer = "hold"     // until a time of his
	Collapse Answer = "collapse" // into one message with an earlier one of its kind
	Nothing  Answer = "nothing"
)

// Grounds is why that is done.
type Grounds string

// All grounds there are.
const (
	AtOnce        Grounds = "at_once"        // nothing stands against it
	BreakThrough  Grounds = "break_through"  // it can't wait for the end of quiet hours
	QuietHours    Grounds = "quiet_hours"    // held until they end
	NextShift     Grounds = "next_shift"     // a change of plan, in the list before the shift
	Repeat        Grounds = "repeat"         // he has just heard of this kind of thing on this boat
	PassedOn      Grounds = "passed_on"      // the one before him did not call it heard in time
	TakesBack     Grounds = "takes_back"     // he was told what no longer holds
	NotHis        Grounds = "not_his"        // he asked not to hear of it
	ToldAlready   Grounds = "told_already"   // this revision, by this way
	NeverTold     Grounds = "never_told"     // it takes back what he never heard
	OvertakenBy   Grounds = "overtaken"      // dropped: a newer one says otherwise
	OverMeanwhile Grounds = "over_meanwhile" // dropped: what it offers ended while it was held
)

// Told is one delivery as the ledger has it.
type Told struct {
	Notice Notice
	Person string
	Way    Way
	Due    time.Time
	Why    Grounds
	Tried  bool // it was sent, or may have been
	Heard  bool // somebody called this revision heard
	Off    bool // dropped before it was tried
}

// held reports whether it is still to be told for the first time.
func (t Told) held() bool { return !t.Tried && !t.Off }

// Delivery is what is done about a notice, for one person by one way.
type Delivery struct {
	Notice Notice
	Person string
	Way    Way
	Answer Answer
	Why    Grounds
	Due    time.Time // when it is told; zero with Nothing
}

// Ref names a delivery in the ledger.
type Ref struct {
	ID       string
	Revision int
	Person   string
	Way      Way
}

func (t Told) ref() Ref { return Ref{t.Notice.ID, t.Notice.Revision, t.Person, t.Way} }

// Dropped is a held delivery that is not told any more.
type Dropped struct {
	Ref
	Why Grounds
}

// Moved is a held delivery that is told earlier, so that of one boat nothing later is told first.
type Moved struct {
	Ref
	Due time.Time
}

// Routed is all that a notice asks of the ledger.
type Routed struct {
	Deliveries []Delivery // one for each person and way of his
	Dropped    []Dropped
	Hastened   []Moved
}

// Route decides whom a notice is told, when and by which ways. The ledger holds what came before,
// in the order of issue. For each person and way:
//   - what breaks through quiet hours is told now; all else that falls in them is held, and told
//     in one message when they end;
//   - a change of plan is held for the list before the next shift;
//   - what is no more than a repeat is collapsed, unless it is urgent;
//   - what was held and is overtaken is dropped; what takes back an offer reaches those who were
//     told it, whatever they asked to hear, and not those who were not;
//   - one revision goes to nobody twice by one way;
//   - of one boat nothing is told before what was issued earlier: what was held goes along.
func Route(n Notice, roster Roster, ledger []Told, now time.Time) Routed {
	var out Routed
	for _, p := range roster.People {
		for _, way := range p.Ways {
			d := route(n, p, way, roster, ledger, now, &out)
			d.Notice, d.Person, d.Way = n, p.Name, way
			out.Deliveries = append(out.Deliveries, d)
		}
	}
	return out
}

// route decides for one person and way.
func route(n Notice, p Person, way Way, roster Roster, ledger []Told, now time.Time, out *Routed) Delivery {
	nothing := func(why Grounds) Delivery { return Delivery{Answer: Nothing, Why: why} }
	var held []Told   // that still stand
	var offer *Notice // that he was told and that stands until n
	var unheard bool  // what n takes back was held until now
	var lastOfKind time.Time
	for _, t := range ledger {
		if t.Person != p.Name || t.Way != way {
			continue
		}
		if t.Notice.ID == n.ID && t.Notice.Revision == n.Revision {
			return nothing(ToldAlready)
		}
	}
	for _, t := range ledger {
		if t.Person != p.Name || t.Way != way || t.Off {
			continue
		}
		switch back := takesBack(n, t.Notice); {
		case t.Tried && back:
			offer = &t.Notice
		case t.Tried:
			if offer != nil && takesBack(t.Notice, *offer) {
				offer = nil // he heard that already
			}
		case overtakes(n, t.Notice):
			out.Dropped = append(out.Dropped, Dropped{t.ref(), OvertakenBy})
			unheard = unheard || back
			if t.Why == TakesBack || t.Why == BreakThrough {
				offer = &t.Notice // he is owed what stands now instead
			}
			continue
		default:
			held = append(held, t)
		}
		if t.Notice.Kind == n.Kind && t.Notice.Boat == n.Boat && (n.Boat != "" || t.Notice.Place == n.Place) && t.Due.After(lastOfKind) {
			lastOfKind = t.Due
		}
	}
	breaks := n.Kind.breaks() && !n.Withdrawn
	switch {
	case offer != nil:
	case n.Withdrawn:
		return nothing(NeverTold)
	case !p.Hears.of(n):
		return nothing(NotHis)
	case unheard && n.Kind == WindowClosed:
		return nothing(NeverTold)
	}
	d := Delivery{Answer: Tell, Why: AtOnce, Due: now}
	switch wait := lastOfKind.Add(collapseFor); {
	case breaks:
		d.Why = BreakThrough
	case n.Kind == StageMoved || n.Kind == StagePutOff:
		if due := roster.list(p, n, now); due.After(now) {
			d = Delivery{Answer: Hold, Why: NextShift, Due: due}
		}
	case !n.Kind.Urgent() && !n.Withdrawn && !lastOfKind.IsZero() && wait.After(now):
		d = Delivery{Answer: Collapse, Why: Repeat, Due: wait}
		if lastOfKind.After(now) {
			d.Due = lastOfKind // into the held one itself
		}
	}
	if free := p.free(d.Due); !breaks && free.After(d.Due) {
		d.Answer, d.Why, d.Due = Hold, QuietHours, free
	}
	if offer != nil && !breaks {
		d.Why = TakesBack // whenever it is told
	}
	hasten(n, d.Due, held, out)
	return d
}

// hasten has what was held of the same boat told no later than what now follows it. The list of
// changes stays one list, and so takes along what was held of its other boats.
func hasten(n Notice, due time.Time, held []Told, out *Routed) {
	if n.Boat == "" {
		return
	}
	list := slices.ContainsFunc(held, func(t Told) bool {
		return t.Notice.Boat == n.Boat && t.Due.After(due) && t.Why == NextShift
	})
	boats := map[string]bool{n.Boat: true}
	for _, t := range held {
		if list && t.Why == NextShift {
			boats[t.Notice.Boat] = true
		}
	}
	for _, t := range held {
		if t.Due.After(due) && boats[t.Notice.Boat] {
			out.Hastened = append(out.Hastened, Moved{t.ref(), due})
		}
	}
}
