// Package mail answers one question: how does a letter reach a mailbox? It sends by the yard's
// own server (SMTP, RFC 5321), one message to one address.
//
// It sends at least once: when the server's answer is lost the same letter goes again, under the
// same Message-ID, which is made of the letter's. Each notice it carries is named in a header
// Fairwindow-Notice, "ID; revision=N", so that a program that reads the mailbox can count it once.
package mail

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"net"
	"strconv"
	"strings"
	"time"

	gomail "github.com/wneessen/go-mail"

	"fairwindow/notify"
)

// timeout bounds one try, from the first packet to the server's last word.
const timeout = 30 * time.Second

// Options is the server and who sends.
type Options struct {
	Server   string // host:port
	From     string // a bare address
	Yard     string // named in the subject
	User     string // empty: the server asks for none
	Password string
	TLS      string      // starttls, implicit or none
	Config   *tls.Config // nil: as the system trusts
}

// Way sends letters by mail.
type Way struct{ o Options }

// New checks the options.
func New(o Options) (*Way, error) {
	if _, _, err := net.SplitHostPort(o.Server); err != nil {
		return nil, fmt.Errorf("mail: %q is no host:port: %w", o.Server, err)
	}
	return &Way{o}, nil
}

// Send hands a letter to the server and returns when it has taken it. An error that wraps
// notify.ErrRefused is the server's last word (a 5xx answer); after any other try again.
func (w *Way) Send(ctx context.Context, to string, l notify.Letter) error {
	ctx, cancel := context.WithTimeout(ctx, timeout)
	defer cancel()
	m, err := w.message(to, l)
	if err != nil {
		return fmt.Errorf("mail to %s: %w: %w", to, notify.ErrRefused, err)
	}
	client, err := w.client()
	if err != nil {
		return fmt.Errorf("mail by %s: %w", w.o.Server, err)
	}
	if err := client.DialAndSendWithContext(ctx, m); err != nil {
		var refused *gomail.SendError
		// A server that asks to log in, or cannot be reached, may be put right; what it says of
		// this one message with 5xx stays.
		if errors.As(err, &refused) && !refused.IsTemp() && refused.ErrorCode() >= 500 && refused.ErrorCode() != 530 {
			return fmt.Errorf("mail to %s: %w: %w", to, notify.ErrRefused, err)
		}
		return fmt.Errorf("mail to %s by %s: %w", to, w.o.Server, err)
	}
	return nil
}

func (w *Way) client() (*gomail.Client, error) {
	host, text, _ := net.SplitHostPort(w.o.Server)
	port, err := strconv.Atoi(text)
	if err != nil {
		return nil, err
	}
	options := []gomail.Option{gomail.WithPort(port), gomail.WithTimeout(timeout)}
	switch w.o.TLS {
	case "implicit":
		options = append(options, gomail.WithSSL())
	case "none":
		options = append(options, gomail.WithTLSPolicy(gomail.NoTLS))
	default:
		options = append(options, gomail.WithTLSPolicy(gomail.TLSMandatory))
	}
	if w.o.Config != nil {
		options = append(options, gomail.WithTLSConfig(w.o.Config))
	}
	if w.o.User != "" {
		auth := gomail.SMTPAuthAutoDiscover
		if w.o.TLS == "none" {
			auth = gomail.SMTPAuthPlainNoEnc // to a server on this machine, as the yard file's check sees to
		}
		options = append(options, gomail.WithSMTPAuth(auth), gomail.WithUsername(w.o.User), gomail.WithPassword(w.o.Password))
	}
	return gomail.NewClient(host, options...)
}

func (w *Way) message(to string, l notify.Letter) (*gomail.Msg, error) {
	m := gomail.NewMsg()
	if err := m.From(w.o.From); err != nil {
		return nil, err
	}
	if err := m.To(to); err != nil {
		return nil, err
	}
	subject := l.Subject()
	if w.o.Yard != "" {
		subject += " (" + w.o.Yard + ")"
	}
	m.Subject(subject)
	m.SetDateWithValue(l.At)
	_, domain, _ := strings.Cut(w.o.From, "@")
	m.SetMessageIDWithValue(l.ID + "@" + domain)
	var notices []string
	for _, i := range l.Items {
		notices = append(notices, fmt.Sprintf("%s; revision=%d", i.Notice.ID, i.Notice.Revision))
	}
	m.SetGenHeader("Fairwindow-Notice", notices...)
	m.SetGenHeader("Auto-Submitted", "auto-generated") // RFC 3834: no answering machine answers
	if l.Urgent() {
		m.SetImportance(gomail.ImportanceHigh)
	}
	m.SetBodyString(gomail.TypeTextPlain, l.Text()+"\n\nCall it heard on the yard's notices page. This advises on coating limits only; the maker's instructions, the site's rules and licensed practice decide.\n")
	return m, nil
}
