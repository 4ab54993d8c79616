package bus

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/micro"
)

// askSubject is where questions are put; the answer goes to the asker alone.
const askSubject = "fairwindow.ask."

// Answer makes the answer to one question; an error is a sentence for the asker.
type Answer func(ctx context.Context, question json.RawMessage) (any, error)

// answered is what goes back when there is no answer.
type answered struct {
	Error string `json:"error"`
}

// Answer takes questions put to fairwindow.ask.NAME, one at a time of each name, until stop is
// called or the bus closes. They are found as a NATS service ($SRV.INFO.fairwindow). Several
// daemons on one bus share the questions, so a bus is one yard's.
func (b *Bus) Answer(by map[string]Answer) (stop func() error, err error) {
	s, err := micro.AddService(b.conn, micro.Config{
		Name: "fairwindow", Version: "1.0.0", Description: "answers about a yard's plan and its conditions", QueueGroup: "fairwindow",
		ErrorHandler: func(_ micro.Service, e *micro.NATSError) { b.log.WithField("subject", e.Subject).Warn(e.Description) },
	})
	if err != nil {
		return nil, fmt.Errorf("bus: answer questions: %w", err)
	}
	for name, answer := range by {
		handler := micro.HandlerFunc(func(r micro.Request) { b.answer(r, answer) })
		if err := s.AddEndpoint(name, handler, micro.WithEndpointSubject(askSubject+name)); err != nil {
			return nil, errors.Join(fmt.Errorf("bus: answer %s: %w", name, err), s.Stop())
		}
	}
	// Until the server has the subscriptions whoever asks is told that nobody answers.
	if err := flush(b.ctx, b.conn); err != nil {
		b.log.WithError(err).Warn("the bus is slow to take up questions")
	}
	return s.Stop, nil
}

func (b *Bus) answer(r micro.Request, by Answer) {
	ctx, leave, err := b.enter(context.Background())
	if err != nil {
		return // it closes: the asker asks again
	}
	defer leave()
	question := json.RawMessage(r.Data())
	if len(question) == 0 {
		question = json.RawMessage("{}")
	}
	v, err := by(ctx, question)
	if err == nil {
		if err = r.RespondJSON(v); err == nil {
			return
		}
	}
	text, _ := json.Marshal(answered{err.Error()}) // a string is always JSON
	if err := r.Error("400", err.Error(), text); err != nil {
		b.log.WithError(err).Warn("an answer could not be sent")
	}
}

// ErrNoAnswer is that nobody answers on a bus.
var ErrNoAnswer = errors.New("nobody answers there: start fairwindow run, or give the address of its bus")

// Ask puts a question to the daemon at url and returns its answer. The daemon's own refusal is a
// Refused.
func Ask(ctx context.Context, url string, l Login, name string, question json.RawMessage) (json.RawMessage, error) {
	conn, err := dial(url, l, nats.Name("fairwindow ask"), nats.Timeout(patience))
	if err != nil {
		return nil, err
	}
	defer conn.Close()
	msg, err := conn.RequestWithContext(ctx, askSubject+name, question)
	switch {
	case errors.Is(err, nats.ErrNoResponders):
		return nil, fmt.Errorf("bus: %s%s: %w", askSubject, name, ErrNoAnswer)
	case err != nil:
		return nil, fmt.Errorf("bus: ask %s%s: %w", askSubject, name, err)
	case msg.Header.Get(micro.ErrorCodeHeader) == "":
		return msg.Data, nil
	}
	var a answered
	if err := json.Unmarshal(msg.Data, &a); err != nil || a.Error == "" {
		return nil, Refused(msg.Header.Get(micro.ErrorHeader))
	}
	return nil, Refused(a.Error)
}

// Refused is the sentence with which a daemon refuses a question.
type Refused string

func (r Refused) Error() string { return string(r) }
