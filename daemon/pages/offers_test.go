package pages

import (
	"html"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"fairwindow/daemon/door"
)

var offered = regexp.MustCompile(`<a [^>]*href="([^"]*)"|<form [^>]*method="(post|get)"[^>]*action="([^"]*)"|formaction="([^"]*)"`)

// Whoever follows what the pages offer him, from the week on, is refused nowhere; and each
// page that he may read is led to by a link, without script.
func TestNobodyIsOfferedWhatHeMayNotDo(t *testing.T) {
	for _, role := range ranks {
		handler, p := doored(t, newFake(), newFakeDoor())
		which := http.NewServeMux()
		lets := map[string]may{}
		for _, one := range p.routes() {
			which.Handle(one.pattern, one.answer)
			lets[one.pattern] = one.may
		}
		is := who{visitor: door.Visitor{Name: string(role), Role: role}}
		reached, looked, next := map[string]bool{}, map[string]int{}, []string{"/"}
		for len(next) > 0 {
			path := next[0]
			next = next[1:]
			_, body := do(t, handler, asking("GET", path, nil, string(role)))
			for _, m := range offered.FindAllStringSubmatch(body, -1) {
				method, to := "GET", m[1]
				switch {
				case m[3] != "":
					method, to = strings.ToUpper(m[2]), m[3]
				case m[4] != "":
					method, to = "POST", m[4]
				}
				there, err := url.Parse(html.UnescapeString(to))
				if err != nil || there.Host != "" || there.Path == "" {
					continue // elsewhere, or on this page
				}
				there.Fragment = ""
				_, pattern := which.Handler(asking(method, there.String(), nil, ""))
				switch {
				case pattern == "/":
					t.Errorf("%s: %s leads to %s %s, which nothing answers", role, path, method, to)
				case !lets[pattern].lets(is):
					t.Errorf("%s: %s offers %s %s, which is for who %s", role, path, method, to, lets[pattern])
				}
				// A page or two of each kind.
				if address := there.String(); method == "GET" && !reached[address] && looked[pattern] < 3 {
					reached[address] = true
					looked[pattern]++
					next = append(next, address)
				}
				reached[pattern] = true
			}
		}
		for _, one := range p.routes() {
			page := strings.HasPrefix(one.pattern, "GET ") && one.may != anyone && one.may.lets(is) && !strings.HasPrefix(one.pattern, "GET /v1/")
			if page && !reached[one.pattern] && !unlinked[one.pattern] {
				t.Errorf("%s: nothing leads to %s", role, one.pattern)
			}
		}
	}
}

// unlinked are addresses that no link in the invented yard leads to.
var unlinked = map[string]bool{
	"GET /events":                true, // asked by script
	"GET /whatif/{id}":           true, // the answer to a form
	"GET /system/{name}/edit":    true, // of systems written on the pages; the yard has those of its file
	"GET /system/{name}/history": true,
}
