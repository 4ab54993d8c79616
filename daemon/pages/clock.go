package pages

import (
	"math"
	"net/http"
	"strconv"
	"strings"
	"time"
)

// clock is one request's now, on the yard's wall clock, as its reader reads it.
type clock struct {
	now    time.Time
	zone   *time.Location
	twelve bool // hours go to twelve, twice a day
}

func (p *pages) clock(r *http.Request) clock {
	zone, err := p.Plans.Yard().Location()
	if err != nil {
		zone = time.UTC
	}
	return clock{p.Plans.Now().In(zone), zone, p.reader(r).twelve}
}

// moment words a time with its day: Tue 7 Apr 15:04.
func (c clock) moment(t time.Time) string {
	if t.IsZero() {
		return "no time known"
	}
	return c.day(t) + " " + c.hour(t)
}

// hour words the time of day: 15:04, or 3:04 pm.
func (c clock) hour(t time.Time) string {
	if c.twelve {
		return t.In(c.zone).Format("3:04\u00a0pm")
	}
	return t.In(c.zone).Format("15:04")
}

func (c clock) day(t time.Time) string { return t.In(c.zone).Format("Mon 2 Jan") }

// span words two times, the second without its day where that is the first's.
func (c clock) span(from, to time.Time) string {
	if c.day(from) == c.day(to) && to.Sub(from) < 48*time.Hour {
		return c.moment(from) + "–" + c.hour(to)
	}
	return c.moment(from) + " – " + c.moment(to)
}

// midnight is the start of t's day, days later.
func (c clock) midnight(t time.Time, days int) time.Time {
	t = t.In(c.zone)
	return time.Date(t.Year(), t.Month(), t.Day()+days, 0, 0, 0, 0, c.zone)
}

// field is a time as an input of type datetime-local holds it.
func (c clock) field(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.In(c.zone).Format(wall)
}

const wall = "2006-01-02T15:04"

// read takes a time typed on the wall clock. Where the clocks show it twice,
// when summer time ends, it is the latest that is not still to come: people
// report what has just happened.
func (c clock) read(text string) (time.Time, bool) {
	t, err := time.ParseInLocation(wall, strings.TrimSpace(text), c.zone)
	if err != nil {
		t, err = time.ParseInLocation(wall+":05", strings.TrimSpace(text), c.zone)
	}
	if err != nil {
		return time.Time{}, false
	}
	for _, other := range []time.Time{t.Add(-time.Hour), t.Add(time.Hour)} {
		same := other.Format(wall) == t.Format(wall)
		if same && (t.After(c.now) || other.After(t) && !other.After(c.now)) {
			t = other
		}
	}
	return t, true
}

// length words a duration as people say it: 40 min, 3 h 20 min, 2 d 4 h.
func length(d time.Duration) string {
	minutes := int(math.Round(d.Minutes()))
	sign := ""
	if minutes < 0 {
		sign, minutes = "−", -minutes
	}
	d2, h, m := minutes/1440, minutes/60%24, minutes%60
	var parts []string
	if d2 > 0 {
		parts = append(parts, strconv.Itoa(d2)+" d")
	}
	if h > 0 {
		parts = append(parts, strconv.Itoa(h)+" h")
	}
	if m > 0 && d2 == 0 {
		parts = append(parts, strconv.Itoa(m)+" min")
	}
	if len(parts) == 0 {
		return "0 min"
	}
	return sign + strings.Join(parts, " ")
}
