package bus

import (
	"encoding/json"
	"fmt"
	"maps"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	check "github.com/santhosh-tekuri/jsonschema/v6"
	"go.yaml.in/yaml/v4"

	"fairwindow/notify"
)

// document is as much of AsyncAPI 3.0.0 as is compared here.
type document struct {
	AsyncAPI string `yaml:"asyncapi"`
	Channels map[string]struct {
		Address    string
		Parameters map[string]struct{ Enum []string }
		Messages   map[string]ref
	}
	Operations map[string]operation
	Components struct {
		Messages map[string]struct {
			Name    string
			Payload any
		}
	}
}

type operation struct {
	Action   string
	Channel  ref
	Messages []ref
	Reply    struct {
		Address  struct{ Location string }
		Channel  ref
		Messages []ref
	}
}

type ref struct {
	Ref string `yaml:"$ref"`
}

func asyncAPI(t *testing.T) document {
	t.Helper()
	var d document
	if err := yaml.Unmarshal(AsyncAPI, &d); err != nil {
		t.Fatal(err)
	}
	if d.AsyncAPI != "3.0.0" {
		t.Fatalf("version %q", d.AsyncAPI)
	}
	return d
}

// placeholder is a parameter in an address.
var placeholder = regexp.MustCompile(`\{(\w+)\}`)

// The document's subjects and messages are those really used, and each of those is in it.
func TestAsyncAPINamesWhatIsSent(t *testing.T) {
	d := asyncAPI(t)
	notices := d.Channels["notices"]
	subjects := regexp.MustCompile("^" + regexp.MustCompile(`\\\{\w+\\}`).ReplaceAllString(regexp.QuoteMeta(notices.Address), `([^.]+)`) + "$")
	heard := map[string]bool{}
	for i, msg := range sent(t) {
		k := string(notify.Kinds()[i/2])
		m := subjects.FindStringSubmatch(msg.Subject)
		if m == nil || m[2] != k {
			t.Errorf("%s went to %s, which is not %s", k, msg.Subject, notices.Address)
		}
		var e event
		if err := json.Unmarshal(msg.Data, &e); err != nil {
			t.Fatal(err)
		}
		heard[k] = true
		if got := d.Components.Messages[k].Name; got != e.Type {
			t.Errorf("%s is called %q in the document and %q on the bus", k, got, e.Type)
		}
		if err := payloadOf(t, k).Validate(decoded(t, msg.Data)); err != nil {
			t.Errorf("%s: %v", k, err)
		}
	}
	kinds := slices.Sorted(maps.Keys(heard))
	if got := slices.Sorted(maps.Keys(notices.Messages)); !slices.Equal(got, kinds) {
		t.Errorf("messages of the channel %v, sent are %v", got, kinds)
	}
	if got := slices.Sorted(slices.Values(notices.Parameters["kind"].Enum)); !slices.Equal(got, kinds) {
		t.Errorf("kinds of the parameter %v, sent are %v", got, kinds)
	}
	for k, m := range notices.Messages {
		if m.Ref != "#/components/messages/"+k {
			t.Errorf("%s refers to %s", k, m.Ref)
		}
	}
}

// Each parameter of an address is described, each operation has a channel, and no message is
// left that no channel carries.
func TestAsyncAPIHangsTogether(t *testing.T) {
	d := asyncAPI(t)
	carried := map[string]bool{}
	for name, c := range d.Channels {
		var wanted []string
		for _, m := range placeholder.FindAllStringSubmatch(c.Address, -1) {
			wanted = append(wanted, m[1])
		}
		if got := slices.Sorted(maps.Keys(c.Parameters)); !slices.Equal(got, slices.Sorted(slices.Values(wanted))) {
			t.Errorf("channel %s describes %v of %s", name, got, c.Address)
		}
		for _, m := range c.Messages {
			carried[strings.TrimPrefix(m.Ref, "#/components/messages/")] = true
		}
	}
	if got, want := slices.Sorted(maps.Keys(d.Components.Messages)), slices.Sorted(maps.Keys(carried)); !slices.Equal(got, want) {
		t.Errorf("messages %v, carried are %v", got, want)
	}
	for name, o := range d.Operations {
		for _, r := range []string{o.Channel.Ref, o.Reply.Channel.Ref} {
			channel, ok := strings.CutPrefix(r, "#/channels/")
			if _, there := d.Channels[channel]; r != "" && (!ok || !there) {
				t.Errorf("operation %s is on %s, which there is not", name, r)
			}
		}
	}
}

// payloadOf compiles the schema of a message, with what it refers to.
func payloadOf(t *testing.T, message string) *check.Schema {
	t.Helper()
	var whole any
	if err := yaml.Unmarshal(AsyncAPI, &whole); err != nil {
		t.Fatal(err)
	}
	text, err := json.Marshal(whole)
	if err != nil {
		t.Fatal(err)
	}
	c := check.NewCompiler()
	c.AssertFormat()
	if err := c.AddResource("file:///doc/asyncapi.yaml", decoded(t, text)); err != nil {
		t.Fatal(err)
	}
	for _, k := range notify.Kinds() {
		text, err := Schema(k)
		if err != nil {
			t.Fatal(err)
		}
		if err := c.AddResource("file:///doc/"+filepath.ToSlash(filepath.Join("schema", string(k)+".json")), decoded(t, text)); err != nil {
			t.Fatal(err)
		}
	}
	s, err := c.Compile(fmt.Sprintf("file:///doc/asyncapi.yaml#/components/messages/%s/payload", message))
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func decoded(t *testing.T, data []byte) any {
	t.Helper()
	v, err := check.UnmarshalJSON(strings.NewReader(string(data)))
	if err != nil {
		t.Fatal(err)
	}
	return v
}
