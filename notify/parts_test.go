package notify

import (
	"strings"
	"testing"
)

// Each kind's sentence says what, where, until when, why and what to do, as far as its notice
// has it, in that order but for the kinds whose news is the end itself.
func TestSentenceHasItsFiveParts(t *testing.T) {
	zone := berlin(t)
	for _, n := range examples(zone) {
		t.Run(string(n.Kind), func(t *testing.T) {
			s := Style{Zone: zone, Units: SI}
			got := Sentence(n, s)
			low := strings.ToLower(got)
			part := func(name, text string) int {
				if text == "" {
					return -1
				}
				at := strings.Index(low, strings.ToLower(text))
				if at < 0 {
					t.Errorf("no %s, %q, in: %s", name, text, got)
				}
				return at
			}
			w := wording{n, s}
			what := w.job()
			if n.Kind.trait().source {
				what = n.Cause.Source
			}
			part("what", what)
			part("where", n.Place)
			when := n.Until
			if when.IsZero() {
				when = n.From
			}
			if !when.IsZero() && n.Kind != WindowClosed { // that is told as it happens
				part("when", when.In(zone).Format("15:04"))
			}
			why := n.Cause.Text
			if why == "" {
				why = n.Cause.Whose
			}
			reason := part("why", why)
			do := n.Do
			if do == "" {
				do = usual(n.Kind)
			} else {
				do = w.do()
			}
			if do == "" {
				t.Fatal("nobody is told what to do")
			}
			if act := part("what to do", do); act < reason {
				t.Errorf("what to do comes before why: %s", got)
			}
			if strings.Count(got, ": ") > 2 || len(got) > 330 {
				t.Errorf("too much for one look (%d letters): %s", len(got), got)
			}
		})
	}
}
