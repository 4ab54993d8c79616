package notify

import (
	"testing"
	"time"

	"pgregory.net/rapid"
)

func TestDecide(t *testing.T) {
	now := time.Date(2026, 5, 12, 8, 30, 0, 0, time.UTC)
	in := func(d time.Duration) time.Time { return now.Add(d) }
	told := Known{Revision: 2, From: in(-time.Hour), Until: in(6 * time.Hour)}
	ahead := Known{Revision: 1, From: in(3 * time.Hour), Until: in(6 * time.Hour)}
	never := time.Time{}
	for _, tt := range []struct {
		name        string
		known       Known
		kind        Kind
		from, until time.Time
		want        Decision
	}{
		{"nobody knows", Known{}, WindowOpens, never, in(time.Hour), Decision{true, First, 1}},
		{"nobody knows, too late", Known{}, WindowOpens, never, now, Decision{false, Over, 0}},
		{"a closing is news though its end is past", Known{}, WindowClosed, never, in(-time.Minute), Decision{true, First, 1}},
		{"the same", told, WindowOpens, told.From, told.Until, Decision{false, AlreadyTold, 2}},
		{"a little nearer", told, WindowOpens, told.From, in(6*time.Hour - 15*time.Minute + time.Second), Decision{false, Unchanged, 2}},
		{"nearer by 15 min", told, WindowOpens, told.From, in(6*time.Hour - 15*time.Minute), Decision{true, Nearer, 3}},
		{"a little later", told, WindowOpens, told.From, in(7*time.Hour - time.Second), Decision{false, Unchanged, 2}},
		{"later by 1 h", told, WindowOpens, told.From, in(7 * time.Hour), Decision{true, Later, 3}},
		{"no end any more", told, WindowOpens, told.From, never, Decision{true, Renewed, 3}},
		{"a past beginning moves nothing", told, WindowOpens, in(-3 * time.Hour), told.Until, Decision{false, AlreadyTold, 2}},
		{"a beginning ahead comes nearer", ahead, WindowOpens, in(2 * time.Hour), ahead.Until, Decision{true, Nearer, 2}},
		{"a beginning ahead goes out", ahead, WindowOpens, in(4 * time.Hour), ahead.Until, Decision{true, Later, 2}},
		{"nearer outweighs later", ahead, WindowOpens, in(4 * time.Hour), in(5 * time.Hour), Decision{true, Nearer, 2}},
		{"given up", Known{Revision: 1, Withdrawn: in(-time.Minute)}, WindowOpens, never, in(time.Hour), Decision{false, Withdrawn, 1}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			got := Decide(tt.known, Notice{Kind: tt.kind, From: tt.from, Until: tt.until}, now)
			if got != tt.want {
				t.Errorf("got %+v, want %+v", got, tt.want)
			}
		})
	}
}

// However an end drifts, what people were last told is never more than 15 min too late or 1 h too
// early, and saying the same again sends nothing.
func TestToldStaysNearTheTruth(t *testing.T) {
	start := time.Date(2026, 5, 12, 8, 0, 0, 0, time.UTC)
	rapid.Check(t, func(t *rapid.T) {
		var known Known
		end := start.Add(100 * time.Hour)
		for _, minutes := range rapid.SliceOfN(rapid.IntRange(-20, 40), 1, 60).Draw(t, "drift") {
			end = end.Add(time.Duration(minutes) * time.Minute)
			want := Notice{Kind: WindowOpens, Until: end}
			d := Decide(known, want, start)
			if d.Send {
				if d.Revision != known.Revision+1 {
					t.Fatalf("revision %d follows %d", d.Revision, known.Revision)
				}
				want.Revision = d.Revision
				known = known.After(want)
			}
			if late := known.Until.Sub(end); late >= nearerBy || -late >= laterBy {
				t.Fatalf("told %v, true %v", known.Until, end)
			}
			if again := Decide(known, want, start); again.Send {
				t.Fatalf("told twice: %+v", again)
			}
		}
	})
}
