package pages

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"fairwindow/conditions"
	"fairwindow/config"
	"fairwindow/sensors"
)

// sensorView is the last that came from one source, and its day.
type sensorView struct {
	Name   string
	Boat   string // whose it is, if not the place's
	Age    string
	At     string
	Values []valueView
	Flags  []string
	Vapour string   // how long it has hung in it
	Asks   []string // what somebody must see to
	Due    string   // its calibration's last day
	Sparks []spark
}

type valueView struct {
	Name, Worded string
	Doubtful     bool
}

// placeHeard is what was heard of a place: in the last day, and of a booth's own signals
// over the span shown.
type placeHeard struct {
	lastDay []sensors.Reading
	signals []sensors.Reading
}

// signalsSpan is the longest span whose readings are looked through for a booth's signals.
const signalsSpan = 2*chartBack + time.Hour

func (p *pages) heard(ctx context.Context, place config.Place, a axis, c clock) (placeHeard, error) {
	var all placeHeard
	var err error
	if all.lastDay, err = p.Air.Heard(ctx, place.Name, c.now.Add(-chartBack), c.now.Add(2*tooSoon)); err != nil {
		return all, fmt.Errorf("readings of %s: %w", place.Name, err)
	}
	to := c.now
	if a.to.Before(to) {
		to = a.to
	}
	switch {
	case place.Kind != config.Booth || !a.from.Before(to):
	case !a.from.Before(c.now.Add(-chartBack)):
		all.signals = all.lastDay
	case to.Sub(a.from) <= signalsSpan:
		if all.signals, err = p.Air.Readings(ctx, place.Name, a.from, to); err != nil {
			return all, fmt.Errorf("readings of %s: %w", place.Name, err)
		}
	}
	return all, nil
}

// source is who speaks of what: one thermometer may go round two hulls.
type source struct{ name, boat string }

// sensors are the sources heard in the past day, by name, those that go with a boat
// that stands here among them, then those that should have been.
func (p *pages) sensors(ctx context.Context, place string, readings []sensors.Reading, c clock, u units) ([]sensorView, error) {
	accounts, err := p.Air.Accounts(ctx, place)
	if err != nil {
		return nil, fmt.Errorf("sensors of %s: %w", place, err)
	}
	by := map[source][]sensors.Reading{}
	for _, r := range readings {
		of := source{r.Source, r.Boat}
		by[of] = append(by[of], r)
	}
	var all []sensorView
	for _, of := range slices.SortedFunc(maps.Keys(by), func(a, b source) int {
		return cmp.Or(cmp.Compare(a.name, b.name), cmp.Compare(a.boat, b.boat))
	}) {
		s := lastOf(by[of], c, u)
		s.Sparks = sparks(by[of], everyOf(accounts, of.name), c, u)
		for _, a := range accounts {
			if a.Source == of.name {
				s.account(a, by[of][len(by[of])-1].At, c, u)
			}
		}
		all = append(all, s)
	}
	for _, a := range accounts {
		_, here := by[source{a.Source, a.Boat}]
		_, bare := by[source{a.Source, ""}]
		if !here && !bare && !a.ByHand {
			s := sensorView{Name: a.Source, Boat: a.Boat, Age: "not in the past day", Asks: []string{"silent: look whether it has power and its line"}}
			if !a.At.IsZero() {
				s.At = c.moment(a.At)
			}
			// What it dates after now it did say: its clock wants somebody, not its power.
			if i := slices.IndexFunc(a.Asks, func(f sensors.Flag) bool { return f.Fault == sensors.FromFuture }); i >= 0 {
				s.Age, s.Asks = length(c.now.Sub(a.At))+" ago", []string{string(a.Asks[i].Fault) + ": " + a.Asks[i].Note}
			}
			s.Due = a.Due
			all = append(all, s)
		}
	}
	return all, nil
}

func everyOf(accounts []sensors.Account, name string) time.Duration {
	for _, a := range accounts {
		if a.Source == name {
			return a.Every.Std()
		}
	}
	return 0
}

// lastOf words the newest reading of a source.
func lastOf(readings []sensors.Reading, c clock, u units) sensorView {
	r := readings[0]
	for _, one := range readings {
		if !one.At.Before(r.At) {
			r = one
		}
	}
	s := sensorView{Name: r.Source, Boat: r.Boat, Age: length(c.now.Sub(r.At)) + " ago", At: c.moment(r.At)}
	for _, v := range slices.Sorted(maps.Keys(r.Values)) {
		named, worded := u.reading(v, r.Values[v])
		s.Values = append(s.Values, valueView{named, worded, r.Doubtful(v)})
	}
	for _, f := range r.Flags {
		about := "all values"
		if f.Of != "" {
			about, _ = u.reading(f.Of, 0)
		}
		words := about + ": " + string(f.Fault)
		if f.Note != "" {
			words += " (" + f.Note + ")"
		}
		s.Flags = append(s.Flags, words)
	}
	return s
}

// account puts beside it how long a humidity sensor has hung in solvent vapour, until when
// it is calibrated, and what somebody must see to that its last reading does not say.
func (s *sensorView) account(a sensors.Account, last time.Time, c clock, u units) {
	s.Vapour, s.Due = Exposed(a), a.Due
	if quiet := c.now.Sub(last); a.Every > 0 && quiet > silentAfter*a.Every.Std() {
		s.Asks = append(s.Asks, fmt.Sprintf("silent: it should speak every %s", length(a.Every.Std())))
	}
	for _, f := range a.Asks {
		if f.Fault == sensors.Drifting || f.Fault == sensors.Unchecked || f.Fault == sensors.Apart {
			name, _ := u.reading(f.Of, 0)
			s.Asks = append(s.Asks, name+" "+string(f.Fault)+": "+f.Note)
		}
	}
}

// silentAfter is after how many of its intervals without a word a sensor is silent, as
// its account has it.
const silentAfter = 3

// readBy says which instruments the measured curves are made from.
func readBy(readings []sensors.Reading) string {
	var parts []string
	for _, of := range []struct {
		name string
		is   []conditions.Variable
	}{
		{"air", []conditions.Variable{conditions.AirTemperature}},
		{"dew point and humidity", []conditions.Variable{conditions.RelHumidity, conditions.DewPointTemp, conditions.WetBulbTemp}},
		{"hull", []conditions.Variable{conditions.Surface, conditions.SurfaceWarmest}},
		{"wind", []conditions.Variable{conditions.WindSpeed, conditions.GustSpeed}},
	} {
		names := map[string]bool{}
		for _, r := range readings {
			for _, v := range of.is {
				if _, ok := r.Good(v); ok {
					names[r.Source] = true
				}
			}
		}
		if len(names) > 0 {
			parts = append(parts, of.name+" by "+strings.Join(slices.Sorted(maps.Keys(names)), ", "))
		}
	}
	if len(parts) == 0 {
		return ""
	}
	return "Measured in the past day: " + strings.Join(parts, "; ") + "."
}
