package pages

import (
	"net/url"
	"strconv"
	"time"

	"fairwindow/planner"
)

func placeLink(name string) string { return "/place/" + url.PathEscape(name) }
func boatLink(name string) string  { return "/boat/" + url.PathEscape(name) }

// stageLink leads to the buttons of one stage.
func stageLink(k planner.Key) string {
	q := url.Values{"area": {k.Area}, "stage": {k.Stage}}
	return boatLink(k.Boat) + "?" + q.Encode() + "#act"
}

// weekLink leads to so many days; a zero first is today.
func weekLink(days int, first time.Time, plan string) string {
	q := url.Values{"days": {strconv.Itoa(days)}}
	if !first.IsZero() {
		q.Set("from", first.Format(time.DateOnly))
	}
	if plan == "told" {
		q.Set("plan", plan)
	}
	return "/?" + q.Encode()
}
