package calendar

import (
	"io"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	second "github.com/emersion/go-ical"
	"github.com/sebdah/goldie/v2"
	"pgregory.net/rapid"
)

// read parses by a second implementation and holds the text against what RFC 5545 wants of every
// line and component.
func read(t rapid.TB, text string) *second.Calendar {
	t.Helper()
	if !utf8.ValidString(text) {
		t.Fatalf("not UTF-8, which is the default (6.): %q", text)
	}
	if strings.Contains(strings.ReplaceAll(text, "\r\n", ""), "\n") || strings.Contains(strings.ReplaceAll(text, "\r\n", ""), "\r") || !strings.HasSuffix(text, "\r\n") {
		t.Fatalf("a line does not end with CR LF (3.1): %q", text)
	}
	for _, line := range strings.Split(text, "\r\n") {
		if len(line) > 75 {
			t.Fatalf("a line of %d octets, at most 75 (3.1): %q", len(line), line)
		}
		if !utf8.ValidString(line) {
			t.Fatalf("folded within a character: %q", line)
		}
	}
	for _, r := range text {
		if r < ' ' && r != '\r' && r != '\n' && r != '\t' || r == 0x7f {
			t.Fatalf("the control character %U (3.1) in %q", r, text)
		}
	}
	d := second.NewDecoder(strings.NewReader(text))
	cal, err := d.Decode()
	if err != nil {
		t.Fatalf("the second parser: %v\n%s", err, text)
	}
	if _, err := d.Decode(); err != io.EOF {
		t.Fatalf("more than one calendar: %v", err)
	}
	once := func(c *second.Component, names ...string) {
		t.Helper()
		for _, name := range names {
			if n := len(c.Props.Values(name)); n != 1 {
				t.Fatalf("%s has %d of %s, want one", c.Name, n, name)
			}
		}
	}
	once(cal.Component, "PRODID", "VERSION") // 3.6
	for name, all := range cal.Props {
		for param, values := range all[0].Params {
			if len(values) > 1 {
				t.Fatalf("%s has %s %d times", name, param, len(values))
			}
		}
	}
	for _, e := range cal.Events() {
		once(e.Component, "UID", "DTSTAMP", "DTSTART", "DTEND", "SUMMARY", "SEQUENCE", "STATUS") // 3.6.1
		for _, name := range []string{"DTSTAMP", "DTSTART", "DTEND", "LAST-MODIFIED"} {
			if v := e.Props.Get(name).Value; !strings.HasSuffix(v, "Z") || len(v) != len("20260406T090000Z") {
				t.Fatalf("%s is %s, want UTC (3.3.5, form 2)", name, v)
			}
		}
		from, err := e.DateTimeStart(time.UTC)
		if err != nil {
			t.Fatal(err)
		}
		to, err := e.DateTimeEnd(time.UTC)
		if err != nil {
			t.Fatal(err)
		}
		if !to.After(from) {
			t.Fatalf("it ends at %s and starts at %s (3.8.2.2)", to, from)
		}
	}
	return cal
}

// textOf is a TEXT value as the second parser reads it (3.3.11).
func textOf(t rapid.TB, c *second.Component, name string) string {
	t.Helper()
	p := c.Props.Get(name)
	if p == nil {
		return ""
	}
	v, err := p.Text()
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	return v
}

var monday = time.Date(2026, 4, 6, 7, 30, 0, 0, time.UTC)

func sample() []Event {
	zone := time.FixedZone("summer", 3600)
	return []Event{
		{
			UID: "Ada%20&%20Sons/topsides/topcoat@Sample%20Yard", Sequence: 12, Told: monday,
			From: time.Date(2026, 4, 7, 9, 0, 0, 0, zone), To: time.Date(2026, 4, 7, 13, 30, 0, 0, zone),
			Summary: "topcoat, topsides, Ada & Sons", Place: "Booth 1; by the quay",
			Description: "Firm: within the forecast, with enough chance.\nCrew paint, 2 of them.\nNot earlier: the air was too damp; at most 80 % allowed, 86 % foretold.",
		},
		{
			UID: "%C3%86gir/deck/sand@Sample%20Yard", Sequence: 12, Told: monday,
			From: time.Date(2026, 4, 20, 8, 0, 0, 0, zone), To: time.Date(2026, 4, 20, 12, 0, 0, 0, zone),
			Summary: "sand, deck, Ægir", Place: "Schuppen ä", Tentative: true,
		},
	}
}

// The whole text as a phone gets it.
func TestWhole(t *testing.T) {
	text := Text("Müller, sons & co; painters", sample())
	read(t, text)
	goldie.New(t, goldie.WithNameSuffix(".ics")).Assert(t, "crew", []byte(text))
}

func TestRead(t *testing.T) {
	cal := read(t, Text("Müller, sons & co; painters", sample()))
	for _, name := range []string{"NAME", "X-WR-CALNAME"} {
		if got := textOf(t, cal.Component, name); got != "Müller, sons & co; painters" {
			t.Errorf("%s: %q", name, got)
		}
	}
	events := cal.Events()
	if len(events) != 2 {
		t.Fatalf("%d events", len(events))
	}
	for i, want := range sample() {
		c := events[i].Component
		status := "CONFIRMED"
		if want.Tentative {
			status = "TENTATIVE"
		}
		for name, text := range map[string]string{
			"UID": want.UID, "SUMMARY": want.Summary, "LOCATION": want.Place, "DESCRIPTION": want.Description, "STATUS": status,
		} {
			if got := textOf(t, c, name); got != text {
				t.Errorf("%s: %q, want %q", name, got, text)
			}
		}
		if n, err := c.Props.Get("SEQUENCE").Int(); err != nil || n != want.Sequence {
			t.Errorf("sequence %d, %v", n, err)
		}
		if from, err := events[i].DateTimeStart(time.UTC); err != nil || !from.Equal(want.From) {
			t.Errorf("starts %v, %v", from, err)
		}
		if to, err := events[i].DateTimeEnd(time.UTC); err != nil || !to.Equal(want.To) {
			t.Errorf("ends %v, %v", to, err)
		}
		if told, err := c.Props.DateTime("DTSTAMP", time.UTC); err != nil || !told.Equal(monday) {
			t.Errorf("stamped %v, %v", told, err)
		}
	}
}

// Whatever people call things, the text is a calendar, and comes back as it was but for what no
// text may hold.
func TestAnyTextComesBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.OneOf(rapid.String(), rapid.StringMatching(`[a-zäß,;:\\\n"N ]{0,200}`))
		e := sample()[0]
		name := text.Draw(t, "name")
		e.Summary, e.Place, e.Description = text.Draw(t, "summary"), text.Draw(t, "place"), text.Draw(t, "description")
		cal := read(t, Text(name, []Event{e}))
		c := cal.Events()[0].Component
		for _, tt := range []struct {
			prop, want string
			of         *second.Component
		}{
			{"NAME", plain(name), cal.Component}, {"SUMMARY", plain(e.Summary), c}, {"LOCATION", plain(e.Place), c}, {"DESCRIPTION", plain(e.Description), c},
		} {
			if got := textOf(t, tt.of, tt.prop); got != tt.want {
				t.Fatalf("%s: %q came back as %q", tt.prop, tt.want, got)
			}
		}
	})
}

// What no text may hold (RFC 5545, 3.1 and 3.3.11) is left out of all of it, also of the name that
// tells one stage from another.
func TestPlain(t *testing.T) {
	for said, want := range map[string]string{
		"a\r\nb": "a\nb", "a\rb": "a\nb", "a\tb\nc": "a\tb\nc", "a\x00\x1b\x7f\u0085b": "ab", "a\xff\xc3b": "ab", "Ægir": "Ægir",
	} {
		e := sample()[0]
		e.Summary, e.UID = said, "stage "+said
		c := read(t, Text("Crew", []Event{e})).Events()[0].Component
		if got := textOf(t, c, "SUMMARY"); got != want {
			t.Errorf("%q is written as %q, want %q", said, got, want)
		}
		if got := textOf(t, c, "UID"); got != "stage "+want {
			t.Errorf("the name %q is written as %q, want %q", e.UID, got, "stage "+want)
		}
	}
}
