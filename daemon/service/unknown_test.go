package service

import (
	"fmt"
	"testing"
)

// TestUnknownIsShut: a place of which nothing good was read lately opens no window,
// however it came to be unknown.
func TestUnknownIsShut(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		name string
		say  func(r *rig) string // what the sensor says at a tick; empty: nothing
		open bool
	}{
		{"good", func(r *rig) string { return good.at(r.clock.Now()) }, true},
		{"silent", func(*rig) string { return "" }, false},
		{"no humidity", func(r *rig) string { return `"air": 20, "surface": 20` }, false},
		{"no air", func(r *rig) string { return `"humidity": 40, "surface": 20` }, false},
		{"no surface", func(r *rig) string { return `"air": 20, "humidity": 40` }, false},
		{"humidity null", func(r *rig) string { return `"air": 20, "humidity": null, "surface": 20` }, false},
		{"no number", func(r *rig) string { return `"air": "NaN", "humidity": 40, "surface": 20` }, false},
		{"out of range", func(r *rig) string { return `"air": 20, "humidity": 4, "surface": 20` }, false},
		{"power-on value", func(r *rig) string { return `"air": 85, "humidity": 40, "surface": 20` }, false},
		{"contradiction", func(r *rig) string { return `"air": 20, "wet_bulb": 20.5, "surface": 20` }, false},
		{"a leap at each tick", func(r *rig) string {
			return fmt.Sprintf(`"air": 20, "humidity": %d, "surface": 20`, 30+60*int(r.clock.Now().Unix()/300%2))
		}, false},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			r := play(t, "two coats")
			r.forecast("a.csv", monday, dry)
			r.during(at(0, 8, 0), func() {
				if said := tt.say(r); said != "" && r.clock.Now().Before(at(0, 8, 0)) {
					r.send(`{"source": "air", "values": {` + said + `}}`)
					r.settle()
				}
			})
			if opened := len(r.notices("window_opens")) > 0; opened != tt.open {
				t.Errorf("opened: %v\n%s", opened, said(r.notices()))
			}
		})
	}
}
