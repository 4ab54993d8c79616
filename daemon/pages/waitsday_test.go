package pages

import (
	"net/http"
	"regexp"
	"strings"
	"testing"
)

// Where a line of what was put off, or of a lost day, names a place and a day, its link opens
// that place's chart of that day.
func TestADayOfAPlaceOpens(t *testing.T) {
	for _, page := range []string{"/waits", "/waits/lost"} {
		w := newWaiting()
		_, body := w.get(t, page)
		m := regexp.MustCompile(`href="(/place/[^"]*first=[^"]*)"`).FindStringSubmatch(body)
		if m == nil {
			t.Fatalf("%s: no link to a place", page)
		}
		to, _, _ := strings.Cut(strings.ReplaceAll(m[1], "&amp;", "&"), "#")
		answer, chart := w.get(t, to)
		day := regexp.MustCompile(`first=(\d{4})-(\d\d)-0?(\d+)`).FindStringSubmatch(to)
		if answer.StatusCode != http.StatusOK || day == nil || !strings.Contains(chart, `<h2 id="chart">`) ||
			!regexp.MustCompile(`<h2 id="chart">\w+ `+day[3]+` Apr `+day[1]+`</h2>`).MatchString(chart) {
			t.Errorf("%s: %s opens %d, no chart of that day", page, to, answer.StatusCode)
		}
	}
}
