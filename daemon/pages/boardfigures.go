package pages

import (
	"context"
	"fmt"
	"strconv"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
	"fairwindow/planner"
)

// boardPot is a mix that stands ready, and when its life is over.
type boardPot struct{ mixed, ends time.Time }

// pots are those mixed for the coat that goes on, but for passes that are done.
func (p *pages) pots(ctx context.Context, s boardScene) ([]boardPot, error) {
	coat, ok := s.coat()
	card, known := s.yard.Card(coat.Stage.Card)
	if !ok || !known || card.PotLife.Lasts <= 0 {
		return nil, nil
	}
	presses, err := p.Plans.Presses(ctx, coat.Key.Boat)
	if err != nil {
		return nil, fmt.Errorf("presses on %s: %w", coat.Key.Boat, err)
	}
	temp := unit.NaN[unit.Temperature]()
	if s.now != nil {
		temp = s.now.Air
	}
	var all []boardPot
	for _, one := range presses {
		used := one.Pass > 0 && one.Pass <= len(coat.Passes)
		if one.Kind == planner.Mixed && one.Key == coat.Key && !used && !one.Happened.After(s.c.now) {
			all = append(all, boardPot{one.Happened, one.Happened.Add(card.PotLife.LastsAt(temp))})
		}
	}
	// A newer pot means that the one before it is used up.
	return all[max(0, len(all)-1):], nil
}

// flashOff is when the next pass of a coat may go on, and by when it must; zero for
// what the card does not give, and where no pass is done or none is left.
func (s *boardScene) flashOff(coat planner.Progress) (from, to time.Time) {
	card, ok := s.yard.Card(coat.Stage.Card)
	n := len(coat.Passes)
	if !ok || n == 0 || n >= max(coat.Stage.Passes, 1) {
		return from, to
	}
	last := coat.Passes[n-1].To
	if card.FlashOff.Least > 0 {
		from = last.Add(card.FlashOff.Least.Std())
	}
	if card.FlashOff.Greatest > 0 {
		to = last.Add(card.FlashOff.Greatest.Std())
	}
	return from, to
}

// boardFigures is how many fit on the screen at their size.
const boardFigures = 6

// figures are those that matter now, the most pressing first.
func (s *boardScene) figures(wet []wetCoat, pots []boardPot, ahead []conditions.Verdict) []boardFigure {
	var all []boardFigure
	coat, spraying := s.coat()
	if spraying {
		all = append(all, s.flashing(coat)...)
		for _, one := range pots {
			all = append(all, s.toGo("pot life ends "+s.c.hour(one.ends), one.ends))
		}
		all = append(all, s.holds(ahead))
	} else if len(s.running) == 0 {
		all = append(all, s.coming()...)
		all = append(all, s.opens(ahead)...)
	}
	if clears, busy := s.clears(spraying); busy {
		says, unit := counted(clearanceOf(s.place))
		all = append(all, boardFigure{Name: "no entry, and so long after", Says: says, Unit: unit, Warn: true})
	} else if clears.After(s.c.now) {
		f := s.toGo("no entry before "+s.c.hour(clears), clears)
		f.Warn = true
		all = append(all, f)
	}
	all = append(all, s.protected(wet)...)
	if len(s.running) > 0 && !s.running[0].Started.IsZero() {
		began := s.running[0].Started
		says, unit := counted(s.c.now.Sub(began))
		all = append(all, boardFigure{Name: "runs since " + s.c.hour(began), Says: says, Unit: unit, Since: began.UnixMilli()})
	}
	return all[:min(len(all), boardFigures)]
}

// flashing counts the flash-off between two passes.
func (s *boardScene) flashing(coat planner.Progress) []boardFigure {
	from, to := s.flashOff(coat)
	var all []boardFigure
	if !from.IsZero() && from.After(s.c.now) {
		all = append(all, boardFigure{Name: "next pass from", Says: s.c.hour(from)}, s.toGo("flash-off, least", from))
	}
	switch {
	case to.IsZero():
	case to.After(s.c.now) && from.After(s.c.now):
		all = append(all, boardFigure{Name: "next pass by", Says: s.c.hour(to)})
	case to.After(s.c.now):
		all = append(all, boardFigure{Name: "next pass now, by", Says: s.c.hour(to)}, s.toGo("flash-off, greatest", to))
	default:
		all = append(all, boardFigure{Name: "next pass was due by", Says: s.c.hour(to), Warn: true})
	}
	return all
}

// holds is until when the limits hold by the outlook.
func (s *boardScene) holds(ahead []conditions.Verdict) boardFigure {
	for i, v := range ahead {
		if v.Answer == conditions.Yes {
			continue
		}
		if i == 0 {
			break
		}
		return s.toGo("closes "+s.c.hour(v.At)+", forecast", v.At)
	}
	if len(ahead) == 0 || ahead[0].Answer != conditions.Yes {
		return boardFigure{Name: "when it closes is not known", Says: "?", Warn: true}
	}
	return boardFigure{Name: "limits hold, forecast", Says: "2 d", Unit: "+"}
}

// opens is when the limits will be kept by the outlook, where they are not now; and until
// when, where they are.
func (s *boardScene) opens(ahead []conditions.Verdict) []boardFigure {
	sign := s.idle()
	if len(ahead) == 0 || sign.Class == "unknown" {
		return nil
	}
	if sign.Class == "yes" {
		return []boardFigure{s.holds(ahead)}
	}
	for _, v := range ahead {
		if v.Answer == conditions.Yes {
			name := "within again, forecast"
			if day := s.c.day(v.At); day != s.c.day(s.c.now) {
				name = "within again " + day
			}
			return []boardFigure{{Name: name, Says: s.c.hour(v.At)}}
		}
	}
	return []boardFigure{{Name: "not within, by the forecast, for", Says: "2", Unit: "days"}}
}

// coming is when the next stage begins.
func (s *boardScene) coming() []boardFigure {
	one, ok := s.next()
	if !ok {
		return nil
	}
	if !one.Start.After(s.c.now) {
		return []boardFigure{{Name: "was to start, not reported", Says: s.c.hour(one.Start), Warn: true}}
	}
	day := s.c.day(one.Start)
	if day == s.c.day(s.c.now) {
		day = "today"
	}
	all := []boardFigure{{Name: "starts " + day, Says: s.c.hour(one.Start)}, s.toGo("until it starts", one.Start)}
	if one.Kind == config.Coat && !one.Until.IsZero() && one.Until.After(s.c.now) {
		all = append(all, boardFigure{Name: "latest start " + s.c.day(one.Until), Says: s.c.hour(one.Until)})
	}
	return all
}

// protected is until when wet coats must be kept within their limits.
func (s *boardScene) protected(wet []wetCoat) []boardFigure {
	var all []boardFigure
	for _, w := range wet {
		name := "protect " + w.key.Area + " until"
		if len(s.boats) > 1 {
			name = "protect " + w.key.Boat + " " + w.key.Area + " until"
		}
		if w.until.IsZero() {
			all = append(all, boardFigure{Name: name, Says: "?", Warn: true})
			continue
		}
		if day := s.c.day(w.until); day != s.c.day(s.c.now) {
			name += " " + day
		}
		all = append(all, boardFigure{Name: name, Says: s.c.hour(w.until)})
	}
	return all
}

func clearanceOf(place config.Place) time.Duration {
	if place.Booth == nil {
		return 0
	}
	return place.Booth.Clearance.Std()
}

// clears is until when nobody may go in unmasked after spraying: from the last word that
// the booth sprays or the end of the last pass, whichever is later; busy says that it
// is sprayed in now.
func (s *boardScene) clears(spraying bool) (until time.Time, busy bool) {
	clearance := clearanceOf(s.place)
	if clearance <= 0 {
		return until, false
	}
	last, mode := time.Time{}, 0.0
	for _, r := range s.readings {
		if x, ok := r.Good(conditions.BoothMode); ok && !r.At.After(s.c.now) {
			if mode = x; x == 1 {
				last = r.At
			}
		}
	}
	for _, b := range s.boats {
		for _, a := range b.Areas {
			for _, one := range s.work.Stages(b.Name, a.Name) {
				if one.Stage.Kind != config.Coat || one.Place != s.place.Name {
					continue
				}
				if n := len(one.Passes); n > 0 {
					last = laterOf(last, one.Passes[n-1].To)
				}
				if one.Done { // nobody need have counted its passes
					last = laterOf(last, one.Ended)
				}
			}
		}
	}
	if last.IsZero() {
		return until, spraying
	}
	return last.Add(clearance), spraying || mode == 1
}

func laterOf(a, b time.Time) time.Time {
	if b.After(a) {
		return b
	}
	return a
}

// booth is its mode and its fan, by the latest good word.
func (s *boardScene) booth() []boardWord {
	if s.place.Kind != config.Booth {
		return nil
	}
	all := []boardWord{{"Booth", "not known"}, {"Fan", "not known"}}
	for _, r := range s.readings {
		if s.c.now.Sub(r.At) > stale(s.yard) {
			continue
		}
		for i, v := range []conditions.Variable{conditions.BoothMode, conditions.Fan} {
			if x, ok := r.Good(v); ok {
				_, all[i].Says = s.u.reading(v, x)
			}
		}
	}
	return all
}

// toGo counts down to a time.
func (s *boardScene) toGo(name string, at time.Time) boardFigure {
	says, unit := counted(at.Sub(s.c.now))
	return boardFigure{Name: name, Says: says, Unit: unit, To: at.UnixMilli()}
}

// counted is a span as the board counts it, the script too: 9 min, 1:20 h, 2 days.
func counted(d time.Duration) (says, unit string) {
	minutes := max(0, int(d.Minutes()))
	switch {
	case minutes < 60:
		return strconv.Itoa(minutes), "min"
	case minutes < 48*60:
		return fmt.Sprintf("%d:%02d", minutes/60, minutes%60), "h"
	}
	return strconv.Itoa(minutes / (24 * 60)), "days"
}
