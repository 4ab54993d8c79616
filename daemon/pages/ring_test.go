package pages

import (
	"context"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
)

// bells remember which browser may be rung for whom.
type bells struct {
	key   string
	rings []string
	never []string
}

type stranger struct{}

func (stranger) Error() string  { return "nobody" }
func (stranger) Public() string { return "nobody of that name may be rung" }

func (b *bells) PushKey() (string, error) { return b.key, nil }

func (b *bells) Unrung(context.Context) ([]string, error) { return b.never, nil }

func (b *bells) Subscribe(_ context.Context, person, endpoint, p256dh, auth string) error {
	if person != "Ines" {
		return stranger{}
	}
	b.rings = []string{person, endpoint, p256dh, auth}
	return nil
}

func TestRing(t *testing.T) {
	o, _ := newFake().options()
	b := &bells{key: "the-key"}
	o.Bells = b
	handler, err := New(o)
	if err != nil {
		t.Fatal(err)
	}
	_, body := do(t, handler, httptest.NewRequest("GET", "/notices", nil))
	has(t, body, `data-key="the-key"`, "Ring this browser")
	hasNot(t, body, "No browser is allowed")
	b.never = []string{"Ines", "Rui"}
	_, body = do(t, handler, httptest.NewRequest("GET", "/notices", nil))
	has(t, body, "No browser is allowed yet by Ines, Rui: until then")
	press := func(by string) (*http.Response, string) {
		form := url.Values{"by": {by}, "endpoint": {"https://push.example/a"}, "p256dh": {"key"}, "auth": {"secret"}}
		r := httptest.NewRequest("POST", "/push", strings.NewReader(form.Encode()))
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		r.Header.Set("Sec-Fetch-Site", "same-origin")
		return do(t, handler, r)
	}
	answer, body := press("Nobody")
	if answer.StatusCode != http.StatusUnprocessableEntity || b.rings != nil {
		t.Errorf("a stranger got %d", answer.StatusCode)
	}
	has(t, body, "Nobody of that name may be rung.")
	if answer, _ := press("Ines"); answer.StatusCode != http.StatusSeeOther || strings.Join(b.rings, " ") != "Ines https://push.example/a key secret" {
		t.Errorf("%d, %q", answer.StatusCode, b.rings)
	}
	answer, text := do(t, handler, httptest.NewRequest("GET", "/static/worker.js", nil))
	if kind := answer.Header.Get("Content-Type"); answer.StatusCode != http.StatusOK || !strings.Contains(kind, "javascript") {
		t.Errorf("the worker: %d %s", answer.StatusCode, kind)
	}
	has(t, text, "showNotification")
	b.key = "" // the yard file lets nobody be rung
	_, body = do(t, handler, httptest.NewRequest("GET", "/notices", nil))
	hasNot(t, body, "Ring this browser")
}
