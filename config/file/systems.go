package file

import (
	"go.yaml.in/yaml/v4"

	"fairwindow/config"
)

// WriteSystem writes a system as it stands in a yard file, under systems:.
func WriteSystem(s config.System) ([]byte, error) {
	return yaml.Dump(struct {
		Systems []config.System `yaml:"systems"`
	}{[]config.System{s}})
}
