package pages

import (
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"fairwindow/conditions"
	"fairwindow/config"
	"fairwindow/planner"
)

// shiftForm is all that can be pressed of one stage, also what fits only after an earlier
// press: without a line a phone goes on by itself.
type shiftForm struct {
	Key        planner.Key
	Crew       string
	Once, Pass string
	Done, Of   int // passes
	State      string
	By         byField
	For        string
	People     []string
	Ago        string // minutes, or "at"
	At         string
	When       string // the fault of the time
	Checks     []checkView
	Buttons    []shiftButton
	Fault      string
	// How long a pot mixed now would stand and last, and a pass flash off at least and at most, ms.
	Stands, Lasts, Flash, FlashMost int64
}

// checkView is one point of a go / no-go list.
type checkView struct {
	Name   string // of its fields
	Words  string
	Beside string // what is measured of it
	Answer string // go, no, or nothing yet
	Why    string
	Fault  string
}

// shiftButton is a button with the states of a stage it fits.
type shiftButton struct {
	actionView
	In      string
	On      bool
	Reasons []string
	Reason  string
	Link    string // where it goes, if not where the form does
}

// Direct are the buttons for which one press is enough, Asking the others.
func (f shiftForm) Direct() []shiftButton { return f.pick(true) }

// Asking are the buttons that want a word with them.
func (f shiftForm) Asking() []shiftButton { return f.pick(false) }

func (f shiftForm) pick(direct bool) []shiftButton {
	return slices.DeleteFunc(slices.Clone(f.Buttons), func(b shiftButton) bool { return (b.Ask == "" && b.More == "") != direct })
}

// Listed reports that the list is answered before this stage is started.
func (f shiftForm) Listed() bool { return len(f.Checks) > 0 }

// reasons are those usually given; common practice, no source.
var reasons = map[planner.PressKind][]string{
	planner.Cant:     {"too windy", "too damp", "too cold", "hull wet", "work before not done", "booth or fan", "no material", "too few hands"},
	planner.Rejected: {"dust in it", "runs", "dry spray", "pinholes", "orange peel", "wrong colour", "too thin", "touched"},
}

func (p *pages) shiftForm(r *http.Request, s crewStage, card config.Card, air placeAirNow, crew string) (shiftForm, error) {
	c, yard := p.clock(r), p.Plans.Yard()
	f := shiftForm{
		Key: s.Key, Crew: crew, Once: newOnce(), Pass: nextPass(s.Progress), Done: len(s.Passes), Of: max(s.Stage.Passes, 1),
		State: shiftState(s.Progress), By: byField{Name: rememberedName(r), Label: "Who presses"}, Ago: "0", At: c.field(c.now),
	}
	for _, person := range yard.People {
		f.People = append(f.People, person.Name)
	}
	list := yard.Checklist[s.Stage.Kind]
	for i, point := range list {
		beside, err := p.measuredOf(r, point, s, air)
		if err != nil {
			return f, err
		}
		f.Checks = append(f.Checks, checkView{Name: strconv.Itoa(i), Words: point.Words, Beside: beside})
	}
	if s.Stage.Kind == config.Coat {
		var stood []conditions.Moment
		if air.moment != nil {
			stood = []conditions.Moment{*air.moment}
		}
		stands, lasts := potTimes(card, stood)
		f.Stands, f.Lasts = stands.Milliseconds(), lasts.Milliseconds()
		f.Flash, f.FlashMost = card.FlashOff.Least.Std().Milliseconds(), card.FlashOff.Greatest.Std().Milliseconds()
	}
	for _, b := range shiftButtons(s.Stage, len(list) > 0) {
		b.Name = buttonName(action{Kind: b.Kind, Name: b.Name}, s.Progress)
		b.On = slices.Contains(strings.Fields(b.In), f.State)
		if b.More == "pass" {
			b.Value = strconv.Itoa(len(s.Passes))
		}
		f.Buttons = append(f.Buttons, b)
	}
	return f, nil
}

func shiftState(s planner.Progress) string {
	switch {
	case s.Done:
		return "done"
	case s.Held != "":
		return "held"
	case s.Paused:
		return "paused"
	case s.Running:
		return "running"
	}
	return "idle"
}

// shiftButtons are the presses of a stage's kind, with the states that each fits.
func shiftButtons(s config.Stage, listed bool) []shiftButton {
	coat, inspect := s.Kind == config.Coat, s.Kind == config.Inspect
	waits := inspect || s.Kind == config.Hold
	var all []shiftButton
	add := func(fits bool, kind planner.PressKind, in string) {
		if a, ok := actionOf(kind); ok && fits {
			b := shiftButton{actionView: actionView{Kind: kind, Name: a.Name, Ask: a.Ask, Must: a.Must, More: a.More}, In: in, Reasons: reasons[kind]}
			if kind == planner.Override {
				b.Name, b.Link = "Start all the same", "/shift/decide"
			}
			all = append(all, b)
		}
	}
	add(!waits, planner.Started, "idle")
	add(coat, planner.PassDone, "running")
	add(true, planner.Resumed, "paused")
	add(true, planner.Finished, either(waits, "idle running paused", "running paused"))
	add(coat, planner.Mixed, "idle running")
	add(s.Interruptible(), planner.Paused, "running")
	add(coat, planner.StoppedAt, "running")
	add(true, planner.Cant, "idle paused")
	add(coat || inspect, planner.Rejected, either(inspect, "idle running done", "running done"))
	add(coat || listed, planner.Override, "idle")
	return all
}

// measuredOf is what the program measures of a point. It stands beside the point and
// answers nothing.
func (p *pages) measuredOf(r *http.Request, point config.CheckPoint, s crewStage, air placeAirNow) (string, error) {
	c, u, yard := p.clock(r), p.units(r), p.Plans.Yard()
	switch point.Beside {
	case config.BesideMargin:
		if air.moment == nil {
			return "margin not measured", nil
		}
		return fmt.Sprintf("margin %s, measured %s", text(u.difference(margin(*air.moment)), 1, u.diffSign()), c.hour(air.moment.At)), nil
	case config.BesideFan:
		readings, err := p.Air.Readings(r.Context(), s.place, c.now.Add(-stale(yard)), c.now.Add(tooSoon))
		if err != nil {
			return "", fmt.Errorf("readings of %s: %w", s.place, err)
		}
		read, ok := lastRead(readings, conditions.Fan)
		if !ok {
			return "fan not measured", nil
		}
		_, is := u.reading(conditions.Fan, read.Values[conditions.Fan])
		return "fan " + is + ", read " + c.hour(read.At), nil
	}
	return "", nil
}

// refill puts what was tried into a fresh form.
func (f *shiftForm) refill(tried shiftForm) {
	f.Once, f.By.Name, f.By.Fault, f.For, f.Ago, f.At = tried.Once, tried.By.Name, tried.By.Fault, tried.For, tried.Ago, tried.At
	f.When, f.Fault = tried.When, tried.Fault
	for i := range f.Checks {
		if j := slices.IndexFunc(tried.Checks, func(c checkView) bool { return c.Words == f.Checks[i].Words }); j >= 0 {
			f.Checks[i].Answer, f.Checks[i].Why, f.Checks[i].Fault = tried.Checks[j].Answer, tried.Checks[j].Why, tried.Checks[j].Fault
		}
	}
	for i := range f.Buttons {
		for _, t := range tried.Buttons {
			if b := &f.Buttons[i]; b.Kind == t.Kind {
				b.Open, b.Note, b.Value, b.Reason, b.Fault = true, t.Note, t.Value, t.Reason, t.Fault
			}
		}
	}
}

// exactly is when a press happened by the moment that a script noted: to the second, and
// as it was when it could not be sent.
func exactly(r *http.Request, c clock) (time.Time, bool) {
	ms, err := strconv.ParseInt(r.PostForm.Get("happened_ms"), 10, 64)
	if err != nil || ms <= 0 {
		return time.Time{}, false
	}
	// A phone's clock is set by our own, so a moment to come is a rounding, not news.
	at := time.UnixMilli(ms).UTC()
	if at.After(c.now) && !at.After(c.now.Add(tooSoon)) {
		at = c.now.UTC()
	}
	return at, true
}
