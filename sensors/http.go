package sensors

import (
	"bufio"
	"bytes"
	"cmp"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"slices"
	"sort"
	"strings"
	"time"

	"github.com/jonboulle/clockwork"

	"fairwindow/conditions"
	"fairwindow/config"
)

// HTTP takes readings by POST: one JSON object, an array of them, or one per
// line. An entry is
//
//	{"source": "hull probe 2", "place": "booth 1", "boat": "B-12",
//	 "time": "2026-04-06T06:00:00Z", "sequence": 117,
//	 "values": {"air": 18.2, "humidity": "61 %", "surface": "64 F"}}
//
// A number is in the variable's own unit (see conditions.Variable), a text
// names its unit, and a switch may be true, false or a word. A source that the yard
// file knows brings its place and boat. time (RFC 3339) and sequence may be left out;
// with either one, an entry sent again counts once.
//
// The answer comes after the commit: 202 with {"accepted": n, "rejected": […]}
// if any entry was taken in, 400 with the same form if none was. Good entries
// are taken in though others are bad; each bad one is named by its index and
// field, so that nothing is lost unsaid. 401 is a wrong token, 413 more than
// 1 MiB, 503 that nothing was taken in and the request should be sent again.
type HTTP struct {
	options Post
	known   map[string]config.Sensor
}

// Post is what HTTP needs.
type Post struct {
	Token   string // asked for as "Authorization: Bearer …"; without one every request is refused
	Sensors []config.Sensor
	Places  []string // those an entry may name, beside outdoors
	Boats   []string // those an entry may name
	Intake  Intake
	Clock   clockwork.Clock
}

// NewHTTP is the handler of POST /v1/readings.
func NewHTTP(p Post) *HTTP {
	h := &HTTP{options: p, known: map[string]config.Sensor{}}
	for _, s := range p.Sensors {
		h.known[s.Name] = s
	}
	return h
}

// bodyLimit is the longest body, bytes.
const bodyLimit = 1 << 20

type entry struct {
	Source   string                     `json:"source"`
	Place    string                     `json:"place"`
	Boat     string                     `json:"boat"`
	Time     word                       `json:"time"`
	Sequence word                       `json:"sequence"`
	Values   map[string]json.RawMessage `json:"values"`
}

// word is a text, or a number as it is written.
type word string

// UnmarshalJSON takes either.
func (w *word) UnmarshalJSON(raw []byte) error {
	if raw[0] != '"' {
		var n json.Number
		if err := json.Unmarshal(raw, &n); err != nil {
			return fmt.Errorf("%s is neither a text nor a number", raw)
		}
		*w = word(n)
		return nil
	}
	var text string
	err := json.Unmarshal(raw, &text)
	*w = word(text)
	return err
}

// Rejected says what is wrong with one entry, and what would be right.
type Rejected struct {
	Index int    `json:"index"` // from 0
	Field string `json:"field,omitempty"`
	Error string `json:"error"`
}

// Taken is the answer to a POST.
type Taken struct {
	Accepted int        `json:"accepted"`
	Rejected []Rejected `json:"rejected,omitempty"`
	Error    string     `json:"error,omitempty"`
}

// ServeHTTP takes one request's readings in.
func (h *HTTP) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	if r.Method != http.MethodPost {
		w.Header().Set("Allow", http.MethodPost)
		answer(w, http.StatusMethodNotAllowed, Taken{Error: "send readings with POST"})
		return
	}
	if !h.allowed(r) {
		w.Header().Set("WWW-Authenticate", `Bearer realm="readings"`)
		answer(w, http.StatusUnauthorized, Taken{Error: "send the readings' token, from the file token in the state folder or made with fairwindow token, as Authorization: Bearer …"})
		return
	}
	body, err := io.ReadAll(http.MaxBytesReader(w, r.Body, bodyLimit))
	var tooLong *http.MaxBytesError
	if errors.As(err, &tooLong) {
		answer(w, http.StatusRequestEntityTooLarge, Taken{Error: "the body is longer than 1 MiB; send fewer readings at once"})
		return
	}
	if err != nil {
		answer(w, http.StatusBadRequest, Taken{Error: "the body broke off; send it again"})
		return
	}
	readings, rejected := h.read(body)
	switch {
	case len(readings)+len(rejected) == 0:
		answer(w, http.StatusBadRequest, Taken{Error: "no readings in the body"})
	case len(readings) == 0:
		answer(w, http.StatusBadRequest, Taken{Rejected: rejected})
	default:
		if err := h.options.Intake(r.Context(), readings); err != nil {
			w.Header().Set("Retry-After", "5")
			answer(w, http.StatusServiceUnavailable, Taken{Error: "nothing was taken in; send it again"})
			return
		}
		answer(w, http.StatusAccepted, Taken{Accepted: len(readings), Rejected: rejected})
	}
}

func (h *HTTP) allowed(r *http.Request) bool {
	given, ok := strings.CutPrefix(r.Header.Get("Authorization"), "Bearer ")
	a, b := sha256.Sum256([]byte(given)), sha256.Sum256([]byte(h.options.Token))
	return ok && h.options.Token != "" && subtle.ConstantTimeCompare(a[:], b[:]) == 1
}

func answer(w http.ResponseWriter, code int, t Taken) {
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(code)
	_ = json.NewEncoder(w).Encode(t) // the peer may have gone
}

// read splits the body into entries and reads each.
func (h *HTTP) read(body []byte) (readings []Reading, rejected []Rejected) {
	entries, fault := pieces(body)
	now := h.options.Clock.Now()
	for i, raw := range entries {
		r, faults := h.entry(raw, now)
		for _, f := range faults {
			f.Index = i
			rejected = append(rejected, f)
		}
		if len(faults) == 0 {
			readings = append(readings, r)
		}
	}
	if fault != nil {
		rejected = append(rejected, Rejected{Index: len(entries), Error: fault.Error()})
	}
	return readings, rejected
}

// pieces are the entries of a body; those before a fault are kept.
func pieces(body []byte) ([]json.RawMessage, error) {
	body = bytes.TrimSpace(body)
	if len(body) > 0 && body[0] == '[' {
		var list []json.RawMessage
		if err := json.Unmarshal(body, &list); err != nil {
			return nil, fmt.Errorf("the array is not JSON: %w", err)
		}
		return list, nil
	}
	if json.Valid(body) {
		return []json.RawMessage{body}, nil
	}
	return lines(body), nil
}

// lines: each is an entry, good or bad.
func lines(body []byte) []json.RawMessage {
	var out []json.RawMessage
	scan := bufio.NewScanner(bytes.NewReader(body))
	scan.Buffer(nil, bodyLimit+1)
	for scan.Scan() {
		if line := bytes.TrimSpace(scan.Bytes()); len(line) > 0 {
			out = append(out, append(json.RawMessage(nil), line...))
		}
	}
	return out
}

func (h *HTTP) entry(raw json.RawMessage, now time.Time) (Reading, []Rejected) {
	var e entry
	dec := json.NewDecoder(bytes.NewReader(raw))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&e); err != nil {
		return Reading{}, []Rejected{noEntry(err)}
	}
	if dec.More() {
		return Reading{}, []Rejected{{Error: "more than one entry on a line; give each its own"}}
	}
	var faults []Rejected
	bad := func(field, format string, args ...any) {
		faults = append(faults, Rejected{Field: field, Error: fmt.Sprintf(format, args...)})
	}
	r := Reading{
		Source: e.Source, Place: e.Place, Boat: e.Boat, At: now, Received: now,
		Values: map[conditions.Variable]float64{}, Raw: string(raw),
	}
	if e.Source == "" {
		bad("source", "missing; name the instrument or the person")
	}
	h.stand(&r, bad)
	if e.Time != "" {
		at, err := time.Parse(time.RFC3339Nano, string(e.Time))
		if err != nil {
			bad("time", "%q is not RFC 3339; write it with its zone, like 2026-04-06T06:00:00Z", string(e.Time))
		}
		r.At, r.FromDevice = at.UTC(), true
	}
	h.values(&r, e.Values, bad)
	r.Key = Key(r, string(e.Sequence))
	return r, faults
}

// noEntry words why a text is no entry, in JSON's words rather than Go's.
func noEntry(err error) Rejected {
	const shape = `write it like {"source": "probe", "place": "booth 1", "values": {"air": "18 C"}}`
	var kind *json.UnmarshalTypeError
	if errors.As(err, &kind) {
		return Rejected{Field: kind.Field, Error: fmt.Sprintf("not an entry: %s does not belong here; %s", kind.Value, shape)}
	}
	if name, ok := strings.CutPrefix(err.Error(), "json: unknown field "); ok {
		return Rejected{Field: strings.Trim(name, `"`), Error: "not an entry: there is no such field; use source, place, boat, time, sequence and values"}
	}
	return Rejected{Error: fmt.Sprintf("not an entry: %v; %s", err, shape)}
}

// stand fills in where the source stands, and checks what the entry says.
func (h *HTTP) stand(r *Reading, bad func(field, format string, args ...any)) {
	if s, ok := h.known[r.Source]; ok && r.Place == "" && r.Boat == "" {
		r.Place, r.Boat = s.Place, s.Boat
	}
	if r.Place == "" && r.Boat == "" {
		bad("place", "missing; %q is no sensor of the yard file, so name a place or a boat", r.Source)
	}
	if r.Place != "" && r.Place != config.Outdoors && !slices.Contains(h.options.Places, r.Place) {
		bad("place", "%q is no place of the yard; there are %s and %s", r.Place, strings.Join(h.options.Places, ", "), config.Outdoors)
	}
	// A sensor that the yard file has on a boat is believed before the boat is there.
	if r.Boat != "" && r.Boat != h.known[r.Source].Boat && !slices.Contains(h.options.Boats, r.Boat) {
		bad("boat", "%q is no boat of the yard; there are %s", r.Boat, cmp.Or(strings.Join(h.options.Boats, ", "), "none yet"))
	}
}

func (h *HTTP) values(r *Reading, values map[string]json.RawMessage, bad func(field, format string, args ...any)) {
	if len(values) == 0 {
		bad("values", "missing; give at least one, like {\"air\": \"18 C\"}")
	}
	names := make([]string, 0, len(values))
	for name := range values {
		names = append(names, name)
	}
	sort.Strings(names)
	for _, name := range names {
		v := conditions.Variable(name)
		if !isVariable(v) {
			bad("values."+name, "not a variable; there are %s", variableNames())
			continue
		}
		x, err := rawValue(v, values[name])
		switch {
		case err != nil:
			bad("values."+name, "%v", err)
		case x == nil:
			r.Flags = append(r.Flags, Flag{Of: v, Fault: Missing, Note: "null"})
		default:
			r.Values[v] = *x
		}
	}
}

// rawValue is nil for null: the instrument has it, but gave none.
func rawValue(v conditions.Variable, raw json.RawMessage) (*float64, error) {
	var x any
	if err := json.Unmarshal(raw, &x); err != nil {
		return nil, err
	}
	switch x := x.(type) {
	case nil:
		return nil, nil
	case float64:
		return &x, nil
	case bool:
		if state, ok := v.Word(string(raw)); ok {
			return &state, nil
		}
	case string:
		value, err := ParseValue(v, x)
		return &value, err
	}
	return nil, fmt.Errorf("%s is neither a number nor a text that holds one; %s", raw, Wanted(v))
}

func variableNames() string {
	names := make([]string, len(order))
	for i, v := range order {
		names[i] = string(v)
	}
	return strings.Join(names, ", ")
}
