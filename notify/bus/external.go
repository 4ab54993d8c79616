package bus

import (
	"context"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"net"
	"os"
	"strings"
	"sync"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"
)

// reach is how long one server of others may take to answer: behind a wall that swallows what is
// sent, each of them is waited for at the start.
const reach = 5 * time.Second

// clusterReady is how long a cluster gets to find a leader: measured, 2.4 s after a first start.
const clusterReady = 10 * time.Second

// Login is what a server run by others may ask for; each is a file, empty for none.
type Login struct {
	Credentials string
	CA          string // who signed the server's certificate
	Certificate string // ours
	Key         string // of Certificate
}

func (o Options) login() Login { return Login{o.Credentials, o.CA, o.Certificate, o.Key} }

// connectExternal connects to a server run by others, over TLS where its URL or our files say
// so. One that is away is no reason not to start: what is told waits for it.
func (b *Bus) connectExternal(o Options) (*nats.Conn, error) {
	options := connOptions(o, &b.denied)
	conn, err := dial(o.External, o.login(), options...)
	if err == nil || !away(err) {
		return conn, err
	}
	o.Log.WithError(err).Warn("the bus can't be reached yet; we go on without it, and try again")
	return dial(o.External, o.login(), append(options, nats.RetryOnFailedConnect(true),
		nats.ConnectHandler(func(*nats.Conn) { o.Log.Info("the bus is reached") }))...)
}

// away reports whether an error is that of a server that may well be there later.
func away(err error) bool {
	var op *net.OpError
	return errors.Is(err, nats.ErrNoServers) || errors.Is(err, nats.ErrTimeout) || errors.As(err, &op) && op.Op == "dial"
}

func dial(url string, l Login, options ...nats.Option) (*nats.Conn, error) {
	if l.Credentials != "" {
		if _, err := os.Stat(l.Credentials); err != nil {
			return nil, fmt.Errorf("bus: the credentials file can't be read: %w", err)
		}
		options = append(options, nats.UserCredentials(l.Credentials))
	}
	config, err := clientTLS(l)
	if err != nil {
		return nil, err
	}
	if config != nil {
		options = append(options, nats.Secure(config))
	}
	conn, err := nats.Connect(url, append([]nats.Option{nats.Timeout(reach)}, options...)...)
	if err != nil {
		return nil, fmt.Errorf("bus: connect to %s: %w", redacted(url), advised(context.Background(), err))
	}
	return conn, nil
}

// clientTLS is how we look at a server of others, and show ourselves; nil with no file of ours.
func clientTLS(l Login) (*tls.Config, error) {
	if l.CA+l.Certificate == "" {
		return nil, nil
	}
	config := &tls.Config{MinVersion: tls.VersionTLS12}
	if l.CA != "" {
		text, err := os.ReadFile(l.CA)
		if err != nil {
			return nil, fmt.Errorf("bus: the CA file can't be read: %w", err)
		}
		config.RootCAs = x509.NewCertPool()
		if !config.RootCAs.AppendCertsFromPEM(text) {
			return nil, fmt.Errorf("bus: the CA file %s has no certificate in PEM: it must begin with -----BEGIN CERTIFICATE-----", l.CA)
		}
	}
	if l.Certificate != "" {
		pair, err := keyPair(l.Certificate, l.Key)
		if err != nil {
			return nil, err
		}
		config.Certificates = []tls.Certificate{pair}
	}
	return config, nil
}

// serverTLS is that of a port of ours; nil without a certificate.
func serverTLS(certificate, key string) (*tls.Config, error) {
	if certificate == "" {
		return nil, nil
	}
	pair, err := keyPair(certificate, key)
	if err != nil {
		return nil, err
	}
	return &tls.Config{MinVersion: tls.VersionTLS12, Certificates: []tls.Certificate{pair}}, nil
}

func keyPair(certificate, key string) (tls.Certificate, error) {
	pair, err := tls.LoadX509KeyPair(certificate, key)
	if err != nil {
		return tls.Certificate{}, fmt.Errorf("bus: certificate %s with key %s: %w: give a certificate and its own key, both PEM files", certificate, key, err)
	}
	return pair, nil
}

// settled asks until a cluster answers that is just starting or choosing a new leader: what it is
// asked meanwhile it may never answer, so each try is short.
func settled(ctx context.Context, ask func(context.Context) error) error {
	end := time.Now().Add(clusterReady)
	for {
		short, cancel := context.WithTimeout(ctx, clusterReady/5)
		err := ask(short)
		cancel()
		if !starting(err) || ctx.Err() != nil || time.Now().After(end) {
			return err
		}
		pause(ctx, clusterReady/40)
	}
}

// starting reports whether an error is that of a cluster that has no leader yet.
func starting(err error) bool {
	var api *jetstream.APIError
	return errors.Is(err, jetstream.ErrNoStreamResponse) || errors.Is(err, nats.ErrNoResponders) || errors.Is(err, nats.ErrTimeout) ||
		errors.Is(err, context.DeadlineExceeded) || errors.As(err, &api) && api.Code == 503
}

// advised adds to an error what there is to do about it, where that is known.
func advised(ctx context.Context, err error) error {
	if cause := context.Cause(ctx); errors.Is(cause, nats.ErrPermissionViolation) {
		return fmt.Errorf("%s: have the server's owner permit our user to publish to fairwindow.> and $JS.API.> and to subscribe to _INBOX.>",
			strings.ReplaceAll(cause.Error(), "\n", " "))
	}
	var unknown x509.UnknownAuthorityError
	var name x509.HostnameError
	switch {
	case errors.As(err, &unknown):
		return fmt.Errorf("%w: give the file of the authority that signed it as bus.ca", err)
	case errors.As(err, &name):
		return fmt.Errorf("%w: name the server in bus.url as its certificate does", err)
	case strings.Contains(err.Error(), "tls: certificate required"), strings.Contains(err.Error(), "tls: bad certificate"),
		strings.Contains(err.Error(), "after TLS handshake"), // since TLS 1.3 ours is refused after the handshake
		strings.Contains(err.Error(), "tls: unknown certificate authority"):
		return fmt.Errorf("%w: the server wants a certificate that it knows, give it as bus.certificate with bus.key", err)
	case errors.Is(err, nats.ErrAuthorization):
		return fmt.Errorf("%w: give the credentials file that the server's owner made for this yard as bus.credentials", err)
	case errors.Is(err, nats.ErrSecureConnWanted), errors.Is(err, nats.ErrSecureConnRequired):
		return fmt.Errorf("%w: both sides must agree on TLS, write tls:// in bus.url and bus.ca if the server has it", err)
	}
	return err
}

// denials passes on what the server forbids. It says so on the side, and whoever asked would only
// wait in vain.
type denials struct {
	mu      sync.Mutex
	waiting map[*context.CancelCauseFunc]bool
}

func (d *denials) add(err error) {
	if !errors.Is(err, nats.ErrPermissionViolation) {
		return
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	for cancel := range d.waiting {
		(*cancel)(err)
	}
}

// watch gives a context that ends with what is forbidden next as its cause.
func (d *denials) watch(ctx context.Context) (context.Context, func()) {
	ctx, cancel := context.WithCancelCause(ctx)
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.waiting == nil {
		d.waiting = map[*context.CancelCauseFunc]bool{}
	}
	d.waiting[&cancel] = true
	return ctx, func() {
		d.mu.Lock()
		defer d.mu.Unlock()
		delete(d.waiting, &cancel)
		cancel(nil)
	}
}
