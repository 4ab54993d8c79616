// Package push answers one question: how does a letter ring a person's browser? By web push: the
// letter is encrypted for the one browser (RFC 8291), signed with the yard's own key (VAPID, RFC
// 8292) and handed to the push service that the browser named, which can't read it.
//
// What is shown is {"id": "…", "title": "…", "body": "…"}; the id is the letter's, the same at
// every try, so that our service worker shows a repeat once.
package push

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"time"
	"unicode/utf8"

	webpush "github.com/SherClockHolmes/webpush-go"

	"fairwindow/notify"
)

const (
	// timeout bounds one try.
	timeout = 10 * time.Second
	// keeps is how long a push service keeps a letter for a browser that is away, seconds.
	keeps = 12 * 3600
	// bodyMost is the longest body, bytes: a push message holds 4096 with its encryption (RFC 8030).
	bodyMost = 2400
	keyFile  = "push.json"
)

// ErrGone is wrapped when a browser no longer wants to be rung.
var ErrGone = errors.New("the browser took its permission back")

// Subscription is one browser, as it introduced itself.
type Subscription struct {
	Endpoint string
	P256dh   string // its public key
	Auth     string // its secret
}

// Keys are the yard's own; browsers are bound to the public one.
type Keys struct {
	Public  string `json:"public"`
	Private string `json:"private"`
}

// LoadKeys reads the keys in a folder, which are made at the first start.
func LoadKeys(folder string) (Keys, error) {
	path := filepath.Join(folder, keyFile)
	var k Keys
	text, err := os.ReadFile(path)
	switch {
	case err == nil:
		if err := json.Unmarshal(text, &k); err != nil || k.Public == "" || k.Private == "" {
			return Keys{}, fmt.Errorf("push: %s holds no keys: restore it, or delete it and let each browser be allowed anew", path)
		}
		return k, nil
	case !errors.Is(err, fs.ErrNotExist):
		return Keys{}, fmt.Errorf("push: %w", err)
	}
	if k.Private, k.Public, err = webpush.GenerateVAPIDKeys(); err != nil {
		return Keys{}, fmt.Errorf("push: %w", err)
	}
	if text, err = json.Marshal(k); err != nil {
		return Keys{}, err
	}
	switch err := keep(path, text); {
	case errors.Is(err, fs.ErrExist):
		return LoadKeys(folder) // somebody else made them meanwhile, and browsers may be bound to those
	case err != nil:
		return Keys{}, fmt.Errorf("push: the keys can't be kept: %w", err)
	}
	return k, nil
}

// keep writes a file whole or not at all, and none over another.
func keep(path string, text []byte) error {
	f, err := os.CreateTemp(filepath.Dir(path), keyFile+"-*")
	if err != nil {
		return err
	}
	_, err = f.Write(text)
	if err = errors.Join(err, f.Sync(), f.Close()); err == nil {
		err = os.Link(f.Name(), path)
		if err != nil && !errors.Is(err, fs.ErrExist) { // not every file system has links
			return os.Rename(f.Name(), path)
		}
	}
	return errors.Join(err, os.Remove(f.Name()))
}

// Way rings browsers.
type Way struct {
	keys    Keys
	contact string
	client  *http.Client
}

// New makes a way. Contact is an address of mail that push services may write to.
func New(keys Keys, contact string) *Way {
	return &Way{keys: keys, contact: contact, client: &http.Client{Timeout: timeout}}
}

// Send hands a letter to the browser's push service and returns when it was taken. An error that
// wraps notify.ErrRefused is the last word, ErrGone with it says that the subscription is dead;
// after any other try again.
func (w *Way) Send(ctx context.Context, to Subscription, l notify.Letter) error {
	text, err := json.Marshal(map[string]string{"id": l.ID, "title": l.Subject(), "body": cut(l.Text())})
	if err != nil {
		return fmt.Errorf("push: %w: %w", notify.ErrRefused, err)
	}
	urgency := webpush.UrgencyNormal
	if l.Urgent() {
		urgency = webpush.UrgencyHigh
	}
	answer, err := webpush.SendNotificationWithContext(ctx, text,
		&webpush.Subscription{Endpoint: to.Endpoint, Keys: webpush.Keys{P256dh: to.P256dh, Auth: to.Auth}},
		&webpush.Options{HTTPClient: w.client, Subscriber: w.contact, TTL: keeps, Urgency: urgency, VAPIDPublicKey: w.keys.Public, VAPIDPrivateKey: w.keys.Private})
	if err != nil {
		var where *url.Error
		if errors.As(err, &where) {
			return fmt.Errorf("push: %w", where.Err) // the address is the browser's secret
		}
		return fmt.Errorf("push: %w: %w", notify.ErrRefused, err)
	}
	defer answer.Body.Close()
	_, _ = io.CopyN(io.Discard, answer.Body, 4<<10)
	switch code := answer.StatusCode; {
	case code >= 200 && code < 300:
		return nil
	case code == http.StatusNotFound || code == http.StatusGone: // RFC 8030, 7.3
		return fmt.Errorf("push: %w: %w", notify.ErrRefused, ErrGone)
	case code >= 400 && code < 500 && code != http.StatusRequestTimeout && code != http.StatusTooManyRequests:
		return fmt.Errorf("push: %w: the push service answers %s", notify.ErrRefused, answer.Status)
	default:
		return fmt.Errorf("push: the push service answers %s", answer.Status)
	}
}

// cut keeps a text within bodyMost, at a whole character.
func cut(text string) string {
	if len(text) <= bodyMost {
		return text
	}
	end := bodyMost
	for !utf8.RuneStart(text[end]) {
		end--
	}
	return text[:end] + "…"
}
