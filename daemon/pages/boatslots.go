package pages

import (
	"strings"

	"fairwindow/config"
)

func yardPlaces(y config.Yard) []string {
	var all []string
	for _, p := range y.Places {
		all = append(all, p.Name)
	}
	return all
}

func yardSystems(y config.Yard) []string {
	var all []string
	for _, s := range y.Systems {
		all = append(all, s.Name)
	}
	return all
}

// boatSlots are the fields of a boat that are not lists.
func boatSlots(y config.Yard, b *config.Boat) []slot {
	return []slot{
		wordsSlot("boat", "Name", "Kestrel", &b.Name).needed(),
		wordsSlot("owner", "Owner", "", &b.Owner),
		measureSlot("length", "Length", "18 m or 60 ft", &b.Length),
		measureSlot("beam", "Beam", "5 m or 16 ft 6 in", &b.Beam),
		measureSlot("height", "Height on its stands", "6.5 m", &b.Height),
		measureSlot("weight", "Weight", "30 t", &b.Weight),
		wordsSlot("arrives", "Arrives", "2026-04-03 08:00", &b.Arrives).needed().moment(),
		wordsSlot("promised", "Launch promised", "2026-05-15", &b.Promised).needed().day(),
		wordsSlot("warranty", "Warranty, its last day", "2029-06-30, or forever", &b.Warranty),
		wordsSlot("place", "Put on arrival", "", &b.Place).from(yardPlaces(y), "wherever the plan says"),
		wordsSlot("build", "Built of", "", &b.Build).from(config.Builds(), "not said: laminate is taken"),
		wordsSlot("colour", "Colour of the hull", "", &b.Colour).from(config.Colours(), "not said: light is taken"),
		wordsSlot("behind", "Behind the sides", "", &b.Behind).from(config.Backings(), "not said: cabin is taken").rarely(),
	}
}

func areaSlots(y config.Yard, b *config.Boat, a *config.Area, at string) []slot {
	var stages, others []string
	if system, ok := y.System(a.System); ok {
		for _, s := range system.Stages {
			stages = append(stages, s.Name)
		}
	}
	for _, o := range b.Areas {
		if o.Name != a.Name && o.Name != "" {
			others = append(others, o.Name)
		}
	}
	return []slot{
		wordsSlot(at+"area", "Name", "topsides", &a.Name).near([]string{"topsides", "house", "deck", "boot stripe", "loose parts"}).needed(),
		wordsSlot(at+"system", "System", "", &a.System).from(yardSystems(y), "choose a system").needed(),
		measureSlot(at+"size", "Surface to coat", "74 m2 or 800 ft2", &a.Size),
		wordsSlot(at+"done", "Last stage done before it came", "sand 80", &a.Done).near(stages).rarely(),
		wordsSlot(at+"done_at", "Done when", "2026-04-03 16:00", &a.DoneAt).rarely().moment(),
		wordsSlot(at+"after", "Not before this area is finished", "house", &a.After).near(others).rarely(),
	}
}

func layerSlots(l *config.Layer, at string) []slot {
	return []slot{
		wordsSlot(at+"of", "Of", "", &l.Of).from(config.Materials(), "choose a material"),
		measureSlot(at+"thick", "Thick", "9 mm", &l.Thick),
	}
}

// boatWriting is how a boat is written down.
func boatWriting(y config.Yard, others []config.Boat) writing[config.Boat] {
	skin := rowsOf("skin", "Layers of the hull, outermost first", "layer", func(b *config.Boat) *[]config.Layer { return &b.Skin },
		nil, func(_ *config.Boat, l *config.Layer, at string) []slot { return layerSlots(l, at) })
	skin.rare, skin.help = true, "Only if you know them better than what it is built of."
	return writing[config.Boat]{
		noun: "boat", key: "boat", name: func(b config.Boat) string { return b.Name },
		head: func(b *config.Boat) []slot { return boatSlots(y, b) },
		lists: []listOf[config.Boat]{
			rowsOf("areas", "Areas", "area", func(b *config.Boat) *[]config.Area { return &b.Areas },
				func(a config.Area) string { return a.Name },
				func(b *config.Boat, a *config.Area, at string) []slot { return areaSlots(y, b, a, at) }),
			skin,
		},
		check: func(b config.Boat) []config.Fault {
			var rest []config.Boat
			for _, o := range others {
				// The one of the very same name is this boat, or the store says that it is not.
				if o.Name != b.Name {
					rest = append(rest, o)
				}
			}
			return config.CheckBoat(y, b, rest)
		},
	}
}

func skinText(layers []slot) string {
	var all []string
	for _, s := range layers {
		all = append(all, s.text())
	}
	return strings.TrimSpace(strings.Join(all, " "))
}
