package notify

import (
	"testing"
	"time"
)

func TestLetterSubject(t *testing.T) {
	item := func(k Kind, boat string) Item {
		n := news(k, 1)
		n.Boat = boat
		return Item{Notice: n, Sentence: "So it is."}
	}
	for _, tt := range []struct {
		items []Item
		want  string
	}{
		{[]Item{item(WindowOpens, "Petrel")}, "Window opens: topcoat on Petrel topsides"},
		{[]Item{item(StageMoved, "Petrel"), item(StagePutOff, "Auk")}, "Changes of plan: 2 stages"},
		{[]Item{item(MeasureNow, "Auk"), item(WetCoatAtRisk, "Petrel"), item(WindowClosed, "Auk")}, "Wet coat at risk: topcoat on Petrel topsides, and 2 more"},
		{[]Item{item(MeasureNow, "Auk"), item(WindowOpens, "Petrel")}, "2 notices"},
	} {
		l := Letter{Items: tt.items}
		if got := l.Subject(); got != tt.want {
			t.Errorf("got %q, want %q", got, tt.want)
		}
	}
	if got, want := (Letter{Items: []Item{item(WindowOpens, "a"), item(WindowOpens, "b")}}).Text(), "So it is.\n\nSo it is."; got != want {
		t.Errorf("text %q, want %q", got, want)
	}
}

// A letter's id is the same at every try and another for anything else.
func TestLetterID(t *testing.T) {
	base := []Ref{{"a/1", 1, "Ines", ByMail}, {"b/1", 2, "Ines", ByMail}}
	id := LetterID(base)
	if id != LetterID(base) || len(id) != 32 {
		t.Errorf("%q and %q", id, LetterID(base))
	}
	for _, other := range [][]Ref{base[:1], {base[1], base[0]}, {{"a/1", 2, "Ines", ByMail}, base[1]}, {{"a/1", 1, "Rui", ByMail}, base[1]}, {{"a/1", 1, "Ines", ByPush}, base[1]}} {
		if LetterID(other) == id {
			t.Errorf("%v has the same id", other)
		}
	}
}

func TestBackOff(t *testing.T) {
	for tries, want := range map[int]time.Duration{0: 30 * time.Second, 1: 30 * time.Second, 2: time.Minute, 3: 2 * time.Minute, 6: 16 * time.Minute, 7: 30 * time.Minute, 100: 30 * time.Minute} {
		if got := BackOff(tries); got != want {
			t.Errorf("after %d tries %s, want %s", tries, got, want)
		}
	}
}

func TestWithdrawnSentence(t *testing.T) {
	n := news(ReadyToSand, 1)
	n.Stage, n.Withdrawn = "surfacer", true
	n.Cause = Cause{Text: "dew is on the hull", Sure: Measured, Issued: hour(8, 0)}
	n.At = hour(8, 5)
	want := "No longer ready to sand: surfacer on Petrel topsides in Booth 2: dew is on the hull, measured 08:00; wait for the next notice."
	if got := Sentence(n, Style{}); got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
	if got, want := Title(n), "No longer ready to sand: surfacer on Petrel topsides"; got != want {
		t.Errorf("title %q, want %q", got, want)
	}
}
