package planner

import (
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/planner/engine"
)

// hottest follows the rule of the hottest hour slot by slot. It counts as
// conditions.Clock does, which a search cannot ask thousands of times.
type hottest struct {
	bands  []conditions.Band
	hour   [perHour]unit.Temperature // the last hour, one each slot
	filled int
	next   int
	most   unit.Temperature // held for an hour
	least  unit.Temperature
	known  bool // most
	silent time.Duration
	opened bool
}

func newHottest(bands []conditions.Band, clock *conditions.Clock) *hottest {
	h := &hottest{bands: bands, least: unit.NaN[unit.Temperature]()}
	if clock == nil {
		return h
	}
	for _, t := range clock.Hour {
		h.push(t)
	}
	h.least, h.silent = clock.Coolest, clock.Silent
	h.known = unit.Known(clock.Hottest)
	if h.known {
		h.most = clock.Hottest
	}
	h.opened = clock.Slow[conditions.Recoat] >= whole
	return h
}

func (h *hottest) push(t unit.Temperature) {
	h.hour[h.next] = t
	h.next = (h.next + 1) % len(h.hour)
	h.filled = min(h.filled+1, len(h.hour))
}

// pass takes one slot's temperatures in.
func (h *hottest) pass(cold, warm unit.Temperature) {
	first, last := h.bands[0], h.bands[len(h.bands)-1]
	if !h.opened && !(cold >= first.From.SI-1e-9 && cold <= last.To.SI+1e-9) {
		h.silent += step
	}
	if !unit.Known(cold) {
		cold = first.From.SI
	}
	if !unit.Known(warm) {
		warm = last.To.SI
	}
	if !(h.least <= cold) {
		h.least = cold
	}
	h.push(warm)
	if h.filled < len(h.hour) {
		return
	}
	held := h.hour[0]
	for _, t := range h.hour[1:] {
		held = min(held, t)
	}
	if !h.known || held > h.most {
		h.most, h.known = held, true
	}
}

// window is when the recoat window opens and closes, since the coat, by what has
// been met so far.
func (h *hottest) window() (opens, closes time.Duration) {
	hot := h.most
	if !h.known {
		hot = h.hour[0]
		for _, t := range h.hour[:h.filled] {
			hot = max(hot, t)
		}
	}
	opens = h.bands[0].Opens.Std()
	for _, b := range h.bands {
		if h.least >= b.From.SI-1e-9 {
			opens = b.Opens.Std()
		}
	}
	for _, b := range h.bands {
		if hot <= b.To.SI+1e-9 {
			closes = b.Closes.Std()
			break
		}
	}
	return opens + h.silent, closes
}

// band is the recoat window by the rule of the hottest hour, along the way.
func (o *outlook) band(f *film, w way) (opens, closes engine.Slot) {
	coated, s := o.grid.Time(f.coated), max(f.coated, 0)
	closed := false
	if f.clock != nil {
		coated, s = f.clock.Coated, f.read
		closed = f.clock.Fast[conditions.LastRecoat] >= whole
	}
	h := newHottest(f.card.Cure.Bands, f.clock)
	opens, closes = never, never
	if h.opened {
		opens = 0
	}
	if closed {
		return opens, 0
	}
	for i := range w {
		end := o.grid.Slots
		if i+1 < len(w) {
			end = min(w[i+1].from, end)
		}
		for ; s < end; s++ {
			if h.opened && opens == never {
				opens = s
			}
			if closed {
				return opens, s
			}
			cold, warm := w[i].on(s, f.part)
			h.pass(cold, warm)
			since := o.grid.Time(s + 1).Sub(coated)
			first, last := h.window()
			h.opened = h.opened || since >= first
			closed = since >= last
		}
	}
	return opens, closes
}
