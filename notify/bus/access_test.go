package bus

import (
	"errors"
	"testing"

	mqtt "github.com/eclipse/paho.mqtt.golang"
	"github.com/nats-io/nats.go"
)

func TestPasswordForDevices(t *testing.T) {
	ctx := within(t)
	b := open(t, ctx, Options{StoreDir: t.TempDir(), MQTTAddr: "127.0.0.1:0", MQTTUser: "sensors", MQTTPassword: "long enough"})
	for _, wrong := range [][2]string{{"", ""}, {"sensors", "wrong"}, {"prepare", ""}} {
		c := mqtt.NewClient(mqtt.NewClientOptions().AddBroker("tcp://" + b.MQTTAddr()).SetClientID("stranger").
			SetUsername(wrong[0]).SetPassword(wrong[1]).SetAutoReconnect(false).SetConnectRetry(false))
		if err := done(t, c.Connect()); err == nil {
			t.Errorf("%q came in", wrong)
		}
	}
	arrivals := take(t, ctx, b, accept)
	send(t, device(t, b.MQTTAddr(), "sensors", "long enough"), "yard/booth1", "20.5")
	if got := next(t, ctx, arrivals); string(got.Payload) != "20.5" {
		t.Errorf("got %q", got.Payload)
	}
}

// A device or a program on this machine can neither forge a notice nor take device messages away.
func TestStrangersMayNot(t *testing.T) {
	ctx := within(t)
	b := open(t, ctx, Options{StoreDir: t.TempDir(), MQTTAddr: "127.0.0.1:0", NATSAddr: "127.0.0.1:0",
		Leaf: "nats-leaf://127.0.0.1:1", Domain: "north"}) // with a domain the streams have a second name
	c := device(t, b.MQTTAddr(), "", "")
	for _, topic := range []string{"fairwindow/notice/Auk/window_opens", "$JS/API/STREAM/DELETE/NOTICES", "$JS/API/STREAM/DELETE/$MQTT_msgs"} {
		send(t, c, topic, "") // acknowledged and dropped
	}
	refused := make(chan error, 16)
	conn, err := nats.Connect(b.URL(), nats.Timeout(hangs), nats.ErrorHandler(func(_ *nats.Conn, _ *nats.Subscription, err error) { refused <- err }))
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	for _, subject := range []string{
		"fairwindow.notice.Auk.window_opens", "$JS.API.STREAM.DELETE.NOTICES", "$JS.API.STREAM.PURGE.$MQTT_msgs",
		"$JS.API.CONSUMER.DELETE.$MQTT_msgs." + durable, "$JS.API.CONSUMER.MSG.NEXT.$MQTT_msgs." + durable, "$MQTT.msgs.yard.booth1",
		"$JS.ACK.$MQTT_msgs." + durable + ".1.1.1.1.0", "$JS.ACK.north.x.$MQTT_msgs." + durable + ".1.1.1.1.0.x",
		"$JS.north.API.STREAM.DELETE.NOTICES", "$JS.north.API.CONSUMER.MSG.NEXT.$MQTT_msgs." + durable,
	} {
		if err := conn.Publish(subject, nil); err != nil {
			t.Fatal(err)
		}
		if err := next(t, ctx, refused); !errors.Is(err, nats.ErrPermissionViolation) {
			t.Errorf("%s: %v", subject, err)
		}
	}
	for _, name := range []string{noticeStream, mqttStream} {
		stream, err := b.js.Stream(ctx, name)
		if err != nil {
			t.Fatal(err)
		}
		if n := stream.CachedInfo().State.Msgs; n != 0 {
			t.Errorf("%s holds %d messages of strangers", name, n)
		}
	}
}
