// Package payload answers one question: what does this message say? It makes
// readings of what devices send, by the paths and units of the yard file:
// JSON flat or nested, a bare number, SenML (RFC 8428). Whatever a device
// sends comes back as readings; what cannot be believed is flagged and kept,
// what cannot be read is kept as it came.
//
// It is pure: no clock, no I/O, no state.
package payload

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"sort"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"fairwindow/conditions"
	"fairwindow/config"
	"fairwindow/sensors"
)

// Decode makes readings of a message, at least one. Each carries the message in
// Raw, which sensors.Check drops if nothing was flagged. Times without a zone
// are on the zone's wall clock (nil is UTC); to look up the sensor's own zone is
// the caller's, since that reads files.
func Decode(s config.Sensor, m sensors.Message, zone *time.Location) []sensors.Reading {
	d := decoder{sensor: s, message: m, zone: zone}
	if zone == nil {
		d.zone = time.UTC
	}
	text := strings.TrimSpace(strings.TrimPrefix(string(m.Payload), "\ufeff"))
	if d.plain() {
		return []sensors.Reading{d.number(text)}
	}
	doc, err := parse(text)
	if err != nil {
		return []sensors.Reading{d.unreadable(err.Error())}
	}
	return d.document(doc)
}

type decoder struct {
	sensor  config.Sensor
	message sensors.Message
	zone    *time.Location
}

// plain: the only field has no path, so the payload is the number itself.
func (d decoder) plain() bool {
	for _, f := range d.sensor.Values {
		if f.Path != "" {
			return false
		}
	}
	return len(d.sensor.Values) == 1
}

func (d decoder) number(text string) sensors.Reading {
	b := d.begin()
	for v, f := range d.sensor.Values {
		b.take(v, f, text, "")
	}
	// A word such as Offline is a message, but not a value.
	if len(b.r.Values) == 0 && text != "" && !b.has(sensors.NotANumber) {
		return d.unreadable(fmt.Sprintf("%q is not a number", clip(text)))
	}
	return b.done()
}

func (d decoder) document(doc any) []sensors.Reading {
	switch doc := doc.(type) {
	case map[string]any:
		return []sensors.Reading{d.object(doc)}
	case []any:
		if isSenML(doc) {
			return d.senml(doc)
		}
		var out []sensors.Reading
		for i, e := range doc {
			o, ok := e.(map[string]any)
			if !ok {
				out = append(out, d.unreadable(fmt.Sprintf("entry %d of the list is not an object", i)))
				continue
			}
			out = append(out, d.object(o))
		}
		if len(out) == 0 {
			out = append(out, d.unreadable("the list is empty"))
		}
		return out
	}
	return []sensors.Reading{d.unreadable("the message is a bare value, but the sensor's fields have paths")}
}

func (d decoder) object(o map[string]any) sensors.Reading {
	b := d.begin()
	if d.sensor.Time != "" {
		raw, ok := lookup(o, d.sensor.Time)
		switch {
		case !ok || raw == nil:
			b.flag("", sensors.Missing, "no time at %q; stamped at intake", d.sensor.Time)
		default:
			b.time(raw)
		}
	}
	// Some firmware sends °F or °C as the owner switched it, and says so here.
	said, _ := o["TempUnit"].(string)
	for _, v := range variables(d.sensor) {
		f := d.sensor.Values[v]
		raw, ok := lookup(o, f.Path)
		if !ok {
			b.flag(v, sensors.Missing, "nothing at %q", f.Path)
			continue
		}
		unit := ""
		if isTemperature(v) {
			unit = said
		}
		b.take(v, f, raw, unit)
	}
	b.nothingMeasured()
	return b.done()
}

// builder gathers one reading.
type builder struct {
	r sensors.Reading
	d decoder
}

func (d decoder) begin() *builder {
	return &builder{d: d, r: sensors.Reading{
		Source: d.sensor.Name, Place: d.sensor.Place, Boat: d.sensor.Boat,
		At: d.message.Received, Received: d.message.Received,
		Values: map[conditions.Variable]float64{}, Raw: printable(d.message.Payload),
	}}
}

func (b *builder) flag(of conditions.Variable, f sensors.Fault, note string, args ...any) {
	b.r.Flags = append(b.r.Flags, sensors.Flag{Of: of, Fault: f, Note: fmt.Sprintf(note, args...)})
}

func (b *builder) has(f sensors.Fault) bool {
	for _, have := range b.r.Flags {
		if have.Fault == f {
			return true
		}
	}
	return false
}

// take reads one raw value. said is the unit the message itself names.
func (b *builder) take(v conditions.Variable, f config.Field, raw any, said string) {
	x, written, fault, note := number(raw, v)
	if fault != "" {
		b.flag(v, fault, "%s", note)
		return
	}
	if f.Scale != 0 {
		x *= f.Scale
	}
	unit := f.Unit
	if unit == "" {
		unit = said
	}
	if written != "" {
		unit = written
	}
	value, err := sensors.Convert(v, x, unit)
	if err != nil {
		b.flag(v, sensors.Unreadable, "%v", err)
		return
	}
	b.r.Values[v] = value
}

// nothingMeasured: a device that measured neither temperature nor humidity but
// still computes a dew point computes it from nothing, and sends 0.0.
func (b *builder) nothingMeasured() {
	dew, ok := b.r.Values[conditions.DewPointTemp]
	if !ok || dew != 0 {
		return
	}
	absent := 0
	for _, v := range []conditions.Variable{conditions.AirTemperature, conditions.RelHumidity} {
		if _, asked := b.d.sensor.Values[v]; !asked {
			continue
		}
		if _, got := b.r.Values[v]; got {
			return
		}
		absent++
	}
	if absent > 0 {
		b.flag(conditions.DewPointTemp, sensors.Contradiction, "a dew point of 0.0 without the values it is made of")
	}
}

// done gives the reading its key: source and device time or sequence, and the
// values, since one device may send two messages in a second; without either,
// the time of receipt and the payload.
func (b *builder) done() sensors.Reading {
	r := b.r
	switch {
	case b.d.message.Sequence != "":
		r.Key = r.Source + "#" + b.d.message.Sequence
		if r.FromDevice {
			r.Key += "@" + r.At.UTC().Format(time.RFC3339Nano)
		}
	case r.FromDevice:
		r.Key = r.Source + "@" + r.At.UTC().Format(time.RFC3339Nano) + "/" + digest(contents(r))
	default:
		r.Key = r.Source + "~" + r.Received.UTC().Format(time.RFC3339Nano) + "/" + digest(string(b.d.message.Payload)+contents(r))
	}
	return r
}

func (d decoder) unreadable(note string) sensors.Reading {
	b := d.begin()
	b.flag("", sensors.Unreadable, "%s", note)
	return b.done()
}

func contents(r sensors.Reading) string {
	var parts []string
	for v, x := range r.Values {
		parts = append(parts, string(v)+"="+strconv.FormatFloat(x, 'g', -1, 64))
	}
	sort.Strings(parts)
	if len(parts) == 0 {
		return r.Raw
	}
	return strings.Join(parts, " ")
}

func digest(text string) string {
	sum := sha256.Sum256([]byte(text))
	return hex.EncodeToString(sum[:8])
}

// printable keeps bytes that are not text readable and reversible.
func printable(b []byte) string {
	if utf8.Valid(b) {
		return string(b)
	}
	return strconv.QuoteToASCII(string(b))
}

func clip(text string) string {
	if r := []rune(text); len(r) > 40 {
		return string(r[:40]) + "…"
	}
	return text
}

func variables(s config.Sensor) []conditions.Variable {
	var vs []conditions.Variable
	for v := range s.Values {
		vs = append(vs, v)
	}
	sort.Slice(vs, func(i, j int) bool { return vs[i] < vs[j] })
	return vs
}

func isTemperature(v conditions.Variable) bool {
	switch v {
	case conditions.AirTemperature, conditions.DewPointTemp, conditions.WetBulbTemp, conditions.Surface:
		return true
	}
	return false
}

// lookup finds a path of keys with dots between. A key that holds the dots
// itself comes first, at every level.
func lookup(o map[string]any, path string) (any, bool) {
	if v, ok := o[path]; ok {
		return v, true
	}
	for i := len(path) - 1; i > 0; i-- {
		if path[i] != '.' {
			continue
		}
		inner, ok := o[path[:i]].(map[string]any)
		if !ok {
			continue
		}
		if v, found := lookup(inner, path[i+1:]); found {
			return v, true
		}
	}
	return nil, false
}

// parse reads one JSON document. Old firmware writes a bare nan where a value
// is missing, which no JSON reader takes; it is read as the word "nan".
func parse(text string) (any, error) {
	doc, err := strict(text)
	if err == nil {
		return doc, nil
	}
	if repaired := quoteNaN(text); repaired != text {
		if doc, again := strict(repaired); again == nil {
			return doc, nil
		}
	}
	return nil, err
}

func strict(text string) (any, error) {
	if text == "" {
		return nil, fmt.Errorf("the message is empty")
	}
	dec := json.NewDecoder(strings.NewReader(text))
	dec.UseNumber()
	var doc any
	if err := dec.Decode(&doc); err != nil {
		return nil, fmt.Errorf("not JSON: %w, at byte %d of %q", err, dec.InputOffset(), clip(text))
	}
	if dec.More() {
		return nil, fmt.Errorf("not one JSON document: more follows at byte %d of %q", dec.InputOffset(), clip(text))
	}
	return doc, nil
}

func quoteNaN(text string) string {
	var out strings.Builder
	inString, escaped := false, false
	for i := 0; i < len(text); i++ {
		c := text[i]
		switch {
		case escaped:
			escaped = false
		case inString && c == '\\':
			escaped = true
		case c == '"':
			inString = !inString
		case !inString && (letter(c) || c == '-' || c == '+'):
			j := i + 1
			for j < len(text) && letter(text[j]) {
				j++
			}
			if notNumber(text[i:j]) {
				out.WriteString(`"nan"`)
				i = j - 1
				continue
			}
			out.WriteString(text[i:j])
			i = j - 1
			continue
		}
		out.WriteByte(c)
	}
	return out.String()
}

func letter(c byte) bool { return c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' }
