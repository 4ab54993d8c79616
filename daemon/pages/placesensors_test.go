package pages

import (
	"testing"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
	"fairwindow/sensors"
)

// TestVapourBesideTheProbe: a place's page says how long a humidity sensor has hung in
// solvent vapour, and when it is to be checked.
func TestVapourBesideTheProbe(t *testing.T) {
	f := newFake()
	f.probes = []config.Sensor{{Name: "probe", Place: "Booth 1", CheckAfter: unit.Duration(200 * time.Hour), Values: map[conditions.Variable]config.Field{conditions.RelHumidity: {}}}}
	f.readings = append(f.readings, sensors.Reading{Source: "probe", Place: "Booth 1", At: now, Received: now, Values: map[conditions.Variable]float64{conditions.RelHumidity: 61}})
	f.exposed = map[string]sensors.Exposed{"probe": {Hours: 41.6}}
	_, body := get(t, f, "/place/Booth%201")
	has(t, body, "in solvent vapour: 42 h of 200 h, never checked by hand")
	hasNot(t, body, "to be checked")
	f.exposed["probe"] = sensors.Exposed{Hours: 200, Since: now.Add(-time.Hour)}
	_, body = get(t, f, "/place/Booth%201")
	has(t, body, "in solvent vapour: 200 h of 200 h since it was checked by hand", "humidity to be checked: 200 h in solvent vapour")
}

// TestAClockAhead: a probe whose clock is an hour ahead speaks; somebody must see to its clock,
// and not to its power.
func TestAClockAhead(t *testing.T) {
	f := newFake()
	f.probes = []config.Sensor{{Name: "probe", Place: "Booth 1", Values: map[conditions.Variable]config.Field{conditions.RelHumidity: {}}}}
	f.readings = append(f.readings, sensors.Reading{Source: "probe", Place: "Booth 1", At: now.Add(time.Hour), Received: now.Add(-5 * time.Minute),
		Values: map[conditions.Variable]float64{conditions.RelHumidity: 61}, Flags: []sensors.Flag{{Fault: sensors.FromFuture, Note: "the device's clock is 1 h ahead"}}})
	_, body := get(t, f, "/place/Booth%201")
	has(t, body, "5 min ago", "clock ahead: the device&#39;s clock is 1 h ahead")
	hasNot(t, body, "silent: look whether it has power")
}
