package config

import (
	"reflect"
	"testing"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
)

func TestLookups(t *testing.T) {
	y := Yard{
		Places: []Place{{Name: "a"}, {Name: "b", Boats: 2}}, Crews: []Crew{{Name: "c", People: 3}},
		Cards: []Card{{Name: "d", Revision: 4}}, Systems: []System{{Name: "e", Stages: []Stage{{Name: "x"}, {Name: "y", Grit: 80}}}},
		Profiles: []Profile{{Name: "f", Source: "s"}},
	}
	if p, ok := y.Place("b"); !ok || p.Boats != 2 {
		t.Errorf("place: %+v, %v", p, ok)
	}
	if c, ok := y.Crew("c"); !ok || c.People != 3 {
		t.Errorf("crew: %+v, %v", c, ok)
	}
	if c, ok := y.Card("d"); !ok || c.Title() != "card d rev 4" {
		t.Errorf("card: %+v, %v", c, ok)
	}
	if p, ok := y.ProfileNamed("f"); !ok || p.Source != "s" {
		t.Errorf("profile: %+v, %v", p, ok)
	}
	s, ok := y.System("e")
	if stage, i, found := s.Stage("y"); !ok || !found || i != 1 || stage.Grit != 80 {
		t.Errorf("stage: %+v, %d, %v", stage, i, found)
	}
	if _, ok := y.Place("z"); ok {
		t.Error("a place that is not there was found")
	}
	if _, i, ok := s.Stage("z"); ok || i != -1 {
		t.Errorf("a stage that is not there was found at %d", i)
	}
}

func TestWithDefaults(t *testing.T) {
	bare := Yard{
		Places: []Place{{Name: "a"}}, Crews: []Crew{{Name: "c"}}, Cards: []Card{{Name: "d"}}, Forecasts: []Forecast{{Name: "f"}},
		Systems: []System{{Name: "e", Stages: []Stage{{Name: "x", Kind: Coat, Skill: "paint"}, {Name: "y", Kind: Hold}}}},
	}
	d := bare.WithDefaults()
	stages := d.Systems[0].Stages
	if d.Confidence.Start.SI != 0.95 || d.Confidence.Plan.SI != 0.7 || d.Confidence.Pencil.SI != 0.5 ||
		d.Confidence.Start.String() != "95 %" || d.Notice.Ahead != hours(48) || d.Notice.Frozen != hours(4) || d.Notice.Stale != hours(4) ||
		d.Keep.Readings != days(90) || d.Keep.Plans != days(400) || d.Keep.Warranty != Lasting(days(1095)) ||
		d.Listen != "127.0.0.1:8450" || d.Bus.Listen != "127.0.0.1:4450" || d.Bus.MQTT != "127.0.0.1:1850" || d.Release != ByHand ||
		d.Places[0].Boats != 1 || d.Places[0].Move.Std().Minutes() != 30 || d.Crews[0].People != 1 || d.Cards[0].Revision != 1 ||
		d.Cards[0].ProtectUntil != conditions.Protected || stages[0].People != 1 || stages[0].Passes != 1 || stages[1].People != 0 ||
		d.Forecasts[0].Stale != hours(18) {
		t.Errorf("got %+v", d)
	}
	if w := d.Weights; w.Lateness <= 0 || w.Spoiling <= 0 || w.Repair <= 0 || w.Holding <= 0 || w.Change <= 0 {
		t.Errorf("a weight is nothing: %+v", w)
	}
	if bare.Places[0].Boats != 0 || bare.Systems[0].Stages[0].Passes != 0 || bare.Cards[0].Revision != 0 {
		t.Error("the yard it was called on has changed")
	}
	if again := d.WithDefaults(); !reflect.DeepEqual(again, d) {
		t.Error("a second time changes something")
	}
	written := Yard{Release: Auto, Bus: Bus{URL: "nats://host"}, Notice: Noticing{Stale: hours(2)}}.WithDefaults()
	if written.Release != Auto || written.Notice.Stale != hours(2) || written.Bus.Listen != "" {
		t.Errorf("what was written is gone: %+v", written)
	}
}

func TestNear(t *testing.T) {
	words := []string{"booth", "shed", "tent", "slip", "standing", "by hand"}
	for typed, want := range map[string]string{
		"boot": "booth", "shde": "shed", "TENT": "tent", "standign": "standing", "by hnad": "by hand", "s": "", "dock": "", "": "",
	} {
		if got, ok := Near(typed, words); got != want || ok != (want != "") {
			t.Errorf("%q: got %q, %v, want %q", typed, got, ok, want)
		}
	}
}

// Checks walk whatever they are given; an empty yard and boat have faults, not panics.
func TestChecksOfNothing(t *testing.T) {
	if faults := (Yard{}).Check(); len(faults) < 5 {
		t.Errorf("an empty yard has %d faults: %v", len(faults), faults)
	}
	if faults := CheckBoats(Yard{}, []Boat{{}}); len(faults) < 5 {
		t.Errorf("an empty boat has %d faults: %v", len(faults), faults)
	}
	for _, f := range append((Yard{}).Check(), CheckBoats(Yard{}, []Boat{{Length: unit.Of(unit.Length(5)), Beam: unit.Of(unit.Length(2))}})...) {
		if f.Path == "" || f.What == "" || f.Right == "" {
			t.Errorf("a fault lacks something: %+v", f)
		}
	}
}
