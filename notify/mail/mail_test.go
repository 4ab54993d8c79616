package mail

import (
	"context"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"io"
	"mime"
	"mime/quotedprintable"
	"net"
	"net/http/httptest"
	netmail "net/mail"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/emersion/go-sasl"
	"github.com/emersion/go-smtp"

	"fairwindow/notify"
)

// mailbox is a real server's memory: another library's than the one that sends.
type mailbox struct {
	mu     sync.Mutex
	got    []string
	to     []string
	secret bool // the last message came over TLS
	user   string
	refuse *smtp.SMTPError
	hangUp bool
}

func (b *mailbox) NewSession(c *smtp.Conn) (smtp.Session, error) { return &session{b, c}, nil }

type session struct {
	box  *mailbox
	conn *smtp.Conn
}

func (s *session) AuthMechanisms() []string { return []string{sasl.Plain} }
func (s *session) Auth(string) (sasl.Server, error) {
	return sasl.NewPlainServer(func(_, user, password string) error {
		if password != "hush" {
			return smtp.ErrAuthFailed
		}
		s.box.user = user
		return nil
	}), nil
}
func (s *session) Mail(string, *smtp.MailOptions) error { return nil }
func (s *session) Rcpt(to string, _ *smtp.RcptOptions) error {
	if s.box.hangUp {
		s.conn.Close()
	}
	if s.box.refuse != nil {
		return s.box.refuse
	}
	s.box.to = append(s.box.to, to)
	return nil
}
func (s *session) Data(r io.Reader) error {
	text, err := io.ReadAll(r)
	s.box.mu.Lock()
	defer s.box.mu.Unlock()
	s.box.got = append(s.box.got, string(text))
	_, s.box.secret = s.conn.TLSConnectionState()
	return err
}
func (s *session) Reset()        {}
func (s *session) Logout() error { return nil }

// certificate is the one that httptest has for this machine, and who trusts it.
func certificate(t *testing.T) (tls.Certificate, *tls.Config) {
	t.Helper()
	server := httptest.NewTLSServer(nil)
	defer server.Close()
	pool := x509.NewCertPool()
	pool.AddCert(server.Certificate())
	return server.TLS.Certificates[0], &tls.Config{RootCAs: pool, ServerName: "127.0.0.1"}
}

func serve(t *testing.T, box *mailbox, config *tls.Config, implicit bool) string {
	t.Helper()
	server := smtp.NewServer(box)
	server.Domain, server.TLSConfig, server.AllowInsecureAuth = "127.0.0.1", config, config == nil
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	addr := l.Addr().String()
	if implicit {
		l = tls.NewListener(l, config)
	}
	go server.Serve(l)
	t.Cleanup(func() { server.Close() })
	return addr
}

var letter = notify.Letter{
	ID: "0123456789abcdef", Person: "Ines", At: time.Date(2026, 5, 12, 8, 30, 0, 0, time.UTC),
	Items: []notify.Item{
		{Notice: notify.Notice{ID: "wet_coat_at_risk/Petrel/topsides/topcoat/1/1", Kind: notify.WetCoatAtRisk, Revision: 2, Boat: "Petrel", Area: "topsides", Stage: "topcoat"}, Sentence: "Wet topcoat on Petrel is at risk: 2 °C."},
		{Notice: notify.Notice{ID: "measure_now/Auk///0/1", Kind: notify.MeasureNow, Revision: 1, Boat: "Auk"}, Sentence: "Measure now."},
	},
}

func TestSend(t *testing.T) {
	cert, trust := certificate(t)
	serves := &tls.Config{Certificates: []tls.Certificate{cert}}
	for _, tt := range []struct {
		tls      string
		config   *tls.Config
		user     string
		implicit bool
	}{
		{"none", nil, "", false}, {"none", nil, "yard", false}, {"starttls", serves, "yard", false}, {"implicit", serves, "yard", true},
	} {
		t.Run(tt.tls+" "+tt.user, func(t *testing.T) {
			box := &mailbox{}
			way, err := New(Options{Server: serve(t, box, tt.config, tt.implicit), From: "yard@yard.example", Yard: "Invented Yard", User: tt.user, Password: "hush", TLS: tt.tls, Config: trust})
			if err != nil {
				t.Fatal(err)
			}
			for range 2 { // the answer to the first was lost
				if err := way.Send(t.Context(), "ines@yard.example", letter); err != nil {
					t.Fatal(err)
				}
			}
			if len(box.got) != 2 || box.to[0] != "ines@yard.example" || box.user != tt.user || box.secret != (tt.tls != "none") {
				t.Fatalf("got %d for %v from user %q, secret %v", len(box.got), box.to, box.user, box.secret)
			}
			ids := map[string]bool{}
			for _, text := range box.got {
				m, err := netmail.ReadMessage(strings.NewReader(text))
				if err != nil {
					t.Fatal(err)
				}
				ids[m.Header.Get("Message-ID")] = true
				subject, err := new(mime.WordDecoder).DecodeHeader(m.Header.Get("Subject"))
				if want := "Wet coat at risk: topcoat on Petrel topsides, and 1 more (Invented Yard)"; err != nil || subject != want {
					t.Errorf("subject %q, want %q", subject, want)
				}
				if when, err := m.Header.Date(); err != nil || !when.Equal(letter.At) {
					t.Errorf("date %s, %v", when, err)
				}
				if got, want := m.Header.Get("Fairwindow-Notice"), "wet_coat_at_risk/Petrel/topsides/topcoat/1/1; revision=2, measure_now/Auk///0/1; revision=1"; got != want {
					t.Errorf("notices %q, want %q", got, want)
				}
				if m.Header.Get("Auto-Submitted") != "auto-generated" || m.Header.Get("Importance") != "high" {
					t.Errorf("header %v", m.Header)
				}
				body, err := io.ReadAll(quotedprintable.NewReader(m.Body))
				if err != nil || !strings.Contains(strings.ReplaceAll(string(body), "\r", ""), "Wet topcoat on Petrel is at risk: 2 °C.\n\nMeasure now.\n") {
					t.Errorf("body %q, %v", body, err)
				}
			}
			if len(ids) != 1 || !ids["<0123456789abcdef@yard.example>"] {
				t.Errorf("Message-IDs %v: a known one must be droppable", ids)
			}
		})
	}
}

// Only what can't wait says so in the mailbox.
func TestImportance(t *testing.T) {
	box := &mailbox{}
	way, err := New(Options{Server: serve(t, box, nil, false), From: "yard@yard.example", TLS: "none"})
	if err != nil {
		t.Fatal(err)
	}
	for _, kind := range []notify.Kind{notify.StageMoved, notify.WetCoatAtRisk} {
		if err := way.Send(t.Context(), "ines@yard.example", notify.Letter{ID: "1", At: letter.At, Items: []notify.Item{{Notice: notify.Notice{Kind: kind}}}}); err != nil {
			t.Fatal(err)
		}
	}
	for i, want := range []string{"", "high"} {
		m, err := netmail.ReadMessage(strings.NewReader(box.got[i]))
		if err != nil {
			t.Fatal(err)
		}
		if got := m.Header.Get("Importance"); got != want {
			t.Errorf("importance %q, want %q", got, want)
		}
	}
}

func TestSendFails(t *testing.T) {
	_, trust := certificate(t)
	for _, tt := range []struct {
		name    string
		refuse  *smtp.SMTPError
		options func(addr string) Options
		forGood bool
	}{
		{"no such mailbox", &smtp.SMTPError{Code: 550, EnhancedCode: smtp.EnhancedCode{5, 1, 1}, Message: "no such mailbox"}, func(a string) Options { return Options{Server: a, TLS: "none"} }, true},
		{"busy", &smtp.SMTPError{Code: 451, Message: "try later"}, func(a string) Options { return Options{Server: a, TLS: "none"} }, false},
		// RFC 4954, 6: the one code of 5xx that the yard can put right.
		{"it asks to log in", &smtp.SMTPError{Code: 530, EnhancedCode: smtp.EnhancedCode{5, 7, 0}, Message: "log in first"}, func(a string) Options { return Options{Server: a, TLS: "none"} }, false},
		{"it hangs up", nil, func(a string) Options { return Options{Server: a, TLS: "none"} }, false},
		{"no TLS there", nil, func(a string) Options { return Options{Server: a, TLS: "starttls", Config: trust} }, false},
		{"wrong password", nil, func(a string) Options { return Options{Server: a, TLS: "none", User: "yard", Password: "wrong"} }, false},
		{"nobody listens", nil, func(string) Options { return Options{Server: "127.0.0.1:1", TLS: "none"} }, false},
	} {
		t.Run(tt.name, func(t *testing.T) {
			box := &mailbox{refuse: tt.refuse, hangUp: tt.name == "it hangs up"}
			o := tt.options(serve(t, box, nil, false))
			o.From = "yard@yard.example"
			way, err := New(o)
			if err != nil {
				t.Fatal(err)
			}
			err = way.Send(t.Context(), "ines@yard.example", letter)
			if err == nil || errors.Is(err, notify.ErrRefused) != tt.forGood || len(box.got) != 0 {
				t.Errorf("%v, %d taken; want for good: %v", err, len(box.got), tt.forGood)
			}
			if err != nil && strings.Contains(err.Error(), "wrong") && tt.name == "wrong password" {
				t.Errorf("the password is in the error: %v", err)
			}
		})
	}
	way, err := New(Options{Server: "127.0.0.1:1", From: "yard@yard.example"})
	if err != nil {
		t.Fatal(err)
	}
	ended, cancel := context.WithCancel(t.Context())
	cancel()
	if err := way.Send(ended, "not an address", letter); !errors.Is(err, notify.ErrRefused) {
		t.Errorf("a bad address: %v", err)
	}
	if _, err := New(Options{Server: "nowhere"}); err == nil {
		t.Error("a server without a port was taken")
	}
}
