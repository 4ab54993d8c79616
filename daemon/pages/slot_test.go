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
	for text, want := range map[string]string{"16,5 ft": "16.5 ft", "18 m": "18 m", "13 ft 6,5 in": "13 ft 6.5 in", "1,25 t": "1.25 t", "1,2345 t": "1.2345 t", "1,200 kg": "", "30,000 lb": ""} {
		if got, err := pointed(text); got != want || (err != nil) != (want == "") {
			t.Errorf("%q is read as %q, %v; want %q", text, got, err, want)
		}
	}
}

// A day is asked for by the browser's own field where that can show what stands there;
// what it can't show is typed, and nothing of it is lost. The field's T is none of the book's.
func TestDaysArePicked(t *testing.T) {
	var promised, arrives string
	for _, tt := range []struct{ of, text, value, field, kept string }{
		{"day", "", "", dayPicker, ""},
		{"day", "2026-05-15", "2026-05-15", dayPicker, "2026-05-15"},
		{"day", "2026-05-15 17:00", "2026-05-15 17:00", "", "2026-05-15 17:00"},
		{"day", "2026-02-30", "2026-02-30", "", "2026-02-30"},
		{"day", "mid May", "mid May", "", "mid May"},
		{"moment", "", "", momentPicker, ""},
		{"moment", "2026-04-03 08:00", "2026-04-03T08:00", momentPicker, "2026-04-03 08:00"},
		{"moment", "2026-04-03T08:00", "2026-04-03T08:00", momentPicker, "2026-04-03 08:00"},
		{"moment", "2026-04-03", "2026-04-03", "", "2026-04-03"},
		{"moment", "2026-04-03T25:00", "2026-04-03T25:00", "", "2026-04-03T25:00"},
	} {
		s, kept := wordsSlot("promised", "", "", &promised).day(), &promised
		if tt.of == "moment" {
			s, kept = wordsSlot("arrives", "", "", &arrives).moment(), &arrives
		}
		value, field := s.picked(tt.text)
		if err := s.take(tt.text); err != nil || value != tt.value || field != tt.field || *kept != tt.kept {
			t.Errorf("a %s %q is shown as %q in %q and kept as %q (%v); want %q, %q, %q", tt.of, tt.text, value, field, *kept, err, tt.value, tt.field, tt.kept)
		}
	}
}

// A count of 0 is what an empty field means too: it is no number of people.
func TestNobodyIsNotCountedAsOne(t *testing.T) {
	people := 2
	for text, want := range map[string]int{"": 0, "3": 3, "0": -1, "00": -1, "two": -1} {
		err := countedSlot("people", "", "2", &people).take(text)
		if (err != nil) != (want < 0) || err == nil && people != want {
			t.Errorf("%q is read as %d, %v", text, people, err)
		}
	}
}
