package pages

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/daemon/record"
	"fairwindow/daemon/record/paper"
	"fairwindow/planner"
)

// coat words one coat.
func (c clock) coat(k record.Coat, u units) coatView {
	v := coatView{Title: k.Stage, Area: k.Area, Rejected: k.Rejected, Illus: k.Illustrative, Later: k.Later, Signs: [2]string{u.tempSign(), u.diffSign()}}
	ended := "not reported"
	if !k.Ended.IsZero() {
		ended = c.moment(k.Ended)
	}
	for _, f := range [][2]string{
		{"Card", fmt.Sprintf("%s rev %d", k.Card, k.Revision)}, {"Place", k.Place}, {"Who", k.By + joined(k.Crews)},
		{"Started", c.moment(k.Started)}, {"Last pass ended", ended}, {"Over the coat before", c.recoat(k.Recoat)}, {"Sanded before", c.sandings(k.Sandings)},
	} {
		if f[1] != "" {
			v.Facts = append(v.Facts, f)
		}
	}
	for _, p := range k.Passes {
		v.Passes = append(v.Passes, c.pass(p))
	}
	for _, l := range k.Limits {
		if line, ok := c.limit(l); ok {
			v.Limits = append(v.Limits, line)
		}
	}
	for _, a := range k.Air {
		v.Air = append(v.Air, c.sample(a, u))
	}
	for _, g := range k.Gaps {
		v.Gaps = append(v.Gaps, "Not measured: "+g.Lacks+", "+c.span(g.From, g.To)+".")
	}
	for _, e := range k.Entries {
		v.Entries = append(v.Entries, c.entry(e, u))
	}
	v.Films = films(k, u)
	for _, e := range k.Events {
		if e.Kind == planner.PassDone && e.Struck == nil {
			continue // stands among the passes
		}
		v.Events = append(v.Events, c.event(e))
	}
	v.Checks = c.checked(k.Checks)
	return v
}

// checked puts the answers that were given at one time by one person together.
func (c clock) checked(all []record.Check) []checkLine {
	var lines []checkLine
	for _, k := range all {
		l := checkLine{When: c.moment(k.At), By: k.Who()}
		if k.Struck != nil {
			l.Struck = c.struck(k.Struck)
		}
		if n := len(lines); n > 0 && lines[n-1].When == l.When && lines[n-1].By == l.By && lines[n-1].Struck == l.Struck {
			lines[n-1].Said = append(lines[n-1].Said, [2]string{k.Ask, k.Said()})
			continue
		}
		l.Said = [][2]string{{k.Ask, k.Said()}}
		lines = append(lines, l)
	}
	return lines
}

func joined(all []string) string {
	words := strings.Join(all, ", ")
	if words == "" {
		return ""
	}
	return ", " + words
}

// recoat words how the window of the coat before was kept.
func (c clock) recoat(r *record.Recoat) string {
	if r == nil {
		return ""
	}
	words := length(time.Duration(r.Hours*float64(time.Hour))) + " after " + r.Over + ": "
	words += paper.Kept(r.Kept)
	if r.Slow != nil {
		words += "; slowest side " + percent(*r.Slow) + " of the way to recoat"
	}
	if r.Fast != nil {
		words += "; fastest " + percent(*r.Fast) + " of the way to the last recoat"
	}
	if r.Uncounted > 0 {
		words += fmt.Sprintf("; %.1f h not measured or beyond the card's figures", r.Uncounted)
	}
	return words
}

func (c clock) sandings(all []record.Sanding) string {
	var words []string
	for _, s := range all {
		w := s.Stage
		if s.Grit > 0 {
			w += " (grit " + strconv.Itoa(s.Grit) + ")"
		}
		words = append(words, w+" until "+c.moment(s.Ended)+joined([]string{s.By}))
	}
	return strings.Join(words, "; ")
}

func (c clock) pass(p record.Pass) passLine {
	l := passLine{Number: strconv.Itoa(p.Number), When: c.span(p.From, p.To), By: p.By}
	if p.Late {
		l.Entered = c.moment(p.Entered)
	}
	if p.Number > 1 {
		l.Flash = fmt.Sprintf("%.0f min from end to end; card %.0f", p.Flash, p.Least)
		if p.Greatest > 0 {
			l.Flash += fmt.Sprintf(" to %.0f", p.Greatest)
		}
		l.Flash += " min between"
		if p.Short {
			l.Flash += ": too short"
		}
	}
	return l
}

// limit words a bound with the worst that was measured; not one that nobody wrote and
// nobody measured.
func (c clock) limit(l record.Limit) (boundLine, bool) {
	if l.IfKnown && l.Margin == nil {
		return boundLine{}, false
	}
	kept := l.Kept()
	line := boundLine{Class: string(kept), Whose: l.Owner, Worst: notMeasured}
	line.Kept = map[conditions.Answer]string{conditions.Yes: "✓ within", conditions.No: "✕ outside", conditions.Undecided: "? not known throughout"}[kept]
	if l.Worst != nil {
		line.Worst = against(l.Bound, *l.Worst) + ", " + c.moment(l.When)
	}
	if l.Missed > 0 {
		line.Worst += fmt.Sprintf("; not measured at %d of %d times", l.Missed, l.Of)
	}
	return line, true
}

func (c clock) sample(a record.Sample, u units) airLine {
	temp := func(v *float64) string {
		if v == nil {
			return notMeasured
		}
		return number(u.temperature(unit.Temperature(*v)), 1)
	}
	l := airLine{At: c.moment(a.At), Air: temp(a.Air), Humidity: notMeasured, Dew: temp(a.DewPoint), Coldest: temp(a.Coldest), Warmest: temp(a.Warmest), Margin: notMeasured, By: strings.Join(a.By, ", ")}
	if a.Humidity != nil {
		l.Humidity = number(*a.Humidity, 0)
	}
	if a.Margin != nil {
		l.Margin = number(u.difference(unit.TempDiff(*a.Margin)), 1)
	}
	return l
}

func (c clock) entry(e record.Entry, u units) entryLine {
	l := entryLine{ID: e.ID, When: c.moment(e.At), By: e.By}
	if e.Pass > 0 {
		l.When += ", pass " + strconv.Itoa(e.Pass)
	}
	l.What = e.Mixed(func(litres float64) string { return number(unit.In(unit.Volume(litres), u.volume), 2) + " " + u.volume })
	add := func(name, text string) {
		if text != "" {
			l.What = append(l.What, name+text)
		}
	}
	add("variant ", e.Variant)
	add("gun: ", e.Gun)
	if len(e.Wet) > 0 {
		add("wet film ", u.films(e.Wet))
	}
	for i, spot := range e.Dry {
		add(fmt.Sprintf("dry film, spot %d: ", i+1), u.films(spot))
	}
	if e.Instrument != "" {
		add("with ", e.Instrument+", "+e.Calibration())
	}
	add("", e.Note)
	if e.Struck != nil {
		l.Struck = c.struck(e.Struck)
	}
	return l
}

func (c clock) struck(s *record.Strike) string {
	return "Struck through by " + s.By + " " + c.moment(s.At) + ": " + s.Why
}

// filmText is a film's thickness; films are several, their unit once.
func (u units) filmText(um float64) string { return u.films([]float64{um}) }

func (u units) films(all []float64) string {
	decimals := 0
	if u.film == "mil" {
		decimals = 1
	}
	var words []string
	for _, um := range all {
		words = append(words, number(unit.In(unit.Film(um), u.film), decimals))
	}
	return strings.Join(words, ", ") + " " + u.film
}

// films sums up what was measured of a coat's film.
func films(k record.Coat, u units) []string {
	var all []string
	if f := k.Wet; f != nil {
		all = append(all, fmt.Sprintf("Wet film: least %s, mean %s, greatest %s of %d readings.", u.filmText(f.Least), u.filmText(f.Mean), u.filmText(f.Greatest), f.Readings))
	}
	if f := k.Dry; f != nil {
		all = append(all, fmt.Sprintf("Dry film: least %s, mean %s, greatest %s of %d spots, %d readings; the card's dry film is %s.",
			u.filmText(f.Least), u.filmText(f.Mean), u.filmText(f.Greatest), f.Spots, f.Readings, u.filmText(k.DryCard)))
	}
	return all
}

func (c clock) event(e record.Report) recordLine {
	l := recordLine{When: c.moment(e.Happened), What: string(e.Kind), By: e.Who(), Place: e.Place, Note: e.Note}
	if a, ok := actionOf(e.Kind); ok {
		l.What = a.Name
	}
	if e.Late {
		l.Entered = c.moment(e.Entered)
	}
	if e.Struck != nil {
		l.Struck = c.struck(e.Struck)
	}
	return l
}

// signature words a signature, and whether what it signed is still all there is.
func (c clock) signature(is record.Record, g record.Signature) (signedLine, error) {
	of := "the whole record"
	if g.Key.Stage != "" {
		of = g.Key.Stage + " on " + g.Key.Area
	}
	act := "signed off"
	if g.Act == record.Reopened {
		act = "opened again"
	}
	l := signedLine{What: g.By + ", " + g.Role + ", " + act + " " + of + ", " + c.moment(g.At), Remark: g.Remark, Digest: g.Digest}
	if g.Digest == "" {
		return l, nil
	}
	now, err := is.Of(g.Key).Digest()
	if now != g.Digest {
		l.Changed = "What is shown here is no longer what was signed then; the evidence bundle holds it as it was signed."
	}
	return l, err
}
