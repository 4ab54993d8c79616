package unit

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"
)

// Duration is elapsed time written with its unit: "2.5 h", "30 min", "7 d". A
// day is 24 hours: coatings cure by the stopwatch, not by the calendar.
type Duration time.Duration

// longest is what a duration may be: a hundred years.
const longest = 100 * 365 * 24 * time.Hour

var durations = map[string]time.Duration{
	"s": time.Second, "min": time.Minute, "h": time.Hour, "d": 24 * time.Hour, "w": 7 * 24 * time.Hour,
}

// ParseDuration reads "2.5 h" or several parts such as "1 h 30 min".
func ParseDuration(text string) (Duration, error) {
	fault := func() error {
		return fmt.Errorf("%q is not a duration; write a number and s, min, h, d or w, like \"2.5 h\"", text)
	}
	rest, total := strings.TrimSpace(text), time.Duration(0)
	if rest == "" {
		return 0, fault()
	}
	for rest != "" {
		i := 0
		for i < len(rest) && strings.IndexByte("0123456789.+-", rest[i]) >= 0 {
			i++
		}
		value, err := strconv.ParseFloat(rest[:i], 64)
		if err != nil {
			return 0, fault()
		}
		rest = strings.TrimLeft(rest[i:], " ")
		i = 0
		for i < len(rest) && rest[i] >= 'a' && rest[i] <= 'z' {
			i++
		}
		per, ok := durations[rest[:i]]
		if !ok {
			return 0, fault()
		}
		part := value * float64(per)
		if math.Abs(part) > float64(longest) {
			return 0, fmt.Errorf("%q is longer than a hundred years", text)
		}
		total += time.Duration(math.Round(part))
		if total.Abs() > longest {
			return 0, fmt.Errorf("%q is longer than a hundred years", text)
		}
		rest = strings.TrimLeft(rest[i:], " ")
	}
	return Duration(total), nil
}

// Std is the duration as the standard library's type.
func (d Duration) Std() time.Duration { return time.Duration(d) }

// String is the duration as a person would write it, exact and readable by
// ParseDuration: whole days, hours with one decimal, or hours, minutes and seconds.
func (d Duration) String() string {
	t := time.Duration(d)
	whole := func(t, of time.Duration, name string) string {
		return strconv.FormatInt(int64(t/of), 10) + " " + name
	}
	switch {
	case t == 0:
		return "0 min"
	case t%(24*time.Hour) == 0:
		return whole(t, 24*time.Hour, "d")
	case t.Abs() >= time.Hour && t.Abs() < 1000*time.Hour && t%(6*time.Minute) == 0:
		return strconv.FormatFloat(t.Hours(), 'f', -1, 64) + " h"
	}
	var parts []string
	if t/time.Hour != 0 {
		parts = append(parts, whole(t, time.Hour, "h"))
	}
	if t %= time.Hour; t/time.Minute != 0 {
		parts = append(parts, whole(t, time.Minute, "min"))
	}
	if t %= time.Minute; t != 0 {
		parts = append(parts, strconv.FormatFloat(t.Seconds(), 'f', -1, 64)+" s")
	}
	return strings.Join(parts, " ")
}

// MarshalText writes the duration.
func (d Duration) MarshalText() ([]byte, error) { return []byte(d.String()), nil }

// UnmarshalText reads a duration.
func (d *Duration) UnmarshalText(text []byte) error {
	parsed, err := ParseDuration(string(text))
	if err == nil {
		*d = parsed
	}
	return err
}
