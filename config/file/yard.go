package file

import (
	"reflect"

	"fairwindow/config"
)

// Yard reads a yard file. What the file leaves out is filled in with
// config's defaults. The yard may be used only if the mistakes' Err is nil; name
// is the file's name in them. What config cannot check, such as files that the yard
// file names, more may.
func Yard(name string, data []byte, more ...func(config.Yard) []config.Fault) (config.Yard, Mistakes) {
	var yard config.Yard
	d := open(name, data, &yard)
	if d.readable {
		d.zeros(d.root, reflect.ValueOf(yard), reflect.ValueOf(yard.WithDefaults()), "")
		d.faults(yard.Check())
		for _, check := range more {
			d.faults(check(yard))
		}
	}
	return yard.WithDefaults(), d.mistakes.sorted()
}
