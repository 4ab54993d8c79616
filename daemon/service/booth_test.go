package service

import (
	"testing"
	"time"

	"fairwindow/notify"
	"fairwindow/planner"
)

// withPlant adds a sensor of the booth's own signals to the yard.
var withPlant = []string{
	"forecasts:\n", `  - name: plant
    place: booth
    every: 10 min
    values: {fan: {path: fan}, door: {path: door}, filter_pressure: {path: filters, unit: Pa}}
forecasts:
`, "clearance: 5 min}", "clearance: 5 min, filter_limit: 250 Pa}"}

func (r *rig) plant(values string) {
	r.t.Helper()
	if code, answer := r.send(`{"source": "plant", "values": {` + values + `}}`); code != 202 {
		r.t.Fatal(answer)
	}
	r.settle()
}

// TestUnknownFanIsOff: no window opens in a booth whose fan sensor says nothing;
// that it stands is no matter, for it is put on for the work.
func TestUnknownFanIsOff(t *testing.T) {
	t.Parallel()
	r := play(t, "two coats", withPlant...)
	r.forecast("a.csv", monday, dry)
	r.measuring(at(0, 8, 0), good)
	r.wantSaid("", ofWindows...)
	r.healthSays("booth: whether its fan runs is not known; until it is, no window opens there.")
	r.plant(`"fan": "off"`)
	r.measuring(at(0, 8, 10), good)
	r.wantSaid("Mon 08:00 window_opens first", ofWindows...)
	// Its last word counts for three of its intervals.
	r.measuring(at(0, 8, 40), good)
	r.wantSaid("Mon 08:00 window_opens first\nMon 08:35 window_closed first", notify.WindowOpens, notify.WindowClosed)
	closed := r.notices(notify.WindowClosed)
	if len(closed) != 1 || closed[0].Cause.Text != "whether its fan runs is not known, the last word is 35 min old" || closed[0].Cause.Sure != notify.Unknown {
		t.Errorf("%+v", closed)
	}
}

// TestBoothSignals: what a running coat is warned of, the gravest first; what is to
// be done being another thing, it is told again.
func TestBoothSignals(t *testing.T) {
	t.Parallel()
	r := play(t, "two coats", withPlant...)
	r.forecast("a.csv", monday, dry)
	r.plant(`"fan": "on"`)
	r.measuring(at(0, 7, 30), good)
	r.plant(`"fan": "on", "door": "shut", "filter_pressure": "120 Pa"`)
	r.press(planner.Press{Kind: planner.Started, Key: first})
	r.measuring(at(0, 7, 40), good)
	r.wantSaid("", notify.BoothStopped)
	r.plant(`"fan": "on", "door": "shut", "filter_pressure": "2.6 hPa"`)
	r.measuring(at(0, 7, 50), good)
	r.plant(`"door": "open"`)
	r.measuring(at(0, 8, 0), good)
	r.plant(`"door": "shut", "filter_pressure": "120 Pa"`)
	r.measuring(at(0, 8, 30), good) // the fan was last heard of at 7:40
	var got []string
	for _, n := range r.notices(notify.BoothStopped) {
		got = append(got, n.At.Format("15:04 ")+notify.Sentence(n, notify.Style{Zone: time.UTC}))
	}
	want := []string{
		"07:40 Filters past their limit in booth during first pass 1 on Boat One topsides: filter pressure 260 Pa, at most 250 Pa allowed, measured; stop at a whole pass, the filters must be changed.",
		"07:50 Door open in booth during first pass 1 on Boat One topsides, measured; stop spraying until the door is shut.",
		"08:15 Booth may have stopped during first pass 1 on Boat One topsides: whether its fan runs is not known, the last word is 35 min old; look whether the fan runs; without it stop spraying, heat off.",
	}
	if asJSON(t, got) != asJSON(t, want) {
		t.Errorf("got\n%s\nwant\n%s", asJSON(t, got), asJSON(t, want))
	}
}
