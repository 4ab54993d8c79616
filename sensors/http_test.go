package sensors

import (
	"encoding/json"
	"errors"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"github.com/jonboulle/clockwork"

	"fairwindow/conditions"
	"fairwindow/config"
)

func post(k *kept, token, body string) (int, Taken) {
	h := NewHTTP(Post{
		Token: "secret", Sensors: []config.Sensor{{Name: "probe", Place: "booth 1", Boat: "B"}},
		Places: []string{"booth 1", "slip"}, Boats: []string{"Tern", "Plover"}, Intake: k.take, Clock: clockwork.NewFakeClockAt(noon),
	})
	r := httptest.NewRequest(http.MethodPost, "/v1/readings", strings.NewReader(body))
	if token != "" {
		r.Header.Set("Authorization", "Bearer "+token)
	}
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	var got Taken
	_ = json.Unmarshal(w.Body.Bytes(), &got)
	return w.Code, got
}

func TestHTTP(t *testing.T) {
	const good = `{"source":"probe","time":"2026-04-06T13:55:00+02:00","values":{"surface":"64.4 F","humidity":61}}`
	tests := []struct {
		name, body string
		code, took int
		rejected   []string // index field: part of the text
	}{
		{"one object", good, 202, 1, nil},
		{"an array", "[" + good + "," + good + "]", 202, 2, nil},
		{"a line each", good + "\n\n" + good + "\n", 202, 2, nil},
		{"the good are kept", good + "\n{broken\n" + good, 202, 2, []string{"1 : not an entry"}},
		{"two on a line", good + "\n" + good + good, 202, 1, []string{"1 : more than one"}},
		{"a hand reading", `{"source":"Ana","place":"slip","values":{"air":"18 C","wet_bulb":"17"}}`, 202, 1, nil},
		{"a null is a missing value", `{"source":"probe","values":{"air":null}}`, 202, 1, nil},
		{"every mistake at once", `{"place":"boothe","time":"noon","values":{"air":"warm","humidity":"61 C","hull":3,"wind":[]}}`, 400, 0, []string{
			"0 source: missing", "0 place: no place of the yard; there are booth 1, slip", "0 time: RFC 3339",
			"0 values.air: not a value", "0 values.hull: not a variable", "0 values.humidity: not a unit of humidity", "0 values.wind: neither a number"}},
		{"on a boat", `{"source":"Ana","boat":"Tern","values":{"surface":"17 C"}}`, 202, 1, nil},
		{"on the sensor's boat, which is not there yet", `{"source":"probe","boat":"B","values":{"surface":"17 C"}}`, 202, 1, nil},
		{"on no boat", `{"source":"Ana","boat":"Turn","values":{"surface":"17 C"}}`, 400, 0, []string{"0 boat: is no boat of the yard; there are Tern, Plover"}},
		{"nowhere", `{"source":"Ana","values":{"air":18}}`, 400, 0, []string{"0 place: name a place or a boat"}},
		{"no values", `{"source":"probe"}`, 400, 0, []string{"0 values: missing"}},
		{"an unknown field", `{"source":"probe","vlaues":{}}`, 400, 0, []string{"0 vlaues: use source, place, boat, time, sequence and values"}},
		{"values that are a list", `{"source":"probe","values":["air"]}`, 400, 0, []string{`0 values: array does not belong here; write it like {"source"`}},
		{"a time that is a switch", `{"source":"probe","time":true,"values":{"air":18}}`, 400, 0, []string{"0 : true is neither a text nor a number"}},
		{"a time in seconds", `{"source":"probe","time":1775473200,"values":{"air":18}}`, 400, 0, []string{`0 time: "1775473200" is not RFC 3339`}},
		{"a sequence that is a number", `{"source":"probe","sequence":117,"values":{"air":"18,5 C"}}`, 202, 1, nil},
		{"a contact", `{"source":"probe","values":{"fan":true,"door":"shut","mode":"spraying"}}`, 202, 1, nil},
		{"a contact that is neither", `{"source":"probe","values":{"fan":"perhaps","air":true,"door":"ajar"}}`, 400, 0, []string{
			"0 values.air: write a number, with a unit if it is not C", "0 values.door: write 1 or open, 0 or shut", "0 values.fan: write 1 or on for running"}},
		{"a broken array", `[` + good, 400, 0, []string{"0 : not JSON"}},
		{"nothing", " ", 400, 0, nil},
		{"too much", strings.Repeat(" ", bodyLimit+1), 413, 0, nil},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			k := &kept{}
			code, got := post(k, "secret", tt.body)
			if code != tt.code || got.Accepted != tt.took || len(k.readings) != tt.took {
				t.Errorf("%d %+v, kept %d", code, got, len(k.readings))
			}
			if len(got.Rejected) != len(tt.rejected) {
				t.Fatalf("rejected %+v", got.Rejected)
			}
			for i, r := range got.Rejected {
				head, part, _ := strings.Cut(tt.rejected[i], ": ")
				if said := string(rune('0'+r.Index)) + " " + r.Field; said != head && said+":" != head || !strings.Contains(r.Error, part) {
					t.Errorf("%+v, want %q", r, tt.rejected[i])
				}
			}
		})
	}
}

func TestHTTPReading(t *testing.T) {
	k := &kept{}
	const body = `{"source":"probe","time":"2026-04-06T13:55:00+02:00","values":{"surface":"64.4 F","humidity":61}}`
	post(k, "secret", body)
	post(k, "secret", body)
	r := k.readings[0]
	if r.Place != "booth 1" || r.Boat != "B" || !r.FromDevice || r.At.Hour() != 11 || r.Raw != body || !r.Received.Equal(noon) {
		t.Errorf("%+v", r)
	}
	if x := r.Values[surface]; x < 17.999 || x > 18.001 {
		t.Errorf("surface %v", x)
	}
	if r.Key != k.readings[1].Key {
		t.Error("an entry sent again has another key")
	}
	for i, sequence := range []string{`"9"`, `9`} {
		post(k, "secret", `{"source":"probe","sequence":`+sequence+`,"values":{"air":1}}`)
		if got := k.readings[2+i].Key; !strings.HasPrefix(got, "probe#9/") {
			t.Errorf("%s: key %q", sequence, got)
		}
	}
	post(k, "secret", `{"source":"probe","values":{"fan":true,"surface":"18,5 C"}}`)
	if got := k.readings[4].Values; got[conditions.Fan] != 1 || got[surface] != 18.5 {
		t.Errorf("%v", got)
	}
}

func TestHTTPRefuses(t *testing.T) {
	const body = `{"source":"probe","values":{"air":18}}`
	k := &kept{}
	for _, token := range []string{"", "wrong", "secrets"} {
		if code, _ := post(k, token, body); code != 401 {
			t.Errorf("token %q: %d", token, code)
		}
	}
	open := NewHTTP(Post{Intake: k.take, Clock: clockwork.NewFakeClockAt(noon)})
	r := httptest.NewRequest(http.MethodPost, "/v1/readings", strings.NewReader(body))
	r.Header.Set("Authorization", "Bearer ")
	w := httptest.NewRecorder()
	open.ServeHTTP(w, r)
	if w.Code != 401 {
		t.Errorf("without a token set: %d", w.Code)
	}
	w = httptest.NewRecorder()
	open.ServeHTTP(w, httptest.NewRequest(http.MethodGet, "/v1/readings", nil))
	if w.Code != 405 {
		t.Errorf("GET: %d", w.Code)
	}
	k.full = errors.New("disk full")
	if code, got := post(k, "secret", body); code != 503 || got.Accepted != 0 || strings.Contains(got.Error, "disk") {
		t.Errorf("%d %+v", code, got)
	}
	if len(k.readings) != 0 {
		t.Errorf("kept %v", k.readings)
	}
}

func FuzzHTTP(f *testing.F) {
	f.Add(`{"source":"probe","values":{"air":"18 C","rain":1e308}}`)
	f.Add("[{},{\"values\":{\"fan\":\"on\"}},null]")
	f.Add("{}\n{\n[]")
	f.Fuzz(func(t *testing.T, body string) {
		k := &kept{}
		code, got := post(k, "secret", body)
		if got.Accepted != len(k.readings) || (code == 202) != (got.Accepted > 0) || code != 202 && code != 400 && code != 413 {
			t.Fatalf("%d %+v", code, got)
		}
		if _, err := json.Marshal(k.readings); err != nil {
			t.Fatal(err)
		}
	})
}
