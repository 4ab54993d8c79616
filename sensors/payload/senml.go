package payload

import (
	"encoding/json"
	"fmt"
	"math"
	"sort"
	"strings"
	"time"

	"fairwindow/conditions"
	"fairwindow/config"
	"fairwindow/sensors"
)

// relative is the limit below which a SenML time counts from now (RFC 8428, 4.5.3).
const relative = 1 << 28

// isSenML: a list of records with names (RFC 8428).
func isSenML(list []any) bool {
	for _, e := range list {
		o, ok := e.(map[string]any)
		if !ok {
			return false
		}
		_, bn := o["bn"].(string)
		_, n := o["n"].(string)
		if bn || n {
			return true
		}
	}
	return false
}

// base is what holds from one record to the next (RFC 8428, 4.1).
type base struct {
	name, unit string
	time       float64
	value      float64
}

// senml resolves the records and makes one reading for each time among those
// that the sensor asks for. A field's path is a record's full name or its n.
func (d decoder) senml(list []any) []sensors.Reading {
	var b base
	at := map[time.Time]*builder{}
	found := map[conditions.Variable]bool{}
	take := func(v conditions.Variable, o map[string]any, b base) {
		t, own := b.when(o, d.message.Received)
		r := at[t]
		if r == nil {
			r = d.begin()
			r.r.At, r.r.FromDevice = t, own
			r.relative = own && math.Abs(b.time+float(o, "t", 0)) < relative
			at[t] = r
		}
		found[v] = true
		r.record(v, d.sensor.Values[v], o, b)
	}
	var names []string
	var others []func() // records of the right name, but of something else
	for i, e := range list {
		o, ok := e.(map[string]any)
		if !ok {
			return []sensors.Reading{d.unreadable(fmt.Sprintf("record %d is not an object", i))}
		}
		if fault := foreign(o); fault != "" {
			return []sensors.Reading{d.unreadable(fmt.Sprintf("record %d %s", i, fault))}
		}
		b.update(o)
		name, _ := o["n"].(string)
		names = append(names, clip(b.name+name))
		for _, v := range variables(d.sensor) {
			f := d.sensor.Values[v]
			if f.Path == "" || f.Path != name && f.Path != b.name+name {
				continue
			}
			// One name may stand over values of several kinds, told apart by their unit
			// alone (5.1.3).
			if _, err := sensors.Convert(v, 0, b.said(v, o)); err != nil {
				then := b
				others = append(others, func() {
					if !found[v] {
						take(v, o, then)
					}
				})
				continue
			}
			take(v, o, b)
		}
	}
	for _, other := range others {
		other()
	}
	if len(at) == 0 {
		return []sensors.Reading{d.unreadable("no record has a name that the sensor asks for; " + listed(names))}
	}
	return d.inOrder(at, found)
}

func (d decoder) inOrder(at map[time.Time]*builder, found map[conditions.Variable]bool) []sensors.Reading {
	var times []time.Time
	for t := range at {
		times = append(times, t)
	}
	sort.Slice(times, func(i, j int) bool { return times[i].Before(times[j]) })
	// What no record gave is missing from the newest reading, once.
	for _, v := range variables(d.sensor) {
		if !found[v] {
			at[times[len(times)-1]].flag(v, sensors.Missing, "no record named %q", d.sensor.Values[v].Path)
		}
	}
	var out []sensors.Reading
	for _, t := range times {
		out = append(out, at[t].done())
	}
	return out
}

func (b *base) update(o map[string]any) {
	if n, ok := o["bn"].(string); ok {
		b.name = n
	}
	if u, ok := o["bu"].(string); ok {
		b.unit = u
	}
	b.time = float(o, "bt", b.time)
	b.value = float(o, "bv", b.value)
}

// when is the record's time, to the millisecond, and whether the device gave one.
func (b base) when(o map[string]any, received time.Time) (time.Time, bool) {
	t := b.time + float(o, "t", 0)
	if t == 0 {
		return received, false
	}
	if math.Abs(t) < relative {
		return received.Add(time.Duration(math.Round(t*1000)) * time.Millisecond), true
	}
	if at, ok := unix(t); ok && math.Abs(t) < 1e11 {
		return at, true
	}
	return received, false
}

// said is the unit that a record names; a switch's share of one is no unit.
func (b base) said(v conditions.Variable, o map[string]any) string {
	said := b.unit
	if u, ok := o["u"].(string); ok {
		said = u
	}
	if v == conditions.Fan && said == "/" {
		return ""
	}
	return said
}

// version is the newest that we read (RFC 8428, 4.4).
const version = 10

// foreign says why a record must not be read: it is of a newer version, or has
// a field that only who knows it may pass over, whose name ends in _ (RFC 8428, 4.4).
func foreign(o map[string]any) string {
	if v := float(o, "bver", version); v > version {
		return fmt.Sprintf("is of version %g, newer than %d", v, version)
	}
	var unknown string
	for name := range o {
		if strings.HasSuffix(name, "_") && (unknown == "" || name < unknown) {
			unknown = name
		}
	}
	if unknown != "" {
		return fmt.Sprintf("has the field %q, which must be understood and is not", unknown)
	}
	return ""
}

func (r *builder) record(v conditions.Variable, f config.Field, o map[string]any, b base) {
	raw, ok := o["v"]
	if !ok {
		if raw, ok = o["vb"]; !ok {
			raw = o["vs"]
		}
	}
	// The record's unit says what this number is in; the yard file's is for
	// devices that don't tell.
	if said := b.said(v, o); said != "" {
		f.Unit = said
	}
	if n, ok := raw.(json.Number); ok && b.value != 0 {
		if x, err := n.Float64(); err == nil {
			raw = json.Number(fmt.Sprint(x + b.value))
		}
	}
	r.take(v, f, raw, "")
}

func float(o map[string]any, key string, otherwise float64) float64 {
	n, ok := o[key].(json.Number)
	if !ok {
		return otherwise
	}
	x, err := n.Float64()
	if err != nil {
		return otherwise
	}
	return x
}
