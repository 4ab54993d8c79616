package pages

import (
	"context"
	"fmt"
	"math"
	"strings"
	"time"
	"unicode/utf8"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
	"fairwindow/planner"
)

// boardSign is the board's one word and its one sentence.
type boardSign struct {
	Class    string // yes, no, unknown
	Mark     string // the shape beside the word, for who sees no colours
	Word     string
	Sentence string
	Whole    bool // it takes the whole screen: somebody must act
}

// longSentence is one that would not fit the whole screen at the full size of its letters.
const longSentence = 85

// Long says that the sentence has smaller letters; the word before it keeps its size.
func (s boardSign) Long() bool { return utf8.RuneCountInString(s.Sentence) > longSentence }

func stopSign(word, sentence string) boardSign {
	return boardSign{"no", "✕", word, sentence, true}
}

func unknownSign(sentence string, whole bool) boardSign {
	return boardSign{"unknown", "?", "Unknown", sentence, whole}
}

// sign says the gravest of all that is so. The whole screen is for what somebody must
// act on: a coat that goes on or is wet. An empty booth outside its limits is only shut.
func (s *boardScene) sign(wet []wetCoat, pots []boardPot) boardSign {
	coat, spraying := s.coat()
	if spraying {
		if s.off != "" {
			return stopSign("Stop", capital(s.off)+", and a coat goes on.")
		}
		if sign := s.coating(); sign.Whole {
			return sign
		}
	}
	for _, w := range wet {
		if w.risk != "" {
			return stopSign("Wet coat at risk", w.key.Boat+" "+w.key.Area+": "+w.risk)
		}
	}
	for _, p := range pots {
		if spraying && !p.ends.After(s.c.now) {
			return stopSign("Pot over", "Mixed "+s.c.hour(p.mixed)+", over since "+s.c.hour(p.ends)+": use no more of it.")
		}
	}
	if spraying {
		if _, most := s.flashOff(coat); !most.IsZero() && s.c.now.After(most) {
			return stopSign("Flash-off over", "The next pass was to go on by "+s.c.hour(most)+": ask the foreman.")
		}
		return s.coating()
	}
	return s.idle()
}

// coating is how it stands for a coat that is being put on. Nobody can measure a surface
// while it is painted: then the air alone still counts, and a reading is asked for.
func (s *boardScene) coating() boardSign {
	if s.now == nil || s.now.Sure == conditions.Unknown || len(s.rules) == 0 {
		return unknownSign(s.silent(), true)
	}
	rules, measured := s.rules, unit.Known(s.now.Coldest)
	if !measured {
		rules = airOnly(rules)
	}
	v := conditions.Judge(*s.now, rules)
	switch {
	case v.Wet:
		return stopSign("Stop", "Water stands on the hull's coldest spot.")
	case v.Answer == conditions.No:
		return stopSign("Stop", "At a whole pass: "+bindingWords(v))
	case v.Answer != conditions.Yes || len(rules) == 0:
		return unknownSign(capital(v.Why)+". Measure now.", true)
	case !measured:
		return boardSign{"unknown", "?", "By the air", "Hull not measured: read a spot beside it.", false}
	}
	return s.within()
}

// idle is how it stands for the next coat.
func (s *boardScene) idle() boardSign {
	if s.now == nil || s.now.Sure == conditions.Unknown || len(s.rules) == 0 {
		return unknownSign(s.silent(), false)
	}
	v := conditions.Judge(*s.now, s.rules)
	switch {
	case v.Wet:
		return boardSign{"no", "✕", "Outside", "Water stands on the hull's coldest spot.", false}
	case v.Answer == conditions.No:
		return boardSign{"no", "✕", "Outside", capital(bindingWords(v)), false}
	case v.Answer != conditions.Yes:
		return unknownSign(capital(v.Why)+".", false)
	}
	return s.within()
}

func (s *boardScene) within() boardSign {
	return boardSign{"yes", "✓", "Within", "the limits of " + strings.Replace(s.whose, " rev ", " rev\u00a0", 1) + ".", false}
}

// silent is why nothing is known.
func (s *boardScene) silent() string {
	switch n := len(s.past); {
	case len(s.rules) == 0:
		return "Nobody has set limits here."
	case s.now != nil && s.now.Why != "":
		return capital(s.now.Why) + ". Measure now."
	case n == 0:
		return "Not measured. Measure now."
	default:
		return "Not measured since " + s.c.hour(s.past[n-1].At) + ". Measure now."
	}
}

func bindingWords(v conditions.Verdict) string {
	if v.Binding < 0 {
		return "outside the limits."
	}
	m := v.Margins[v.Binding]
	return against(m.Bound, m.Value) + "."
}

// airOnly are the bounds that need no surface.
func airOnly(rules conditions.Rules) conditions.Rules {
	var some conditions.Rules
	for _, b := range rules {
		switch b.Of {
		case conditions.OfAir, conditions.OfHumidity, conditions.OfWind, conditions.OfMeanWind, conditions.OfGust, conditions.OfRain:
			some = append(some, b)
		}
	}
	return some
}

// wetCoat is a coat that must still be kept within limits.
type wetCoat struct {
	key   planner.Key
	until time.Time // of its protection, if the hull stays as it is; zero: not known
	risk  string    // what it is outside of now
}

// wetCoats are those of the boats here.
func (p *pages) wetCoats(ctx context.Context, s boardScene) ([]wetCoat, error) {
	var all []wetCoat
	for _, b := range s.boats {
		for _, a := range b.Areas {
			last, ok := s.work.LastCoat(b.Name, a.Name)
			card, known := s.yard.Card(last.Card)
			if !ok || !known || last.Ended.IsZero() {
				continue
			}
			is, surface, _, err := p.Plans.Coat(ctx, b.Name, a.Name)
			if err != nil {
				return nil, fmt.Errorf("cure of %s on %s: %w", a.Name, b.Name, err)
			}
			k := curing{cure: card.Cure, clock: is.Clock, surface: surface, now: s.c.now}
			if is.Key != last.Key || !wetStill(k, card) {
				continue
			}
			w := wetCoat{key: last.Key, risk: s.risk(card)}
			if at, _, ok := k.when(card.ProtectUntil); ok {
				w.until = at
			}
			all = append(all, w)
		}
	}
	return all, nil
}

// wetStill tells a coat that has not reached the end of its protection. One that is older
// than any temperature of its card makes it is only one whose clock nobody ran.
func wetStill(k curing, card config.Card) bool {
	var most time.Duration
	for _, point := range card.Cure.Cautious(card.ProtectUntil) {
		most = max(most, 2*point.Takes.Std())
	}
	return !k.cure.Reached(k.clock, card.ProtectUntil) && k.now.Sub(k.clock.Coated) < most
}

// risk is what a wet coat is outside of.
func (s *boardScene) risk(card config.Card) string {
	if s.now == nil {
		return ""
	}
	v := conditions.Judge(*s.now, felt(s.yard.ProtectRules(card, s.place), s.place))
	if v.Answer != conditions.No {
		return ""
	}
	return bindingWords(v)
}

// air words what the instruments say.
func (v *boardView) air(s boardScene) {
	v.Margin = "–"
	for _, b := range s.rules {
		if b.Of == conditions.OfMargin {
			v.Ask = "at least " + written(b)
		}
	}
	if s.now == nil {
		return
	}
	m := *s.now
	v.Margin, v.Trend = number(s.u.difference(margin(m)), 1), s.trend()
	if unit.Known(margin(m)) {
		v.Unit = s.u.diffSign()
	}
	v.Wide = utf8.RuneCountInString(v.Margin) > len("6.5")
	v.Age = length(s.c.now.Sub(m.At)) + " ago"
	if m.Sure == conditions.Unknown {
		v.Age += ", doubtful"
	} else {
		v.Age = "measured " + v.Age
	}
	v.Air = []boardWord{
		{"Air", s.u.tempText(m.Air)}, {"Hull", s.u.rangeText(m.Coldest, m.Warmest)}, {"Dew point", s.u.tempText(m.DewPoint)},
		{"Humidity", text(humidity(m), 0, "%")},
	}
	if !s.place.Roofed() && unit.Known(m.Wind) {
		v.Air = append(v.Air, boardWord{"Wind", s.u.windText(m.Wind)})
	}
	v.Air = append(v.Air, s.booth()...)
}

// trend is the margin's course over the last hour.
func (s *boardScene) trend() string {
	by := math.NaN()
	for _, m := range s.past {
		if s.now.At.Sub(m.At) >= trendOver-15*time.Minute {
			by = s.u.difference(margin(*s.now)-margin(m)) / s.now.At.Sub(m.At).Hours()
		}
	}
	rate := number(math.Abs(by), 1) + " " + s.u.diffSign() + " in an hour"
	switch {
	case math.IsNaN(by):
		return ""
	case by >= 0.05:
		return "▲ up " + rate
	case by <= -0.05:
		return "▼ down " + rate
	}
	return "▬ steady"
}
