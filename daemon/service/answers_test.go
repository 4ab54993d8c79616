package service

import (
	"context"
	"encoding/json"
	"errors"
	"maps"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/nats-io/nats.go"
	check "github.com/santhosh-tekuri/jsonschema/v6"
	"go.yaml.in/yaml/v4"

	"fairwindow/notify/bus"
)

// messages compiles the payloads of the bus's document, by the message's key.
func messages(t *testing.T) func(key string, text []byte) error {
	t.Helper()
	var whole map[string]any
	if err := yaml.Unmarshal(bus.AsyncAPI, &whole); err != nil {
		t.Fatal(err)
	}
	text, err := json.Marshal(whole)
	if err != nil {
		t.Fatal(err)
	}
	read := func(text []byte) any {
		t.Helper()
		v, err := check.UnmarshalJSON(strings.NewReader(string(text)))
		if err != nil {
			t.Fatalf("%v\n%s", err, text)
		}
		return v
	}
	c := check.NewCompiler()
	c.AssertFormat()
	if err := c.AddResource("file:///asyncapi", read(text)); err != nil {
		t.Fatal(err)
	}
	return func(key string, text []byte) error {
		t.Helper()
		s, err := c.Compile("file:///asyncapi#/components/messages/" + key + "/payload")
		if err != nil {
			t.Fatal(err)
		}
		return s.Validate(read(text))
	}
}

// TestAnswers: a program on this machine asks over a real connection, and question and answer are
// as the bus's document says.
func TestAnswers(t *testing.T) {
	t.Parallel()
	r := play(t, "two coats")
	r.forecast("a.csv", monday, dry)
	r.measuring(at(0, 7, 30), good)
	valid := messages(t)
	ask := func(name, question string) ([]byte, error) {
		t.Helper()
		ctx, cancel := context.WithTimeout(t.Context(), hangs)
		defer cancel()
		return bus.Ask(ctx, r.svc.BusURL(), bus.Login{}, name, json.RawMessage(question))
	}
	for name, tt := range map[string]struct{ ask, question, want string }{
		"the plan":         {"plan", `{}`, `"stage":"second"`},
		"nothing said":     {"plan", ``, `"stage":"first"`},
		"the draft":        {"plan", `{"plan": "draft", "boat": "boat one"}`, `"stage":"first"`},
		"of another boat":  {"plan", `{"boat": "Nobody"}`, `"stages":[]`},
		"in another place": {"plan", `{"place": "row"}`, `"stages":[`},
		"why":              {"why", `{"boat": "Boat One", "area": "topsides", "stage": "second"}`, `"waits"`},
		"conditions":       {"conditions", `{"place": "booth", "hours": 3}`, `"answer":"yes"`},
		"no hull there":    {"conditions", `{"place": "row"}`, `"answer":"unknown"`},
	} {
		answer, err := ask(tt.ask, tt.question)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if !strings.Contains(string(answer), tt.want) || strings.Contains(string(answer), "0001-01-01") {
			t.Errorf("%s: %s lacks %s, or has a date that is none", name, answer, tt.want)
		}
		if tt.question != "" {
			if err := valid("ask_"+tt.ask, []byte(tt.question)); err != nil {
				t.Errorf("%s, the question: %v", name, err)
			}
		}
		if err := valid("answer_"+tt.ask, answer); err != nil {
			t.Errorf("%s, the answer: %v", name, err)
		}
	}

	answer, err := ask("conditions", `{"place": "booth", "hours": 3}`)
	if err != nil {
		t.Fatal(err)
	}
	var c conditionsAnswer
	if err := json.Unmarshal(answer, &c); err != nil {
		t.Fatal(err)
	}
	if c.Whose != "card Gloss rev 2" || len(c.Ahead) != 3 || !c.Is.At.Equal(at(0, 7, 30)) {
		t.Errorf("conditions: %s", answer)
	}

	for name, tt := range map[string]struct{ ask, question, want string }{
		"no JSON":       {"plan", `{`, "The question is not the JSON object that is wanted"},
		"two of them":   {"plan", `{} {}`, "something stands behind it"},
		"a slip":        {"plan", `{"boot": "Boat One"}`, `unknown field "boot"`},
		"another plan":  {"plan", `{"plan": "last"}`, `"last" is no plan: ask for told`},
		"plan nowhere":  {"plan", `{"place": "quay"}`, `"quay" is no place of this yard: give one of booth, row.`},
		"no boat":       {"why", `{}`, "give one of the boats Boat One"},
		"no such stage": {"why", `{"boat": "Boat One", "stage": "third"}`, "no such open stage"},
		"no place":      {"conditions", `{"place": "quay"}`, `"quay" is no place of this yard: give one of booth, row.`},
		"too far":       {"conditions", `{"place": "booth", "hours": 1000}`, "ask for 0 to 168"},
	} {
		_, err := ask(tt.ask, tt.question)
		var refused bus.Refused
		if !errors.As(err, &refused) || !strings.Contains(err.Error(), tt.want) || strings.Contains(err.Error(), "\n") {
			t.Errorf("%s: %v, want %q", name, err, tt.want)
		}
	}
	if _, err := ask("anything", `{}`); !errors.Is(err, bus.ErrNoAnswer) {
		t.Errorf("what nobody answers: %v", err)
	}
}

// TestOnlyTheDaemonAnswers: a refusal is JSON on the wire, and no program on this machine may
// answer in the daemon's place.
func TestOnlyTheDaemonAnswers(t *testing.T) {
	t.Parallel()
	r := play(t, "two coats")
	denied := make(chan error, 4)
	conn, err := nats.Connect(r.svc.BusURL(), nats.Timeout(hangs), nats.ErrorHandler(func(_ *nats.Conn, _ *nats.Subscription, err error) { denied <- err }))
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	msg, err := conn.Request("fairwindow.ask.conditions", []byte(`{"place": "quay"}`), hangs)
	if err != nil {
		t.Fatal(err)
	}
	if err := messages(t)("refusal", msg.Data); err != nil || msg.Header.Get("Nats-Service-Error-Code") != "400" {
		t.Errorf("%s %v: %v", msg.Data, msg.Header, err)
	}
	for _, subject := range []string{"fairwindow.ask.plan", "$SRV.INFO"} {
		if _, err := conn.SubscribeSync(subject); err != nil {
			t.Fatal(err)
		}
		select {
		case err := <-denied:
			if !errors.Is(err, nats.ErrPermissionViolation) {
				t.Error(err)
			}
		case <-time.After(hangs):
			t.Errorf("%s may be heard", subject)
		}
	}
}

// TestDocumentNamesEveryQuestion: what may be asked and what the bus's document says are the same.
func TestDocumentNamesEveryQuestion(t *testing.T) {
	var d struct {
		Channels   map[string]struct{ Address string }
		Operations map[string]struct {
			Action string
			Reply  struct {
				Messages []struct {
					Ref string `yaml:"$ref"`
				}
			}
		}
	}
	if err := yaml.Unmarshal(bus.AsyncAPI, &d); err != nil {
		t.Fatal(err)
	}
	var written []string
	for name, c := range d.Channels {
		if ask, ok := strings.CutPrefix(c.Address, "fairwindow.ask."); ok {
			written = append(written, ask)
			o := d.Operations[name]
			if o.Action != "receive" || len(o.Reply.Messages) != 2 {
				t.Errorf("%s: the operation is %+v, want one that receives and answers or refuses", name, o)
			}
		}
	}
	slices.Sort(written)
	if asked := slices.Sorted(maps.Keys(new(Service).answers())); !slices.Equal(asked, written) {
		t.Errorf("answered are %v, written down %v", asked, written)
	}
}
