package planner

import (
	"slices"
	"strings"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
)

// Rates of repair work where the system has no stage to take one from, for one
// person. Common practice, no source.
const (
	wipeRate   unit.WorkRate = 20 // m²/h, solvent wipe
	abradeRate unit.WorkRate = 8  // m²/h, 320 grit, with the cleaning after it
	// revived is how long a reactivated surface waits for its coat: no sequence is
	// broken overnight without wiping again (MIL-STD-186F, 5.5.3.2.4).
	revived = 8 * time.Hour
)

// repairStage is the work a repair's name stands for. Reactivating is a wipe;
// abrading is sanding with grit 320 (320/400 before a topcoat: TO 1-1-8, 5.6.2).
// Skill, people, rate and equipment are those of the system's own wipe or sand stage, else
// the coat's skill at the rates above.
func repairStage(name string, coat config.Stage, system []config.Stage) config.Stage {
	kind, rate := config.Sand, abradeRate
	what, _, _ := repairOf(name)
	if what == reactivate {
		kind, rate = config.Wipe, wipeRate
	}
	if base, ok := strings.CutSuffix(what, again); ok {
		if i := slices.IndexFunc(system, func(s config.Stage) bool { return s.Name == base }); i >= 0 {
			r := system[i]
			r.Name, r.Places, r.Block = name, coat.Places, coat.Block
			return r
		}
		kind, rate = config.Wipe, wipeRate
	}
	r := config.Stage{Name: name, Kind: kind, Skill: coat.Skill, People: coat.People, Rate: unit.Of(rate), Places: coat.Places, Block: coat.Block}
	// The last such stage of the system is the finest, nearest to what is wanted.
	for _, s := range system {
		if s.Kind == kind && s.Name != name && s.Skill != "" {
			r.Skill, r.People, r.Rate, r.Takes, r.Uses = s.Skill, s.People, s.Rate, s.Takes, s.Uses
		}
	}
	if kind == config.Sand {
		r.Grit, r.After = 320, conditions.Sandable
		return r
	}
	r.After, r.Life = conditions.Recoat, unit.Duration(revived)
	return r
}
