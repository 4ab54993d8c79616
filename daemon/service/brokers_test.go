package service

import (
	"net"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	mqtt "github.com/eclipse/paho.mqtt.golang"
	"github.com/nats-io/nats-server/v2/server"

	"fairwindow/config"
	"fairwindow/daemon/store"
	"fairwindow/sensors"
)

// outside starts a real MQTT broker as others would run it and gives its address.
func outside(t testing.TB) string {
	t.Helper()
	opts := &server.Options{
		ServerName: "outside", DontListen: true, NoSigs: true, JetStream: true, StoreDir: t.TempDir(),
		JetStreamMaxMemory: 16 << 20, JetStreamMaxStore: 256 << 20,
		Users: []*server.User{{Username: "yard", Password: "open sesame"}},
		MQTT:  server.MQTTOpts{Host: "127.0.0.1", Port: server.RANDOM_PORT},
	}
	srv, err := server.NewServer(opts)
	if err != nil {
		t.Fatal(err)
	}
	srv.Start()
	t.Cleanup(func() { srv.Shutdown(); srv.WaitForShutdown() })
	return net.JoinHostPort(opts.MQTT.Host, strconv.Itoa(opts.MQTT.Port))
}

// publisher is a device at that broker.
func publisher(t testing.TB, addr string) func(topic, text string, kept bool) {
	t.Helper()
	c := mqtt.NewClient(mqtt.NewClientOptions().AddBroker("tcp://" + addr).SetClientID("device").
		SetUsername("yard").SetPassword("open sesame"))
	finished := func(token mqtt.Token) {
		t.Helper()
		if !token.WaitTimeout(hangs) || token.Error() != nil {
			t.Fatalf("the broker does not answer: %v", token.Error())
		}
	}
	finished(c.Connect())
	t.Cleanup(func() { c.Disconnect(0) })
	return func(topic, text string, kept bool) { finished(c.Publish(topic, 1, kept, text)) }
}

// arrived waits until a source has some readings, and gives them. Meanwhile a device may
// send again each second.
func (r *rig) arrived(source string, n int, again ...func()) []sensors.Reading {
	r.t.Helper()
	tick := time.Now()
	for end := time.Now().Add(hangs); time.Now().Before(end); {
		if time.Since(tick) > time.Second {
			tick = time.Now()
			for _, resend := range again {
				resend()
			}
		}
		r.settle()
		got, err := r.svc.store.Readings(r.t.Context(), store.Query{Source: source})
		if err != nil {
			r.t.Fatal(err)
		}
		if len(got) >= n {
			return got
		}
	}
	lines, _ := r.svc.Health(r.t.Context())
	r.t.Fatalf("%d readings of %s did not come; health says %q", n, source, lines)
	return nil
}

// unwell waits until the health lines say something, or no longer do.
func (r *rig) unwell(part string, says bool) {
	r.t.Helper()
	for end := time.Now().Add(hangs); time.Now().Before(end); {
		r.settle()
		lines, err := r.svc.Health(r.t.Context())
		if err != nil {
			r.t.Fatal(err)
		}
		if strings.Contains(strings.Join(lines, "\n"), part) == says {
			return
		}
	}
	lines, _ := r.svc.Health(r.t.Context())
	r.t.Fatalf("health says %q; of %q: want %v", lines, part, says)
}

// TestOutsideBroker: readings come from a broker that the yard file names, also
// those sent while the daemon was away, each once; a reload ends and begins lines.
func TestOutsideBroker(t *testing.T) {
	t.Parallel()
	addr := outside(t)
	send := publisher(t, addr)
	yard := strings.Replace(yardText, "forecasts:\n", `  - {name: dock air, place: booth, topic: dock/air, broker: dock, time: time, values: {air: {path: air}}}
brokers:
  - {name: dock, url: "mqtt://`+addr+`", user: yard, password_file: secret}
forecasts:
`, 1)
	r := newRig(t, yard)
	if err := os.WriteFile(filepath.Join(r.folder, "secret"), []byte("wrong\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	r.start()
	r.unwell("dock", true)
	r.halt()
	if err := os.WriteFile(filepath.Join(r.folder, "secret"), []byte("open sesame\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	send("dock/air", `{"time": "2026-05-04T06:00:00Z", "air": 18.5}`, true) // the first to hear of a topic gets this
	r.start()
	got := r.arrived("dock air", 1)
	if x, ok := got[0].Good("air"); !ok || x != 18.5 || got[0].Place != "booth" {
		t.Errorf("got %+v", got[0])
	}
	r.halt()
	send("dock/air", `{"time": "2026-05-04T05:50:00Z", "air": 18.25}`, false)
	send("dock/air", `{"time": "2026-05-04T05:50:00Z", "air": 18.25}`, false) // the device's own resend
	r.start()
	if got = r.arrived("dock air", 2); len(got) != 2 || got[0].Values["air"] != 18.25 {
		t.Errorf("got %+v", got)
	}

	r.yard = strings.ReplaceAll(yard, "dock/air", "dock/other")
	if err := r.svc.Reload(t.Context()); err != nil {
		t.Fatal(err)
	}
	// Sent in the moment in which somebody subscribes, it reaches nobody: neither as news nor as
	// what was kept. So the device sends it again, and it counts once.
	other := func() { send("dock/other", `{"time": "2026-05-04T05:55:00Z", "air": 18.75}`, true) }
	other()
	if got = r.arrived("dock air", 3, other); len(got) != 3 || got[1].Values["air"] != 18.75 {
		t.Errorf("after the reload %+v", got)
	}

	if err := os.Remove(filepath.Join(r.folder, "secret")); err != nil {
		t.Fatal(err)
	}
	if err := r.svc.Reload(t.Context()); err == nil || !strings.Contains(err.Error(), "broker dock: its secret file can't be read") {
		t.Errorf("reload without the password: %v", err)
	}
}

func TestClientNames(t *testing.T) {
	a, b := client("North", config.Broker{Name: "dock"}), client("South", config.Broker{Name: "dock"})
	if a == b || len(a) > 23 || strings.ContainsFunc(a, func(r rune) bool { return !(r >= 'a' && r <= 'z' || r >= '0' && r <= '9') }) {
		t.Errorf("%q and %q", a, b)
	}
	if got := client("North", config.Broker{Name: "dock", Client: "mine"}); got != "mine" {
		t.Errorf("got %q", got)
	}
}

// TestTrusted: a file that holds no certificate is named when the daemon starts.
func TestTrusted(t *testing.T) {
	r := newRig(t, strings.Replace(yardText, "forecasts:\n", `  - {name: dock air, place: booth, topic: dock/air, broker: dock, values: {air: {path: air}}}
brokers:
  - {name: dock, url: "mqtts://broker.example", ca: ca.pem}
forecasts:
`, 1))
	if err := os.WriteFile(filepath.Join(r.folder, "ca.pem"), []byte("no certificate"), 0o600); err != nil {
		t.Fatal(err)
	}
	_, err := New(t.Context(), r.options())
	if err == nil || !strings.Contains(err.Error(), "broker dock: there is no certificate in ca.pem") {
		t.Errorf("%v", err)
	}
}
