package file

import (
	"bytes"
	"slices"

	"go.yaml.in/yaml/v4"

	"fairwindow/config"
)

// WriteSystem writes a system as it stands under systems: of a yard file, indented as
// the starter's are, so that it can be pasted there.
func WriteSystem(s config.System) ([]byte, error) {
	text, err := yaml.Dump([]config.System{s})
	if err != nil {
		return nil, err
	}
	var out bytes.Buffer
	for line := range bytes.Lines(text) {
		out.Write(slices.Concat([]byte("  "), line))
	}
	return out.Bytes(), nil
}
