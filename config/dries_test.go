package config

import (
	"strings"
	"testing"

	"fairwindow/conditions/unit"
)

func TestDehumidifierUnderARoof(t *testing.T) {
	dries := func(takes, leaks, stops string) *Dehumidifier {
		d := &Dehumidifier{}
		for _, w := range []struct {
			text string
			into interface{ UnmarshalText([]byte) error }
		}{{takes, &d.Takes}, {leaks, &d.Leaks}, {stops, &d.DownTo}} {
			if err := w.into.UnmarshalText([]byte(w.text)); err != nil {
				t.Fatal(err)
			}
		}
		return d
	}
	for _, c := range []struct {
		kind  PlaceKind
		d     *Dehumidifier
		wrong string // part of the fault; none: none
	}{
		{Shed, dries("20 kg/h", "4000 m3/h", "55 %"), ""},
		{Tent, dries("20 kg/h", "4000 m3/h", ""), ""},
		{Slip, dries("20 kg/h", "4000 m3/h", ""), "nobody dries the air of a slip"},
		{Booth, dries("20 kg/h", "4000 m3/h", ""), "part of its plant"},
		{Shed, dries("", "4000 m3/h", ""), "of water out of the air"},
		{Shed, dries("20 kg/h", "", ""), "of outdoor air comes in"},
		{Shed, dries("20 kg/h", "4000 m3/h", "100 %"), "no dehumidifier stops at 100 %"},
	} {
		y := Yard{Places: []Place{{Name: "here", Kind: c.kind, Dehumidifier: c.d}}}
		var found []string
		for _, f := range y.Check() {
			if strings.HasPrefix(f.Path, "places[0].dehumidifier") {
				found = append(found, f.What)
			}
		}
		if all := strings.Join(found, "; "); (c.wrong == "") != (all == "") || !strings.Contains(all, c.wrong) {
			t.Errorf("in a %s: %q, want %q", c.kind, all, c.wrong)
		}
	}
	e := Yard{}.Enclosure(Place{Kind: Shed, Dehumidifier: dries("20 kg/h", "4000 m3/h", "55 %")})
	if e.OwnAir || e.Dehumidifier != unit.WaterRate(20) || e.Leaks != 4000 || e.DownTo != 55 {
		t.Errorf("%+v", e)
	}
}
