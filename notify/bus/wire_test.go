package bus

import (
	"encoding/json"
	"strings"
	"testing"
	"unicode/utf8"

	"fairwindow/notify"

	"github.com/nats-io/nats-server/v2/server"
)

// The server's own conversion is checked end to end by TestDeviceToIntake.
func FuzzTopic(f *testing.F) {
	for _, s := range []string{"yard.booth1.readings", "a//b", "a./.b", "/.lead", "trail./", "/", ""} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, subject string) {
		got := topic(subject)
		if len(got) > len(subject) {
			t.Errorf("%q grew to %q", subject, got)
		}
		if !strings.Contains(subject, "/") && got != strings.ReplaceAll(subject, ".", "/") {
			t.Errorf("%q became %q", subject, got)
		}
	})
}

func FuzzDecode(f *testing.F) {
	good, err := json.Marshal(eventOf(example("Auk", notify.WindowOpens), "Open.", "a yard"))
	if err != nil {
		f.Fatal(err)
	}
	for _, s := range []string{string(good), "", "{}", "null", `{"specversion":"1.0","data":{"id":"a","at":"never"}}`, `{"data":[]}`} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		e, err := decode(data)
		if err != nil {
			return
		}
		again, err := json.Marshal(e)
		if err != nil {
			return // a time that JSON can write in and not out, such as a zone beyond a day
		}
		if f, err := decode(again); err != nil || f.ID != e.ID || f.Data.ID != e.Data.ID || f.Data.Sentence != e.Data.Sentence {
			t.Errorf("%s became %s: %v", data, again, err)
		}
	})
}

func FuzzSubject(f *testing.F) {
	for _, s := range []string{"Petrel II", "a.b", "*", ">", "", "Æger", "\x00\xff", "$SYS"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, boat string) {
		s := subject(boat, notify.WindowOpens)
		if !utf8.ValidString(s) || !server.IsValidLiteralSubject(s) || strings.Count(s, ".") != 3 || strings.ContainsAny(s, " $") {
			t.Errorf("boat %q makes the subject %q", boat, s)
		}
	})
}
