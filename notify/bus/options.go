package bus

import (
	"errors"
	"fmt"
	"net"
	"net/url"
	"strconv"
	"strings"
	"time"

	"github.com/sirupsen/logrus"
)

// Options say which server to use and what it may hold. The zero value of a field takes its
// default; StoreDir or External must be given.
type Options struct {
	StoreDir   string // of the built-in server; locked while open
	ServerName string // default fairwindow
	Yard       string // whose notices are published; default the server's name

	External    string // URL of a server run by others, or several with commas; empty: the built-in one
	Leaf        string // address of a hub that the built-in server joins, or several with commas; empty: none
	Domain      string // this yard's name at the hub; with Leaf
	Credentials string // credentials file for External or Leaf; empty: none
	CA          string // PEM file of who signed their certificate; empty: those that the system trusts
	Certificate string // PEM file of our own certificate for them; empty: they ask for none
	Key         string // PEM file of its key
	Replicas    int    // servers of External's cluster that keep each notice: 1, 3 or 5; default 1

	MQTTAddr        string // where devices connect, host:port; empty: no port; port 0: any free one
	MQTTUser        string // what devices must give; empty: they give nothing
	MQTTPassword    string
	MQTTCertificate string // PEM file of the MQTT port's certificate; empty: no TLS
	MQTTKey         string // PEM file of its key
	NATSAddr        string // loopback host:port for listeners and other programs here; empty: no port

	Log       *logrus.Entry // default: discarded
	Retention Retention
}

// Retention bounds what is kept.
type Retention struct {
	NoticeAge   time.Duration // default 30 days, at least 24 h, the window for repeats
	NoticeBytes int64         // default 64 MiB
	StoreBytes  int64         // all streams on disk; default 2 GiB
	MemoryBytes int64         // all streams in memory; default 64 MiB
}

// repeats is how long an id is remembered.
const repeats = 24 * time.Hour

// checked returns o with its defaults filled in, or every mistake in it.
func (o Options) checked() (Options, error) {
	var wrong []error
	bad := func(format string, args ...any) { wrong = append(wrong, fmt.Errorf("bus: "+format, args...)) }

	switch {
	case o.External == "" && o.StoreDir == "":
		bad("StoreDir is empty: give a folder for the built-in server, or the URL of another in External")
	case o.External != "" && o.Leaf != "":
		bad("Leaf joins the built-in server to a hub: leave it empty with External %q", redacted(o.External))
	case o.External != "" && (o.MQTTAddr != "" || o.NATSAddr != ""):
		bad("MQTTAddr and NATSAddr are ports of the built-in server: leave them empty with External %q", redacted(o.External))
	case o.External+o.Leaf == "" && o.Credentials != "":
		bad("Credentials %q go with External or Leaf only", o.Credentials)
	case o.External+o.Leaf == "" && o.CA+o.Certificate+o.Key != "":
		bad("CA, Certificate and Key go with External or Leaf only; the certificate of the MQTT port is MQTTCertificate")
	case o.External == "" && o.Replicas > 1:
		bad("Replicas %d want as many servers: the built-in one is alone, name your cluster in External", o.Replicas)
	}
	if (o.Leaf == "") != (o.Domain == "") || strings.ContainsAny(o.Domain, ".*> \t\r\n") {
		bad("Domain %q names this yard at Leaf: give both or neither, and one word for the name", o.Domain)
	}
	if o.Replicas != 0 && o.Replicas != 1 && o.Replicas != 3 && o.Replicas != 5 {
		bad("Replicas %d: give 1, 3 or 5; of an even number more than half must live as well", o.Replicas)
	}
	if (o.Certificate == "") != (o.Key == "") {
		bad("Certificate and Key go together: give both or neither")
	}
	if (o.MQTTCertificate == "") != (o.MQTTKey == "") {
		bad("MQTTCertificate and MQTTKey go together: give both or neither")
	}
	if _, _, err := hostPort(o.MQTTAddr); err != nil {
		bad("MQTTAddr: %w", err)
	}
	if host, _, err := hostPort(o.NATSAddr); err != nil {
		bad("NATSAddr: %w", err)
	} else if o.NATSAddr != "" && !loopback(host) {
		bad("NATSAddr %q is not on this machine: it asks for no password, so give a loopback address such as 127.0.0.1:4222", o.NATSAddr)
	}
	if (o.MQTTUser == "") != (o.MQTTPassword == "") {
		bad("MQTTUser and MQTTPassword go together: give both or neither")
	}
	if len(o.MQTTPassword) > 72 {
		bad("MQTTPassword has %d bytes: bcrypt takes 72 at most", len(o.MQTTPassword))
	}

	r := &o.Retention
	r.NoticeAge = or(r.NoticeAge, 30*24*time.Hour)
	r.NoticeBytes = or(r.NoticeBytes, 64<<20)
	r.StoreBytes = or(r.StoreBytes, 2<<30)
	r.MemoryBytes = or(r.MemoryBytes, 64<<20)
	if r.NoticeAge < repeats {
		bad("NoticeAge %v is too short: at least %v, the window for repeats", r.NoticeAge, repeats)
	}
	if r.NoticeBytes < 0 || r.MemoryBytes < 0 || r.StoreBytes < r.NoticeBytes {
		bad("StoreBytes %d must hold NoticeBytes %d, and none may be negative", r.StoreBytes, r.NoticeBytes)
	}
	o.Replicas = or(o.Replicas, 1)
	o.ServerName = or(o.ServerName, "fairwindow")
	if o.Domain != "" {
		o.ServerName += "-" + o.Domain // a hub takes two servers of one name for the same
	}
	o.Yard = or(o.Yard, o.ServerName)
	if o.Log == nil {
		o.Log = silent()
	}
	return o, errors.Join(wrong...)
}

func or[T comparable](v, otherwise T) T {
	var zero T
	if v == zero {
		return otherwise
	}
	return v
}

// hostPort splits addr; the port is 0 for any free one. An empty addr is none.
func hostPort(addr string) (host string, port int, err error) {
	if addr == "" {
		return "", 0, nil
	}
	host, text, err := net.SplitHostPort(addr)
	if err != nil {
		return "", 0, fmt.Errorf("%q is no address: want host:port, such as 127.0.0.1:1883", addr)
	}
	port, err = strconv.Atoi(text)
	if err != nil || port < 0 || port > 65535 {
		return "", 0, fmt.Errorf("%q has no port: want a number from 0 to 65535", addr)
	}
	return host, port, nil
}

func loopback(host string) bool {
	ip := net.ParseIP(host)
	return host == "localhost" || ip != nil && ip.IsLoopback()
}

// redacted hides the passwords of one URL or of several with commas.
func redacted(raw string) string {
	all := strings.Split(raw, ",")
	for i, one := range all {
		u, err := url.Parse(strings.TrimSpace(one))
		if err != nil {
			return "(no URL)"
		}
		all[i] = u.Redacted()
	}
	return strings.Join(all, ",")
}
