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
	if plan == "told" || plan == "side" {
		q.Set("plan", plan)
	}
	return "/?" + q.Encode()
}

// recordLink leads to the record of a boat's coats, correctLink to where a press of it
// may be struck through.
func recordLink(boat string) string { return boatLink(boat) + "/record" }

func correctLink(boat string, press int64) string {
	return boatLink(boat) + "/correct?press=" + strconv.FormatInt(press, 10)
}

// coatLink leads to where something is added to one coat.
func coatLink(k planner.Key) string {
	q := url.Values{"area": {k.Area}, "stage": {k.Stage}}
	return recordLink(k.Boat) + "?" + q.Encode() + "#add"
}

// daysLink leads to the same days as a list.
func daysLink(first time.Time, plan string) string {
	q := url.Values{"from": {first.Format(time.DateOnly)}}
	if plan == "told" {
		q.Set("plan", plan)
	}
	return "/week/days?" + q.Encode()
}
