package paper

import (
	"fmt"
	"strings"
	"time"

	"fairwindow/conditions"
	"fairwindow/daemon/record"
)

// record lays out all of it.
func (s *sheet) record(r record.Record) error {
	s.title(r.Boat.Name, 18)
	facts := [][2]string{{"Yard", r.Yard}, {"Size", r.Boat.Length + " × " + r.Boat.Beam}}
	if !r.Boat.Arrived.IsZero() {
		facts = append(facts, [2]string{"Here since", s.moment(r.Boat.Arrived)})
	}
	if !r.Boat.Launched.IsZero() {
		facts = append(facts, [2]string{"Launched", s.moment(r.Boat.Launched)})
	}
	s.facts(append(facts, [2]string{"Times", "of the yard, " + r.Zone}))
	var areas []row
	for _, a := range r.Boat.Areas {
		areas = append(areas, row{cells: []string{a.Name, a.System, a.Size}})
	}
	s.table([]column{{"Area", 2}, {"System", 4}, {"Size", 1}}, areas)
	for _, c := range r.Coats {
		s.coat(c)
	}
	s.reported("All that was reported", r.Work)
	s.instruments(r.Instruments)
	return s.signatures(r)
}

func (s *sheet) coat(c record.Coat) {
	heading := fmt.Sprintf("%s: %s", c.Area, c.Stage)
	if c.Rejected != "" {
		heading += " (rejected)"
	}
	s.room(60)
	s.title(heading, 13)
	if c.Illustrative {
		s.words("I", "Illustrative card: made up, not a maker's figures.")
	}
	if c.Later {
		s.words("I", "Card and limits are those of the yard file when this was made: those in force when the coat was reported were not kept.")
	}
	ended := s.moment(c.Ended)
	if c.Ended.IsZero() {
		ended = "not reported"
	}
	s.facts([][2]string{
		{"Card", fmt.Sprintf("%s rev %d", c.Card, c.Revision) + comma(c.Material)}, {"Variant", variants(c)}, {"Place", c.Place},
		{"Who", c.By + comma(strings.Join(c.Crews, ", "))}, {"Started", s.moment(c.Started)}, {"Last pass ended", ended},
		{"Rejected", c.Rejected}, {"Over the coat before", s.recoat(c.Recoat)}, {"Sanded before", s.sanded(c.Sandings)},
	})
	s.passes(c)
	s.limits(c)
	s.air(c)
	s.entries(c)
	var checks []row
	for _, k := range c.Checks {
		checks = append(checks, row{[]string{s.moment(k.At), k.Who(), k.Ask, k.Said()}, s.struck(k.Struck)})
	}
	s.table([]column{{"Answered", 2}, {"By", 1.5}, {"Asked before the start", 4}, {"Answer", 2}}, checks)
	var told []record.Report
	for _, e := range c.Events {
		if e.Kind != "pass_done" || e.Struck != nil || e.Note != "" {
			told = append(told, e)
		}
	}
	s.reported("", told)
}

func comma(text string) string {
	if text == "" {
		return ""
	}
	return ", " + text
}

func variants(c record.Coat) string {
	var all []string
	for _, e := range c.Entries {
		if e.Variant != "" && e.Struck == nil {
			all = append(all, e.Variant)
		}
	}
	if len(all) == 0 {
		return "not entered"
	}
	return strings.Join(all, ", ")
}

// Kept words how a recoat window was kept, on paper and on the pages.
func Kept(is record.RecoatKept) string {
	switch is {
	case record.Within:
		return "within its recoat window"
	case record.TooEarly:
		return "before its recoat window opened"
	case record.TooLate:
		return "after its recoat window closed"
	case record.Sanded:
		return "sanded between, so that its recoat window does not count"
	}
	return "whether within its recoat window is not known"
}

// recoat words the wait since the coat before.
func (s *sheet) recoat(r *record.Recoat) string {
	if r == nil {
		return "no coat of this record lies under it"
	}
	words := fmt.Sprintf("%.1f h after %s, whose last pass ended %s: ", r.Hours, r.Over, s.moment(r.Since))
	words += Kept(r.Kept)
	if r.Slow != nil {
		words += fmt.Sprintf("; slowest side %.0f %% of the way to recoat", *r.Slow*100)
	}
	if r.Fast != nil {
		words += fmt.Sprintf("; fastest side %.0f %% of the way to the last recoat", *r.Fast*100)
	}
	if r.Uncounted > 0 {
		words += fmt.Sprintf("; %.1f h not measured or beyond the card's figures", r.Uncounted)
	}
	return words
}

func (s *sheet) sanded(all []record.Sanding) string {
	var words []string
	for _, a := range all {
		w := a.Stage
		if a.Grit > 0 {
			w += fmt.Sprintf(" (grit %d)", a.Grit)
		}
		words = append(words, w+" ended "+s.moment(a.Ended)+comma(a.By))
	}
	return strings.Join(words, "; ")
}

func (s *sheet) passes(c record.Coat) {
	var rows []row
	for _, p := range c.Passes {
		flash := ""
		if p.Number > 1 {
			flash = fmt.Sprintf("%.0f min; card: %.0f", p.Flash, p.Least)
			if p.Greatest > 0 {
				flash += fmt.Sprintf(" to %.0f", p.Greatest)
			}
			flash += " min between passes"
			if p.Short {
				flash += ". TOO SHORT"
			}
		}
		rows = append(rows, row{cells: []string{fmt.Sprint(p.Number), s.moment(p.From), s.moment(p.To), s.entered(p.Entered, p.Late), p.By, flash}})
	}
	s.table([]column{{"Pass", 1}, {"Began", 2.2}, {"Ended", 2.2}, {"Entered", 2.2}, {"By", 1.5}, {"Since the end of the pass before", 3.4}}, rows)
}

// entered is when something was entered; that it was late is said.
func (s *sheet) entered(t time.Time, late bool) string {
	switch {
	case t.IsZero():
		return ""
	case late:
		return s.moment(t) + ", late"
	}
	return s.moment(t)
}

func (s *sheet) limits(c record.Coat) {
	var rows []row
	for _, l := range c.Limits {
		kept := map[conditions.Answer]string{conditions.Yes: "within", conditions.No: "OUTSIDE", conditions.Undecided: "not known throughout"}[l.Kept()]
		if l.IfKnown && l.Margin == nil {
			continue // nobody wrote it, and nobody measured it
		}
		worst := notMeasured
		if l.Worst != nil {
			worst = s.Against(l.Bound, *l.Worst) + ", " + s.moment(l.When)
		}
		if l.Missed > 0 {
			worst += fmt.Sprintf("; not measured at %d of %d times", l.Missed, l.Of)
		}
		rows = append(rows, row{cells: []string{kept, worst, l.Owner}})
	}
	s.table([]column{{"Kept", 1.6}, {"Nearest or worst", 6}, {"Whose", 2.6}}, rows)
}

func (s *sheet) air(c record.Coat) {
	var rows []row
	for _, a := range c.Air {
		humidity := notMeasured
		if a.Humidity != nil {
			humidity = fmt.Sprintf("%.0f", *a.Humidity)
		}
		rows = append(rows, row{cells: []string{s.moment(a.At), s.temperature(a.Air), humidity, s.temperature(a.DewPoint), s.temperature(a.Coldest), s.temperature(a.Warmest),
			s.difference(a.Margin), strings.Join(a.By, ", ")}})
	}
	s.table([]column{{"Measured", 2.3}, {"Air " + s.degrees(), 1.4}, {"Humidity %", 1.4}, {"Dew point " + s.degrees(), 1.4}, {"Hull coldest " + s.degrees(), 1.4},
		{"Hull warmest " + s.degrees(), 1.4}, {"Margin " + s.apart(), 1.4}, {"By", 1.9}}, rows)
	for _, g := range c.Gaps {
		s.words("B", fmt.Sprintf("Not measured: %s, %s to %s.", g.Lacks, s.moment(g.From), s.moment(g.To)))
	}
	s.Ln(1)
}

func (s *sheet) entries(c record.Coat) {
	var rows []row
	for _, e := range c.Entries {
		all := e.Mixed(s.amount)
		if e.Variant != "" {
			all = append(all, "variant "+e.Variant)
		}
		if e.Gun != "" {
			all = append(all, "gun: "+e.Gun)
		}
		if len(e.Wet) > 0 {
			all = append(all, "wet film "+s.films(e.Wet))
		}
		for i, spot := range e.Dry {
			all = append(all, fmt.Sprintf("dry film, spot %d: %s", i+1, s.films(spot)))
		}
		if e.Instrument != "" {
			all = append(all, "with "+e.Instrument+", "+e.Calibration())
		}
		if e.Note != "" {
			all = append(all, e.Note)
		}
		of := ""
		if e.Pass > 0 {
			of = fmt.Sprint(e.Pass)
		}
		rows = append(rows, row{[]string{s.moment(e.At), of, strings.Join(all, "; "), e.By}, s.struck(e.Struck)})
	}
	s.table([]column{{"Measured, mixed", 2}, {"Pass", 1}, {"What", 6}, {"By", 2}}, rows)
	if c.Wet != nil {
		s.words("", fmt.Sprintf("Wet film: least %s, mean %s, greatest %s of %d readings.", s.film(c.Wet.Least), s.film(c.Wet.Mean), s.film(c.Wet.Greatest), c.Wet.Readings))
	}
	if c.Dry != nil {
		s.words("", fmt.Sprintf("Dry film: least %s, mean %s, greatest %s of %d spots, %d readings; the card's dry film is %s.",
			s.film(c.Dry.Least), s.film(c.Dry.Mean), s.film(c.Dry.Greatest), c.Dry.Spots, c.Dry.Readings, s.film(c.DryCard)))
	}
	s.Ln(1)
}

func (s *sheet) films(all []float64) string {
	var words []string
	for _, um := range all {
		words = append(words, s.film(um))
	}
	return strings.Join(words, ", ")
}

// reported is a table of what people reported, what was struck through struck.
func (s *sheet) reported(title string, all []record.Report) {
	if len(all) == 0 {
		return
	}
	if title != "" {
		s.title(title, 13)
	}
	var rows []row
	for _, p := range all {
		what := strings.ReplaceAll(string(p.Kind), "_", " ")
		if p.Pass > 0 {
			what += fmt.Sprintf(" %d", p.Pass)
		}
		if p.Stage != "" && title != "" {
			what = p.Area + ", " + p.Stage + ": " + what
		}
		if !p.Until.IsZero() {
			what += " to " + s.moment(p.Until)
		}
		if p.Note != "" {
			what += ". " + p.Note
		}
		rows = append(rows, row{[]string{s.moment(p.Happened), s.entered(p.Entered, p.Late), what, p.Place, p.Who()}, s.struck(p.Struck)})
	}
	s.table([]column{{"Happened", 2}, {"Entered", 2.2}, {"Reported", 5}, {"Place", 1.3}, {"By", 1.5}}, rows)
}

// struck words who struck something through; nothing where nobody did.
func (s *sheet) struck(k *record.Strike) string {
	if k == nil {
		return ""
	}
	return fmt.Sprintf("Struck by %s %s: %s", k.By, s.moment(k.At), k.Why)
}

func (s *sheet) instruments(all []record.Instrument) {
	if len(all) == 0 {
		return
	}
	s.title("Instruments", 13)
	var rows []row
	for _, i := range all {
		due := "not given"
		if i.Due != "" {
			due = i.Due
		}
		rows = append(rows, row{cells: []string{i.Name, due}})
	}
	s.table([]column{{"Instrument", 3}, {"Calibration due", 1}}, rows)
}

// signatures end the record, with the digest of what is signed.
func (s *sheet) signatures(r record.Record) error {
	s.room(40)
	s.title("Signed", 13)
	if len(r.Signatures) == 0 {
		s.words("", "Nobody has signed this record off.")
	}
	for _, g := range r.Signatures {
		s.room(20)
		of := "the whole record"
		if g.Key.Stage != "" {
			of = g.Key.Area + ", " + g.Key.Stage
		}
		s.words("B", fmt.Sprintf("%s, %s: %s %s, %s", g.By, g.Role, strings.ReplaceAll(string(g.Act), "signed", "signed off"), of, s.moment(g.At)))
		if g.Remark != "" {
			s.words("", g.Remark)
		}
		if g.Digest != "" {
			s.words("", "SHA-256 "+g.Digest)
			now, err := r.Of(g.Key).Digest()
			if err != nil {
				return err
			}
			if now != g.Digest {
				s.words("I", "What is printed here is not what was signed then: the record has been added to or is read by other terms. The evidence bundle holds it as it was signed.")
			}
		}
		s.Ln(1)
	}
	digest, err := r.Digest()
	if err != nil {
		return err
	}
	s.words("", "SHA-256 of this record as printed: "+digest)
	return nil
}
