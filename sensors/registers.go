package sensors

import (
	"cmp"
	"fmt"
	"math"
	"math/bits"
	"slices"
	"strconv"

	"fairwindow/conditions"
	"fairwindow/config"
)

// number is what a value's registers hold, as text: a JSON number, or "nan" in
// quotes where the float is none. It is empty if there are too few registers.
func number(f config.Field, registers []uint16) string {
	if len(registers) < f.Registers() {
		return ""
	}
	words := slices.Clone(registers[:f.Registers()])
	if f.Bytes == config.LowFirst {
		for i := range words {
			words[i] = bits.ReverseBytes16(words[i])
		}
	}
	if f.Words == config.LowFirst {
		slices.Reverse(words)
	}
	var x uint32
	for _, w := range words {
		x = x<<16 | uint32(w)
	}
	switch f.Type {
	case config.Uint16, config.Uint32:
		return strconv.FormatUint(uint64(x), 10)
	case config.Int32:
		return strconv.FormatInt(int64(int32(x)), 10)
	case config.Float32: // IEEE 754 binary32
		v := float64(math.Float32frombits(x))
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return `"nan"`
		}
		return strconv.FormatFloat(v, 'g', -1, 32)
	}
	return strconv.FormatInt(int64(int16(x)), 10)
}

// run is a row of registers that one request reads.
type run struct {
	kind     string
	from     int
	quantity int
	values   []conditions.Variable
}

// String names the registers as the yard file writes them.
func (r run) String() string {
	kind := cmp.Or(r.kind, config.HoldingRegister)
	if r.quantity == 1 {
		return fmt.Sprintf("%s register %d", kind, r.from)
	}
	return fmt.Sprintf("%s registers %d to %d", kind, r.from, r.from+r.quantity-1)
}

// longest is how many registers one request may read (Modbus application
// protocol V1.1b3, 6.3 and 6.4).
const longest = 125

// runs parts a sensor's values into requests. Only registers that touch are read
// together: many devices refuse one that they do not have.
func runs(s config.Sensor) []run {
	var vs []conditions.Variable
	for v, f := range s.Values {
		if f.Register != nil {
			vs = append(vs, v)
		}
	}
	slices.SortFunc(vs, func(a, b conditions.Variable) int {
		x, y := s.Values[a], s.Values[b]
		return cmp.Or(cmp.Compare(x.Kind, y.Kind), cmp.Compare(*x.Register, *y.Register), cmp.Compare(a, b))
	})
	var all []run
	for _, v := range vs {
		f := s.Values[v]
		end := *f.Register + f.Registers()
		if n := len(all) - 1; n >= 0 && all[n].kind == f.Kind && *f.Register <= all[n].from+all[n].quantity && end-all[n].from <= longest {
			all[n].quantity = max(all[n].quantity, end-all[n].from)
			all[n].values = append(all[n].values, v)
			continue
		}
		all = append(all, run{f.Kind, *f.Register, f.Registers(), []conditions.Variable{v}})
	}
	return all
}
