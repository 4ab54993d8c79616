package service

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	mqtt "github.com/eclipse/paho.mqtt.golang"
	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"
)

// sensor connects to a rig's MQTT port.
func sensor(t *testing.T, addr, user, password string) error {
	t.Helper()
	c := mqtt.NewClient(mqtt.NewClientOptions().AddBroker("tcp://" + addr).SetClientID("sensor").
		SetUsername(user).SetPassword(password).SetAutoReconnect(false))
	token := c.Connect()
	if !token.WaitTimeout(hangs) {
		return errors.New("no answer")
	}
	c.Disconnect(0)
	return token.Error()
}

// TestSensorsLogIn: the yard file names a file with the login that sensors give.
func TestSensorsLogIn(t *testing.T) {
	t.Parallel()
	r := newRig(t, strings.Replace(yardText, `mqtt: "127.0.0.1:0"}`, `mqtt: "127.0.0.1:0", mqtt_login: sensors.login}`, 1))
	login := filepath.Join(r.folder, "sensors.login")
	for _, bad := range []string{"", "sensors", "sensors:", ":word", "sensors:two\nlines"} {
		if err := os.WriteFile(login, []byte(bad+"\n"), 0o600); err != nil {
			t.Fatal(err)
		}
		if _, err := New(context.Background(), r.options()); err == nil || !strings.Contains(err.Error(), "write one line, user:password") {
			t.Errorf("%q: %v", bad, err)
		} else if strings.Contains(err.Error(), "word:") || strings.Contains(err.Error(), "lines") {
			t.Errorf("a secret is repeated: %v", err)
		}
	}
	if err := os.WriteFile(login, []byte("sensors:long:enough\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	r.start()
	if err := sensor(t, r.svc.MQTTAddr(), "sensors", "long:enough"); err != nil {
		t.Error(err)
	}
	for _, wrong := range [][2]string{{"", ""}, {"sensors", "long"}} {
		if err := sensor(t, r.svc.MQTTAddr(), wrong[0], wrong[1]); err == nil {
			t.Errorf("%q came in", wrong)
		}
	}
}

// TestBusFilesAreBesideTheYard: what the yard file names for the bus is looked for beside it, and
// what is wrong is one line that names the file.
func TestBusFilesAreBesideTheYard(t *testing.T) {
	t.Parallel()
	const own, plain = `bus: {listen: "127.0.0.1:0", mqtt: "127.0.0.1:0"`, `bus: {listen: "127.0.0.1:0", mqtt: "127.0.0.1:0"}`
	for name, tt := range map[string]struct{ bus, file, want string }{
		"login":       {own + `, mqtt_login: in.login}`, "in.login", "bus.mqtt_login"},
		"certificate": {own + `, tls: {certificate: port.pem, key: port.key}}`, "port.pem", "give a certificate and its own key"},
		"ca":          {`bus: {url: "tls://127.0.0.1:1", ca: ca.pem}`, "ca.pem", "CA file"},
		"ours":        {`bus: {url: "tls://127.0.0.1:1", certificate: yard.pem, key: yard.key}`, "yard.pem", "give a certificate and its own key"},
		"credentials": {`bus: {url: "nats://127.0.0.1:1", credentials: yard.creds}`, "yard.creds", "credentials file"},
	} {
		r := newRig(t, strings.Replace(yardText, plain, tt.bus, 1))
		_, err := New(context.Background(), r.options())
		if err == nil || !strings.Contains(err.Error(), filepath.Join(r.folder, tt.file)) || !strings.Contains(err.Error(), tt.want) || strings.Contains(err.Error(), "\n") {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// TestYardJoinsAHub: a yard of a head office is known there by the name in its yard file, and
// starts and works while the hub is away.
func TestYardJoinsAHub(t *testing.T) {
	t.Parallel()
	r := play(t, "two coats", `mqtt: "127.0.0.1:0"}`, `mqtt: "127.0.0.1:0", leaf: "nats-leaf://127.0.0.1:1", domain: north}`)
	conn, err := nats.Connect(r.svc.BusURL(), nats.Timeout(hangs))
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	js, err := jetstream.New(conn)
	if err != nil {
		t.Fatal(err)
	}
	info, err := js.AccountInfo(patient(t))
	if err != nil || info.Domain != "north" {
		t.Errorf("the yard is called %q, %v", info.Domain, err)
	}
	if err := sensor(t, r.svc.MQTTAddr(), "", ""); err != nil {
		t.Error(err)
	}
}

// TestReplicasAreAskedFor: one server alone can't keep a notice three times, and says so.
func TestReplicasAreAskedFor(t *testing.T) {
	t.Parallel()
	one := theirBus(t, t.TempDir(), vacant(t))
	r := newRig(t, strings.Replace(yardText, `bus: {listen: "127.0.0.1:0", mqtt: "127.0.0.1:0"}`, `bus: {url: "`+one.ClientURL()+`", replicas: 3}`, 1))
	_, err := New(context.Background(), r.options())
	if err == nil || !strings.Contains(err.Error(), "replicas") || strings.Contains(err.Error(), "\n") {
		t.Errorf("%v", err)
	}
}
