package payload

import (
	"fmt"

	"fairwindow/conditions"
	"fairwindow/config"
	"fairwindow/sensors"
)

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

// done gives the reading its key.
func (b *builder) done() sensors.Reading {
	b.r.Key = sensors.Key(b.r, b.d.message.Sequence)
	return b.r
}
