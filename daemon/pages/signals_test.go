package pages

import (
	"net/http"
	"net/url"
	"testing"

	"fairwindow/conditions"
)

func signalValues() url.Values {
	return url.Values{"once": {"o2"}, "mode": {"spraying"}, "fan": {"runs"}, "door": {"shut"}, "filter_pressure": {"1.2 hPa"}, "at": {"2026-04-07T10:15"}, "by": {"Ines"}}
}

// TestSignals: what is seen of a booth is kept as a sensor would send it; what nobody
// looked at is not said.
func TestSignals(t *testing.T) {
	f := newFake()
	_, body := get(t, f, "/place/Booth%201")
	has(t, body, "Say how the booth stands", `<option value="">not looked</option><option>runs</option><option>stands</option>`)
	_, shed := get(t, f, "/place/North%20shed")
	hasNot(t, shed, "Say how the booth stands")
	answer, _ := post(t, f, "/place/Booth%201/signals", signalValues())
	if answer.StatusCode != http.StatusSeeOther || answer.Header.Get("Location") != "/place/Booth%201?said=reading" || len(f.taken) != 1 {
		t.Fatalf("%d to %q, %d kept", answer.StatusCode, answer.Header.Get("Location"), len(f.taken))
	}
	r := f.taken[0]
	if r.Source != "Ines by eye" || r.Place != "Booth 1" || r.Boat != "" || !r.At.Equal(at(7, 10, 15)) || r.Key != "hand/o2" || len(r.Flags) != 0 || len(r.Values) != 4 ||
		r.Values[conditions.BoothMode] != 1 || r.Values[conditions.Fan] != 1 || r.Values[conditions.FilterPressure] != 120 {
		t.Errorf("kept %+v", r)
	}
	if open, ok := r.Values[conditions.Door]; !ok || open != 0 {
		t.Errorf("the door is %v, %v", open, ok)
	}
	f, form := newFake(), url.Values{"once": {"o3"}, "fan": {"stands"}, "door": {""}, "mode": {""}, "at": {"2026-04-07T10:15"}, "by": {"Ines"}}
	post(t, f, "/place/Booth%201/signals", form)
	if len(f.taken) != 1 || len(f.taken[0].Values) != 1 {
		t.Fatalf("kept %+v", f.taken)
	}
	if runs, ok := f.taken[0].Values[conditions.Fan]; !ok || runs != 0 {
		t.Errorf("the fan %v, %v", runs, ok)
	}
}

func TestSignalForms(t *testing.T) {
	for _, c := range []struct {
		name   string
		change url.Values
		err    error
		status int
		says   []string
	}{
		{"nothing seen", url.Values{"mode": {""}, "fan": {""}, "door": {""}, "filter_pressure": {""}}, nil, 422, []string{"Choose at least one thing that you saw."}},
		{"no such state", url.Values{"fan": {"half"}}, nil, 422, []string{"Choose one of these: runs, stands.", "<option selected>shut</option>", `value="1.2 hPa"`}},
		{"no unit", url.Values{"filter_pressure": {"120"}}, nil, 422, []string{"has no unit", "<option selected>runs</option>"}},
		{"no name", url.Values{"by": {" "}}, nil, 422, []string{"Write who looked."}},
		{"still to come", url.Values{"at": {"2026-04-08T10:00"}}, nil, 422, []string{"still to come"}},
		{"no id", url.Values{"once": {""}}, nil, 422, []string{"Nothing was kept"}},
		{"refused", nil, publicError{"The disk is full; write it on paper."}, 409, []string{"The disk is full; write it on paper."}},
	} {
		t.Run(c.name, func(t *testing.T) {
			f, form := newFake(), signalValues()
			f.err = c.err
			for k, v := range c.change {
				form[k] = v
			}
			answer, body := post(t, f, "/place/Booth%201/signals", form)
			if answer.StatusCode != c.status || len(f.taken) != 0 {
				t.Fatalf("status %d, want %d; %d kept", answer.StatusCode, c.status, len(f.taken))
			}
			has(t, body, c.says...)
		})
	}
	if answer, _ := post(t, newFake(), "/place/Nowhere/signals", signalValues()); answer.StatusCode != http.StatusNotFound {
		t.Errorf("a place that there is not: %d", answer.StatusCode)
	}
}
