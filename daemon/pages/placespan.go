package pages

import (
	"net/http"
	"net/url"
	"time"
)

// placeSpan is the stretch of time that a place's chart, table and file show.
type placeSpan struct {
	axis
	Title   string
	Choices []spanChoice
	First   string // the days asked for by date, 2026-04-05
	Last    string
	Thinned string // what a point of a long chart stands for
	Fault   string // why it is not what was asked for
	CSV     string
	code    string
}

type spanChoice struct {
	Words, Link string
	Now         bool
}

// The spans that are chosen by a press; the second is the usual one.
var placeSpans = []struct {
	code, words, title string
	back, ahead        time.Duration
}{
	{"12h", "12 h", "12 hours past, 12 ahead", 12 * time.Hour, 12 * time.Hour},
	{"1d", "1 day", "A day past, two days ahead", chartBack, chartAhead},
	{"3d", "3 days", "3 days past, 3 ahead", 72 * time.Hour, 72 * time.Hour},
	{"7d", "7 days", "7 days past, 7 ahead", 168 * time.Hour, 168 * time.Hour},
}

const (
	usualSpan = 1
	// mostSpanDays keeps a page and a file quick: longer ones are asked for in parts.
	mostSpanDays = 35
)

// placeSpanOf reads which stretch is asked for: by a word, or by the dates of its first and
// its last day. What can't be read gives the usual one, and says so.
func placeSpanOf(r *http.Request, place string, c clock) placeSpan {
	q := r.URL.Query()
	usual := placeSpans[usualSpan]
	s := placeSpan{axis: axis{c.now.Add(-usual.back), c.now.Add(usual.ahead)}, Title: usual.title, code: usual.code}
	for _, one := range placeSpans {
		if q.Get("span") == one.code {
			s.axis, s.Title, s.code = axis{c.now.Add(-one.back), c.now.Add(one.ahead)}, one.title, one.code
		}
	}
	asked := url.Values{"span": {s.code}}
	if s.First, s.Last = q.Get("first"), q.Get("last"); s.First != "" || s.Last != "" {
		if s.byDate(c) {
			asked, s.code = url.Values{"first": {s.First}, "last": {s.Last}}, ""
		}
	}
	for _, one := range placeSpans {
		s.Choices = append(s.Choices, spanChoice{one.words, placeLink(place) + "?span=" + one.code + "#chart", one.code == s.code})
	}
	if step := chartStep(s.axis); step > 0 {
		s.Thinned = "Each point is the worst margin of " + length(step) + "."
	}
	s.CSV = placeLink(place) + "/air.csv?" + asked.Encode()
	return s
}

// byDate takes the days asked for; one alone is that day.
func (s *placeSpan) byDate(c clock) bool {
	if s.Last == "" {
		s.Last = s.First
	}
	if s.First == "" {
		s.First = s.Last
	}
	first, err1 := time.ParseInLocation(time.DateOnly, s.First, c.zone)
	last, err2 := time.ParseInLocation(time.DateOnly, s.Last, c.zone)
	end := c.midnight(last, 1)
	switch {
	case err1 != nil || err2 != nil:
		s.Fault = "A day is written as 2026-04-05. Shown is the usual span."
	case last.Before(first):
		s.Fault = "The last day is before the first. Shown is the usual span."
	case !c.midnight(first, mostSpanDays).After(last):
		s.Fault = "At most 35 days at once: ask for them in parts. Shown is the usual span."
	case first.After(c.now.Add(placeSpans[len(placeSpans)-1].ahead)):
		s.Fault = "That day is beyond any forecast. Shown is the usual span."
	default:
		s.axis, s.Title = axis{first, end}, c.day(first)+first.Format(" 2006")
		if s.First != s.Last {
			s.Title += " to " + c.day(last) + last.Format(" 2006")
		}
		return true
	}
	return false
}

// status is that of an answer to a span that can't be shown.
func (s placeSpan) status(otherwise int) int {
	if s.Fault != "" {
		return http.StatusUnprocessableEntity
	}
	return otherwise
}
