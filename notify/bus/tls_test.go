package bus

import (
	"context"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/json"
	"encoding/pem"
	"errors"
	"math/big"
	"net"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	mqtt "github.com/eclipse/paho.mqtt.golang"
	"github.com/nats-io/jwt/v2"
	"github.com/nats-io/nats-server/v2/server"
	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"
	"github.com/nats-io/nkeys"

	"fairwindow/notify"
)

// authority signs certificates for one test.
type authority struct {
	dir  string
	file string // its own certificate
	cert *x509.Certificate
	key  *ecdsa.PrivateKey
}

func newAuthority(t *testing.T) *authority {
	t.Helper()
	a := &authority{dir: t.TempDir()}
	a.file, a.cert, a.key = a.make(t, "authority", &x509.Certificate{IsCA: true, BasicConstraintsValid: true, KeyUsage: x509.KeyUsageCertSign})
	return a
}

// make writes a certificate, signed by the authority, or by itself if it is the first.
func (a *authority) make(t *testing.T, name string, c *x509.Certificate) (string, *x509.Certificate, *ecdsa.PrivateKey) {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	c.SerialNumber, c.Subject = big.NewInt(time.Now().UnixNano()), pkix.Name{CommonName: name}
	c.NotBefore, c.NotAfter = time.Now().Add(-time.Hour), time.Now().Add(time.Hour)
	parent, signer := a.cert, a.key
	if parent == nil {
		parent, signer = c, key
	}
	der, err := x509.CreateCertificate(rand.Reader, c, parent, &key.PublicKey, signer)
	if err != nil {
		t.Fatal(err)
	}
	private, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(a.dir, name+".pem")
	write(t, path, pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der}))
	write(t, filepath.Join(a.dir, name+".key"), pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: private}))
	made, err := x509.ParseCertificate(der)
	if err != nil {
		t.Fatal(err)
	}
	return path, made, key
}

// sign gives the files of a certificate for this machine.
func (a *authority) sign(t *testing.T, name string) (certificate, key string) {
	t.Helper()
	path, _, _ := a.make(t, name, &x509.Certificate{IPAddresses: []net.IP{net.ParseIP("127.0.0.1")},
		ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth, x509.ExtKeyUsageClientAuth}})
	return path, filepath.Join(a.dir, name+".key")
}

// pool trusts the authority.
func (a *authority) pool() *x509.CertPool {
	p := x509.NewCertPool()
	p.AddCert(a.cert)
	return p
}

func write(t *testing.T, path string, text []byte) {
	t.Helper()
	if err := os.WriteFile(path, text, 0o600); err != nil {
		t.Fatal(err)
	}
}

// strict starts a server of others that asks for a certificate.
func strict(t *testing.T, a *authority) string {
	t.Helper()
	certificate, key := a.sign(t, "server")
	config, err := serverTLS(certificate, key)
	if err != nil {
		t.Fatal(err)
	}
	config.ClientAuth, config.ClientCAs = tls.RequireAndVerifyClientCert, a.pool()
	return run(t, &server.Options{TLSConfig: config, TLSTimeout: hangs.Seconds()}).ClientURL()
}

// run starts a server of others with JetStream on loopback.
func run(t *testing.T, o *server.Options) *server.Server {
	t.Helper()
	o.Host, o.NoSigs, o.NoLog, o.JetStream = "127.0.0.1", true, true, true
	if o.Port == 0 {
		o.Port = server.RANDOM_PORT
	}
	if o.StoreDir == "" {
		o.StoreDir = t.TempDir()
	}
	o.JetStreamMaxMemory, o.JetStreamMaxStore = 16<<20, 256<<20
	s, err := server.NewServer(o)
	if err != nil {
		t.Fatal(err)
	}
	s.Start()
	t.Cleanup(func() { s.Shutdown(); s.WaitForShutdown() })
	return s
}

func TestExternalOverTLS(t *testing.T) {
	t.Parallel()
	ctx := within(t)
	ours, strangers := newAuthority(t), newAuthority(t)
	url := strict(t, ours)
	certificate, key := ours.sign(t, "yard")
	foreign, foreignKey := strangers.sign(t, "stranger")
	b := open(t, ctx, Options{External: url, CA: ours.file, Certificate: certificate, Key: key})
	if err := b.Publish(ctx, example("Auk", notify.WindowOpens), "Open."); err != nil {
		t.Fatal(err)
	}
	heard := listenTo(t, ctx, url, Filter{FromStart: true, Login: Login{CA: ours.file, Certificate: certificate, Key: key}})
	if got := next(t, ctx, heard); got.Notice.Boat != "Auk" {
		t.Errorf("heard %+v", got)
	}
	stop, err := b.Answer(map[string]Answer{"echo": func(_ context.Context, q json.RawMessage) (any, error) { return q, nil }})
	if err != nil {
		t.Fatal(err)
	}
	defer stop()
	if n, err := b.conn.Buffered(); n != 0 || err != nil {
		t.Errorf("the server does not have %d bytes of what is to be answered, %v", n, err)
	}
	if got, err := Ask(ctx, url, Login{CA: ours.file, Certificate: certificate, Key: key}, "echo", json.RawMessage(`{"a":1}`)); err != nil || string(got) != `{"a":1}` {
		t.Errorf("asked: %s, %v", got, err)
	}
	if _, err := Ask(ctx, url, Login{CA: strangers.file}, "echo", nil); err == nil || !strings.Contains(err.Error(), "bus.ca") {
		t.Errorf("asked with another authority's CA: %v", err)
	}
	for name, tt := range map[string]struct {
		o    Options
		want string
	}{
		"another authority's CA": {Options{CA: strangers.file, Certificate: certificate, Key: key}, "give the file of the authority that signed it as bus.ca"},
		"no certificate":         {Options{CA: ours.file}, "give it as bus.certificate with bus.key"},
		"another's certificate":  {Options{CA: ours.file, Certificate: foreign, Key: foreignKey}, "give it as bus.certificate with bus.key"},
		"another's key":          {Options{CA: ours.file, Certificate: certificate, Key: foreignKey}, "give a certificate and its own key"},
		"a CA file that is none": {Options{CA: key}, "has no certificate in PEM"},
		"a CA file that is away": {Options{CA: ours.file + "x"}, "the CA file can't be read"},
	} {
		tt.o.External = url
		wantOneLine(t, name, tt.o, tt.want)
	}
}

// wantOneLine opens a bus that can't be opened.
func wantOneLine(t *testing.T, name string, o Options, want string) {
	t.Helper()
	ctx := within(t)
	b, err := Open(ctx, o)
	if err == nil {
		b.Close(ctx)
		t.Errorf("%s: it opened", name)
		return
	}
	if !strings.Contains(err.Error(), want) || strings.Contains(err.Error(), "\n") {
		t.Errorf("%s: %q, want one line with %q", name, err, want)
	}
}

// A user who may not make streams, or may not publish, is told so at once, not after a timeout.
func TestMissingPermission(t *testing.T) {
	t.Parallel()
	ctx := within(t)
	allow := func(subjects ...string) *server.Permissions {
		return &server.Permissions{Publish: &server.SubjectPermission{Allow: subjects}}
	}
	url := run(t, &server.Options{Users: []*server.User{
		{Username: "reader", Password: "r", Permissions: allow("nothing")},
		{Username: "maker", Password: "m", Permissions: allow("$JS.API.>")},
		{Username: "yard", Password: "y", Permissions: allow("$JS.API.>", "fairwindow.>")},
	}}).ClientURL()
	as := func(login string) Options {
		return Options{External: strings.Replace(url, "nats://", "nats://"+login+"@", 1)}
	}

	const advice = "permit our user to publish to fairwindow.> and $JS.API.> and to subscribe to _INBOX.>"
	wantOneLine(t, "may not make the stream", as("reader:r"), advice)
	wantOneLine(t, "a wrong password", as("yard:wrong"), "give the credentials file that the server's owner made for this yard as bus.credentials")
	maker := open(t, ctx, as("maker:m"))
	err := maker.Publish(ctx, example("Auk", notify.WindowOpens), "Open.")
	if err == nil || !strings.Contains(err.Error(), advice) || strings.Contains(err.Error(), "\n") {
		t.Errorf("may not publish: %v", err)
	}
	yard := open(t, ctx, as("yard:y"))
	if err := yard.Publish(ctx, example("Auk", notify.WindowOpens), "Open."); err != nil {
		t.Error(err)
	}
}

// A credentials file holds a user's token and key; the server knows the account by its operator.
func TestCredentialsFile(t *testing.T) {
	t.Parallel()
	ctx := within(t)
	operator, account, user := pair(t, nkeys.CreateOperator), pair(t, nkeys.CreateAccount), pair(t, nkeys.CreateUser)
	accountClaims := jwt.NewAccountClaims(public(t, account))
	accountClaims.Limits.JetStreamLimits = jwt.JetStreamLimits{DiskStorage: -1, MemoryStorage: -1, Streams: -1, Consumer: -1}
	token, err := accountClaims.Encode(operator)
	if err != nil {
		t.Fatal(err)
	}
	system := public(t, pair(t, nkeys.CreateAccount)) // a server with JetStream wants one
	systemToken, err := jwt.NewAccountClaims(system).Encode(operator)
	if err != nil {
		t.Fatal(err)
	}
	resolver := &server.MemAccResolver{}
	if err := errors.Join(resolver.Store(public(t, account), token), resolver.Store(system, systemToken)); err != nil {
		t.Fatal(err)
	}
	url := run(t, &server.Options{TrustedKeys: []string{public(t, operator)}, AccountResolver: resolver, SystemAccount: system}).ClientURL()

	userToken, err := jwt.NewUserClaims(public(t, user)).Encode(account)
	if err != nil {
		t.Fatal(err)
	}
	seed, err := user.Seed()
	if err != nil {
		t.Fatal(err)
	}
	text, err := jwt.FormatUserConfig(userToken, seed)
	if err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(t.TempDir(), "yard.creds")
	write(t, file, text)

	b := open(t, ctx, Options{External: url, Credentials: file})
	if err := b.Publish(ctx, example("Auk", notify.WindowOpens), "Open."); err != nil {
		t.Error(err)
	}
	wantOneLine(t, "no credentials", Options{External: url}, "as bus.credentials")
	wantOneLine(t, "no such file", Options{External: url, Credentials: file + "x"}, "the credentials file can't be read")
}

func pair(t *testing.T, create func() (nkeys.KeyPair, error)) nkeys.KeyPair {
	t.Helper()
	k, err := create()
	if err != nil {
		t.Fatal(err)
	}
	return k
}

func public(t *testing.T, k nkeys.KeyPair) string {
	t.Helper()
	p, err := k.PublicKey()
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// A yard joins a hub over TLS and shows its certificate there.
func TestLeafOverTLS(t *testing.T) {
	t.Parallel()
	ctx := within(t)
	ours := newAuthority(t)
	config, err := serverTLS(ours.sign(t, "hub"))
	if err != nil {
		t.Fatal(err)
	}
	config.ClientAuth, config.ClientCAs = tls.RequireAndVerifyClientCert, ours.pool()
	port := freePorts(t, 1)[0]
	office := run(t, &server.Options{ServerName: "hub", JetStreamDomain: "hub",
		LeafNode: server.LeafNodeOpts{Host: "127.0.0.1", Port: port, TLSConfig: config, TLSTimeout: hangs.Seconds()}})
	certificate, key := ours.sign(t, "yard")
	conn, err := nats.Connect(office.ClientURL(), nats.Timeout(hangs))
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	north, err := jetstream.NewWithDomain(conn, "north")
	if err != nil {
		t.Fatal(err)
	}
	open(t, ctx, Options{StoreDir: t.TempDir(), Yard: "north", Leaf: "nats-leaf://127.0.0.1:" + strconv.Itoa(port), Domain: "north",
		CA: ours.file, Certificate: certificate, Key: key})
	for err = errors.New("not asked yet"); err != nil; { // until it has joined
		if ctx.Err() != nil {
			t.Fatalf("the hub does not reach the yard's stream: %v", err)
		}
		short, cancel := context.WithTimeout(ctx, 2*time.Second)
		_, err = north.Stream(short, noticeStream)
		cancel()
		pause(ctx, 20*time.Millisecond)
	}
}

// Devices reach the built-in server over TLS, and without it not at all.
func TestDeviceOverTLS(t *testing.T) {
	t.Parallel()
	ctx := within(t)
	ours := newAuthority(t)
	certificate, key := ours.sign(t, "mqtt")
	b := open(t, ctx, Options{StoreDir: t.TempDir(), MQTTAddr: "127.0.0.1:0", NATSAddr: "127.0.0.1:0",
		MQTTUser: "sensors", MQTTPassword: "long enough", MQTTCertificate: certificate, MQTTKey: key})
	arrivals := take(t, ctx, b, accept)
	connect := func(scheme string, config *tls.Config) (mqtt.Client, error) {
		c := mqtt.NewClient(mqtt.NewClientOptions().AddBroker(scheme + "://" + b.MQTTAddr()).SetClientID("device-" + scheme).
			SetUsername("sensors").SetPassword("long enough").SetTLSConfig(config).SetAutoReconnect(false).SetConnectTimeout(hangs))
		return c, done(t, c.Connect())
	}
	c, err := connect("ssl", &tls.Config{RootCAs: ours.pool()})
	if err != nil {
		t.Fatal(err)
	}
	send(t, c, "yard/booth1", "20.5")
	c.Disconnect(0)
	if got := next(t, ctx, arrivals); string(got.Payload) != "20.5" {
		t.Errorf("got %q", got.Payload)
	}
	if _, err := connect("tcp", nil); err == nil {
		t.Error("a device came in without TLS")
	}
	if _, err := connect("ssl", &tls.Config{RootCAs: newAuthority(t).pool()}); err == nil {
		t.Error("a device trusts a certificate that its authority did not sign")
	}
	conn, err := nats.Connect(b.URL(), nats.Timeout(hangs)) // the NATS port is of this machine alone and stays as it is
	if err != nil {
		t.Fatal(err)
	}
	conn.Close()
	wantOneLine(t, "no certificate file", Options{StoreDir: t.TempDir(), MQTTAddr: "127.0.0.1:0", MQTTCertificate: key + "x", MQTTKey: key}, "give a certificate and its own key")
}
