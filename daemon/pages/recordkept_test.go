package pages

import (
	"net/http"
	"slices"
	"strings"
	"testing"
	"time"

	"fairwindow/config"
)

// Until when evidence is kept, and why, as the manager reads it to an owner.
func TestEvidenceIsKeptInWords(t *testing.T) {
	t.Parallel()
	zone, err := time.LoadLocation("Pacific/Auckland")
	if err != nil {
		t.Fatal(err)
	}
	y := config.Yard{Zone: zone.String(), Keep: config.Keep{Warranty: config.Lasting(3 * 365 * 24 * time.Hour)}}
	launched := time.Date(2026, 5, 6, 10, 0, 0, 0, zone)
	for _, test := range []struct {
		name, own, says string
		launched        time.Time
		now             time.Time
		again           bool
	}{
		{"the yard's", "", "as it was read until 5 May 2029, 3 years after the launch. This boat has no warranty of its own", launched, launched, false},
		{"its own", "2031-06-30", "until 30 June 2031, the last day of this boat's warranty.", launched, launched, false},
		{"forever", "forever", "for good: this boat's warranty has no end.", launched, launched, false},
		{"not launched", "", "not launched yet; once it is, the evidence is kept for 3 years.", time.Time{}, launched, false},
		{"here again", "", "worked on after its launch; once it is launched again, the evidence is kept for 3 years.", time.Time{}, launched, true},
		{"not launched, its own", "2031-06-30", "is kept until its warranty ends, on 30 June 2031.", time.Time{}, launched, false},
		{"the last day", "2031-06-30", "kept just as it was read until 30 June 2031", launched, time.Date(2031, 6, 30, 23, 59, 0, 0, zone), false},
		{"the day after", "2031-06-30", "until 30 June 2031, the last day of this boat's warranty. Since then it may be gone; where it is, this page says not measured.", launched, time.Date(2031, 7, 1, 0, 0, 0, 0, zone), false},
	} {
		b := config.Boat{Warranty: test.own}
		got := clock{now: test.now, zone: zone}.kept(y.Keeps(b, test.launched), b, test.again, y.Keep.Warranty)
		if !strings.Contains(got, test.says) || strings.Contains(got, "may be gone") != strings.Contains(test.says, "may be gone") {
			t.Errorf("%s: %s", test.name, got)
		}
	}
}

// The record of a boat that was taken out of the book can be read and downloaded, with
// nothing to press.
func TestTheRecordOutlivesTheBook(t *testing.T) {
	t.Parallel()
	f := newFake()
	s := f.book.(*shelf)
	gone := f.boats[slices.IndexFunc(f.boats, func(b config.Boat) bool { return b.Name == "Kestrel" })]
	s.boats[gone.Name] = append([]config.Version[config.Boat]{{Of: gone, Revision: 2, Removed: true, By: "Rui", Why: "delivered", At: at(7, 9, 0)}}, s.boats[gone.Name]...)
	_, whole := get(t, f, recordLink(gone.Name))
	has(t, whole, "<form")
	f.boats = slices.DeleteFunc(slices.Clone(f.boats), func(b config.Boat) bool { return b.Name == gone.Name })
	answer, body := get(t, f, recordLink(gone.Name))
	has(t, body, "taken out of the book by Rui, Tue 7 Apr 09:00: delivered. Its record stays", `href="`+recordLink(gone.Name)+`.pdf"`)
	hasNot(t, body, "/entry", "/sign", "/strike")
	if answer.StatusCode != http.StatusOK {
		t.Error(answer.Status)
	}
	for _, suffix := range []string{".pdf", ".csv", ".json"} {
		if answer, _ := get(t, f, recordLink(gone.Name)+suffix); answer.StatusCode != http.StatusOK {
			t.Errorf("%s: %s", suffix, answer.Status)
		}
	}
	if answer, _ := get(t, f, recordLink("Nobody's")); answer.StatusCode != http.StatusNotFound {
		t.Errorf("a boat that never was: %s", answer.Status)
	}
	_, body = get(t, f, "/boats")
	has(t, body, `href="`+recordLink(gone.Name)+`"`)
}
