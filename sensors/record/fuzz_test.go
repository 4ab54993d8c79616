package record

import (
	"encoding/json"
	"strings"
	"testing"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
)

// fuzz reads anything behind a head: an error, or hours that hold to what Read
// promises.
func fuzz(f *testing.F, head string, seeds ...string) {
	zone, err := time.LoadLocation("Australia/Lord_Howe") // half an hour of summer time
	if err != nil {
		f.Fatal(err)
	}
	for _, s := range seeds {
		f.Add([]byte(s))
		f.Add([]byte(s[:len(s)/2]))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		hours, found, err := Read("f", append([]byte(head), text...), Options{Zone: zone})
		if err != nil {
			if !strings.HasPrefix(err.Error(), "f: ") || len(hours)+len(found) > 0 {
				t.Fatalf("%v, %d hours", err, len(hours))
			}
			return
		}
		for i, h := range hours {
			if i > 0 && !h.At.Truncate(time.Hour).After(hours[i-1].At.Truncate(time.Hour)) {
				t.Fatalf("hour %d is not after the one before", i)
			}
			known := unit.Known(h.Air) && unit.Known(h.DewPoint)
			if (h.Sure == conditions.Measured) != known || h.DewPoint > h.Air || h.Air > 60 || h.Wind < 0 || h.Wind > 75 || h.Cloud > 1 || h.Shortwave < 0 || h.Rain < 0 {
				t.Fatalf("%+v", h)
			}
		}
		if _, err := json.Marshal(hours); err != nil {
			t.Fatal(err)
		}
	})
}

func FuzzStations(f *testing.F) {
	fuzz(f, "", stations, "origin,temp,dewp,humid,wind_speed,wind_gust,precip,date\nSEA,50,40,70,5,6,0,2013-01-01 06:00:00\n",
		"origin,temp,dewp,humid,wind_speed,wind_gust,precip,date\n\"0000000") // a quote that never ends
}

func FuzzEPW(f *testing.F) { fuzz(f, epwHead, "2005,1,1,2"+epwHour) }

func FuzzTMY2(f *testing.F) {
	fuzz(f, " 12839 NOWHERE                FL  -5 N 25 48 W  80 16     2\n",
		" 62010101000000000000?00000?00000?00000?00000?00000?00000?007A703A70200A70150A7073A71017A7158A7067A70161A777777A70999999999013F8062F8000A788E7\n")
}

func FuzzReference(f *testing.F) {
	fuzz(f, "", referenceRow("1605", "4.0", "0.0", "0")+"\x00"+referenceRow("1700", "4.0", "-9999.0", "3"))
}

func FuzzTable(f *testing.F) { fuzz(f, "", table) }
