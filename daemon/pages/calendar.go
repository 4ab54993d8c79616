package pages

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"time"

	"fairwindow/config"
	"fairwindow/daemon/calendar"
	"fairwindow/planner"
)

// calendarLink is the address that a phone subscribes to; of is crew, place or boat.
func calendarLink(of, name string) string {
	return "/calendar/" + of + "/" + url.PathEscape(name) + ".ics"
}

// calendar is what people were told of one crew, place or boat. The draft stays out of it: a
// calendar that moves before the scheduler lets it would tell people ahead of him.
func (p *pages) calendar(w http.ResponseWriter, r *http.Request) error {
	of := r.PathValue("of")
	name, ics := strings.CutSuffix(r.PathValue("file"), ".ics")
	yard := p.Plans.Yard()
	there, theirs := false, func(planner.Planned) bool { return false }
	switch of {
	case "crew":
		_, there = yard.Crew(name)
		theirs = func(s planner.Planned) bool { return s.Crew == name }
	case "place":
		_, there = yard.Place(name)
		theirs = func(s planner.Planned) bool { return s.Place == name }
	case "boat":
		boats, err := p.Plans.Boats(r.Context())
		if err != nil {
			return fmt.Errorf("boats: %w", err)
		}
		for _, b := range boats {
			there = there || b.Name == name
		}
		theirs = func(s planner.Planned) bool { return s.Key.Boat == name }
	}
	if !there || !ics {
		return missing("There is no such calendar here: it ends in .ics, and its address names a crew, a place or a boat as the yard does.")
	}
	plan, number, err := p.Plans.Told(r.Context())
	if err != nil {
		return fmt.Errorf("the told plan: %w", err)
	}
	c := p.clock(r)
	var events []calendar.Event
	for _, s := range plan.Stages {
		if theirs(s) && !s.Start.IsZero() && s.End.After(s.Start) {
			events = append(events, event(s, yard, plan.At, number, c))
		}
	}
	w.Header().Set("Content-Type", "text/calendar; charset=utf-8") // RFC 5545, 8.1
	if _, err := w.Write([]byte(calendar.Text(name+", "+yard.Name, events))); err != nil {
		return errGone
	}
	return nil
}

// event is a stage as a calendar shows it. The number of the told plan rises with each telling.
func event(s planner.Planned, yard config.Yard, told time.Time, number int64, c clock) calendar.Event {
	key := s.Key
	e := calendar.Event{
		UID: strings.Join([]string{url.PathEscape(key.Boat), url.PathEscape(key.Area), url.PathEscape(key.Stage)}, "/") +
			"@" + url.PathEscape(yard.Name),
		Sequence: int(number), Told: told, From: s.Start, To: s.End, Place: s.Place,
		Summary:   key.Stage + ", " + key.Area + ", " + key.Boat,
		Tentative: s.State == planner.PencilledIn || s.State == planner.AtRisk,
	}
	said := []string{capital(stateWord(s.State)) + "."}
	if s.Crew != "" {
		said = append(said, fmt.Sprintf("Crew %s, %d of them.", s.Crew, max(s.People, 1)))
	}
	for i, pass := range s.Passes {
		said = append(said, fmt.Sprintf("Pass %d: %s.", i+1, c.span(pass.From, pass.To)))
	}
	if len(s.Work) > 1 {
		for _, part := range s.Work {
			said = append(said, "Work: "+c.span(part.From, part.To)+".")
		}
	}
	if n := len(s.Waits); n > 0 {
		said = append(said, "Not earlier: "+c.why(s.Waits[n-1])+".")
	}
	if s.Kind == config.Coat {
		said = append(said, "A notice says when the window opens; the card and the air at the hull decide.")
	}
	e.Description = strings.Join(said, "\n")
	return e
}
