package pages

import (
	"testing"

	"fairwindow/config"
)

// Limits as a text of several lines: no text brings the reader down, and what is read
// comes back as it was written.
func FuzzLimitsText(f *testing.F) {
	for _, text := range []string{"margin: 3 C", "humidity max: 85 %\nrain_max: 20 %", "margin", "margn: 1 C", ":", "wind_max: 1,200 m/s"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		var l, again config.Limits
		if err := limitsSlot("limits", "", &l).take(text); err != nil {
			return
		}
		written := limitsSlot("limits", "", &l).text()
		if err := limitsSlot("limits", "", &again).take(written); err != nil {
			t.Fatalf("%q was written and can't be read: %v", written, err)
		}
		if got := limitsSlot("limits", "", &again).text(); got != written {
			t.Fatalf("%q comes back as %q", written, got)
		}
	})
}

func TestACommaIsNotGuessedAt(t *testing.T) {
	for text, want := range map[string]string{"16,5 ft": "16.5 ft", "18 m": "18 m", "1,25 t": "1.25 t", "1,2345 t": "1.2345 t", "1,200 kg": "", "30,000 lb": ""} {
		if got, err := pointed(text); got != want || (err != nil) != (want == "") {
			t.Errorf("%q is read as %q, %v; want %q", text, got, err, want)
		}
	}
}
