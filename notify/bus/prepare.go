package bus

import (
	"context"
	"errors"
	"fmt"
	"time"

	mqtt "github.com/eclipse/paho.mqtt.golang"
	"github.com/nats-io/nats.go/jetstream"
	"github.com/nats-io/nuid"
)

const (
	// mqttStream is where the server puts what devices publish with QoS 1 and 2. It is an
	// internal name of nats-server v2.15 and keeps messages only while a consumer wants them;
	// TestNothingAcknowledgedIsLost guards both.
	mqttStream  = "$MQTT_msgs"
	mqttSubject = "$MQTT.msgs."

	durable = "fairwindow-intake"
	// ackWait is how long a batch may take before it is handed out again.
	ackWait = 5 * time.Second
	// batch is how many messages the handler gets at most at once.
	batch = 256
)

// prepare records Intake's interest in device messages before any device can connect: else those
// that come between the opening of the port and the first Intake are acknowledged and dropped.
// The stream exists only after a first MQTT connection, so the server runs once on a free
// loopback port under a password nobody has, gets that connection, and is stopped.
func prepare(ctx context.Context, o Options) error {
	o.MQTTAddr, o.NATSAddr = "127.0.0.1:0", ""
	o.MQTTUser, o.MQTTPassword = "prepare", nuid.Next()
	o.MQTTCertificate, o.MQTTKey, o.Leaf = "", "", ""
	e, err := start(o, newServerLog(o.Log))
	if err != nil {
		return err
	}
	err = e.recordInterest(ctx, o)
	if stopErr := e.stop(ctx); err == nil {
		err = stopErr
	}
	return err
}

func (e *embedded) recordInterest(ctx context.Context, o Options) error {
	conn, err := e.connect(o, &denials{})
	if err != nil {
		return err
	}
	defer conn.Close()
	js, err := jetstream.New(conn)
	if err != nil {
		return fmt.Errorf("bus: prepare MQTT: %w", err)
	}
	if err := forgetRetained(ctx, js); err != nil {
		return fmt.Errorf("bus: prepare MQTT: %w", err)
	}
	_, err = intakeConsumer(ctx, js)
	if !errors.Is(err, jetstream.ErrStreamNotFound) {
		return err // an earlier run has made the stream
	}
	if err := e.firstDevice(ctx, o); err != nil {
		return fmt.Errorf("bus: prepare MQTT: %w", err)
	}
	_, err = intakeConsumer(ctx, js)
	return err
}

// retainedStream is where the server keeps what devices have it retain; see mqttStream.
const retainedStream = "$MQTT_rmsgs"

// forgetRetained lets go of the server's own consumers of earlier runs. It makes one at each
// start and drops it after five quiet minutes; a daemon that dies sooner, time and again, would
// find more of them at each start, and start more slowly.
func forgetRetained(ctx context.Context, js jetstream.JetStream) error {
	stream, err := js.Stream(ctx, retainedStream)
	if errors.Is(err, jetstream.ErrStreamNotFound) {
		return nil
	}
	if err != nil {
		return err
	}
	names := stream.ConsumerNames(ctx)
	for name := range names.Name() {
		if err := stream.DeleteConsumer(ctx, name); err != nil && !errors.Is(err, jetstream.ErrConsumerNotFound) {
			return err
		}
	}
	return names.Err()
}

// firstDevice connects over MQTT once, upon which the server makes its streams.
func (e *embedded) firstDevice(ctx context.Context, o Options) error {
	client := mqtt.NewClient(mqtt.NewClientOptions().
		AddBroker("tcp://" + e.mqttAddr).SetClientID("fairwindow-prepare").SetCleanSession(true).
		SetUsername(o.MQTTUser).SetPassword(o.MQTTPassword).SetAutoReconnect(false))
	token := client.Connect()
	defer client.Disconnect(0)
	select {
	case <-token.Done():
		return token.Error()
	case <-ctx.Done():
		return ctx.Err()
	}
}

// intakeConsumer finds or makes the durable consumer. Each message is acknowledged by itself:
// after a crash new ones come before old ones, and acknowledging all up to the newest would drop
// the old ones.
func intakeConsumer(ctx context.Context, js jetstream.JetStream) (jetstream.Consumer, error) {
	consumer, err := js.CreateOrUpdateConsumer(ctx, mqttStream, jetstream.ConsumerConfig{
		Durable:       durable,
		Description:   "device messages not yet committed by fairwindow",
		FilterSubject: mqttSubject + ">",
		AckPolicy:     jetstream.AckExplicitPolicy,
		AckWait:       ackWait,
		MaxAckPending: 8 * batch,
	})
	if err != nil {
		return nil, fmt.Errorf("bus: intake consumer on %s: %w", mqttStream, err)
	}
	return consumer, nil
}
