package pages

import (
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
)

// TestHowAPersonReads: one person's units and hours are his own, on every page.
func TestHowAPersonReads(t *testing.T) {
	f := newFake()
	h := handlerOf(t, f)
	ask := func(method, to string, form url.Values, cookies ...*http.Cookie) *httptest.ResponseRecorder {
		r := httptest.NewRequest(method, to, strings.NewReader(form.Encode()))
		if form != nil {
			r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		}
		for _, c := range cookies {
			r.AddCookie(c)
		}
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		return w
	}
	usual := ask("GET", "/place/Booth%201", nil).Body.String()
	has(t, usual, "°C")

	kept := ask("POST", "/you", url.Values{"units": {"US"}, "hours": {"12"}, "light": {"dark"}})
	if kept.Code != http.StatusSeeOther || kept.Header().Get("Location") != "/you?said=reads" {
		t.Fatalf("%d to %s", kept.Code, kept.Header().Get("Location"))
	}
	own := ask("GET", "/place/Booth%201", nil, kept.Result().Cookies()...).Body.String()
	has(t, own, `class="dark"`, "°F", "\u00a0am")
	has(t, ask("GET", "/place/Booth%201", nil).Body.String(), "°C")

	odd := ask("GET", "/place/Booth%201", nil, &http.Cookie{Name: readsCookie, Value: "units=furlong&hours=99&light=%22"}).Body.String()
	has(t, odd, "°C")
	hasNot(t, odd, "furlong", `class="`+`"`)
}
