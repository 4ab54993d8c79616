package pages

import (
	"net/http"
	"os"
	"testing"

	"fairwindow/conditions"
	"fairwindow/planner"
	"fairwindow/sensors"
)

// TestLook serves the invented yard for a person to look at:
// FAIRWINDOW_LOOK=127.0.0.1:8099 go test -run TestLook ./daemon/pages
func TestLook(t *testing.T) {
	address := os.Getenv("FAIRWINDOW_LOOK")
	if address == "" {
		t.Skip("set FAIRWINDOW_LOOK to an address to look at the pages in a browser")
	}
	f := coated(conditions.Cure{
		DustFree: hours(2), Recoat: hours(40), Sandable: hours(50), LastRecoat: hours(90), Reactivate: hours(200), Launch: hours(150),
	}, exposed(12, 19), exposed(18.4, 31.2))
	f.hulls = map[string]conditions.Worked{"Kestrel": {
		Parts: []conditions.WorkedPart{{Part: conditions.Sides, Coldest: 18.4, Warmest: 31.2}, {Part: conditions.House, Coldest: 22, Warmest: 29}},
		Read:  at(7, 8, 10), Coldest: 17, Warmest: 17, Model: 18.4,
	}}
	f.presses = append(f.presses, planner.Press{ID: 200, Kind: planner.Started, Key: planner.Key{Boat: "Kestrel", Area: "topsides", Stage: "second gloss"}, Happened: now})
	f.readings = append(f.readings, sensors.Reading{Source: "booth fan", Place: "Booth 1", At: now, Values: map[conditions.Variable]float64{conditions.Fan: 0}})
	t.Fatal(http.ListenAndServe(address, handlerOf(t, f)))
}
