package bus

import (
	"errors"
	"net"
	"strconv"
	"strings"
	"testing"

	"fairwindow/notify"

	"github.com/nats-io/nats-server/v2/server"
	"github.com/nats-io/nats.go/jetstream"
)

// theirs starts a server as others would run it, and returns its URL and its address for devices.
func theirs(t *testing.T) (url, mqttAddr string) {
	t.Helper()
	opts := &server.Options{
		ServerName: "theirs", Host: "127.0.0.1", Port: server.RANDOM_PORT, NoSigs: true,
		JetStream: true, StoreDir: t.TempDir(), JetStreamMaxMemory: 16 << 20, JetStreamMaxStore: 256 << 20,
		MQTT: server.MQTTOpts{Host: "127.0.0.1", Port: server.RANDOM_PORT},
	}
	srv, err := server.NewServer(opts)
	if err != nil {
		t.Fatal(err)
	}
	srv.Start()
	t.Cleanup(func() {
		srv.Shutdown()
		srv.WaitForShutdown()
	})
	return srv.ClientURL(), net.JoinHostPort(opts.MQTT.Host, strconv.Itoa(opts.MQTT.Port))
}

// With a server run by others everything goes the same way.
func TestExternalServer(t *testing.T) {
	t.Parallel()
	ctx := within(t)
	url, mqttAddr := theirs(t)
	c := device(t, mqttAddr, "", "") // their server prepares nothing: a device must have connected once

	b := open(t, ctx, Options{External: url})
	n := example("Auk", notify.WindowOpens)
	for range 2 {
		if err := b.Publish(ctx, n, "Open."); err != nil {
			t.Fatal(err)
		}
	}
	heard := listenTo(t, ctx, b.URL(), Filter{FromStart: true})
	if got := next(t, ctx, heard); got.Notice != n || got.Sequence != 1 {
		t.Errorf("heard %+v", got)
	}

	arrivals := take(t, ctx, b, accept)
	for {
		_, err := b.js.Consumer(ctx, mqttStream, durable)
		if err == nil {
			break
		}
		if !errors.Is(err, jetstream.ErrConsumerNotFound) {
			t.Fatal(err)
		}
	}
	send(t, c, "yard/booth1", "20.5")
	if got := next(t, ctx, arrivals); got.Topic != "yard/booth1" || string(got.Payload) != "20.5" {
		t.Errorf("got %+v", got)
	}
	drained(t, ctx, b)
	if b.MQTTAddr() != "" {
		t.Errorf("their MQTT port %s is not ours to tell", b.MQTTAddr())
	}
}

func TestExternalServerAway(t *testing.T) {
	held, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	addr := held.Addr().String()
	held.Close() // nobody listens there now
	_, err = Open(within(t), Options{External: "nats://user:secret@" + addr})
	if err == nil || !strings.Contains(err.Error(), addr) || strings.Contains(err.Error(), "secret") || strings.Contains(err.Error(), "\n") {
		t.Errorf("got %v, want one line with the address and without the password", err)
	}
}
