package pages

import (
	"slices"
	"strings"

	"fairwindow/config"
)

// caution is one line where a person acts, with whose word counts. The bases
// are named beside each.
type caution struct{ Words, Ask string }

var (
	// Two yes are needed: TO 1-1-8, 5.5; WAC 296-24-370.
	weatherOnly = caution{"These are coating limits only. Ventilation running and interlocked is a separate yes.", "booth operator"}
	// NIOSH 96-111; 29 CFR 1915.35(a).
	isocyanates = caution{"Two-part urethane: isocyanates can sensitise for life. Air-fed breathing apparatus; filter masks are not suitable for spraying.", "respirator programme owner, the maker's data sheet"}
	// WAC 296-24-370, which mirrors 29 CFR 1910.107(j).
	ignition = caution{"No heaters, grinders, hot work or hot lamps near wet paint, solvent or overspray; purge before heat, heat off if a fan fails.", "fire marshal"}
	// HSE, isocyanate paint spraying.
	clearance = caution{"Nobody in the booth unmasked before the posted clearance time is over.", "booth owner"}
	// MIL-HDBK-1110, 9.6.8.2.
	confined = caution{"Inside a hull, tank or locker, confined-space rules hold: no entry on the word of a schedule.", "competent person"}
	// MIL-HDBK-1110, 8.3.3.1.
	drift = caution{"Overspray drifts to boats and cars: the wind limit is a neighbour's limit too.", "manager"}
	// NFPA 33, membrane enclosures.
	tent = caution{"A cover with spraying in it may count as a temporary membrane enclosure.", "local authority"}
	// Combustion products are kept from coatings: BS 5493, cl. 23; water and blush, common practice, no source.
	flueless = caution{"No heater without a flue: its water wets the hull, its carbon dioxide makes epoxy blush.", "manager"}
	// Common practice, no source.
	oldPaint = caution{"Old paint may hold lead or copper: extraction and tarps.", "yard rule"}
	// Common practice, no source.
	phones = caution{"A phone may not be permitted in a spray area.", "site rules"}
)

const decides = "Follow the maker's instructions and the site's rules: they decide, this page advises."

// stageCautions are those for the work at hand.
func stageCautions(kind config.StageKind, card config.Card, place config.Place) []caution {
	var all []caution
	switch kind {
	case config.Coat:
		all = append(all, weatherOnly)
		material := strings.ToLower(card.Material + " " + card.Name)
		if card.Material == "" || strings.Contains(material, "urethane") || strings.Contains(material, "isocyanate") {
			all = append(all, isocyanates)
		}
		all = append(all, ignition)
		for _, own := range card.Cautions {
			all = append(all, caution{own, card.Title()})
		}
		all = append(all, placeCautions(place)...)
		all = append(all, phones)
	case config.Wipe:
		all = append(all, ignition)
	case config.Sand, config.Fair, config.Wash:
		all = append(all, oldPaint)
	}
	return append(all, confined)
}

// placeCautions are those for spraying in a place.
func placeCautions(place config.Place) []caution {
	switch place.Kind {
	case config.Booth:
		c := clearance
		if place.Booth != nil && place.Booth.Clearance > 0 {
			c.Words = "Nobody in the booth unmasked before the clearance time is over: " + place.Booth.Clearance.String() + " in " + place.Name + "."
		}
		return []caution{c, ignition}
	case config.Tent:
		return []caution{tent, drift, flueless}
	case config.Shed:
		return []caution{flueless}
	case config.Slip:
		return []caution{drift}
	}
	return nil
}

// distinct drops what was said already.
func distinct(all []caution) []caution {
	var some []caution
	for _, c := range all {
		if !slices.Contains(some, c) {
			some = append(some, c)
		}
	}
	return some
}
