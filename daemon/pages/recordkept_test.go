package pages

import (
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
	}{
		{"the yard's", "", "as it was read until 5 May 2029, 3 years after the launch. This boat has no warranty of its own", launched, launched},
		{"its own", "2031-06-30", "until 30 June 2031, the last day of this boat's warranty.", launched, launched},
		{"forever", "forever", "for good: this boat's warranty has no end.", launched, launched},
		{"not launched", "", "once it is launched, the evidence is kept for 3 years.", time.Time{}, launched},
		{"not launched, its own", "2031-06-30", "is kept until its warranty ends, on 30 June 2031.", time.Time{}, launched},
		{"the last day", "2031-06-30", "kept just as it was read until 30 June 2031", launched, time.Date(2031, 6, 30, 23, 59, 0, 0, zone)},
		{"the day after", "2031-06-30", "until 30 June 2031, the last day of this boat's warranty. Since then it may be gone; where it is, this page says not measured.", launched, time.Date(2031, 7, 1, 0, 0, 0, 0, zone)},
	} {
		b := config.Boat{Warranty: test.own}
		got := clock{now: test.now, zone: zone}.kept(y.Keeps(b, test.launched), b, y.Keep.Warranty)
		if !strings.Contains(got, test.says) || strings.Contains(got, "may be gone") != strings.Contains(test.says, "may be gone") {
			t.Errorf("%s: %s", test.name, got)
		}
	}
}
