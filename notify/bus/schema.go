package bus

import (
	"embed"
	"fmt"

	"fairwindow/notify"
)

// schemas are those of a notice's data, one a kind, as TestSchemas makes them.
//
//go:embed schema/*.json
var schemas embed.FS

// SchemaID names the schema of a kind's data, in the event's dataschema and in the schema itself.
func SchemaID(k notify.Kind) string { return "urn:fairwindow:notice:" + string(k) + ":" + version }

// Schema is the JSON Schema (draft 2020-12) of the data of a kind's notices.
func Schema(k notify.Kind) ([]byte, error) {
	text, err := schemas.ReadFile("schema/" + string(k) + ".json")
	if err != nil {
		return nil, fmt.Errorf("bus: %q is no kind of notice", k)
	}
	return text, nil
}

// AsyncAPI describes every subject of the bus in AsyncAPI 3.0, for people and programs who join.
//
//go:embed asyncapi.yaml
var AsyncAPI []byte
