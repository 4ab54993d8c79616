package door

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// little keeps tests quick.
var little = Cost{Memory: 8, Passes: 1, Threads: 1}

func TestPasswords(t *testing.T) {
	p := NewPasswords(little)
	stored, err := p.Keep(t.Context(), "four words of mine")
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		typed, stored string
		want          bool
	}{
		{"four words of mine", stored, true}, {"Four words of mine", stored, false}, {"", stored, false},
		{"", "", false}, {"anything at all", "", false},
		{"four words of mine" + strings.Repeat("x", 400), stored, false},
	} {
		is, _, err := p.Is(t.Context(), tt.typed, tt.stored)
		if err != nil || is != tt.want {
			t.Errorf("%.30q: %v, %v", tt.typed, is, err)
		}
	}
	if _, anew, _ := p.Is(t.Context(), "four words of mine", stored); anew {
		t.Error("stored anew though the cost is today's")
	}
	dearer := NewPasswords(Cost{Memory: 16, Passes: 1, Threads: 1})
	if is, anew, err := dearer.Is(t.Context(), "four words of mine", stored); !is || !anew || err != nil {
		t.Errorf("%v, anew %v, %v: a right password at an old cost is stored anew", is, anew, err)
	}
	if is, anew, _ := dearer.Is(t.Context(), "wrong words here", stored); is || anew {
		t.Error("a wrong password is stored anew")
	}
}

// Two at once and no more, a few who wait, and the rest are told to come again.
func TestPasswordsAreWorkedOnFewAtATime(t *testing.T) {
	p := NewPasswords(little)
	var hold []func()
	for range workedOn {
		done, err := p.turn(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		hold = append(hold, done)
	}
	answers := make(chan error)
	for range mayWait {
		go func() {
			done, err := p.turn(t.Context())
			if err == nil {
				done()
			}
			answers <- err
		}()
	}
	for len(p.waiting) < mayWait { // they come by themselves; nothing is timed
	}
	if _, err := p.turn(t.Context()); err != ErrBusy {
		t.Errorf("one more than may wait: %v", err)
	}
	for _, done := range hold {
		done()
	}
	for range mayWait {
		if err := <-answers; err != nil {
			t.Error(err)
		}
	}
}

func TestWeak(t *testing.T) {
	for _, weak := range []string{"", "short one", "aaaaaaaaaaaa", "abababababab", "Ines Ines Ines", "Ines2026!!!", "password2026", "Sample Yard 1", "1234567890", "qwertyuiop1", strings.Repeat("long", 100), "bad \xff\xfe bytes here"} {
		if Weak(weak, "Ines", "Sample Yard") == "" {
			t.Errorf("%q is taken", weak)
		}
	}
	for _, fine := range []string{"gull ladder seven blue", "Motor-Lampe-Fisch", "x7#kQ9!mzL2w", "água do mar azul", strings.Repeat("word ", 12) + "of sixty four"} {
		if why := Weak(fine, "Ines", "Sample Yard"); why != "" {
			t.Errorf("%q: %s", fine, why)
		}
	}
}

// A token of one scope never opens another, whatever scopes it has.
func TestScopesStayApart(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := Machine{Scopes: rapid.SliceOf(rapid.SampledFrom(Scopes())).Draw(t, "scopes")}
		for _, s := range append(Scopes(), Doors, "", "readings ", "Readings") {
			if m.Opens(s) != slices.Contains(m.Scopes, s) {
				t.Fatalf("%v opens %q: %v", m.Scopes, s, m.Opens(s))
			}
		}
		if m.Opens(Doors) || Doors.Known() {
			t.Fatal("a token can invite people")
		}
	})
}

func TestWords(t *testing.T) {
	seen := map[string]bool{}
	for range 100 {
		w := Word()
		if !Whole(w) || seen[w] || len(Print(w)) != 32 {
			t.Fatalf("%q", w)
		}
		seen[w] = true
	}
	w := Word()
	for _, bad := range []string{"", w + "A", w[1:], w[:42] + "=", w[:42] + "\n", strings.Repeat("!", 43), w + "\n"} {
		if Whole(bad) {
			t.Errorf("%q is taken for a word", bad)
		}
	}
}

// A burst, then one each so often; who waits as long as he is told may try; the others don't feel it.
func TestLimit(t *testing.T) {
	now := time.Date(2026, 4, 7, 7, 0, 0, 0, time.UTC)
	rapid.Check(t, func(t *rapid.T) {
		burst, each := rapid.IntRange(1, 8).Draw(t, "burst"), time.Duration(rapid.IntRange(1, 600).Draw(t, "each"))*time.Second
		l := NewLimit(burst, each, 100)
		for range burst {
			if w := l.Wait("a", now); w != 0 {
				t.Fatalf("within the burst: wait %s", w)
			}
		}
		for range 5 {
			w := l.Wait("a", now)
			if w <= 0 || w > each+time.Microsecond {
				t.Fatalf("after the burst: wait %s, one each %s", w, each)
			}
		}
		if l.Wait("b", now) != 0 {
			t.Fatal("another has to wait too")
		}
		if w := l.Wait("a", now.Add(each)); w != 0 {
			t.Fatalf("after the wait: wait %s more", w)
		}
		l.Forget("a")
		if l.Wait("a", now) != 0 {
			t.Fatal("forgotten, and still to wait")
		}
	})
}

// However many names are tried, no more are remembered; who was tried most stays in mind.
func TestLimitIsBounded(t *testing.T) {
	now := time.Date(2026, 4, 7, 7, 0, 0, 0, time.UTC)
	l := NewLimit(3, time.Hour, 50)
	for range 3 {
		l.Wait("manager", now)
	}
	for i := range 1000 {
		l.Wait(fmt.Sprint("name ", i), now)
		if len(l.by) > 50 {
			t.Fatalf("%d are remembered", len(l.by))
		}
	}
	if l.Wait("manager", now) == 0 {
		t.Error("other names made it forget who was tried most")
	}
}
