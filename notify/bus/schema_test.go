package bus

import (
	"bytes"
	"encoding/json"
	"os"
	"reflect"
	"strings"
	"testing"
	"time"

	"fairwindow/notify"

	cloudevent "github.com/cloudevents/sdk-go/v2/event"
	make "github.com/invopop/jsonschema"
	"github.com/nats-io/nats.go"
	check "github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/sebdah/goldie/v2"
	"pgregory.net/rapid"
)

// made is the schema of a kind's data by the Go types of what is sent. Further fields are let
// through, for a reader of today must read the notices of a later version.
func made(r *make.Reflector, k notify.Kind) *make.Schema {
	s := r.Reflect(told{})
	s.ID, s.Title = make.ID(SchemaID(k)), "Notice: "+strings.ReplaceAll(string(k), "_", " ")
	s.Description = "The data of a notice of this kind, with its sentence as the yard's people read it"
	property := func(name string) *make.Schema { p, _ := s.Properties.Get(name); return p }
	property("kind").Const = string(k)
	property("sentence").Description = "the notice in one sentence, in the yard's units and zone"
	for _, name := range []string{"occurrence", "revision"} {
		property(name).Minimum = "1"
	}
	switch k {
	case notify.SourceSilent:
		s.Required = append(s.Required, "from")
	case notify.ForecastOld:
		s.Required = append(s.Required, "cause")
	default: // of a stage of a boat
		s.Required = append(s.Required, "boat", "area", "stage")
	}
	return s
}

// words gives the closed sets of words their own schema.
func words(t reflect.Type) *make.Schema {
	switch t {
	case reflect.TypeFor[notify.Side]():
		return &make.Schema{Type: "string", Enum: []any{string(notify.AtLeast), string(notify.AtMost)}}
	case reflect.TypeFor[notify.Sure]():
		return &make.Schema{Type: "string", Enum: []any{string(notify.Measured), string(notify.Forecast), string(notify.Pencilled), string(notify.Unknown)}}
	}
	return nil
}

// The kept schemas are what the Go types make, one of each kind and no other.
func TestSchemas(t *testing.T) {
	golden := goldie.New(t, goldie.WithFixtureDir("schema"), goldie.WithNameSuffix(".json"))
	r := &make.Reflector{Anonymous: true, ExpandedStruct: true, AllowAdditionalProperties: true, DoNotReference: true, Mapper: words}
	if err := r.AddGoComments("fairwindow/notify/bus", ".."); err != nil { // reads every file: once is enough
		t.Fatal(err)
	}
	want := map[string]bool{}
	for _, k := range notify.Kinds() {
		text, err := json.MarshalIndent(made(r, k), "", "  ")
		if err != nil {
			t.Fatal(err)
		}
		golden.Assert(t, string(k), append(text, '\n'))
		want[string(k)+".json"] = true
	}
	entries, err := os.ReadDir("schema")
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		if !want[e.Name()] {
			t.Errorf("schema/%s is of no kind of notice", e.Name())
		}
	}
	if _, err := Schema("made_up"); err == nil {
		t.Error("a kind that there is not has a schema")
	}
}

// full is a notice of a kind that says all that a notice can say; invented.
func full(k notify.Kind) notify.Notice {
	at := time.Date(2026, 5, 12, 8, 30, 0, 0, time.UTC)
	n := notify.Notice{Kind: k, Boat: "Petrel II", Area: "topsides", Stage: "topcoat", Pass: 1, Occurrence: 1, Revision: 2,
		Place: "Booth 2", Crew: "painters", At: at, From: at.Add(time.Hour), Until: at.Add(8 * time.Hour), Do: notify.DoCover,
		Cause: notify.Cause{Limit: "margin", Value: 1.2, Bound: 3, Unit: "C", Side: notify.AtLeast, Whose: "card Topcoat rev 2",
			Sure: notify.Forecast, Issued: at.Add(-2 * time.Hour), Source: "model", Text: "dew"},
		Mix: notify.Mix{Card: "Topcoat", Revision: 2, Variant: "spray", Reducer: "slow", Parts: "2:1 by volume", Volume: 4.2,
			Stands: 15 * time.Minute, PotLife: 2 * time.Hour}}
	n.ID = notify.ID(n)
	return n
}

// bare is a notice of a kind that says no more than it must.
func bare(k notify.Kind) notify.Notice {
	n := notify.Notice{Kind: k, Occurrence: 1, Revision: 1, At: time.Date(2026, 5, 12, 8, 30, 0, 0, time.UTC)}
	switch k {
	case notify.SourceSilent:
		n.Place, n.From = "Booth 2", n.At.Add(-time.Hour)
	case notify.ForecastOld:
		n.Cause.Source = "model"
	default:
		n.Boat, n.Area, n.Stage = "Auk", "deck", "topcoat"
	}
	n.ID = notify.ID(n)
	return n
}

// validator compiles the kept schemas by a second implementation.
func validator(t *testing.T) func(t *testing.T, id string, data []byte) error {
	t.Helper()
	c := check.NewCompiler()
	c.AssertFormat()
	for _, k := range notify.Kinds() {
		text, err := Schema(k)
		if err != nil {
			t.Fatal(err)
		}
		doc, err := check.UnmarshalJSON(bytes.NewReader(text))
		if err != nil {
			t.Fatal(err)
		}
		if err := c.AddResource(SchemaID(k), doc); err != nil {
			t.Fatal(err)
		}
	}
	return func(t *testing.T, id string, data []byte) error {
		t.Helper()
		s, err := c.Compile(id)
		if err != nil {
			t.Fatal(err)
		}
		v, err := check.UnmarshalJSON(bytes.NewReader(data))
		if err != nil {
			t.Fatal(err)
		}
		return s.Validate(v)
	}
}

// sent publishes a full and a bare notice of each kind over a real server and gives what a
// stranger hears of it.
func sent(t *testing.T) []*nats.Msg {
	t.Helper()
	ctx := within(t)
	b := open(t, ctx, Options{StoreDir: t.TempDir(), NATSAddr: "127.0.0.1:0", Yard: "Quay, north"})
	conn, err := nats.Connect(b.URL(), nats.Timeout(hangs))
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	sub, err := conn.SubscribeSync("fairwindow.>")
	if err != nil {
		t.Fatal(err)
	}
	if err := conn.Flush(); err != nil {
		t.Fatal(err)
	}
	var heard []*nats.Msg
	for _, k := range notify.Kinds() {
		for _, n := range []notify.Notice{full(k), bare(k)} {
			if err := b.Publish(ctx, n, "A sentence."); err != nil {
				t.Fatal(err)
			}
			msg, err := sub.NextMsgWithContext(ctx)
			if err != nil {
				t.Fatal(err)
			}
			heard = append(heard, msg)
		}
	}
	return heard
}

// What is sent of each kind is a CloudEvent by the reference implementation, and keeps to the
// schema that it names.
func TestEveryKindIsACloudEventByItsSchema(t *testing.T) {
	valid := validator(t)
	for i, msg := range sent(t) {
		k := notify.Kinds()[i/2]
		if got := msg.Header.Get("content-type"); got != cloudevent.ApplicationCloudEventsJSON {
			t.Errorf("%s: content-type %q", k, got)
		}
		e := cloudevent.New()
		if err := json.Unmarshal(msg.Data, &e); err != nil {
			t.Fatalf("%s: %v", k, err)
		}
		if err := e.Validate(); err != nil {
			t.Errorf("%s: %v", k, err)
		}
		if e.Source() != "/yards/Quay%2C%20north" || e.Type() != "fairwindow.notice."+string(k)+".v1" || e.DataSchema() != SchemaID(k) {
			t.Errorf("%s: %s", k, e)
		}
		if err := valid(t, e.DataSchema(), e.Data()); err != nil {
			t.Errorf("%s: %v\n%s", k, err, e.Data())
		}
		for name, spoil := range map[string]func(map[string]any){
			"another kind":       func(m map[string]any) { m["kind"] = "made_up" },
			"no sentence":        func(m map[string]any) { delete(m, "sentence") },
			"a time that is not": func(m map[string]any) { m["at"] = "soon" },
		} {
			var m map[string]any
			if err := json.Unmarshal(e.Data(), &m); err != nil {
				t.Fatal(err)
			}
			spoil(m)
			bad, err := json.Marshal(m)
			if err != nil {
				t.Fatal(err)
			}
			if valid(t, e.DataSchema(), bad) == nil {
				t.Errorf("%s: %s passes", k, name)
			}
		}
	}
}

// The wire form, to the letter: what readers elsewhere rely on.
func TestWire(t *testing.T) {
	data, err := json.MarshalIndent(eventOf(full(notify.WindowOpens), "Window open.", "Quay, north"), "", "  ")
	if err != nil {
		t.Fatal(err)
	}
	goldie.New(t, goldie.WithNameSuffix(".json")).Assert(t, "window_opens", append(data, '\n'))
}

// Whatever people call a boat, a place or a yard, the notice is a CloudEvent, and its subject
// tells the parts apart.
func TestAnyNamesMakeACloudEvent(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.String()
		n := bare(notify.WindowOpens)
		n.Boat, n.Area, n.Stage, n.Place = text.Draw(t, "boat"), text.Draw(t, "area"), text.Draw(t, "stage"), text.Draw(t, "place")
		n.ID = notify.ID(n)
		data, err := json.Marshal(eventOf(n, text.Draw(t, "sentence"), text.Draw(t, "yard")))
		if err != nil {
			t.Fatal(err)
		}
		e := cloudevent.New()
		if err := json.Unmarshal(data, &e); err != nil {
			t.Fatal(err)
		}
		if err := e.Validate(); err != nil {
			t.Fatalf("%v\n%s", err, data)
		}
		back, err := decode(data)
		if err != nil || back.Data.ID != n.ID || back.Data.Boat != n.Boat {
			t.Fatalf("%s came back as %+v, %v", data, back, err)
		}
		if n.Boat != "" && n.Area != "" && n.Stage != "" && strings.Count(e.Subject(), "/") != 2 {
			t.Fatalf("subject %q", e.Subject())
		}
	})
}

func TestUnreadableIsSaid(t *testing.T) {
	for name, tt := range map[string]struct{ in, want string }{
		"another version": {`{"specversion":"2.0"}`, `specversion is "2.0"`},
		"another type":    {`{"specversion":"1.0","type":"something.else"}`, `"something.else"`},
		"a later version": {`{"specversion":"1.0","type":"fairwindow.notice.window_opens.v2"}`, `v2`},
		"no id":           {`{"specversion":"1.0","type":"fairwindow.notice.window_opens.v1","data":{}}`, "data.id"},
	} {
		if _, err := decode([]byte(tt.in)); err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%s: %v, want %q", name, err, tt.want)
		}
	}
}
