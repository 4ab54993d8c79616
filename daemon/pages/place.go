package pages

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"net/http"
	"slices"
	"strings"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
	"fairwindow/planner"
)

// How far a place's chart goes.
const (
	chartBack  = 24 * time.Hour
	chartAhead = 48 * time.Hour
)

// placeView is one place: now, what was and what is to come.
type placeView struct {
	Name     string
	Calendar string // where a phone subscribes
	Board    string // for a screen on the wall
	Here     string
	Kind     string
	Boats    []link
	Now      nowView
	Worked   []string // of each hull that stands here
	Whose    string
	Rules    []string
	Span     placeSpan
	Chart    chart
	Table    placeTable
	Read     string // by which instruments
	Stands   []placeStay
	Taught   string // how the forecast errs here
	Shut     []pattern
	Sensors  []sensorView
	Form     readingForm
	Signals  *signalsForm // of a booth
	Notes    []caution
}

// nowView is what the instruments say.
type nowView struct {
	Age      string
	Air      string
	DewPoint string
	Humidity string
	Hull     string
	Margin   string
	Sign     string
	Class    string // of the margin alone: yes, no, or unknown
	Wind     string
	Verdict  verdictView
}

func (p *pages) place(w http.ResponseWriter, r *http.Request) error {
	c := p.clock(r)
	form := readingForm{Once: newOnce(), By: rememberedName(r), At: c.field(c.now)}
	return p.showPlace(w, r, r.PathValue("name"), p.beside(p.clock(r), form), http.StatusOK)
}

// placeForms are what can be typed in at a place.
type placeForms struct {
	reading readingForm
	signals signalsForm
}

// beside puts an empty form for a booth's signals beside a reading's.
func (p *pages) beside(c clock, form readingForm) placeForms {
	return placeForms{form, signalsForm{
		Once: newOnce(), By: form.By, At: c.field(c.now), Choices: signals(func(conditions.Variable) string { return "" }),
	}}
}

func (p *pages) showPlace(w http.ResponseWriter, r *http.Request, name string, forms placeForms, status int) error {
	ctx, c, yard := r.Context(), p.clock(r), p.Plans.Yard()
	place, ok := yard.Place(name)
	if !ok {
		return missing(fmt.Sprintf("There is no place called %q in the yard file.", name))
	}
	v := placeView{Name: name, Calendar: calendarLink("place", name), Board: boardLink(name), Here: placeLink(name), Kind: kindBeside(place), Form: forms.reading, Shut: patterns, Notes: placeCautions(place)}
	if place.Kind == config.Booth {
		v.Signals = &forms.signals
		v.Signals.Link = placeLink(name) + "/signals"
	}
	boats, err := p.boatsAt(ctx, name)
	if err != nil {
		return err
	}
	for _, b := range boats {
		v.Boats = append(v.Boats, link{b, boatLink(b)})
	}
	v.Form.Link, v.Form.Boats, v.Form.Hint = placeLink(name)+"/reading", boats, p.units(r).example()
	if v.Form.Boat == "" && len(boats) == 1 {
		v.Form.Boat = boats[0]
	}

	v.Span = placeSpanOf(r, name, c)
	status = v.Span.status(status)
	ax := v.Span.axis
	past, err := p.Air.Past(ctx, name, c.now.Add(-chartBack), c.now)
	if err != nil {
		return fmt.Errorf("past air of %s: %w", name, err)
	}
	moments, err := p.moments(ctx, name, ax, c)
	if err != nil {
		return err
	}
	verdicts, err := p.Air.Judged(ctx, name, ax.from, ax.to)
	if err != nil {
		return fmt.Errorf("verdicts of %s: %w", name, err)
	}
	rules, whose, err := p.rules(ctx, place)
	if err != nil {
		return err
	}
	plan, err := p.plan(ctx)
	if err != nil {
		return err
	}
	u := p.units(r)
	v.Now = nowOf(past, c, u, stale(yard))
	measured := fresh(past, c, stale(yard))
	v.Now.Verdict, v.Now.Class = verdictOf(measured, rules, whose, u), marginClass(measured, rules)
	if v.Now.Verdict.Stop, err = p.stopped(ctx, place, c, yard); err != nil {
		return err
	}
	if v.Worked, err = p.worked(ctx, boats, c, u); err != nil {
		return err
	}
	if place.Roofed() {
		v.Now.Wind = ""
	}
	v.Whose, v.Rules = whose, ruleWords(rules)
	heard, err := p.heard(ctx, place, ax, c)
	if err != nil {
		return err
	}
	air := placeAir{moments, rules, verdicts, plan, place, heard.signals}
	v.Chart = placeChart(air, ax, c, u)
	v.Table, v.Stands, v.Read = tableOf(air, ax, v.Chart, c, u), stays(plan, place, c), readBy(heard.lastDay)
	if v.Taught, err = p.taught(ctx, name, c, u); err != nil {
		return err
	}
	if v.Sensors, err = p.sensors(ctx, name, heard.lastDay, c, u); err != nil {
		return err
	}
	return show(p, w, r, screen[placeView]{"place", name, status, v})
}

// rules are the limits that a place is judged by.
func (p *pages) rules(ctx context.Context, place config.Place) (conditions.Rules, string, error) {
	rules, whose, err := p.Air.Rules(ctx, place.Name)
	if err != nil {
		return nil, "", fmt.Errorf("rules of %s: %w", place.Name, err)
	}
	return felt(rules, place), whose, nil
}

// felt are the limits that count in a place: under a roof there is neither wind nor rain.
func felt(rules conditions.Rules, place config.Place) conditions.Rules {
	if !place.Roofed() {
		return rules
	}
	return slices.DeleteFunc(slices.Clone(rules), func(b conditions.Bound) bool {
		return b.Of == conditions.OfWind || b.Of == conditions.OfMeanWind || b.Of == conditions.OfGust || b.Of == conditions.OfRain
	})
}

// example is a temperature as its reader would type it.
func (u units) example() string {
	if u.temp == "F" {
		return "65.5 F"
	}
	return "18.5 C"
}

// plan is the draft, or the told plan where nothing was drafted.
func (p *pages) plan(ctx context.Context) (planner.Plan, error) {
	draft, id, err := p.Plans.Draft(ctx)
	if err != nil {
		return planner.Plan{}, fmt.Errorf("draft: %w", err)
	}
	if id != 0 {
		return draft, nil
	}
	told, _, err := p.Plans.Told(ctx)
	if err != nil {
		return planner.Plan{}, fmt.Errorf("told plan: %w", err)
	}
	return told, nil
}

// kindBeside is a place's kind, unless its name says it already.
func kindBeside(place config.Place) string {
	if strings.Contains(strings.ToLower(place.Name), string(place.Kind)) {
		return ""
	}
	return string(place.Kind)
}

// boatsAt are the boats that stand in a place now.
func (p *pages) boatsAt(ctx context.Context, place string) ([]string, error) {
	work, err := p.Plans.Work(ctx)
	if err != nil {
		return nil, fmt.Errorf("work: %w", err)
	}
	boats, err := p.Plans.Boats(ctx)
	if err != nil {
		return nil, fmt.Errorf("boats: %w", err)
	}
	var here []string
	for _, b := range boats {
		if now := work.Place(b.Name); now.Place == place && now.Launched.IsZero() {
			here = append(here, b.Name)
		}
	}
	return here, nil
}

// stale is the age at which a reading is none.
func stale(yard config.Yard) time.Duration {
	if yard.Notice.Stale > 0 {
		return yard.Notice.Stale.Std()
	}
	return 30 * time.Minute
}

// nowOf words the latest measured moment; one that is too old says only how old it is.
func nowOf(past []conditions.Moment, c clock, u units, stale time.Duration) nowView {
	none := nowView{Age: "not measured in the past day", Air: "not measured", DewPoint: "not measured", Humidity: "not measured", Hull: "not measured", Margin: "–"}
	if len(past) == 0 {
		return none
	}
	m := past[len(past)-1]
	if age := c.now.Sub(m.At); age > stale {
		none.Age = "last measured " + length(age) + " ago, which is too old to count"
		return none
	}
	n := nowView{
		Age: "measured " + length(c.now.Sub(m.At)) + " ago", Air: u.tempText(m.Air), DewPoint: u.tempText(m.DewPoint),
		Humidity: text(humidity(m), 0, "%"), Hull: hull(m, u),
		Margin: number(u.difference(margin(m)), 1), Sign: u.diffSign(),
	}
	if m.Sure == conditions.Unknown {
		n.Age += "; doubtful: " + cmp.Or(m.Why, "the source is not to be relied on")
	}
	if m.Doubt != "" {
		n.Age += "; two instruments disagree, and the worse is taken: " + m.Doubt
	}
	if unit.Known(m.Wind) {
		n.Wind = u.windText(m.Wind)
		if unit.Known(m.Gust) {
			n.Wind += ", gusts " + u.windText(m.Gust)
		}
	}
	return n
}

func margin(m conditions.Moment) unit.TempDiff { return m.Coldest.Over(m.DewPoint) }

// marginClass tells whether the margin itself is within its limit, whatever the others say.
func marginClass(m *conditions.Moment, rules conditions.Rules) string {
	class := "unknown"
	if m == nil {
		return class
	}
	for _, one := range conditions.Judge(*m, rules).Margins {
		switch {
		case one.Of != conditions.OfMargin || math.IsNaN(one.By):
		case one.By < 0:
			return "no"
		default:
			class = "yes"
		}
	}
	return class
}

// hull words the surface from its coldest to its warmest spot.
func hull(m conditions.Moment, u units) string {
	words := u.rangeText(m.Coldest, m.Warmest)
	if unit.Known(m.Coldest) && m.Coldest == m.Warmest && m.Sure == conditions.Measured {
		words += ", read at one spot only: it counts as the coldest and as the warmest"
	}
	return words
}
