package config

import "fairwindow/conditions"

// Rules are the bounds in force for a stage in a place.
//
// A coat must meet its card's limits and those of the yard, the place and the
// stage, all of them; where the card is silent its profile speaks, or the
// yard's if it names none. Other stages have their own limits only. Rain does
// not count under a roof.
func (y Yard) Rules(s Stage, p Place) conditions.Rules {
	stage := conditions.Owned{Owner: "stage " + s.Name, Limits: s.Limits}
	if s.Kind != Coat {
		return p.sheltered(conditions.Strictest(nil, stage))
	}
	card, _ := y.Card(s.Card)
	return y.applied(card, p, stage)
}

// ProtectRules are the bounds in force from the last drop of a card's coat to
// its ProtectUntil: the card's own if it names them, else the margin, the least
// surface temperature and the rain of its application.
func (y Yard) ProtectRules(c Card, p Place) conditions.Rules {
	if c.Protected != (Limits{}) {
		return p.sheltered(conditions.Strictest(nil, conditions.Owned{Owner: c.Title(), Limits: c.Protected}))
	}
	var kept conditions.Rules
	for _, b := range y.applied(c, p) {
		if b.Of == conditions.OfMargin || b.Of == conditions.OfRain || (b.Of == conditions.OfSurface && b.Least) {
			kept = append(kept, b)
		}
	}
	return kept
}

// applied are the bounds on applying a card in a place; the stage's own come on top.
func (y Yard) applied(c Card, p Place, stage ...conditions.Owned) conditions.Rules {
	name := c.Profile
	if name == "" {
		name = y.Profile
	}
	sets := []conditions.Owned{{Owner: c.Title(), Limits: c.Limits}}
	if profile, ok := y.ProfileNamed(name); ok {
		// What the card leaves open counts, whatever yard, place and stage add; so
		// Strictest's fallback, which their limits would silence too, does not do.
		sets = append(sets, conditions.Owned{Owner: "profile " + profile.Name, Limits: silent(c.Limits, profile.Limits)})
	}
	sets = append(sets, conditions.Owned{Owner: "the yard", Limits: y.Limits}, conditions.Owned{Owner: p.Name, Limits: p.Limits})
	return p.sheltered(conditions.Strictest(nil, append(sets, stage...)...))
}

// silent is what of a profile's limits a card says nothing of.
func silent(card, profile Limits) Limits {
	unless(card.Margin, &profile.Margin)
	unless(card.HumidityMin, &profile.HumidityMin)
	unless(card.HumidityMax, &profile.HumidityMax)
	unless(card.AirMin, &profile.AirMin)
	unless(card.AirMax, &profile.AirMax)
	unless(card.SurfaceMin, &profile.SurfaceMin)
	unless(card.SurfaceMax, &profile.SurfaceMax)
	unless(card.WindMax, &profile.WindMax)
	unless(card.RainMax, &profile.RainMax)
	return profile
}

func unless[T any](written *T, filled **T) {
	if written != nil {
		*filled = nil
	}
}

// sheltered leaves out the rain where a roof keeps it off.
func (p Place) sheltered(rules conditions.Rules) conditions.Rules {
	if !p.Roofed() {
		return rules
	}
	var kept conditions.Rules
	for _, b := range rules {
		if b.Of != conditions.OfRain {
			kept = append(kept, b)
		}
	}
	return kept
}

// Enclosure is what the place does to the air in it, for the model of its climate.
func (y Yard) Enclosure(p Place) conditions.Enclosure {
	e := conditions.Enclosure{Roofed: p.Roofed(), Pressure: conditions.StandardPressure(y.Elevation.SI)}
	if p.Kind == Booth && p.Booth != nil {
		e.OwnAir = true
		e.Heater, e.SetPoint = p.Booth.Heater.SI, p.Booth.SetPoint.SI
		e.SprayFlow, e.CureFlow = p.Booth.Spraying.SI, p.Booth.Curing.SI
		e.Dehumidifier = p.Booth.Dehumid.SI
	}
	return e
}

// Usual is the season's usual weather of a month, 1 to 12; false if the yard
// file gives none.
func (y Yard) Usual(month int) (conditions.Usual, bool) {
	for _, m := range y.Season {
		if m.Month == month {
			return conditions.Usual{
				Air: m.Air.SI, Swing: m.Swing.SI, DewPoint: m.DewPoint.SI,
				Scatter: m.Scatter.SI, Wind: m.Wind.SI, RainHours: m.RainHours.SI,
			}, true
		}
	}
	return conditions.Usual{}, false
}
