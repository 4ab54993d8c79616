package engine

import _ "embed"

//go:embed schema.json
var schema []byte

// Schema is the JSON Schema (draft 2020-12) of Problem and Result, each under its
// name in $defs.
func Schema() []byte { return append([]byte(nil), schema...) }
