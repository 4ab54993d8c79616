package skin

import "fairwindow/conditions/unit"

// materials are illustrative figures out of published ranges: a yard's own data
// sheet is better. ISO 10456 is EN ISO 10456, table 3.
var materials = []struct {
	name  string
	layer Layer
}{
	{"aluminium", Layer{Conducts: 160, Density: 2800, Heat: 880}}, // ISO 10456, alloys
	{"balsa", Layer{Conducts: 0.067, Density: 120, Heat: 1600}},   // open literature; the heat capacity is wood's
	{"filler", Layer{Conducts: 0.2, Density: 700, Heat: 1200}},    // resin with hollow spheres: our judgement, no source
	{"foam", Layer{Conducts: 0.035, Density: 80, Heat: 1400}},     // PVC 0.03 to 0.04; density and heat capacity from memory
	{"laminate", Layer{Conducts: 0.3, Density: 1600, Heat: 1200}}, // glass and polyester 0.25 to 0.33, 1440 to 1740, 1080 to 1270
	{"lead", Layer{Conducts: 35, Density: 11300, Heat: 130}},      // ISO 10456, from memory
	{"plywood", Layer{Conducts: 0.15, Density: 600, Heat: 1600}},  // ISO 10456, between 500 and 700 kg/m³, from memory
	{"steel", Layer{Conducts: 50, Density: 7800, Heat: 450}},      // ISO 10456
	{"wood", Layer{Conducts: 0.13, Density: 500, Heat: 1600}},     // ISO 10456, softwood
}

// Material is a layer of a named material, with no thickness yet; not ok where
// the name is none of Materials.
func Material(name string) (layer Layer, ok bool) {
	for _, m := range materials {
		if m.name == name {
			return m.layer, true
		}
	}
	return Layer{}, false
}

// Materials are the names that Material knows, in the order of the alphabet.
func Materials() []string {
	names := make([]string, len(materials))
	for i, m := range materials {
		names[i] = m.name
	}
	return names
}

// Build is the layers of a way to build a boat of 12 to 25 m, outermost first:
// laminate, cored, aluminium, steel or wood; not ok for any other. Illustrative:
// thicknesses are our judgement, no source, and each boat differs.
func Build(name string) (layers []Layer, ok bool) {
	of := func(name string, thick unit.Length) {
		layer, _ := Material(name)
		layer.Thick = thick
		layers = append(layers, layer)
	}
	switch name {
	case "laminate":
		of("laminate", 0.010)
	case "cored":
		of("laminate", 0.004)
		of("foam", 0.020)
		of("laminate", 0.003)
	case "aluminium":
		of("filler", 0.002)
		of("aluminium", 0.006)
	case "steel":
		of("filler", 0.002)
		of("steel", 0.006)
	case "wood":
		of("wood", 0.030)
	}
	return layers, layers != nil
}

// Behind is what lies behind a skin: not ok for a kind that is none of these.
//
//   - open: the air of the place, which is given as Inside;
//   - cabin: linings, furniture and air that follow the air given as Inside;
//   - tank: a full tank of water or fuel;
//   - keel: ballast, the same on both sides, so that nothing but the skin reaches it.
//
// Illustrative: behind 10 mm of laminate in a calm booth a cabin lags by about two
// hours, a keel by ten, a tank by two days and a half.
func Behind(kind string) (b Backing, ok bool) {
	switch kind {
	case "open":
		// 0.13 m² K/W of air and long wave indoors, sideways: ISO 6946, from memory.
		return Backing{Convects: 7.7}, true
	case "cabin":
		// 20 kg of wood for each m² of skin, and as much coupling as an air change or
		// two an hour and thin hatches give: our judgement, no source.
		return Backing{Convects: 7.7, Mass: 20 * 1600, Couples: 2.5}, true
	case "tank":
		// Water stirred by its own warmth, 50 to 1000 W/(m² K) in textbooks, from memory;
		// 0.4 m of it for each m² of skin, its other faces lined: our judgement, no source.
		return Backing{Convects: 200, Mass: 0.4 * 1000 * waterHeat, Couples: 1}, true
	case "keel":
		// 0.15 m of lead, half of its breadth, bedded in resin of 2 mm at 0.2 W/(m K): our
		// judgement, no source.
		return Backing{Convects: 100, Mass: 0.15 * 11300 * 130}, true
	}
	return Backing{}, false
}

// Absorptance is the part of sunlight that a colour takes up, not ok for a
// colour that is none of white, light, medium, dark. Open literature: white
// titanium dioxide paints 0.12 to 0.19, white enamel 0.25; light below 0.475,
// medium to 0.7, dark above; navy or dark green 0.88 to 0.9 (from memory).
func Absorptance(colour string) (absorbs float64, ok bool) {
	switch colour {
	case "white":
		return 0.2, true
	case "light":
		return 0.4, true
	case "medium":
		return 0.6, true
	case "dark":
		return 0.9, true
	}
	return 0, false
}
