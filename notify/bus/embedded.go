package bus

import (
	"context"
	"fmt"
	"net"
	"strconv"
	"strings"
	"time"

	"github.com/nats-io/nats-server/v2/server"
	"github.com/nats-io/nats.go"
)

// patience is how long either side may take to say who it is.
const patience = 20 * time.Second

// embedded is a running server of ours.
type embedded struct {
	server   *server.Server
	access   access
	mqttAddr string // where it listens; empty: no port
	url      string
}

// start runs a server on o's folder and ports and returns when they are open. The server itself
// would trap signals, exit the process on trouble and take three quarters of memory and disk;
// none of it here. Every store is synced before it is acknowledged.
func start(o Options, log *serverLog) (*embedded, error) {
	a, err := newAccess(o.MQTTUser, o.MQTTPassword, o.Domain)
	if err != nil {
		return nil, err
	}
	opts := &server.Options{
		ServerName: o.ServerName,
		NoSigs:     true,
		DontListen: true,

		JetStream:              true,
		JetStreamDomain:        o.Domain,
		StoreDir:               o.StoreDir,
		SyncAlways:             true,
		JetStreamMaxMemory:     o.Retention.MemoryBytes,
		JetStreamMaxStore:      o.Retention.StoreBytes,
		DisableJetStreamBanner: true,

		// Two seconds, as is usual, are too few for a small device's TLS, or for anybody on a busy machine.
		AuthTimeout: patience.Seconds(),
		TLSTimeout:  patience.Seconds(),

		Nkeys:      a.keys,
		Users:      a.users,
		NoAuthUser: a.local,
	}
	if o.NATSAddr != "" {
		opts.DontListen = false
		opts.Host, opts.Port = listenOn(o.NATSAddr)
	}
	if o.MQTTAddr != "" {
		opts.MQTT.Host, opts.MQTT.Port = listenOn(o.MQTTAddr)
		opts.MQTT.NoAuthUser = a.open
		opts.MQTT.AuthTimeout, opts.MQTT.TLSTimeout = patience.Seconds(), patience.Seconds()
		if opts.MQTT.TLSConfig, err = serverTLS(o.MQTTCertificate, o.MQTTKey); err != nil {
			return nil, err
		}
	}
	if o.Leaf != "" {
		remote, err := leaf(o)
		if err != nil {
			return nil, err
		}
		opts.LeafNode.Remotes = []*server.RemoteLeafOpts{remote}
	}
	srv, err := server.NewServer(opts)
	if err != nil {
		return nil, fmt.Errorf("bus: built-in server: %w", err)
	}
	srv.SetLoggerV2(log, false, false, false)
	srv.Start() // opens every port before it returns
	select {
	case why := <-log.fatal:
		srv.Shutdown()
		srv.WaitForShutdown()
		if strings.Contains(why, "address already in use") {
			why += ": stop the program that holds it, or give another address"
		}
		return nil, fmt.Errorf("bus: built-in server: %s", strings.ReplaceAll(why, "\n", " "))
	default:
	}
	e := &embedded{server: srv, access: a}
	if o.NATSAddr != "" {
		e.url = srv.ClientURL()
	}
	if o.MQTTAddr != "" {
		e.mqttAddr = net.JoinHostPort(opts.MQTT.Host, strconv.Itoa(opts.MQTT.Port)) // the server writes the port it got
	}
	return e, nil
}

// listenOn turns a checked address into the server's way of writing it.
func listenOn(addr string) (string, int) {
	host, port, _ := hostPort(addr)
	if port == 0 {
		port = server.RANDOM_PORT
	}
	return host, port
}

// connect opens this process's own connection, which needs no port.
func (e *embedded) connect(o Options, denied *denials) (*nats.Conn, error) {
	conn, err := nats.Connect("", append(connOptions(o, denied), nats.Timeout(patience), nats.InProcessServer(e.server), nats.Nkey(e.access.ownID, e.access.own.Sign))...)
	if err != nil {
		return nil, fmt.Errorf("bus: connect to the built-in server: %w", err)
	}
	return conn, nil
}

// stop ends the server and returns when its files are closed, or with ctx's error when ctx ends
// first.
func (e *embedded) stop(ctx context.Context) error {
	e.server.Shutdown()
	stopped := make(chan struct{})
	go func() {
		e.server.WaitForShutdown()
		close(stopped)
	}()
	select {
	case <-stopped:
		return nil
	case <-ctx.Done():
		return fmt.Errorf("bus: stop the built-in server: %w", ctx.Err())
	}
}
