// Package payload answers one question: what does this message say? It makes
// readings of what devices send, by the paths and units of the yard file:
// JSON flat or nested, a bare number, SenML (RFC 8428). Whatever a device
// sends comes back as readings; what cannot be believed is flagged and kept,
// what cannot be read is kept as it came.
//
// It is pure: no clock, no I/O, no state.
package payload

import (
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
	if m.Broken != "" {
		return []sensors.Reading{d.unreadable(m.Broken)}
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
		b.r.Flags[0].Of, b.r.Flags[0].Fault = "", sensors.Unreadable
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
	b.count(o)
	if d.sensor.Time != "" {
		raw, ok := lookup(o, d.sensor.Time)
		switch {
		case !ok || raw == nil:
			b.flag("", sensors.Missing, "no time at %q; stamped at intake; %s", d.sensor.Time, offered(o))
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
			b.flag(v, sensors.Missing, "nothing at %q; %s", f.Path, offered(o))
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

func (d decoder) unreadable(note string) sensors.Reading {
	b := d.begin()
	b.flag("", sensors.Unreadable, "%s", note)
	return b.done()
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
	case conditions.AirTemperature, conditions.DewPointTemp, conditions.WetBulbTemp, conditions.Surface, conditions.SurfaceWarmest:
		return true
	}
	return false
}
