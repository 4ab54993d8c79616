// Package calendar answers one question: what stands in a phone's calendar?
//
// It writes what people were told as an iCalendar object (RFC 5545) that a phone or a desk
// subscribes to: one event for each stage, under a name that stays, so that a stage moved is moved
// there too. It is pure: the same events at the same time make the same bytes.
package calendar

import (
	"strings"
	"time"
	"unicode"

	ical "github.com/arran4/golang-ical"
)

// Event is one stage as people were told it.
type Event struct {
	UID         string    // stays as long as the stage does, and is no other stage's
	Sequence    int       // rises with each telling
	Told        time.Time // when this was last changed
	From, To    time.Time
	Summary     string
	Place       string
	Description string
	Tentative   bool // pencilled in: it may yet move
}

// refresh is how often a subscriber is asked to look again (RFC 7986, 5.7).
const refresh = "PT15M"

// Text is the calendar of one crew, place or boat.
func Text(name string, events []Event) string {
	cal := ical.NewCalendarFor("fairwindow")
	cal.SetProductId("-//fairwindow//calendar 1//EN")
	cal.SetName(plain(name))
	cal.SetXWRCalName(plain(name)) // what readers from before RFC 7986 show
	cal.SetRefreshInterval(refresh)
	cal.SetXPublishedTTL(refresh)
	for _, e := range events {
		v := ical.NewEvent(plain(e.UID))
		// Without a METHOD the stamp is when this was last revised (RFC 5545, 3.8.7.2).
		v.SetDtStampTime(e.Told)
		v.SetLastModifiedAt(e.Told)
		v.SetSequence(e.Sequence)
		v.SetStartAt(e.From)
		v.SetEndAt(e.To)
		v.SetSummary(plain(e.Summary))
		if e.Place != "" {
			v.SetLocation(plain(e.Place))
		}
		if e.Description != "" {
			v.SetDescription(plain(e.Description))
		}
		v.SetStatus(ical.ObjectStatusConfirmed)
		if e.Tentative {
			v.SetStatus(ical.ObjectStatusTentative)
		}
		cal.AddVEvent(v)
	}
	return cal.Serialize(ical.WithNewLineWindows) // RFC 5545, 3.1: lines end with CR LF
}

// plain leaves out what no text may hold: control characters but for tab and the end of a line
// (RFC 5545, 3.1 and 3.3.11), and what is no UTF-8.
func plain(s string) string {
	s = strings.ReplaceAll(strings.ToValidUTF8(s, ""), "\r\n", "\n")
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\r':
			return '\n'
		case r == '\n', r == '\t':
			return r
		case unicode.IsControl(r):
			return -1
		}
		return r
	}, s)
}
