package config

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
)

// variables tells for each variable whether a word is one of its units; the
// empty word, its own unit, always is.
var variables = map[conditions.Variable]func(string) bool{
	conditions.AirTemperature: unitOf[unit.Temperature],
	conditions.RelHumidity:    unitOf[unit.Humidity],
	conditions.DewPointTemp:   unitOf[unit.Temperature],
	conditions.WetBulbTemp:    unitOf[unit.Temperature],
	conditions.Surface:        unitOf[unit.Temperature],
	conditions.SurfaceWarmest: unitOf[unit.Temperature],
	conditions.WindSpeed:      unitOf[unit.Speed],
	conditions.GustSpeed:      unitOf[unit.Speed],
	conditions.Rain:           unitOf[unit.RainRate],
	conditions.RainChance:     unitOf[unit.Share],
	conditions.Cloud:          unitOf[unit.Share],
	conditions.Shortwave:      func(u string) bool { return u == "W/m2" || u == "W/m²" },
	conditions.AirPressure:    unitOf[unit.Pressure],
	conditions.Fan:            unitless,
	conditions.BoothMode:      unitless,
	conditions.FilterPressure: unitOf[unit.Pressure],
	conditions.Door:           unitless,
	conditions.Heater:         unitless,
}

func unitless(string) bool { return false }

func unitOf[T ~float64](u string) bool { return !math.IsNaN(unit.In(T(0), u)) }

// forecastFormats are the forecast documents that can be read.
var forecastFormats = []string{"csv", "open-meteo", "gridpoint", "locationforecast"}

func (c *checker) sensors() {
	named(c, "sensors", "name", "sensor", c.y.Sensors, func(s Sensor) string { return s.Name })
	places := append(names(c.y.Places, placeName), Outdoors)
	for i, s := range c.y.Sensors {
		path := fmt.Sprintf("sensors[%d]", i)
		switch {
		case s.Place == "" && s.Boat == "":
			c.fault(path+".place", "nobody knows what this sensor measures", "write place: and a place or outdoors, or boat: and a boat")
		case s.Place != "" && s.Boat != "":
			c.fault(path+".boat", "a sensor belongs to a place or to a boat, not to both", "write one of them")
		case s.Place != "":
			c.refers(path+".place", "place", s.Place, slices.Clone(places))
		}
		c.way(path, s)
		if bad := badTopic(s.Topic); bad != "" {
			c.fault(path+".topic", fmt.Sprintf("topic %q %s", s.Topic, bad), "write it like yard/booth-1/air")
		} else if s.Broker == "" && strings.HasPrefix(s.Topic, "fairwindow/") {
			c.fault(path+".topic", fmt.Sprintf("topic %q is this program's own", s.Topic), "write it like yard/booth-1/air")
		}
		c.own(path, s)
		if s.Zone != "" {
			if _, err := (Yard{Zone: s.Zone}).Location(); err != nil {
				c.fault(path+".zone", fmt.Sprintf("%q is not a time zone", s.Zone), "write its IANA name, like Europe/Lisbon")
			}
		}
		if s.Due != "" {
			if _, err := time.Parse(dayLayout, s.Due); err != nil {
				c.fault(path+".calibration_due", fmt.Sprintf("%q is not a day", s.Due), "write it like 2027-04-01")
			}
		}
		c.atLeastZero(path+".every", s.Every)
		c.atLeastZero(path+".check_after", s.CheckAfter)
		if _, humidity := s.Values[conditions.RelHumidity]; s.CheckAfter > 0 && (!humidity || s.Place == "" || s.Place == Outdoors) {
			c.fault(path+".check_after", "solvent vapour drifts humidity sensors, and this is none that hangs in a place where coats are put on", "leave check_after: out")
		}
		c.values(path+".values", s.Values, s.Modbus != nil)
	}
}

// badTopic says what a broker would not carry: wildcards, spaces and empty levels.
func badTopic(topic string) string {
	switch {
	case topic == "":
		return ""
	case strings.ContainsAny(topic, "+#*>"):
		return "has a wildcard in it"
	case strings.ContainsFunc(topic, func(r rune) bool { return r <= ' ' || r == 0x7f }):
		return "has a space in it"
	case strings.HasPrefix(topic, "/") || strings.HasSuffix(topic, "/") || strings.Contains(topic, "//"):
		return "has an empty level"
	case strings.HasPrefix(topic, "$"):
		return "is the broker's own"
	}
	return ""
}

// own checks what a message has besides its values: its time and its number.
func (c *checker) own(path string, s Sensor) {
	bare := len(s.Values) == 1
	for _, f := range s.Values {
		bare = bare && f.Path == ""
	}
	for _, has := range []struct{ key, path string }{{"time", s.Time}, {"sequence", s.Sequence}} {
		switch {
		case has.path == "":
		case s.Modbus != nil:
			c.fault(path+"."+has.key, "registers are read when they are asked for, and have no "+has.key, "leave it out")
		case s.File != "" && has.key == "sequence":
			c.warn(path+"."+has.key, "rows of a file are told apart by their order in it", "leave it out")
		case bare && (s.File == "" || jsonLines(s.File)):
			c.fault(path+"."+has.key, fmt.Sprintf("a message that is one bare number has no %s in it", has.key), "leave it out, or write path: beside the value")
		}
	}
	for v, f := range s.Values {
		if s.File != "" && f.Path == "" && len(s.Values) == 1 && !jsonLines(s.File) {
			c.fault(fmt.Sprintf("%s.values.%s", path, v), "nobody knows in which column this value stands", "write path: and the column's name")
		}
	}
}

// jsonLines reports whether a file has a JSON document, or a bare number, a line.
func jsonLines(file string) bool {
	return strings.HasSuffix(strings.ToLower(file), ".jsonl") || strings.HasSuffix(strings.ToLower(file), ".ndjson")
}

func (c *checker) values(path string, values map[conditions.Variable]Field, registers bool) {
	if len(values) == 0 {
		c.fault(path, "nothing is read from this sensor", "write values: with at least one, like air: {path: temperature}")
	}
	var known, given []string
	for v := range variables {
		known = append(known, string(v))
	}
	for v := range values {
		given = append(given, string(v))
	}
	slices.Sort(given)
	for _, name := range given {
		field := values[conditions.Variable(name)]
		at := path + "." + name
		if !c.refers(at, "variable", name, slices.Clone(known)) {
			continue
		}
		if is := variables[conditions.Variable(name)]; field.Unit != "" && !is(field.Unit) {
			c.fault(at+".unit", fmt.Sprintf("%q is not a unit of %s", field.Unit, name), unitsFor(is))
		}
		if math.IsNaN(field.Scale) || math.IsInf(field.Scale, 0) {
			c.fault(at+".scale", "the scale is no number", "write a number, like 0.1")
		}
		if field.Path == "" && len(given) > 1 && !registers {
			c.fault(at+".path", "a message that is one bare number has one value only", "write where each value stands, like path: temperature")
		}
	}
}

// unitsFor says which units would do.
func unitsFor(is func(string) bool) string {
	var would []string
	for _, u := range []string{"C", "F", "%", "m/s", "km/h", "kn", "mph", "mm/h", "in/h", "Pa", "hPa", "W/m2"} {
		if is(u) {
			would = append(would, u)
		}
	}
	if len(would) == 0 {
		return "leave unit: out; a state has none"
	}
	return "leave unit: out for the variable's own, or write " + either(would)
}

func (c *checker) forecasts() {
	if len(c.y.Forecasts) == 0 {
		c.warn("forecasts", "there is no forecast", "write a forecast source, or everything beyond now is pencilled by the season")
	}
	named(c, "forecasts", "name", "forecast", c.y.Forecasts, func(f Forecast) string { return f.Name })
	for i, f := range c.y.Forecasts {
		path := fmt.Sprintf("forecasts[%d]", i)
		if f.Format == "" {
			c.fault(path+".format", "nobody knows how to read this forecast", "use "+either(forecastFormats))
		} else {
			c.oneOf(path+".format", f.Format, forecastFormats...)
		}
		switch {
		case f.Folder == "" && f.URL == "":
			c.fault(path, "this forecast comes from nowhere", "write folder: or url:")
		case f.Folder != "" && f.URL != "":
			c.fault(path+".url", "a forecast comes from a folder or from a URL, not from both", "write one of them")
		case f.URL != "":
			c.link(path+".url", f.URL, "https", "http")
		}
		c.atLeastZero(path+".every", f.Every)
		c.atLeastZero(path+".stale", f.Stale)
		if f.Stale > 0 && f.Every > f.Stale {
			c.fault(path+".stale", fmt.Sprintf("a forecast fetched every %s is out of date after %s", f.Every, f.Stale), "make stale longer than every")
		}
	}
}

func (c *checker) season() {
	var given [13]bool
	for i, m := range c.y.Season {
		path := fmt.Sprintf("season[%d]", i)
		switch {
		case m.Month < 1 || m.Month > 12:
			c.fault(path+".month", fmt.Sprintf("%d is not a month", m.Month), "write 1 for January to 12 for December")
			continue
		case given[m.Month]:
			c.fault(path+".month", fmt.Sprintf("month %d is there twice", m.Month), "write each month once")
		}
		given[m.Month] = true
		if m.Air.IsZero() || m.Air.SI < -60 || m.Air.SI > 60 {
			c.fault(path+".air", "the month's mean air temperature is missing or out of this world", "write it like \"14 C\"")
		}
		if m.DewPoint.IsZero() || m.DewPoint.SI > m.Air.SI {
			c.fault(path+".dew_point", "the dew point is missing or above the air temperature", "write it like \"9 C\", no more than air")
		}
		if !(m.Swing.SI >= 0 && m.Swing.SI <= 60) {
			c.fault(path+".swing", fmt.Sprintf("%s is no difference of day and night", m.Swing), "write it like \"8 C\"")
		}
		if !m.Scatter.IsZero() && !(m.Scatter.SI > 0 && m.Scatter.SI <= 30) {
			c.fault(path+".scatter", fmt.Sprintf("%s is no scatter", m.Scatter), "write it like \"2.5 C\"")
		}
		if !(m.Wind.SI >= 0 && m.Wind.SI <= 60) {
			c.fault(path+".wind", fmt.Sprintf("%s is no wind", m.Wind), "write it like \"5 m/s\"")
		}
		if m.RainHours.SI < 0 || m.RainHours.SI > 1 {
			c.fault(path+".rain_hours", fmt.Sprintf("%s is no share of the hours", m.RainHours), "write 0 % to 100 %")
		}
		for _, v := range []struct {
			key, like string
			missing   bool
		}{
			{"swing", "8 C", m.Swing.IsZero()}, {"scatter", "2.5 C", m.Scatter.IsZero()},
			{"wind", "5 m/s", m.Wind.IsZero()}, {"rain_hours", "9 %", m.RainHours.IsZero()},
		} {
			if v.missing {
				c.fault(path+"."+v.key, fmt.Sprintf("nobody knows this month's %s, and a plan would reckon with none", v.key), fmt.Sprintf("write %s: like %q", v.key, v.like))
			}
		}
	}
	var missing []string
	for m := time.January; m <= time.December; m++ {
		if !given[m] {
			missing = append(missing, m.String())
		}
	}
	if c.y.Station != "" && c.y.Records == "" {
		c.fault("records_station", fmt.Sprintf("there are no records to take the station %q from", c.y.Station), "write records: and the file's name")
	}
	switch {
	case c.y.Records != "": // they are the season
	case len(missing) == 12:
		c.warn("season", "there is no season", "write the usual weather of all twelve months, or nothing is planned beyond the forecast")
	case len(missing) > 0:
		c.warn("season", "the season has no "+either(missing), "write all twelve months, or nothing is planned beyond the forecast in those")
	}
}
