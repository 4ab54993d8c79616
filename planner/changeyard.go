package planner

import (
	"fmt"
	"reflect"
	"slices"
	"strings"

	"fairwindow/conditions/unit"
	"fairwindow/config"
)

// Figures that stand in for what nobody wrote. Our judgement, no source; whoever
// prints a comparison says which were used.
const (
	// usualDryer is a large mobile dehumidifier, kg/h.
	usualDryer unit.WaterRate = 20
	// shedLeaks and tentLeaks are the air changes in an hour of a place whose sides and
	// doors are shut.
	shedLeaks, tentLeaks = 1, 2
)

// heat gives a booth another set point, or another heater.
func (c Change) heat(p Problem) (Problem, error) {
	i, err := placeIn(p.Yard, c.Place, func(p config.Place) bool { return p.Booth != nil && p.Kind == config.Booth }, "a heater needs a booth, which has air of its own")
	if err != nil {
		return p, err
	}
	place := p.Yard.Places[i]
	plant := *place.Booth
	var same []string
	switch {
	case c.SetPoint.IsZero():
	case c.SetPoint.SI > plant.SetPoint.SI:
		plant.SetPoint = c.SetPoint
	default:
		same = append(same, fmt.Sprintf("%s is held at %s already, and a heater to %s does not cool it", place.Name, plant.SetPoint, c.SetPoint))
	}
	switch {
	case c.Heater.IsZero():
	case c.Heater.SI > plant.Heater.SI:
		plant.Heater = c.Heater
	default:
		same = append(same, fmt.Sprintf("%s has a heater of %s already, no smaller than %s", place.Name, plant.Heater, c.Heater))
	}
	if c.SetPoint.IsZero() && c.Heater.IsZero() {
		return p, fmt.Errorf("a heater for %s needs a set point or a power: 24 C, 400 kW", place.Name)
	}
	if plant == *place.Booth {
		return p, NoChange{strings.Join(same, "; ")}
	}
	place.Booth = &plant
	return changePlace(p, i, place)
}

// dry puts a dehumidifier into a place under a roof. A booth's is part of its plant
// and runs while it cures; elsewhere it runs all the time, sides and doors shut.
func (c Change) dry(p Problem) (Problem, error) {
	i, err := placeIn(p.Yard, c.Place, config.Place.Roofed, "only the air under a roof can be dried")
	if err != nil {
		return p, err
	}
	place := p.Yard.Places[i]
	takes := c.Takes
	if takes.IsZero() {
		takes = unit.Written[unit.WaterRate]{SI: usualDryer, Value: float64(usualDryer), Unit: "kg/h"}
	}
	if place.Booth != nil && place.Kind == config.Booth {
		plant := *place.Booth
		if plant.Dehumid.SI >= takes.SI && c.DownTo.IsZero() {
			return p, NoChange{fmt.Sprintf("%s has a dehumidifier of %s already, no smaller than %s", place.Name, plant.Dehumid, takes)}
		}
		if !c.Leaks.IsZero() {
			plant.Leaks = c.Leaks
		}
		plant.DownTo = c.DownTo
		if takes.SI > plant.Dehumid.SI {
			plant.Dehumid = takes
		}
		place.Booth = &plant
		return changePlace(p, i, place)
	}
	leaks := c.Leaks
	if leaks.IsZero() {
		if place.Height.IsZero() {
			return p, fmt.Errorf("nobody wrote how high %s is, so its air is not known: write how much outdoor air comes in, like \"leaking 4000 m3/h\"", place.Name)
		}
		changes := unit.Flow(shedLeaks)
		if place.Kind == config.Tent {
			changes = tentLeaks
		}
		leaks = unit.Of(changes * unit.Flow(place.Length.SI*place.Width.SI*place.Height.SI))
	}
	place.Dehumidifier = &config.Dehumidifier{Takes: takes, Leaks: leaks, DownTo: c.DownTo}
	return changePlace(p, i, place)
}

// cover puts a tent over a slip, for as long as the plan reaches.
func (c Change) cover(p Problem) (Problem, error) {
	i, err := placeIn(p.Yard, c.Place, func(p config.Place) bool { return p.Kind == config.Slip || p.Kind == config.Tent }, "a tent goes over a slip")
	if err != nil {
		return p, err
	}
	place := p.Yard.Places[i]
	if place.Kind == config.Tent {
		return p, NoChange{place.Name + " has a tent over it already"}
	}
	place.Kind, place.Sun = config.Tent, nil // the film's part of the sun, not the neighbour's
	return changePlace(p, i, place)
}

// staff gives a crew more people, or fewer.
func (c Change) staff(p Problem) (Problem, error) {
	i, err := crewIn(p.Yard, c.Crew)
	if err != nil {
		return p, err
	}
	crew := p.Yard.Crews[i]
	switch has := max(crew.People, 1); {
	case c.People == 0:
		return p, NoChange{"nobody more in " + crew.Name}
	case has+c.People < 1:
		return p, fmt.Errorf("%s has %d people: nobody would be left of %d fewer", crew.Name, has, -c.People)
	default:
		crew.People = has + c.People
	}
	p.Yard.Crews = slices.Clone(p.Yard.Crews)
	p.Yard.Crews[i] = crew
	return p, nil
}

// workOn has a crew work on one more day of the week: the hours that are said, or
// those of its other days.
func (c Change) workOn(p Problem) (Problem, error) {
	i, err := crewIn(p.Yard, c.Crew)
	if err != nil {
		return p, err
	}
	crew := p.Yard.Crews[i]
	shifts := slices.Clone(crew.Shifts)
	for _, s := range crew.Shifts {
		fields := strings.Fields(s.Starts)
		if len(fields) != 5 {
			return p, fmt.Errorf("crew %s: %q is no recurring time, so its hours are not known", crew.Name, s.Starts)
		}
		if c.Starts != "" {
			clock := strings.SplitN(c.Starts+":0", ":", 3)
			fields[0], fields[1] = strings.TrimPrefix(clock[1], "0"), clock[0]
			if fields[0] == "" {
				fields[0] = "0"
			}
		}
		fields[2], fields[4] = "*", fmt.Sprint(int(c.Weekday))
		more := config.Shift{Starts: strings.Join(fields, " "), Length: s.Length}
		if c.Length > 0 {
			more.Length = c.Length
		}
		if !slices.Contains(shifts, more) {
			shifts = append(shifts, more)
		}
	}
	was, err := p.Yard.ShiftsOf(crew.Name, p.At, p.At.Add(p.Horizon))
	if err != nil {
		return p, err
	}
	crew.Shifts = shifts
	p.Yard.Crews = slices.Clone(p.Yard.Crews)
	p.Yard.Crews[i] = crew
	is, err := p.Yard.ShiftsOf(crew.Name, p.At, p.At.Add(p.Horizon))
	if err != nil {
		return p, err
	}
	if reflect.DeepEqual(was, is) {
		return p, NoChange{fmt.Sprintf("%s works those hours of a %s already, or has them off", crew.Name, c.Weekday)}
	}
	return p, nil
}
