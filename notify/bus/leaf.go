package bus

import (
	"fmt"
	"net/url"
	"os"
	"strings"

	"github.com/nats-io/nats-server/v2/server"
)

// leaf joins the built-in server to a hub of others. The yard works on when the link is cut, and
// the server tries again every second. The hub gets what was missed by sourcing this yard's stream
// by its domain (testdata/leaf/hub.conf), which goes by numbers, so nothing is lost and each comes
// once.
func leaf(o Options) (*server.RemoteLeafOpts, error) {
	remote := &server.RemoteLeafOpts{
		Credentials: o.Credentials,
		// Our stream takes whatever is published under fairwindow: another yard's notices, passed on
		// by the hub, would become ours. And no reading of theirs may pass for one of our devices.
		DenyImports: []string{"fairwindow.>", "$MQTT.>"},
		DenyExports: []string{"$MQTT.>"},
	}
	if o.Credentials != "" {
		if _, err := os.Stat(o.Credentials); err != nil {
			return nil, fmt.Errorf("bus: the credentials file can't be read: %w", err)
		}
	}
	for _, one := range strings.Split(o.Leaf, ",") {
		u, err := url.Parse(strings.TrimSpace(one))
		if err != nil || u.Host == "" {
			return nil, fmt.Errorf("bus: Leaf %q is no address: give one such as nats-leaf://hub.example:7422", redacted(one))
		}
		remote.TLS = remote.TLS || u.Scheme == "tls" || u.Scheme == "wss"
		remote.URLs = append(remote.URLs, u)
	}
	var err error
	if remote.TLSConfig, err = clientTLS(o.login()); err != nil {
		return nil, err
	}
	remote.TLS, remote.TLSTimeout = remote.TLS || remote.TLSConfig != nil, patience.Seconds()
	return remote, nil
}
