package demo

import (
	"fmt"
	"time"

	"fairwindow/config"
)

const (
	dayLayout    = "2006-01-02"
	minuteLayout = "2006-01-02 15:04"
)

// Boats moves all the boats' dates by the same whole weeks, so that their own
// first Monday becomes the Monday of the week in which the play starts, and nothing
// that was done before they came lies ahead of it. Their own is the one
// after the last stage that was done before they came in, or else the Monday of
// the week in which the first of them arrives. A play can then begin on any day
// of any year.
func Boats(boats []config.Boat, start time.Time) ([]config.Boat, error) {
	own, err := ownMonday(boats)
	if err != nil {
		return nil, err
	}
	begins := time.Date(start.Year(), start.Month(), start.Day(), 0, 0, 0, 0, time.UTC)
	days := int(monday(begins).Sub(own).Hours() / 24)
	moved := make([]config.Boat, len(boats))
	for i, b := range boats {
		b.Areas = append([]config.Area(nil), b.Areas...)
		dates := []*string{&b.Arrives, &b.Promised}
		for k := range b.Areas {
			dates = append(dates, &b.Areas[k].DoneAt)
		}
		for _, d := range dates {
			if err := shift(d, days); err != nil {
				return nil, fmt.Errorf("boat %s: %w", b.Name, err)
			}
		}
		moved[i] = b
	}
	return moved, nil
}

func ownMonday(boats []config.Boat) (time.Time, error) {
	var first, done time.Time
	for _, b := range boats {
		at, _, err := wallTime(b.Arrives)
		if err != nil {
			return first, fmt.Errorf("boat %s, arrives: %w", b.Name, err)
		}
		if first.IsZero() || at.Before(first) {
			first = at
		}
		for _, a := range b.Areas {
			if a.DoneAt == "" {
				continue
			}
			at, _, err := wallTime(a.DoneAt)
			if err != nil {
				return first, fmt.Errorf("boat %s, area %s, done_at: %w", b.Name, a.Name, err)
			}
			if at.After(done) {
				done = at
			}
		}
	}
	if done.IsZero() {
		return monday(first), nil
	}
	return monday(done).AddDate(0, 0, 7), nil
}

// monday is the midnight of the Monday at or before a time.
func monday(at time.Time) time.Time {
	back := (int(at.Weekday()) + 6) % 7
	return time.Date(at.Year(), at.Month(), at.Day()-back, 0, 0, 0, 0, time.UTC)
}

func shift(date *string, days int) error {
	if *date == "" {
		return nil
	}
	at, layout, err := wallTime(*date)
	if err != nil {
		return err
	}
	*date = at.AddDate(0, 0, days).Format(layout)
	return nil
}

func wallTime(text string) (at time.Time, layout string, err error) {
	for _, layout := range []string{dayLayout, minuteLayout} {
		if at, err := time.Parse(layout, text); err == nil {
			return at, layout, nil
		}
	}
	return time.Time{}, "", fmt.Errorf("%q is not a day or a time; write it like 2026-04-03 or \"2026-04-03 08:00\"", text)
}
