package file

import (
	"encoding/json"
	"math"
	"reflect"
	"regexp"
	"strings"

	"github.com/invopop/jsonschema"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
)

// Schema is the JSON Schema of a yard file, for editors that complete and check
// while one types. It knows keys, kinds of value and units; what names refer
// to only Yard checks.
func Schema() ([]byte, error) {
	reflector := jsonschema.Reflector{FieldNameTag: "yaml", Anonymous: true, ExpandedStruct: true, Mapper: mapped}
	schema := reflector.Reflect(config.Yard{})
	schema.Title = "Yard file"
	schema.Description = "What a yard wrote down: places, crews, cards, systems, sensors"
	optional(schema, "Crew", "people")
	optional(schema, "Card", "revision", "protect_until", "cure", "flash_off")
	return json.MarshalIndent(schema, "", "  ")
}

// BoatsSchema is the same of a YAML file of boats.
func BoatsSchema() ([]byte, error) {
	reflector := jsonschema.Reflector{FieldNameTag: "yaml", Anonymous: true, ExpandedStruct: true, Mapper: mapped}
	schema := reflector.Reflect(fleet{})
	schema.Title = "Boats"
	schema.Description = "The orders that come to a yard, each with its areas"
	boat := schema.Definitions["Boat"].Properties
	for _, key := range []string{"arrives", "promised"} {
		boat.Set(key, text("a day or a time on the yard's clock, like 2026-04-03 08:00", `^\d{4}-\d{2}-\d{2}( \d{2}:\d{2})?$`))
	}
	boat.Set("warranty", text("the last day of it, or forever", `^(\d{4}-\d{2}-\d{2}|forever)$`))
	return json.MarshalIndent(schema, "", "  ")
}

// optional takes keys that have a default out of those a definition requires.
func optional(schema *jsonschema.Schema, definition string, keys ...string) {
	def := schema.Definitions[definition]
	if def == nil {
		return
	}
	var required []string
	for _, key := range def.Required {
		if !strings.Contains(" "+strings.Join(keys, " ")+" ", " "+key+" ") {
			required = append(required, key)
		}
	}
	def.Required = required
}

// mapped gives the types that are a single text in the file their own schema.
func mapped(t reflect.Type) *jsonschema.Schema {
	if s, ok := quantities[t]; ok {
		copied := *s
		return &copied
	}
	switch t {
	case reflect.TypeFor[unit.Duration]():
		return text("elapsed time, like 2.5 h; a day is 24 hours", `^\s*([-+]?[0-9.]+ *(s|min|h|d|w) *)+$`)
	case reflect.TypeFor[config.Lasting]():
		return text("elapsed time, like 1095 d, or forever", `^\s*(forever|([-+]?[0-9.]+ *(s|min|h|d|w) *)+)\s*$`)
	case reflect.TypeFor[config.PlaceKind]():
		return choice(config.PlaceKinds())
	case reflect.TypeFor[config.Role]():
		return choice(config.Roles())
	case reflect.TypeFor[config.StageKind]():
		return choice(config.StageKinds())
	case reflect.TypeFor[conditions.Milestone]():
		return choice(config.Milestones())
	}
	return nil
}

func text(description, pattern string) *jsonschema.Schema {
	return &jsonschema.Schema{Type: "string", Description: description, Pattern: pattern}
}

func choice[T ~string](words []T) *jsonschema.Schema {
	s := &jsonschema.Schema{Type: "string"}
	for _, w := range words {
		s.Enum = append(s.Enum, string(w))
	}
	return s
}

// symbols are those that package unit knows, of all kinds of quantity.
var symbols = strings.Fields("C F K % Pa hPa kPa mbar inHg m/s km/h mph kn m cm mm ft in um µm mil m2 m² ft2 ft² " +
	"L l mL ml gal qt kW W BTU/h m3/h m³/h m3/s cfm kg/h L/h lb/h t kg lb m2/h m²/h ft2/h W/K kW/K BTU/h/F mm/h in/h K/h C/h F/h kg/L g/mL lb/gal")

var quantities = map[reflect.Type]*jsonschema.Schema{
	reflect.TypeFor[unit.Written[unit.Temperature]](): written[unit.Temperature]("a temperature"),
	reflect.TypeFor[unit.Written[unit.TempDiff]]():    written[unit.TempDiff]("a difference of temperatures"),
	reflect.TypeFor[unit.Written[unit.Rate]]():        written[unit.Rate]("a rate of a temperature"),
	reflect.TypeFor[unit.Written[unit.Humidity]]():    written[unit.Humidity]("a relative humidity"),
	reflect.TypeFor[unit.Written[unit.Speed]]():       written[unit.Speed]("a speed"),
	reflect.TypeFor[unit.Written[unit.Length]]():      written[unit.Length]("a length"),
	reflect.TypeFor[unit.Written[unit.Mass]]():        written[unit.Mass]("a weight"),
	reflect.TypeFor[unit.Written[unit.Area]]():        written[unit.Area]("a surface"),
	reflect.TypeFor[unit.Written[unit.Film]]():        written[unit.Film]("a film's thickness"),
	reflect.TypeFor[unit.Written[unit.Share]]():       written[unit.Share]("a share or a chance"),
	reflect.TypeFor[unit.Written[unit.Power]]():       written[unit.Power]("a power"),
	reflect.TypeFor[unit.Written[unit.Flow]]():        written[unit.Flow]("an air flow"),
	reflect.TypeFor[unit.Written[unit.Conductance]](): written[unit.Conductance]("heat lost for each degree"),
	reflect.TypeFor[unit.Written[unit.Pressure]]():    written[unit.Pressure]("a pressure"),
	reflect.TypeFor[unit.Written[unit.WaterRate]]():   written[unit.WaterRate]("water taken out of the air"),
	reflect.TypeFor[unit.Written[unit.Volume]]():      written[unit.Volume]("a volume"),
	reflect.TypeFor[unit.Written[unit.Density]]():     written[unit.Density]("the weight of a volume of paint"),
	reflect.TypeFor[unit.Written[unit.WorkRate]]():    written[unit.WorkRate]("surface worked by one person in an hour"),
}

// written is a number with one of the units of its kind.
func written[T ~float64](what string) *jsonschema.Schema {
	var known, quoted []string
	for _, s := range symbols {
		if !math.IsNaN(unit.In(T(0), s)) {
			known, quoted = append(known, s), append(quoted, regexp.QuoteMeta(s))
		}
	}
	number := `^\s*[-+]?[0-9.]+\s*°?(` + strings.Join(quoted, "|") + `)\s*$`
	if !math.IsNaN(unit.In(T(0), "ft in")) {
		return text(what+" in "+list(known)+", or like 13 ft 6 in", number+`|^\s*[0-9]{1,6} *(ft|['’′]) *[0-9.]+ *(in|["”″])\s*$`)
	}
	return text(what+" in "+list(known), number)
}
