package config

import (
	"fmt"
	"maps"
	"slices"
)

// readTwice warns of a value that is read for two places: a line copied and not changed
// would open windows in one place by the air of another. Places that share an air may.
func (c *checker) readTwice() {
	type value struct{ way, at string }
	first := map[value]Sensor{}
	for i, s := range c.y.Sensors {
		key, way := s.comesBy()
		if key == "" {
			continue
		}
		for _, v := range slices.Sorted(maps.Keys(s.Values)) {
			f := s.Values[v]
			at := f.Path
			if f.Register != nil {
				at = fmt.Sprintf("register %d", *f.Register)
			}
			is := value{key + " " + way, at}
			was, read := first[is]
			if !read {
				first[is] = s
				continue
			}
			if was.Place+was.Boat != s.Place+s.Boat && !c.oneAir(was.Place, s.Place) {
				c.warn(fmt.Sprintf("sensors[%d].%s", i, key), fmt.Sprintf("sensor %q reads %s of %s for %s already", was.Name, v, way, was.Place+was.Boat), "give this one its own, or its own paths")
				break
			}
		}
	}
}

// comesBy is the key of a sensor's way in, and what it names.
func (s Sensor) comesBy() (key, way string) {
	switch {
	case s.Topic != "" && s.Broker != "":
		return "topic", s.Topic + " at " + s.Broker
	case s.Topic != "":
		return "topic", s.Topic
	case s.Subject != "":
		return "subject", s.Subject
	case s.File != "":
		return "file", s.File
	case s.Modbus != nil:
		return "modbus", fmt.Sprintf("unit %d at %s", s.Modbus.UnitID(), s.Modbus.Address)
	}
	return "", ""
}

// oneAir reports whether two places share an air.
func (c *checker) oneAir(a, b string) bool {
	is, _ := c.y.Place(a)
	other, _ := c.y.Place(b)
	return is.Air != "" && is.Air == other.Air
}
