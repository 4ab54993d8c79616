package sensors

import (
	"bytes"
	"compress/gzip"
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"
)

// TestNoDocument: what is no whole document never replaces a good one: it is refused
// with a reason, and is asked for again whole.
func TestNoDocument(t *testing.T) {
	packed := func(body string) []byte {
		var b bytes.Buffer
		z := gzip.NewWriter(&b)
		_, _ = z.Write([]byte(body))
		_ = z.Close()
		return b.Bytes()
	}
	cut := func(head string) http.HandlerFunc { // a connection that ends too soon: RFC 9112 section 8
		return func(w http.ResponseWriter, _ *http.Request) {
			conn, _, err := http.NewResponseController(w).Hijack()
			if err == nil {
				_, _ = conn.Write([]byte(strings.ReplaceAll(head, "\n", "\r\n")))
				_ = conn.Close()
			}
		}
	}
	half := packed("one and some more of it")[:20]
	for name, c := range map[string]struct {
		serve http.HandlerFunc
		fault string
	}{
		"cut, by its length":       {cut("HTTP/1.1 200 OK\nContent-Length: 100\n\none"), "broke off after 3 bytes: unexpected EOF"},
		"cut, in chunks":           {cut("HTTP/1.1 200 OK\nTransfer-Encoding: chunked\n\n3\none\n"), "broke off after 3 bytes: unexpected EOF"},
		"cut, packed":              {gives(200, string(half), "Content-Encoding: gzip"), "unexpected EOF"},
		"packed as nobody asked":   {gives(200, "one", "Content-Encoding: br"), `packed as "br"`},
		"a bomb":                   {gives(200, string(packed(strings.Repeat("x", documentLimit+1))), "Content-Encoding: gzip"), "longer than 8 MiB"},
		"no document in it":        {gives(204, ""), "204 No Content"},
		"a part of one":            {gives(206, "one", "Content-Range: bytes 0-2/100"), "206 Partial"},
		"gone":                     {gives(410, ""), "410 Gone"},
		"no forecast":              {gives(200, "bad: sign in", `ETag: "bad"`), "no forecast"},
		"sent round in circles":    {func(w http.ResponseWriter, r *http.Request) { http.Redirect(w, r, r.URL.String(), http.StatusFound) }, "more than 5 times"},
		"sent to another protocol": {gives(302, "", "Location: ftp://127.0.0.1/f"), "unsupported protocol scheme"},
	} {
		t.Run(name, func(t *testing.T) {
			s := newSite(t)
			r := newReader(t, s)
			s.serve = gives(200, "good", `ETag: "good"`)
			r.poll("good@12:00", "", time.Hour)
			s.serve = c.serve
			r.poll("", c.fault, whenever)
			if name == "no forecast" {
				if len(r.refused) != 1 || r.refused[0] != "bad: sign in: no forecast" {
					t.Errorf("refused %q", r.refused)
				}
			} else if len(r.refused) != 0 {
				t.Errorf("refused %q", r.refused)
			}
			if n := len(s.asked); strings.Contains(name, "circles") && n != 1+1+mostRedirects {
				t.Errorf("%d requests", n)
			}
			s.serve = gives(200, "new")
			r.poll("new@12:00", "", time.Hour)
			if last := s.asked[len(s.asked)-1]; last.Get("If-None-Match") != `"good"` {
				t.Errorf("asked with %v", last)
			}
		})
	}
}

// TestSentOn: a few redirects are followed, and the server at their end is not told
// the address that the request came from.
func TestSentOn(t *testing.T) {
	end := newSite(t)
	end.serve = gives(200, "one", "Content-Encoding: identity")
	s := newSite(t)
	hops := 0
	s.serve = func(w http.ResponseWriter, r *http.Request) {
		to := r.URL.String()
		if hops++; hops == mostRedirects {
			to = end.URL
		}
		http.Redirect(w, r, to, http.StatusTemporaryRedirect)
	}
	r := newReader(t, s)
	r.poll("one@12:00", "", time.Hour)
	for _, asked := range append(s.asked, end.asked...) {
		if strings.Contains(fmt.Sprint(asked), "hush") {
			t.Errorf("the key is told: %v", asked)
		}
	}
}

// TestSentOnInTheOpen: an encrypted address never becomes a plain one.
func TestSentOnInTheOpen(t *testing.T) {
	plain := newSite(t)
	plain.serve = gives(200, "one")
	secret := httptest.NewTLSServer(http.RedirectHandler(plain.URL, http.StatusFound))
	t.Cleanup(secret.Close)
	r := newReader(t, plain)
	r.options.Source.URL, r.options.Client = secret.URL, secret.Client()
	r.Address = NewAddress(r.options)
	r.poll("", "without encryption", whenever)
	if len(plain.asked) != 0 {
		t.Error("it was asked")
	}
}

// TestPackedAndLate: gzip is unpacked; a server that begins and never ends is left
// after the wait, and one that we leave ourselves has not failed.
func TestPackedAndLate(t *testing.T) {
	s := newSite(t)
	r := newReader(t, s)
	s.serve = func(w http.ResponseWriter, r *http.Request) {
		if r.Header.Get("Accept-Encoding") != "gzip" {
			t.Errorf("asked with %v", r.Header)
		}
		w.Header().Set("Content-Encoding", "gzip")
		z := gzip.NewWriter(w)
		_, _ = z.Write([]byte("one"))
		_ = z.Close()
	}
	r.poll("one@12:00", "", time.Hour)
	for _, begun := range []bool{false, true} {
		s.answers(func(w http.ResponseWriter, r *http.Request) {
			if begun {
				_, _ = w.Write([]byte("tw"))
				_ = http.NewResponseController(w).Flush()
			}
			<-r.Context().Done()
		})
		r.options.Wait = 20 * time.Millisecond
		r.Address = NewAddress(r.options)
		r.poll("", "no whole answer within 20ms", whenever)
	}
	before := r.State()
	r.options.Wait = time.Minute
	stopped, cancel := context.WithCancel(t.Context())
	s.answers(func(w http.ResponseWriter, r *http.Request) { cancel(); <-r.Context().Done() })
	r.options.State = before
	r.Address = NewAddress(r.options)
	if err := r.Poll(stopped); !errors.Is(err, stopped.Err()) || err == nil || r.State() != before {
		t.Errorf("%v, %+v", err, r.State())
	}
}
