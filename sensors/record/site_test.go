package record

import (
	"math"
	"testing"
	"time"
)

func TestWhereAFileWasRecorded(t *testing.T) {
	for _, tt := range []struct {
		name, head string
		lat, lon   float64
		hours      float64
		zone       string
	}{
		{"epw", "LOCATION,Somewhere,NJ,USA,TMY3,724096,40.02,-74.60,-5.0,45.0\r\n", 40.02, -74.6, -5, "UTC-5"},
		{"epw, half an hour", "LOCATION,Somewhere,-,IND,TMY3,1,18.9,72.8,5.5,11\n", 18.9, 72.8, 5.5, "UTC+5:30"},
		{"tmy2", " 12839 MIAMI                  FL  -5 N 25 48 W  80 16     2\n", 25.8, -80.2667, -5, "UTC-5"},
		{"reference", referenceRow("1610", "4", "0", "0"), 32.24, -111.17, -7, "UTC-7"},
		{"a table", "time,air_C,dew_point_C\n", math.NaN(), 0, 0, ""},
		{"epw cut short", "LOCATION,Somewhere,NJ\n", math.NaN(), 0, 0, ""},
		{"epw with a word", "LOCATION,Somewhere,NJ,USA,TMY3,724096,north,-74.60,-5.0,45.0\n", math.NaN(), 0, 0, ""},
	} {
		s, ok := Where([]byte(tt.head))
		if ok != !math.IsNaN(tt.lat) {
			t.Errorf("%s: ok %v", tt.name, ok)
			continue
		}
		if !ok {
			continue
		}
		_, offset := time.Time{}.In(s.Zone).Zone()
		if math.Abs(s.Latitude-tt.lat) > 0.001 || math.Abs(s.Longitude-tt.lon) > 0.001 || float64(offset) != tt.hours*3600 || s.Zone.String() != tt.zone {
			t.Errorf("%s: %+v", tt.name, s)
		}
	}
}
