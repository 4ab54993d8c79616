package file_test

import (
	"testing"

	"fairwindow/config"
	"fairwindow/config/file"
)

// Whatever stands in a file: no panic, no mistake without a line in it, and a
// yard without mistakes has no faults.
func FuzzYard(f *testing.F) {
	yard, _ := file.Starter()
	f.Add(yard)
	f.Add([]byte("yard: &a [*a]"))
	f.Add([]byte("a: &a {<<: *a}\nplaces: [*a, *a]"))
	f.Add([]byte("crews: [{shifts: [{starts: CRON_TZ=x, length: 1e300 h}]}]"))
	f.Add([]byte("cards: [{cure: {recoat: [{at: -300 C, takes: 0 h}, {at: 1e308 F, takes: -1 h}]}}]\n---\n"))
	f.Add([]byte("latitude: .nan\nweights: {change: .inf}\nclosures: [null, ~, ]"))
	f.Fuzz(func(t *testing.T, data []byte) {
		y, mistakes := file.Yard("yard.yaml", data)
		for _, m := range mistakes {
			if m.What == "" || m.File == "" {
				t.Errorf("a mistake says nothing: %+v", m)
			}
		}
		if mistakes.Err() != nil {
			return
		}
		for _, fault := range y.Check() {
			if !fault.Warning {
				t.Errorf("a yard without mistakes has a fault: %+v", fault)
			}
		}
	})
}

func FuzzBoats(f *testing.F) {
	_, boats := file.Starter()
	f.Add("boats.yaml", boats)
	f.Add("boats.csv", []byte("boat,length,beam,arrives,promised,area,system,size\nOne,1 m,1 m,2026-04-06,2026-04-07,deck,gloss,1 m2\n"))
	f.Add("boats.csv", []byte("boat;length;beam\n\"a\nb"))
	f.Add("boats.csv", []byte(",,\n\n,"))
	yardText, _ := file.Starter()
	yard, _ := file.Yard("yard.yaml", yardText)
	f.Fuzz(func(t *testing.T, name string, data []byte) {
		boats, mistakes := file.BoatsFor(yard, name, data)
		if mistakes.Err() != nil {
			return
		}
		for _, fault := range config.CheckBoats(yard, boats) {
			if !fault.Warning {
				t.Errorf("boats without mistakes have a fault: %+v", fault)
			}
		}
	})
}
