package pages

import (
	"slices"

	"fairwindow/config"
)

// limitSlots are the limits, by the names that a card gives them.
func limitSlots(l *config.Limits) []slot {
	return []slot{
		boundSlot("margin", "surface over dew point at least", "3 C", &l.Margin),
		boundSlot("humidity_min", "relative humidity at least", "40 %", &l.HumidityMin),
		boundSlot("humidity_max", "relative humidity at most", "85 %", &l.HumidityMax),
		boundSlot("air_min", "air at least", "10 C", &l.AirMin),
		boundSlot("air_max", "air at most", "32 C", &l.AirMax),
		boundSlot("surface_min", "surface at least", "10 C", &l.SurfaceMin),
		boundSlot("surface_max", "surface at most", "35 C", &l.SurfaceMax),
		boundSlot("wind_max", "wind at most", "6 m/s", &l.WindMax),
		boundSlot("gust_max", "gusts at most", "9 m/s", &l.GustMax),
		boundSlot("rain_max", "chance of rain at most", "20 %", &l.RainMax),
		boundSlot("above_air", "surface warmer than the air by at most", "15 C", &l.AboveAir),
		boundSlot("below_air", "surface colder than the air by at most", "5 C", &l.BelowAir),
		boundSlot("falls", "surface cooling by at most", "3 K/h", &l.Falls),
		boundSlot("rising", "surface over dew point growing by at least", "0 K/h", &l.Rising),
		boundSlot("paint_below", "paint colder than the surface by at most", "0 K", &l.PaintBelow),
	}
}

func stageSlots(y config.Yard, st *config.Stage, at string) []slot {
	var cards, equipment, skills []string
	for _, c := range y.Cards {
		cards = append(cards, c.Name)
	}
	for _, e := range y.Equipment {
		equipment = append(equipment, e.Name)
	}
	for _, c := range y.Crews {
		skills = append(skills, c.Skills...)
	}
	slices.Sort(skills)
	milestones := textsOf(config.Milestones())
	coat, works := st.Kind == config.Coat, st.Kind != config.Hold
	return []slot{
		wordsSlot(at+"name", "Name", "sand 320", &st.Name).needed(),
		wordsSlot(at+"kind", "Kind", "", &st.Kind).from(textsOf(config.StageKinds()), "choose a kind").needed(),
		wordsSlot(at+"card", "Card", "", &st.Card).from(cards, "choose a card").only(coat),
		countedSlot(at+"passes", "Passes", "2", &st.Passes).only(coat),
		countedSlot(at+"grit", "Grit", "320", &st.Grit).only(st.Kind == config.Sand),
		wordsSlot(at+"skill", "Skill of who does it", "", &st.Skill).from(slices.Compact(skills), "nobody works at it").only(works),
		countedSlot(at+"people", "People", "2", &st.People).only(works),
		measureSlot(at+"rate", "One person does", "6 m2/h", &st.Rate).only(works),
		lastingSlot(at+"takes", "Or it takes, whatever the size", "3 h", &st.Takes).only(works),
		tickedSlot(at+"places", "May be done in (none ticked: anywhere)", &st.Places, textsOf(config.PlaceKinds())),
		wordsSlot(at+"block", "Block: the boat stays put", "finish", &st.Block),
		wordsSlot(at+"until", "Ends when the last coat is", "", &st.Until).from(milestones, "no cure").only(st.Kind == config.Hold),
		wordsSlot(at+"after", "Waits until the last coat is", "", &st.After).from(milestones, "as usual for its kind").rarely(),
		lastingSlot(at+"life", "Its result lasts", "4 h", &st.Life).rarely(),
		limitsSlot(at+"limits", "Limits of its own, one a line", &st.Limits).rarely(),
		listedSlot(at+"uses", "Equipment taken, one a line", "compressor", &st.Uses).near(equipment).rarely(),
	}
}

// textsOf are words as text.
func textsOf[W ~string](all []W) []string {
	text := make([]string, len(all))
	for i, w := range all {
		text[i] = string(w)
	}
	return text
}

// systemWriting is how a system is written down.
func systemWriting(y config.Yard) writing[config.System] {
	return writing[config.System]{
		noun: "system", key: "name", name: func(s config.System) string { return s.Name },
		head: func(s *config.System) []slot {
			return []slot{wordsSlot("name", "Name", "topcoat only", &s.Name).needed()}
		},
		lists: []listOf[config.System]{
			rowsOf("stages", "Stages, in order", "stage", func(s *config.System) *[]config.Stage { return &s.Stages },
				func(s config.Stage) string { return s.Name },
				func(_ *config.System, st *config.Stage, at string) []slot { return stageSlots(y, st, at) }),
		},
		check: func(s config.System) []config.Fault {
			y := y
			y.Systems = slices.DeleteFunc(slices.Clone(y.Systems), func(o config.System) bool { return o.Name == s.Name })
			return config.CheckSystem(y, s)
		},
	}
}
