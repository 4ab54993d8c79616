package service

import (
	"encoding/json"

	"fairwindow/conditions"
)

// Learned is what the store's memory holds of how the forecast errs, and from how
// many pairs that was learned, by place; for who reads the store without a service.
func Learned(memory map[string]json.RawMessage) (x conditions.Experience, pairs map[string]int, err error) {
	var l learned
	err = l.recall(memory)
	return l.Experience, l.Pairs, err
}
