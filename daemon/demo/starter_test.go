package demo

import (
	"testing"
	"time"

	"fairwindow/conditions"
	"fairwindow/config/file"
	"fairwindow/sensors"
	"fairwindow/sensors/payload"
)

// The starter yard must come to life: every sensor of it says something that
// the daemon's decoder can read, and its boats' first Monday moves with the play.
func TestStarterYardLives(t *testing.T) {
	yardFile, boatsFile := file.Starter()
	yard, mistakes := file.Yard("yard.yaml", yardFile)
	if err := mistakes.Err(); err != nil {
		t.Fatal(err)
	}
	boats, mistakes := file.Boats("boats.yaml", boatsFile)
	if err := mistakes.Err(); err != nil {
		t.Fatal(err)
	}
	start := time.Date(2013, 4, 2, 0, 0, 0, 0, time.UTC) // a Tuesday
	boats, err := Boats(boats, start)
	if err != nil {
		t.Fatal(err)
	}
	if boats[0].Arrives != "2013-04-01 08:00" {
		t.Errorf("%s arrives %s, not on the Monday of the week of the play", boats[0].Name, boats[0].Arrives)
	}
	w := newWorld(1, yard, Invent(1, start, 3, Site{yard.Latitude, yard.Longitude}), start)
	w.arrive(1, boats[0], yard.Places[0].Name)
	for at := start; at.Before(start.AddDate(0, 0, 2)); at = at.Add(5 * time.Minute) {
		w.advance(at)
	}
	for _, i := range newInstruments(1, yard.Sensors, start, 3) {
		i.dropout, i.stuck = 0, span{}
		m, ok, err := i.report(w.now, w.seen(i.Sensor))
		if err != nil || !ok {
			t.Fatalf("%s: %v", i.Name, err)
		}
		for _, r := range payload.Decode(i.Sensor, sensors.Message{Topic: m.Topic, Payload: m.Payload, Received: w.now}, time.UTC) {
			r = sensors.Check(r, nil, i.Sensor, w.now)
			if len(r.Flags) > 0 || len(r.Values) != len(i.Values) || !r.At.Equal(w.now) {
				t.Errorf("%s: %s was read as %+v", i.Name, m.Payload, r)
			}
			if i.Place == yard.Places[0].Name {
				near(t, "hull in "+i.Place, r.Values[conditions.Surface], w.boats[boats[0].Name].hull.coldest(), 1.2)
			}
		}
	}
}
