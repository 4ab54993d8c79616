package conditions

import (
	"encoding/json"
	"testing"

	"fairwindow/conditions/unit"
)

// TestWorseOfSeveralInstruments: each limit of the air is judged by the instrument
// that is nearer to breaking it, and without a second one by the moment's own.
func TestWorseOfSeveralInstruments(t *testing.T) {
	// 20 °C with a dew point of 14 °C is 68 %.
	m := Moment{Air: 20, DewPoint: 14, Coldest: 20, Warmest: 20, Sure: Measured}
	wide := Airs{Coldest: unit.Some[unit.Temperature](9), Warmest: unit.Some[unit.Temperature](33), Driest: unit.Some[unit.Humidity](39), Dampest: unit.Some[unit.Humidity](86)}
	narrow := Airs{Coldest: unit.Some[unit.Temperature](19), Warmest: unit.Some[unit.Temperature](21), Driest: unit.Some[unit.Humidity](60), Dampest: unit.Some[unit.Humidity](70)}
	for _, b := range []Bound{
		{Of: OfAir, Least: true, At: 10}, {Of: OfAir, At: 32}, {Of: OfHumidity, Least: true, At: 40}, {Of: OfHumidity, At: 85},
	} {
		for _, c := range []struct {
			airs Airs
			want Answer
		}{{Airs{}, Yes}, {narrow, Yes}, {wide, No}} {
			m.Airs = c.airs
			if got := Judge(m, Rules{b}).Answer; got != c.want {
				t.Errorf("%+v by %+v: %s", b, c.airs, got)
			}
			text, err := json.Marshal(m)
			var back Moment
			if err == nil {
				err = json.Unmarshal(text, &back)
			}
			if err != nil || Judge(back, Rules{b}).Answer != c.want {
				t.Errorf("from JSON %+v by %+v: %v %s", b, c.airs, err, text)
			}
		}
	}
}
