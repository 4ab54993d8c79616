package file

import (
	_ "embed"
	"slices"
)

//go:embed starter/yard.yaml
var starterYard []byte

//go:embed starter/boats.yaml
var starterBoats []byte

// Starter is an invented yard and its boats, as files for people to start from.
func Starter() (yard, boats []byte) {
	return slices.Clone(starterYard), slices.Clone(starterBoats)
}
