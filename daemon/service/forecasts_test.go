package service

import (
	"strings"
	"testing"

	"fairwindow/notify"
)

// TestForecastFiles: a file that is no forecast, or one that can't be believed,
// is said on every page, opens no window and takes nothing away from a good one.
func TestForecastFiles(t *testing.T) {
	t.Parallel()
	lines := func(text ...string) string { return strings.Join(text, "\n") + "\n" }
	const head = "time,air_C,dew_point_C"
	hot := func(string) string {
		rows := []string{"# issued 2026-05-04T06:00:00Z", head}
		for h := range 48 {
			rows = append(rows, at(0, 6+h, 0).Format("2006-01-02T15:04:05Z")+",200,6")
		}
		return lines(rows...)
	}
	is := func(text string) func(string) string { return func(string) string { return text } }
	for _, c := range []struct {
		name string
		make func(good string) string
		says string
	}{
		{"empty", is(""), "bad.csv: the document is empty"},
		{"nothing but a header", is(lines(head)), "no point has a value"},
		{"cut off in a row", func(good string) string { return good[:len(good)-9] }, "is the file cut off?"},
		{"not CSV", is("<html>busy</html>\n"), "bad.csv"},
		{"200 °C", hot, "doubtful values left out: air out of range, 48 times"},
		{"no such time", is(lines(head, "yesterday,20,6")), `"yesterday" is not a time`},
		{"a year of its own", is(lines(head, "0026-05-04T06:00:00Z,20,6")), "is not a time of any forecast"},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			r := play(t, "two coats")
			r.forecast("bad.csv", monday, dry)
			good := r.read("bad.csv")
			r.document("bad.csv", c.make(good))
			r.measuring(at(0, 7, 30), booth{20, 40, 20})
			r.wantSaid("", ofWindows...)
			r.healthSays(c.says)
			r.document("good.csv", strings.Replace(good, "06:00:00Z\n", "06:30:00Z\n", 1))
			r.measuring(at(0, 7, 45), booth{20, 40, 20})
			r.wantSaid("Mon 07:35 window_opens first", notify.WindowOpens)
			r.document("bad.csv", strings.Replace(good, "06:00:00Z\n", "06:10:00Z\n", 1))
			r.measuring(at(0, 8, 0), booth{20, 40, 20})
			if health, err := r.svc.Health(t.Context()); err != nil || len(health) != 0 {
				t.Errorf("with both files mended: %q, %v", health, err)
			}
		})
	}
}

// TestForecastZoneAndAge: an issue from the future is taken as received, an old
// one is no forecast, and neither outranks a newer good one.
func TestForecastZoneAndAge(t *testing.T) {
	t.Parallel()
	r := play(t, "two coats")
	r.forecast("old.csv", at(-1, 6, 0), dry)
	r.measuring(at(0, 7, 15), good)
	r.wantSaid("", ofWindows...)
	r.healthSays("No forecast that is new enough")

	// Written with the clock of another zone: issued five hours from now.
	r.forecast("ahead.csv", at(0, 12, 0), dry)
	r.measuring(at(0, 7, 30), good)
	r.healthSays("doubtful")
	kept, err := r.svc.store.LatestForecasts(t.Context())
	if err != nil || len(kept) != 1 {
		t.Fatalf("%d forecasts, %v", len(kept), err)
	}
	if kept[0].Issued.After(at(0, 7, 30)) {
		t.Errorf("issued %s is still to come", kept[0].Issued)
	}
}
