package payload

import (
	"encoding/json"
	"fmt"
	"time"

	"fairwindow/conditions"
	"fairwindow/config"
	"fairwindow/sensors"
)

// builder gathers one reading.
type builder struct {
	r sensors.Reading
	d decoder
	// sequence is the device's own number of the message; empty without one.
	sequence string
	// relative says that the device told its time by how long ago, so that it is
	// another each time the message comes.
	relative bool
}

func (d decoder) begin() *builder {
	return &builder{d: d, r: sensors.Reading{
		Source: d.sensor.Name, Place: d.sensor.Place, Boat: d.sensor.Boat,
		At: d.message.Received, Received: d.message.Received,
		Values: map[conditions.Variable]float64{}, Raw: printable(d.message.Payload),
	}}
}

func (b *builder) flag(of conditions.Variable, f sensors.Fault, note string, args ...any) {
	text := fmt.Sprintf(note, args...)
	if where := b.d.message.Where; where != "" {
		text = where + ": " + text
	}
	b.r.Flags = append(b.r.Flags, sensors.Flag{Of: of, Fault: f, Note: text})
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

// done gives the reading its key. What a broker delivers again, or kept, and
// has nothing of its own to be known by, is doubtful: it may have been counted
// already, or be of any time.
func (b *builder) done() sensors.Reading {
	m := b.d.message
	sequence := m.Sequence
	if sequence == "" && b.sequence != "" {
		// A device that restarts may count anew: a day's numbers are told from another's.
		sequence = b.r.Received.UTC().Format(time.DateOnly) + "." + b.sequence
	}
	timed := b.r.FromDevice && !b.relative
	if m.Again && !timed && sequence == "" {
		b.flag("", sensors.Repeated, "the broker may have delivered it before")
	}
	if m.Kept && !timed {
		b.flag("", sensors.Old, "the broker kept it, nobody knows since when")
	}
	b.r.Key = sensors.Key(b.r, sequence)
	return b.r
}

// count takes the device's own number of the message, if there is one: a
// number or a word.
func (b *builder) count(o map[string]any) {
	if b.d.sensor.Sequence == "" {
		return
	}
	raw, _ := lookup(o, b.d.sensor.Sequence)
	switch raw := raw.(type) {
	case json.Number:
		b.sequence = raw.String()
	case string:
		b.sequence = raw
	}
}
