package webhook

import (
	"context"
	"encoding/json"
	"errors"
	"io"
	"net/http"
	"net/http/httptest"
	"os/exec"
	"strings"
	"testing"
	"time"

	"fairwindow/notify"
)

var at = time.Date(2026, 5, 12, 8, 30, 0, 0, time.UTC)

func letter() notify.Letter {
	n := notify.Notice{Kind: notify.WindowOpens, Boat: "Petrel", Area: "topsides", Stage: "topcoat", Occurrence: 1, Revision: 2, At: at}
	n.ID = notify.ID(n)
	return notify.Letter{ID: "abc123", Person: "board", At: at, Items: []notify.Item{{Notice: n, Sentence: "Window open."}}}
}

func TestSend(t *testing.T) {
	var got []byte
	var header http.Header
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		got, _ = io.ReadAll(r.Body)
		header = r.Header
		w.WriteHeader(http.StatusNoContent)
	}))
	defer server.Close()
	way := New(func() time.Time { return at })
	if err := way.Send(t.Context(), Hook{URL: server.URL, Secret: []byte("hush")}, letter()); err != nil {
		t.Fatal(err)
	}
	var b body
	if err := json.Unmarshal(got, &b); err != nil {
		t.Fatal(err)
	}
	if want := letter(); b.ID != "abc123" || b.Person != "board" || !b.At.Equal(at) || b.Subject != want.Subject() || len(b.Notices) != 1 || b.Notices[0].Notice != want.Items[0].Notice || b.Notices[0].Sentence != "Window open." {
		t.Errorf("got %s", got)
	}
	if header.Get("Content-Type") != "application/json" || header.Get("Fairwindow-Id") != "abc123" {
		t.Errorf("header %v", header)
	}
	if want := Sign([]byte("hush"), at, got); header.Get("Fairwindow-Signature") != want {
		t.Errorf("signed %q, want %q", header.Get("Fairwindow-Signature"), want)
	}
}

// The HMAC is checked against a second implementation, OpenSSL's.
func TestSign(t *testing.T) {
	openssl, err := exec.LookPath("openssl")
	if err != nil {
		t.Skip("no second implementation here: openssl")
	}
	for _, text := range []string{"what do ya want for nothing?", `{"id":"é"}`, ""} {
		c := exec.CommandContext(t.Context(), openssl, "dgst", "-sha256", "-hmac", "Jefe")
		c.Stdin = strings.NewReader("1778574600." + text)
		out, err := c.Output()
		if err != nil {
			t.Fatal(err)
		}
		words := strings.Fields(string(out))
		if got, want := Sign([]byte("Jefe"), at, []byte(text)), "t=1778574600,v1="+words[len(words)-1]; got != want {
			t.Errorf("%q: got %s, want %s", text, got, want)
		}
	}
}

func TestAnswers(t *testing.T) {
	moved := 0
	var code int
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.URL.Path == "/elsewhere" {
			moved++
		}
		w.Header().Set("Location", "/elsewhere")
		w.WriteHeader(code)
	}))
	defer server.Close()
	way := New(func() time.Time { return at })
	for _, tt := range []struct {
		code        int
		ok, forGood bool
	}{{200, true, false}, {202, true, false}, {301, false, false}, {307, false, false}, {400, false, true}, {401, false, true}, {404, false, true}, {408, false, false}, {410, false, true}, {425, false, false}, {429, false, false}, {500, false, false}, {503, false, false}} {
		code = tt.code
		err := way.Send(t.Context(), Hook{URL: server.URL + "?token=hush"}, letter())
		if (err == nil) != tt.ok || errors.Is(err, notify.ErrRefused) != tt.forGood {
			t.Errorf("%d: %v", tt.code, err)
		}
		if err != nil && strings.Contains(err.Error(), "hush") {
			t.Errorf("the address's token is in the error: %v", err)
		}
	}
	if moved > 0 {
		t.Error("a redirect was followed")
	}
	url := server.URL
	server.Close()
	if err := way.Send(t.Context(), Hook{URL: url + "?token=hush"}, letter()); err == nil || errors.Is(err, notify.ErrRefused) || strings.Contains(err.Error(), "hush") {
		t.Errorf("nobody there: %v", err)
	}
}

// Who never answers is left when the caller's time ends.
func TestNoAnswer(t *testing.T) {
	asked := make(chan struct{})
	server := httptest.NewServer(http.HandlerFunc(func(_ http.ResponseWriter, r *http.Request) {
		_, _ = io.ReadAll(r.Body)
		close(asked)
		<-r.Context().Done()
	}))
	defer server.Close()
	ctx, cancel := context.WithCancel(t.Context())
	go func() { <-asked; cancel() }()
	if err := New(func() time.Time { return at }).Send(ctx, Hook{URL: server.URL}, letter()); !errors.Is(err, context.Canceled) {
		t.Errorf("%v", err)
	}
}
