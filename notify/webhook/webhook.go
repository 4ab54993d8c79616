// Package webhook answers one question: how does another program get a letter? By a POST of JSON:
//
//	{"id": "…", "person": "…", "at": "2026-05-12T08:30:00Z", "subject": "…",
//	 "notices": [{"notice": {…}, "sentence": "…"}]}
//
// The id is the letter's, the same at every try, and stands in the header Fairwindow-Id too: it
// is sent at least once, so drop a known one. Each notice has its own id and revision.
//
// The header Fairwindow-Signature, "t=1778574600,v1=HEX", proves who sent it and when: HEX is the
// HMAC-SHA256 (RFC 2104), under the secret of the yard file, of t, a full stop and the body. Check
// it in constant time and refuse a t more than five minutes off.
//
// 2xx takes it. 410 Gone, and any 4xx but 408, 425 and 429, refuses it for good; all else is tried
// again. No redirect is followed: what is signed for one address is for no other.
package webhook

import (
	"bytes"
	"context"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"strconv"
	"time"

	"fairwindow/notify"
)

const (
	// timeout bounds one try.
	timeout = 10 * time.Second
	// answerLimit is how much of an answer is read, bytes.
	answerLimit = 4 << 10
)

// Hook is one address with its secret.
type Hook struct {
	URL    string
	Secret []byte
}

// Way posts letters.
type Way struct {
	client *http.Client
	now    func() time.Time
}

// New makes a way whose signatures carry the time that now tells.
func New(now func() time.Time) *Way {
	return &Way{now: now, client: &http.Client{
		Timeout:       timeout,
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
	}}
}

type item struct {
	Notice   notify.Notice `json:"notice"`
	Sentence string        `json:"sentence"`
}

type body struct {
	ID      string    `json:"id"`
	Person  string    `json:"person"`
	At      time.Time `json:"at"`
	Subject string    `json:"subject"`
	Notices []item    `json:"notices"`
}

// Send posts a letter and returns when it was taken. An error that wraps notify.ErrRefused is the
// last word; after any other try again.
func (w *Way) Send(ctx context.Context, to Hook, l notify.Letter) error {
	b := body{ID: l.ID, Person: l.Person, At: l.At, Subject: l.Subject()}
	for _, i := range l.Items {
		b.Notices = append(b.Notices, item{i.Notice, i.Sentence})
	}
	text, err := json.Marshal(b)
	if err != nil {
		return fmt.Errorf("webhook: %w: %w", notify.ErrRefused, err)
	}
	r, err := http.NewRequestWithContext(ctx, http.MethodPost, to.URL, bytes.NewReader(text))
	if err != nil {
		return fmt.Errorf("webhook: %w: %w", notify.ErrRefused, err)
	}
	r.Header.Set("Content-Type", "application/json")
	r.Header.Set("User-Agent", "fairwindow")
	r.Header.Set("Fairwindow-Id", l.ID)
	r.Header.Set("Fairwindow-Signature", Sign(to.Secret, w.now(), text))
	answer, err := w.client.Do(r)
	if err != nil {
		var where *url.Error
		if errors.As(err, &where) {
			err = where.Err // the address may hold a token
		}
		return fmt.Errorf("webhook at %s: %w", r.URL.Host, err)
	}
	defer answer.Body.Close()
	_, _ = io.CopyN(io.Discard, answer.Body, answerLimit)
	switch code := answer.StatusCode; {
	case code >= 200 && code < 300:
		return nil
	case code >= 400 && code < 500 && code != http.StatusRequestTimeout && code != http.StatusTooEarly && code != http.StatusTooManyRequests:
		return fmt.Errorf("webhook at %s: %w: it answers %s", r.URL.Host, notify.ErrRefused, answer.Status)
	default:
		return fmt.Errorf("webhook at %s: it answers %s", r.URL.Host, answer.Status)
	}
}

// Sign is the signature of a body sent at a time.
func Sign(secret []byte, at time.Time, body []byte) string {
	t := strconv.FormatInt(at.Unix(), 10)
	mac := hmac.New(sha256.New, secret)
	mac.Write([]byte(t + "."))
	mac.Write(body)
	return "t=" + t + ",v1=" + hex.EncodeToString(mac.Sum(nil))
}
