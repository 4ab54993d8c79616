package pages

import (
	"net/http"
	"slices"
	"strings"
	"testing"

	second "github.com/emersion/go-ical"

	"fairwindow/config"
)

// calendarOf asks for a calendar and reads it by a second parser.
func calendarOf(t *testing.T, f *fake, path string) map[string]second.Event {
	t.Helper()
	answer, body := get(t, f, path)
	if answer.StatusCode != http.StatusOK || answer.Header.Get("Content-Type") != "text/calendar; charset=utf-8" {
		t.Fatalf("%s: %d %s", path, answer.StatusCode, answer.Header.Get("Content-Type"))
	}
	cal, err := second.NewDecoder(strings.NewReader(body)).Decode()
	if err != nil {
		t.Fatal(err)
	}
	all := map[string]second.Event{}
	for _, e := range cal.Events() {
		uid, err := e.Props.Text("UID")
		if err != nil || all[uid].Component != nil {
			t.Fatalf("UID %q, twice or %v", uid, err)
		}
		all[uid] = e
	}
	return all
}

func textOf(t *testing.T, e second.Event, name string) string {
	t.Helper()
	if e.Component == nil {
		t.Fatalf("no such event, so no %s", name)
	}
	text, err := e.Props.Text(name)
	if err != nil {
		t.Fatal(err)
	}
	return text
}

func uids(events map[string]second.Event) []string {
	var all []string
	for uid := range events {
		all = append(all, strings.TrimSuffix(uid, "@Sample%20Yard"))
	}
	slices.Sort(all)
	return all
}

// crewed is the fake with crews in its yard.
func crewed() *fake {
	f := newFake()
	f.yard.Crews = []config.Crew{{Name: "paint"}, {Name: "prep"}}
	return f
}

// Each calendar has the told stages of its crew, place or boat that have a start, and no others.
func TestCalendars(t *testing.T) {
	for path, want := range map[string][]string{
		"/calendar/crew/paint.ics":          {"Kestrel/topsides/gloss%20coat", "Plover/house/gloss%20coat", "Plover/house/reactivate%20for%20gloss%20coat"},
		"/calendar/place/North%20shed.ics":  {"Ada%20&%20Sons/house/wash", "Ada%20&%20Sons/topsides/mask", "Ada%20&%20Sons/topsides/sand%20320"},
		"/calendar/boat/Kestrel.ics":        {"Kestrel/house/wash", "Kestrel/topsides/gloss%20coat"},
		"/calendar/boat/Ada%20&%20Sons.ics": {"Ada%20&%20Sons/house/wash", "Ada%20&%20Sons/topsides/mask", "Ada%20&%20Sons/topsides/sand%20320"},
	} {
		if got := uids(calendarOf(t, crewed(), path)); !slices.Equal(got, want) {
			t.Errorf("%s: %q, want %q", path, got, want)
		}
	}
}

// What an event says of a stage.
func TestCalendarEvent(t *testing.T) {
	f := crewed()
	events := calendarOf(t, f, "/calendar/place/Booth%201.ics")
	coat := events["Plover/house/gloss%20coat@Sample%20Yard"]
	for name, want := range map[string]string{
		"SUMMARY": "gloss coat, house, Plover", "LOCATION": "Booth 1", "STATUS": "TENTATIVE", // at risk
	} {
		if got := textOf(t, coat, name); got != want {
			t.Errorf("%s: %q, want %q", name, got, want)
		}
	}
	has(t, textOf(t, coat, "DESCRIPTION"), "At risk: a limit may not hold.", "Crew paint, 2 of them.", "Not earlier: ", "A notice says when the window opens")
	if from, err := coat.DateTimeStart(nil); err != nil || !from.Equal(at(10, 9, 0)) {
		t.Errorf("starts %v, %v", from, err)
	}
	if to, err := coat.DateTimeEnd(nil); err != nil || !to.Equal(at(10, 13, 0)) {
		t.Errorf("ends %v, %v", to, err)
	}
	shed := calendarOf(t, f, "/calendar/place/North%20shed.ics")
	if got := textOf(t, shed["Ada%20&%20Sons/topsides/mask@Sample%20Yard"], "STATUS"); got != "TENTATIVE" {
		t.Errorf("what is pencilled is %s", got)
	}
	sand := shed["Ada%20&%20Sons/topsides/sand%20320@Sample%20Yard"]
	if got := textOf(t, sand, "STATUS"); got != "CONFIRMED" {
		t.Errorf("what is firm is %s", got)
	}
	if got := strings.Count(textOf(t, sand, "DESCRIPTION"), "Work: "); got != 2 {
		t.Errorf("%d parts of the work, want both shifts", got)
	}
}

// A draft moves nothing; once it is told, the same event moves, under a higher sequence.
func TestCalendarMovesWithWhatIsTold(t *testing.T) {
	const path, uid = "/calendar/boat/Ada%20&%20Sons.ics", "Ada%20&%20Sons/topsides/sand%20320@Sample%20Yard"
	f := crewed()
	sequence := func() int {
		t.Helper()
		n, err := calendarOf(t, f, path)[uid].Props.Get("SEQUENCE").Int()
		if err != nil {
			t.Fatal(err)
		}
		return n
	}
	start := func() string { return calendarOf(t, f, path)[uid].Props.Get("DTSTART").Value }
	before, from := sequence(), start()
	f.draft.Stages = nil
	if sequence() != before || start() != from {
		t.Error("a draft moved the calendar")
	}
	f.told, f.toldID = newFake().draft, newFake().draftID // three hours later
	if sequence() <= before || start() == from {
		t.Errorf("told anew: sequence %d after %d, from %s after %s", sequence(), before, start(), from)
	}
}

// Names with commas and letters of any script are names all the same.
func TestCalendarOfAnyName(t *testing.T) {
	f := crewed()
	const name = "Müller, sons; 塗装/north"
	f.yard.Crews = append(f.yard.Crews, config.Crew{Name: name})
	f.told.Stages[0].Crew = name
	answer, body := get(t, f, calendarLink("crew", name))
	if answer.StatusCode != http.StatusOK {
		t.Fatal(answer.Status)
	}
	has(t, strings.ReplaceAll(body, "\r\n ", ""), `NAME:Müller\, sons\; 塗装/north\, Sample Yard`, `Crew Müller\, sons\; 塗装/north\, 2 of them.`)
	if got := uids(calendarOf(t, f, calendarLink("crew", name))); len(got) != 1 {
		t.Errorf("%q", got)
	}
}

func TestNoSuchCalendar(t *testing.T) {
	for _, path := range []string{"/calendar/crew/nobody.ics", "/calendar/crew/paint", "/calendar/yard/paint.ics", "/calendar/boat/Heron.ics", "/calendar/place/paint.ics"} {
		answer, body := get(t, crewed(), path)
		if answer.StatusCode != http.StatusNotFound {
			t.Errorf("%s: %s", path, answer.Status)
		}
		has(t, body, "There is no such calendar here")
	}
}

// The pages of a place and of a boat lead to their calendars.
func TestPagesLeadToCalendars(t *testing.T) {
	for page, link := range map[string]string{
		"/place/North%20shed": "/calendar/place/North%20shed.ics", "/boat/Kestrel": "/calendar/boat/Kestrel.ics",
	} {
		_, body := get(t, newFake(), page)
		has(t, body, `href="`+link+`"`)
		if answer, _ := get(t, newFake(), link); answer.StatusCode != http.StatusOK {
			t.Errorf("%s: %s", link, answer.Status)
		}
	}
}
