package pages

import (
	"testing"

	"fairwindow/conditions"
)

// TestLeads: the foot of the week says in one line which forecast leads and by how much,
// and nothing where there is no choice.
func TestLeads(t *testing.T) {
	f := newFake()
	_, body := get(t, f, "/")
	hasNot(t, body, "Forecast:")
	next := conditions.Skill{Source: "model <2>"}
	f.leading, f.ranking = "met", conditions.Ranking{Leader: "met", Skills: []conditions.Skill{{Source: "met"}}}
	_, body = get(t, f, "/")
	hasNot(t, body, "Forecast:")
	for _, c := range []struct {
		beside conditions.Duel
		want   string
	}{
		{conditions.Duel{}, "Forecast: met leads. There are not yet hours enough, foretold by both and measured, to compare it with model &lt;2&gt;."},
		{conditions.Duel{Hours: 248, Days: 14, Gain: -0.25}, "Forecast: met leads. Over 14 days and 248 hours that both foretold, it was off by 20 % less than model &lt;2&gt;."},
		{conditions.Duel{Hours: 248, Days: 14, Gain: 0.08}, "Forecast: met leads. Over 14 days and 248 hours that both foretold, model &lt;2&gt; was off by 8 % less: not surely enough to take over."},
	} {
		next.Behind = c.beside
		f.ranking.Skills = []conditions.Skill{{Source: "met"}, next}
		_, body = get(t, f, "/")
		has(t, body, c.want)
	}
	f.leading = "model <2>"
	_, body = get(t, f, "/")
	has(t, body, "Forecast: model &lt;2&gt; stands in for met, which has none now that is new enough and good.")
	f.leading = ""
	_, body = get(t, f, "/")
	hasNot(t, body, "Forecast:")
}
