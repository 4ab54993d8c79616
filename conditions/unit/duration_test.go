package unit

import (
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func TestParseDuration(t *testing.T) {
	for text, want := range map[string]time.Duration{
		"2.5 h": 150 * time.Minute, "30 min": 30 * time.Minute, "30min": 30 * time.Minute, "7 d": 168 * time.Hour,
		"1 w": 168 * time.Hour, "1 h 30 min": 90 * time.Minute, "1h30min": 90 * time.Minute, " 90 s ": 90 * time.Second, "0 h": 0,
	} {
		if d, err := ParseDuration(text); err != nil || d.Std() != want {
			t.Errorf("%q is %v, %v; want %v", text, d.Std(), err, want)
		}
	}
	for text, says := range map[string]string{
		"":                 "is not a duration",
		"soon":             "is not a duration",
		"8":                "s, min, h, d or w",
		"8 hours":          "s, min, h, d or w",
		"1 h and 30 min":   "is not a duration",
		"200000 w":         "longer than a hundred years",
		"99 w 36400 d 1 w": "longer than a hundred years",
		"1..5 h":           "is not a duration",
	} {
		if d, err := ParseDuration(text); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%q gave %v, %v; want %q", text, d, err, says)
		}
	}
}

func TestDurationString(t *testing.T) {
	for d, want := range map[time.Duration]string{
		0: "0 min", 30 * time.Minute: "30 min", 90 * time.Minute: "1.5 h", 100 * time.Minute: "1 h 40 min", 48 * time.Hour: "2 d",
		36 * time.Hour: "36 h", 45 * time.Second: "45 s", 3725 * time.Second: "1 h 2 min 5 s", -100 * time.Minute: "-1 h -40 min",
	} {
		if got := Duration(d).String(); got != want {
			t.Errorf("%v is %q, want %q", d, got, want)
		}
	}
}

// TestDurationRoundTrip to the nanosecond over a hundred years.
func TestDurationRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		grain := rapid.SampledFrom([]time.Duration{1, time.Second, time.Minute, 6 * time.Minute, time.Hour, 24 * time.Hour}).Draw(t, "grain")
		d := Duration(rapid.Int64Range(-int64(longest), int64(longest)).Draw(t, "d"))
		d -= d % Duration(grain)
		text, err := d.MarshalText()
		if err != nil {
			t.Fatal(err)
		}
		var back Duration
		if err := back.UnmarshalText(text); err != nil || back != d {
			t.Fatalf("%d is %s, which is %d, %v", d, text, back, err)
		}
	})
}

func FuzzParseDuration(f *testing.F) {
	for _, s := range []string{"2.5 h", "1 h 30 min", "", "-", "1.h", "1 d1w", "9999999999999999999 s"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		d, err := ParseDuration(text)
		if err != nil {
			return
		}
		if d.Std().Abs() > longest {
			t.Fatalf("%q gave %v", text, d)
		}
		if again, err := ParseDuration(d.String()); err != nil || again != d {
			t.Fatalf("%q is %q, which gave %v, %v", text, d, again, err)
		}
	})
}
