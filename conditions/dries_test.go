package conditions

import (
	"testing"

	"fairwindow/conditions/unit"
)

// 20 kg/h out of 4000 m³/h of standard air (4800 kg/h) are 4.17 g/kg less, in every
// mode: where no fan blows the air comes in by the leaks alone.
func TestDehumidifierInAShed(t *testing.T) {
	w := outdoors(15, 90)
	shed := Enclosure{Roofed: true, Dehumidifier: 20, Leaks: 4000, SprayFlow: 60000}
	for _, m := range []Mode{Idle, Spraying, Curing} {
		air, dew, short := shed.Air(w, m)
		if air != 15 || short {
			t.Errorf("%s: %v, short %v; nothing warms a shed", m, air, short)
		}
		near(t, "water taken, g/kg", 1000*(ratio(saturation(w.DewPoint), seaLevel)-ratio(saturation(dew), seaLevel)), 4.167, 0.01)
	}
	shed.DownTo = 75
	_, dew, _ := shed.Air(w, Idle)
	near(t, "stopped by its humidistat", RelativeHumidity(15, dew), 75, 0.01)
	shed.DownTo = 95
	if _, dew, _ = shed.Air(w, Idle); dew != w.DewPoint {
		t.Errorf("%v; air that is drier than it asks for stays as it is, %v", dew, w.DewPoint)
	}
	shed.DownTo, shed.Dehumidifier = 0, unit.WaterRate(500)
	if _, dew, _ = shed.Air(w, Idle); dew < driest-0.01 || dew > driest+0.01 {
		t.Errorf("%v; it ices below %v", dew, driest)
	}
}
