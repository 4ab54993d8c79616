package main

import (
	"bytes"
	"context"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"testing"
	"time"

	"fairwindow/daemon/store"
	"fairwindow/notify"
)

const hookSecret = "only the board knows"

// hook is the program of people who get letters: it shows each letter once, by its id. At
// times it has noted a letter down and yet says that it failed, or says nothing.
type hook struct {
	url string

	mu      sync.Mutex
	draw    *rand.Rand
	mended  bool
	shown   map[string][]notify.Notice // by person, in the order in which they came first
	letters map[string][]byte          // by id
	repeats int
	failed  int // noted, and refused
	faults  []string
}

func newHook(t *testing.T, seed uint64) *hook {
	h := &hook{draw: rand.New(rand.NewPCG(seed, 7)), shown: map[string][]notify.Notice{}, letters: map[string][]byte{}}
	srv := httptest.NewServer(h)
	srv.Config.ErrorLog = nil
	t.Cleanup(srv.Close)
	h.url = srv.URL
	return h
}

// mend ends its failures.
func (h *hook) mend() {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.mended = true
}

func (h *hook) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	text, err := io.ReadAll(r.Body)
	if err != nil {
		return // the sender was killed
	}
	h.mu.Lock()
	defer h.mu.Unlock()
	var letter struct {
		ID, Person string
		Notices    []struct{ Notice notify.Notice }
	}
	if err := json.Unmarshal(text, &letter); err != nil {
		h.faults = append(h.faults, fmt.Sprintf("no letter: %v: %s", err, text))
	}
	if letter.ID == "" || r.Header.Get("Fairwindow-Id") != letter.ID || "/"+strings.ToLower(letter.Person) != r.URL.Path {
		h.faults = append(h.faults, fmt.Sprintf("the letter %q of %q came to %s as %q", letter.ID, letter.Person, r.URL.Path, r.Header.Get("Fairwindow-Id")))
	}
	// RFC 2104, over what the documentation says is signed.
	at, sum, _ := strings.Cut(strings.TrimPrefix(r.Header.Get("Fairwindow-Signature"), "t="), ",v1=")
	mac := hmac.New(sha256.New, []byte(hookSecret))
	fmt.Fprintf(mac, "%s.%s", at, text)
	if sum != hex.EncodeToString(mac.Sum(nil)) {
		h.faults = append(h.faults, "a letter is not signed")
	}
	if was, again := h.letters[letter.ID]; again {
		h.repeats++
		if !bytes.Equal(was, text) {
			h.faults = append(h.faults, fmt.Sprintf("the letter %s came first as %s, then as %s", letter.ID, was, text))
		}
		return
	}
	h.letters[letter.ID] = text
	for _, n := range letter.Notices {
		h.shown[letter.Person] = append(h.shown[letter.Person], n.Notice)
	}
	if h.mended {
		return
	}
	switch h.draw.IntN(6) {
	case 0:
		h.failed++
		w.WriteHeader(http.StatusServiceUnavailable)
	case 1:
		h.failed++
		panic(http.ErrAbortHandler)
	}
}

// owed says whom the store still has something to tell by now, empty if nobody.
func owed(ctx context.Context, kept *store.Store, now time.Time) string {
	rows, err := kept.Deliveries(ctx, time.Time{})
	if err != nil {
		return err.Error()
	}
	n := 0
	for _, d := range rows {
		if d.Open() && (d.Letter != "" || !d.Due.After(now)) {
			n++
		}
	}
	if n > 0 {
		return fmt.Sprintf("%d deliveries to people", n)
	}
	return ""
}

// judgeLetters holds what people were shown against what the store says they were told: each
// once, and those of one boat in their order.
func (h *hook) judgeLetters(kept *store.Store, ctx context.Context) (wrong []string, counts string) {
	rows, err := kept.Deliveries(ctx, time.Time{})
	if err != nil {
		return []string{err.Error()}, ""
	}
	h.mu.Lock()
	defer h.mu.Unlock()
	told, held, dropped := map[string][]notify.Notice{}, 0, 0
	total := 0
	for _, d := range rows {
		switch {
		case d.Off:
			dropped++
		case d.Letter == "":
			held++
		default:
			total++
			told[d.Person] = append(told[d.Person], d.Notice)
		}
	}
	wrong = append(wrong, h.faults...)
	for _, person := range []string{"Ines", "Rui", "Vera"} {
		for _, w := range judgeNotices(told[person], h.shown[person]) {
			wrong = append(wrong, person+": "+w)
		}
	}
	return wrong, fmt.Sprintf("%d in %d letters, %d failed when noted, %d repeated; %d held for later, %d overtaken", total, len(h.letters), h.failed, h.repeats, held, dropped)
}

// TestHookShowsOnce: what comes again under its id is shown once, and what comes again as
// something else, or unsigned, is a fault.
func TestHookShowsOnce(t *testing.T) {
	t.Parallel()
	h := newHook(t, 1)
	h.mend()
	send := func(id, body, secret string) {
		t.Helper()
		mac := hmac.New(sha256.New, []byte(secret))
		mac.Write([]byte("7." + body))
		r, err := http.NewRequestWithContext(t.Context(), http.MethodPost, h.url+"/ines", strings.NewReader(body))
		if err != nil {
			t.Fatal(err)
		}
		r.Header.Set("Fairwindow-Id", id)
		r.Header.Set("Fairwindow-Signature", "t=7,v1="+hex.EncodeToString(mac.Sum(nil)))
		answer, err := http.DefaultClient.Do(r)
		if err != nil {
			t.Fatal(err)
		}
		answer.Body.Close()
	}
	body := `{"id": "a", "person": "Ines", "notices": [{"notice": {"id": "x", "revision": 1}}]}`
	send("a", body, hookSecret)
	send("a", body, hookSecret)
	if len(h.shown["Ines"]) != 1 || h.repeats != 1 || len(h.faults) != 0 {
		t.Errorf("shown %v, %d repeated, faults %v", h.shown, h.repeats, h.faults)
	}
	send("a", body+" ", hookSecret)
	send("b", body, hookSecret)
	send("a", body, "another")
	if len(h.faults) != 3 {
		t.Errorf("faults %v, want of another body, another id and another secret", h.faults)
	}
}
