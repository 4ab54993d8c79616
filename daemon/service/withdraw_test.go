package service

import (
	"fmt"
	"strings"
	"testing"

	"fairwindow/notify"
	"fairwindow/planner"
)

// TestReadyToSandIsTakenBack: when dew comes and again when the sanding begins, whoever was told
// that the coat may be sanded hears that it no longer holds; each time it is told anew under its
// own id.
func TestReadyToSandIsTakenBack(t *testing.T) {
	t.Parallel()
	r := play(t, "sanded")
	r.forecast("a.csv", monday, dry)
	r.measuring(at(0, 8, 0), good)
	r.coat(first, at(0, 7, 0), at(0, 8, 0))
	r.measuring(at(1, 0, 30), good)
	dewed := booth{20, 90, 17} // the dew point is 18.3 °C
	r.measuring(at(1, 1, 0), dewed)
	r.measuring(at(1, 2, 0), good)
	rub := planner.Key{Boat: "Boat One", Area: "topsides", Stage: "rub down"}
	r.press(planner.Press{Kind: planner.Started, Key: rub, Happened: at(1, 2, 0)})
	r.measuring(at(1, 2, 30), good)
	var got []string
	seen := map[string]bool{}
	for _, n := range r.notices(notify.ReadyToSand) {
		got = append(got, fmt.Sprintf("%d.%d %v %s", n.Occurrence, n.Revision, n.Withdrawn, n.Cause.Text))
		if id := fmt.Sprint(n.ID, n.Revision); seen[id] {
			t.Errorf("%s was used twice", id)
		} else {
			seen[id] = true
		}
	}
	want := []string{"1.1 false ", "1.2 true dew is on the hull", "2.1 false ", "2.2 true its sanding has begun"}
	if strings.Join(got, "\n") != strings.Join(want, "\n") {
		t.Errorf("got\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}
