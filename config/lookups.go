package config

// Place finds a place by its name.
func (y Yard) Place(name string) (Place, bool) { return find(y.Places, name, placeName) }

// Crew finds a crew by its name.
func (y Yard) Crew(name string) (Crew, bool) { return find(y.Crews, name, crewName) }

// equipmentNamed finds equipment by its name.
func (y Yard) equipmentNamed(name string) (Equipment, bool) {
	return find(y.Equipment, name, equipmentName)
}

// Card finds a card by its name.
func (y Yard) Card(name string) (Card, bool) { return find(y.Cards, name, cardName) }

// System finds a system by its name.
func (y Yard) System(name string) (System, bool) { return find(y.Systems, name, systemName) }

// ProfileNamed finds a profile by its name.
func (y Yard) ProfileNamed(name string) (Profile, bool) { return find(y.Profiles, name, profileName) }

// Stage finds a stage by its name and says at which index of Stages it stands.
func (s System) Stage(name string) (Stage, int, bool) {
	for i, stage := range s.Stages {
		if stage.Name == name {
			return stage, i, true
		}
	}
	return Stage{}, -1, false
}

func placeName(p Place) string         { return p.Name }
func crewName(c Crew) string           { return c.Name }
func equipmentName(e Equipment) string { return e.Name }
func cardName(c Card) string           { return c.Name }
func systemName(s System) string       { return s.Name }
func profileName(p Profile) string     { return p.Name }

func find[T any](all []T, name string, named func(T) string) (T, bool) {
	for _, one := range all {
		if named(one) == name {
			return one, true
		}
	}
	var none T
	return none, false
}
