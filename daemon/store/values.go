package store

import (
	"encoding/binary"
	"errors"
	"math"
	"slices"

	"fairwindow/conditions"
	"fairwindow/sensors"
)

// codes number the variables as the store writes them: never another order, only more.
var codes = []conditions.Variable{
	conditions.AirTemperature, conditions.RelHumidity, conditions.DewPointTemp, conditions.WetBulbTemp,
	conditions.Surface, conditions.WindSpeed, conditions.GustSpeed, conditions.Rain, conditions.RainChance,
	conditions.Cloud, conditions.Shortwave, conditions.AirPressure, conditions.Fan,
}

// How a value is written: the shortest way that gives it back to the last bit.
const (
	inHundredths = iota // two bytes
	inFloat32           // four
	inFloat64           // eight
	forms               // how many there are
)

// named is the code of a variable that has none: its name follows.
const named = 63

// fromDevice is the bit of the first byte that says whose clock the time is by.
const fromDevice = 1

var errCutOff = errors.New("its values are cut off")

// packValues writes the values of a reading and whose clock its time is by.
func packValues(r sensors.Reading) []byte {
	out := make([]byte, 1, 1+5*len(r.Values))
	if r.FromDevice {
		out[0] = fromDevice
	}
	unnamed := len(r.Values)
	for code, v := range codes {
		if x, ok := r.Values[v]; ok {
			out = appendValue(out, code, "", x)
			unnamed--
		}
	}
	if unnamed == 0 {
		return out
	}
	var others []conditions.Variable
	for v := range r.Values {
		if !slices.Contains(codes, v) {
			others = append(others, v)
		}
	}
	slices.Sort(others)
	for _, v := range others {
		out = appendValue(out, named, string(v), r.Values[v])
	}
	return out
}

func appendValue(out []byte, code int, name string, x float64) []byte {
	form := inFloat64
	hundredths := math.Round(x * 100)
	switch {
	case math.Abs(hundredths) <= math.MaxInt16 && math.Float64bits(float64(int16(hundredths))/100) == math.Float64bits(x):
		form = inHundredths
	case math.Float64bits(float64(float32(x))) == math.Float64bits(x):
		form = inFloat32
	}
	out = append(out, byte(code*forms+form))
	if code == named {
		out = binary.AppendUvarint(out, uint64(len(name)))
		out = append(out, name...)
	}
	switch form {
	case inHundredths:
		return binary.LittleEndian.AppendUint16(out, uint16(int16(hundredths)))
	case inFloat32:
		return binary.LittleEndian.AppendUint32(out, math.Float32bits(float32(x)))
	}
	return binary.LittleEndian.AppendUint64(out, math.Float64bits(x))
}

// unpackValues undoes packValues.
func unpackValues(packed []byte, r *sensors.Reading) error {
	if len(packed) == 0 {
		return errCutOff
	}
	r.FromDevice = packed[0]&fromDevice != 0
	r.Values = map[conditions.Variable]float64{}
	for packed = packed[1:]; len(packed) > 0; {
		code, form := int(packed[0])/forms, int(packed[0])%forms
		packed = packed[1:]
		var v conditions.Variable
		switch {
		case code < len(codes):
			v = codes[code]
		case code == named:
			n, size := binary.Uvarint(packed)
			if size <= 0 || n > uint64(len(packed)-size) {
				return errCutOff
			}
			v, packed = conditions.Variable(packed[size:size+int(n)]), packed[size+int(n):]
		default:
			return errors.New("a value of a kind that this program does not know")
		}
		long := []int{2, 4, 8}[form]
		if len(packed) < long {
			return errCutOff
		}
		switch form {
		case inHundredths:
			r.Values[v] = float64(int16(binary.LittleEndian.Uint16(packed))) / 100
		case inFloat32:
			r.Values[v] = float64(math.Float32frombits(binary.LittleEndian.Uint32(packed)))
		default:
			r.Values[v] = math.Float64frombits(binary.LittleEndian.Uint64(packed))
		}
		packed = packed[long:]
	}
	return nil
}
