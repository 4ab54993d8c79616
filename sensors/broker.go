package sensors

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"net/url"
	"strings"
	"time"

	mqtt "github.com/eclipse/paho.mqtt.golang"
	"github.com/jonboulle/clockwork"
)

// batch is how many messages are taken in at once, if as many are there.
const batch = 1000

const (
	retryAfter = time.Second      // after a failure, doubled each time
	retryMost  = 30 * time.Second // and never more
)

// Broker takes messages from an MQTT 3.1.1 broker that others run. It keeps a
// session there: while we are away the broker holds what comes with QoS 1 or 2,
// and it holds each message until it is told that the message is on disk. So a
// message may come again, never not at all; QoS 0 promises nothing.
type Broker struct {
	options Subscription
	arrived chan arrival
	client  mqtt.Client
}

// Subscription is what a Broker needs.
type Subscription struct {
	URL      string // mqtt:// or mqtts://
	Client   string // by which the broker knows us again; nobody else's
	User     string // empty: none is asked for
	Password string
	TLS      *tls.Config // of mqtts; nil for the system's certificates
	Topics   []string
	// Handle takes a batch in and returns nil once it is on disk.
	Handle func(context.Context, []Message) error
	Clock  clockwork.Clock
	// State is told why the broker can't be heard or its messages can't be taken
	// in, and nil when all is well; from several goroutines.
	State func(error)
}

type arrival struct {
	message mqtt.Message
	at      time.Time
}

// NewBroker does not connect yet.
func NewBroker(s Subscription) *Broker {
	// A full channel holds the connection up until the batch before is on disk.
	return &Broker{options: s, arrived: make(chan arrival, batch)}
}

// Run connects, connects again whenever it is cut off, and takes messages in
// until ctx ends. A batch once begun is finished.
func (b *Broker) Run(ctx context.Context) error {
	b.client = mqtt.NewClient(b.dial(ctx))
	defer b.client.Disconnect(100) // ms, for the last acknowledgements
	for wait := retryAfter; ; wait = min(2*wait, retryMost) {
		err := b.connect(ctx)
		if err == nil {
			break
		}
		if ctx.Err() != nil {
			return nil
		}
		b.say(ctx, fmt.Errorf("no connection to %s: %w", b.options.URL, err))
		b.pause(ctx, wait)
	}
	for {
		held := gather(ctx, b.arrived)
		if len(held) == 0 {
			return nil
		}
		b.takeIn(ctx, held)
	}
}

func (b *Broker) connect(ctx context.Context) error {
	token := b.client.Connect()
	select {
	case <-token.Done():
		return token.Error()
	case <-ctx.Done():
		return ctx.Err()
	}
}

// dial is how the client connects. It acknowledges nothing by itself.
func (b *Broker) dial(ctx context.Context) *mqtt.ClientOptions {
	o := mqtt.NewClientOptions().AddBroker(withPort(b.options.URL)).SetClientID(b.options.Client).
		SetUsername(b.options.User).SetPassword(b.options.Password).SetProtocolVersion(4).
		SetCleanSession(false).SetAutoAckDisabled(true).SetOrderMatters(true).
		SetAutoReconnect(true).SetMaxReconnectInterval(retryMost).SetConnectTimeout(10 * time.Second)
	if b.options.TLS != nil {
		o.SetTLSConfig(b.options.TLS)
	}
	// The session may have messages for us before we have subscribed again.
	o.SetDefaultPublishHandler(func(_ mqtt.Client, m mqtt.Message) {
		select {
		case b.arrived <- arrival{m, b.options.Clock.Now()}:
		case <-ctx.Done():
		}
	})
	o.SetConnectionLostHandler(func(_ mqtt.Client, err error) {
		b.say(ctx, fmt.Errorf("cut off from %s, connecting again: %w", b.options.URL, err))
	})
	o.SetOnConnectHandler(func(c mqtt.Client) { b.say(ctx, b.subscribe(c)) })
	return o
}

// withPort adds the port that is registered for MQTT (IANA: 1883, with TLS 8883).
func withPort(address string) string {
	u, err := url.Parse(address)
	if err != nil || u.Port() != "" {
		return address // the client says what is wrong with it
	}
	u.Host += map[bool]string{true: ":8883", false: ":1883"}[u.Scheme == "mqtts"]
	return u.String()
}

// subscribe asks for every topic anew: the broker may have lost the session.
func (b *Broker) subscribe(c mqtt.Client) error {
	wanted := map[string]byte{}
	for _, t := range b.options.Topics {
		wanted[t] = 1
	}
	token := c.SubscribeMultiple(wanted, nil)
	token.Wait()
	if err := token.Error(); err != nil {
		return fmt.Errorf("%s takes no subscription: %w", b.options.URL, err)
	}
	var refused []string
	for _, t := range b.options.Topics {
		// 0x80 is a refusal (MQTT 3.1.1, 3.9.3).
		if granted := token.(*mqtt.SubscribeToken).Result(); granted[t] == 0x80 {
			refused = append(refused, t)
		}
	}
	if len(refused) > 0 {
		return fmt.Errorf("%s does not give us the topics %s: allow its user %q to read them", b.options.URL, strings.Join(refused, ", "), b.options.User)
	}
	return nil
}

// Drop ends an old subscription that the session still holds.
func (b *Broker) Drop(topic string) { b.client.Unsubscribe(topic) }

// gather waits for one and takes what else is there; none when ctx ends.
func gather[T any](ctx context.Context, from <-chan T) []T {
	var held []T
	select {
	case one := <-from:
		held = append(held, one)
	case <-ctx.Done():
		return nil
	}
	for len(held) < batch {
		select {
		case one := <-from:
			held = append(held, one)
		default:
			return held
		}
	}
	return held
}

// takeIn hands a batch over until it is on disk, then acknowledges it. A broker
// sends again only upon a new connection, so what failed is kept here.
func (b *Broker) takeIn(ctx context.Context, held []arrival) {
	messages := make([]Message, len(held))
	for i, a := range held {
		messages[i] = Message{
			Topic: a.message.Topic(), Payload: a.message.Payload(), Received: a.at,
			Again: a.message.Duplicate(), Kept: a.message.Retained(),
		}
	}
	failed := false
	for wait := retryAfter; ; wait = min(2*wait, retryMost) {
		err := b.options.Handle(context.WithoutCancel(ctx), messages)
		if err == nil {
			break
		}
		failed = true
		b.say(ctx, fmt.Errorf("%d messages wait: %w", len(messages), err))
		if b.pause(ctx, wait); ctx.Err() != nil {
			return // not acknowledged, so they come again
		}
	}
	for _, a := range held {
		a.message.Ack()
	}
	if failed {
		b.say(ctx, b.lost())
	}
}

// lost says whether the connection is down just now.
func (b *Broker) lost() error {
	if b.client.IsConnectionOpen() {
		return nil
	}
	return errors.New("cut off, connecting again")
}

// say tells the state, while anybody asks for this broker.
func (b *Broker) say(ctx context.Context, err error) {
	if ctx.Err() == nil {
		b.options.State(err)
	}
}

func (b *Broker) pause(ctx context.Context, d time.Duration) {
	select {
	case <-ctx.Done():
	case <-b.options.Clock.After(d):
	}
}
