package config

import "fairwindow/conditions"

// PlaceKinds are all kinds of place.
func PlaceKinds() []PlaceKind { return []PlaceKind{Booth, Shed, Tent, Slip, Standing} }

// StageKinds are all kinds of stage, in about the order in which they are done.
func StageKinds() []StageKind {
	return []StageKind{Wash, Mask, Fair, Sand, Wipe, Coat, Unmask, Inspect, Hold}
}

// Milestones are all milestones of a cure, in the order in which a coat meets them.
func Milestones() []conditions.Milestone {
	return []conditions.Milestone{
		conditions.DustFree, conditions.TouchDry, conditions.Protected, conditions.Taped, conditions.Recoat,
		conditions.Sandable, conditions.Movable, conditions.LastRecoat, conditions.Reactivate, conditions.Launch,
	}
}

func texts[T ~string](words []T) []string {
	list := make([]string, len(words))
	for i, w := range words {
		list[i] = string(w)
	}
	return list
}
