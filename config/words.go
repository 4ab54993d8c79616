package config

import (
	"slices"

	"fairwindow/conditions"
	"fairwindow/conditions/skin"
)

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

// Builds are the words for what a hull is built of.
func Builds() []string { return slices.Clone(builds) }

// Colours are the words for a hull's colour.
func Colours() []string { return slices.Clone(colours) }

// Backings are the words for what is behind the sides of a hull.
func Backings() []string { return slices.Clone(backings) }

// Materials are those a layer of a hull may be of.
func Materials() []string { return skin.Materials() }
