package bus

import (
	"strings"
	"testing"
	"time"
)

func TestOptionMistakes(t *testing.T) {
	dir := "data"
	for _, tt := range []struct {
		name string
		o    Options
		want string // empty: none
	}{
		{"a folder is enough", Options{StoreDir: dir}, ""},
		{"nothing", Options{}, "StoreDir is empty"},
		{"external with a port of ours", Options{External: "nats://h", MQTTAddr: ":1883"}, "leave them empty with External"},
		{"credentials of nothing", Options{StoreDir: dir, Credentials: "x.creds"}, `Credentials "x.creds"`},
		{"no port", Options{StoreDir: dir, MQTTAddr: "localhost"}, `MQTTAddr: "localhost" is no address`},
		{"no number", Options{StoreDir: dir, MQTTAddr: "localhost:mqtt"}, "want a number"},
		{"too great a port", Options{StoreDir: dir, NATSAddr: "127.0.0.1:70000"}, "from 0 to 65535"},
		{"open to the world", Options{StoreDir: dir, NATSAddr: ":4222"}, "not on this machine"},
		{"loopback v6", Options{StoreDir: dir, NATSAddr: "[::1]:4222"}, ""},
		{"a CA of nothing", Options{StoreDir: dir, CA: "ca.pem"}, "go with External or Leaf only"},
		{"a hub without a name there", Options{StoreDir: dir, Leaf: "nats-leaf://h"}, "give both or neither"},
		{"a name of two words", Options{StoreDir: dir, Leaf: "nats-leaf://h", Domain: "a.b"}, "one word"},
		{"a hub beside another server", Options{External: "nats://h", Leaf: "nats-leaf://h", Domain: "a"}, "leave it empty with External"},
		{"a cluster of one", Options{StoreDir: dir, Replicas: 3}, "name your cluster in External"},
		{"an even number", Options{External: "nats://h", Replicas: 2}, "give 1, 3 or 5"},
		{"several servers", Options{External: "nats://g, nats://h", Replicas: 3}, ""},
		{"half a pair of ours", Options{External: "nats://h", Certificate: "c.pem"}, "Certificate and Key go together"},
		{"half a pair of the port", Options{StoreDir: dir, MQTTKey: "k.pem"}, "MQTTCertificate and MQTTKey go together"},
		{"half a login", Options{StoreDir: dir, MQTTUser: "sensors"}, "give both or neither"},
		{"a password too long to check", Options{StoreDir: dir, MQTTUser: "s", MQTTPassword: strings.Repeat("x", 73)}, "72 at most"},
		{"forgets before repeats end", Options{StoreDir: dir, Retention: Retention{NoticeAge: time.Hour}}, "NoticeAge 1h0m0s is too short"},
		{"more notices than room", Options{StoreDir: dir, Retention: Retention{StoreBytes: 1}}, "must hold NoticeBytes"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			_, err := tt.o.checked()
			switch {
			case tt.want == "" && err != nil:
				t.Errorf("refused: %v", err)
			case tt.want != "" && (err == nil || !strings.Contains(err.Error(), tt.want)):
				t.Errorf("got %v, want %q", err, tt.want)
			}
		})
	}
	for raw, want := range map[string]string{
		"nats://a:secret@h": "nats://a:xxxxx@h", "nats://g, nats://a:secret@h": "nats://g,nats://a:xxxxx@h", "nats://%zz:secret@h": "(no URL)",
	} {
		if got := redacted(raw); got != want {
			t.Errorf("%s is shown as %s", raw, got)
		}
	}
	if _, err := (Options{MQTTUser: "x", MQTTAddr: "y"}).checked(); strings.Count(err.Error(), "\n") != 2 {
		t.Errorf("three mistakes, told as %q", err)
	}
}
