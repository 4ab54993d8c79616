package payload

import (
	"encoding/json"
	"fmt"
	"math"
	"strconv"
	"strings"

	"fairwindow/conditions"
	"fairwindow/sensors"
)

// number reads a raw value: a JSON number, a text that holds one, with a unit
// or a decimal comma perhaps, or a switch. The unit is the one written with it.
func number(raw any, v conditions.Variable) (x float64, unit string, fault sensors.Fault, note string) {
	switch raw := raw.(type) {
	case nil:
		return 0, "", sensors.Missing, "null"
	case bool:
		if x, ok := v.Word(strconv.FormatBool(raw)); ok {
			return x, "", "", ""
		}
		return 0, "", sensors.Unreadable, fmt.Sprintf("%v is not a value; %s", raw, sensors.Wanted(v))
	case json.Number:
		return parseNumber(raw.String(), v)
	case string:
		text := strings.TrimSpace(raw)
		if x, ok := v.Word(text); ok {
			return x, "", "", ""
		}
		if text == "" {
			return 0, "", sensors.Missing, "empty"
		}
		return parseNumber(text, v)
	}
	return 0, "", sensors.Unreadable, "an object or a list where a value should be; " + sensors.Wanted(v)
}

func parseNumber(text string, v conditions.Variable) (x float64, unit string, fault sensors.Fault, note string) {
	if notNumber(text) {
		return 0, "", sensors.NotANumber, text
	}
	i := 0
	for i < len(text) && strings.IndexByte("0123456789.,+-eE", text[i]) >= 0 {
		i++
	}
	digits, rest := text[:i], strings.TrimSpace(text[i:])
	x, err := strconv.ParseFloat(sensors.Point(digits), 64)
	switch {
	case err != nil && (math.IsInf(x, 0)):
		return 0, "", sensors.NotANumber, clip(text) + " is too large"
	case err != nil:
		return 0, "", sensors.Unreadable, fmt.Sprintf("%q is not a value; %s", clip(text), sensors.Wanted(v))
	}
	return x, rest, "", ""
}

func notNumber(text string) bool {
	switch strings.ToLower(strings.TrimLeft(text, "+-")) {
	case "nan", "inf", "infinity", "na", "n/a":
		return true
	}
	return false
}
