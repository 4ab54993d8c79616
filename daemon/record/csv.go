package record

import (
	"encoding/csv"
	"io"
	"strconv"
	"strings"
	"time"
)

// columns are those of the CSV, units in their names.
func columns() []string {
	return []string{
		"row", "area", "stage", "pass", "card", "what", "at_utc", "entered_utc", "until_utc", "place", "by", "number",
		"air_C", "humidity_pct", "dew_point_C", "hull_coldest_C", "hull_warmest_C", "margin_K",
		"wet_film_um", "dry_film_um", "spot", "litres", "batch", "instrument", "note", "struck_by", "struck_utc", "struck_why",
	}
}

// sheet gathers rows by the names of their columns.
type sheet struct {
	out  *csv.Writer
	cols []string
	err  error
	same map[string]string // of the coat at hand
}

// CSV writes the record as RFC 4180 with a header: a row for each thing reported, each
// sample of the conditions, each answer to a go / no-go list, each film reading, each pot and each signature. Text that a
// spreadsheet would take for a formula begins with an apostrophe.
func (r Record) CSV(w io.Writer) error {
	s := &sheet{out: csv.NewWriter(w), cols: columns()}
	s.out.UseCRLF = true
	s.err = s.out.Write(s.cols)
	for _, p := range r.Work {
		s.report(p)
	}
	for _, c := range r.Coats {
		s.coat(c)
	}
	s.same = nil
	for _, g := range r.Signatures {
		s.row(map[string]string{
			"row": "signature", "area": g.Key.Area, "stage": g.Key.Stage, "what": string(g.Act), "at_utc": stamp(g.At), "by": g.By + ", " + g.Role,
			"note": strings.TrimSpace(g.Remark + " " + g.Digest),
		})
	}
	s.out.Flush()
	if s.err != nil {
		return s.err
	}
	return s.out.Error()
}

func (s *sheet) row(values map[string]string) {
	row := make([]string, len(s.cols))
	for i, name := range s.cols {
		v, own := values[name]
		if !own {
			v = s.same[name]
		}
		row[i] = Guarded(v)
	}
	if s.err == nil {
		s.err = s.out.Write(row)
	}
}

// Guarded keeps a spreadsheet from running a text: what begins with =, +, - or @, a tab
// or the end of a line, which OWASP names for CSV injection, gets an apostrophe, unless it is
// a number.
func Guarded(v string) string {
	if v == "" || !strings.ContainsRune("=+-@\t\r\n", rune(v[0])) {
		return v
	}
	if _, err := strconv.ParseFloat(v, 64); err == nil {
		return v
	}
	return "'" + v
}

func (s *sheet) report(p Report) {
	values := map[string]string{
		"row": "report", "area": p.Area, "stage": p.Stage, "pass": whole(p.Pass), "what": string(p.Kind), "at_utc": stamp(p.Happened),
		"entered_utc": stamp(p.Entered), "until_utc": stamp(p.Until), "place": p.Place, "by": p.Who(), "number": strconv.FormatInt(p.ID, 10), "note": p.Note,
	}
	strike(values, p.Struck)
	s.row(values)
}

func (s *sheet) coat(c Coat) {
	s.same = map[string]string{"area": c.Area, "stage": c.Stage, "card": c.Card + " rev " + strconv.Itoa(c.Revision), "place": c.Place}
	for _, a := range c.Air {
		values := map[string]string{
			"row": "conditions", "what": "measured", "at_utc": stamp(a.At), "air_C": maybe(a.Air), "humidity_pct": maybe(a.Humidity), "dew_point_C": maybe(a.DewPoint),
			"hull_coldest_C": maybe(a.Coldest), "hull_warmest_C": maybe(a.Warmest), "margin_K": maybe(a.Margin), "instrument": strings.Join(a.By, "; "),
		}
		if !a.Measured() {
			values["what"] = "not measured"
		}
		s.row(values)
	}
	for _, g := range c.Gaps {
		s.row(map[string]string{"row": "gap", "what": "not measured", "at_utc": stamp(g.From), "until_utc": stamp(g.To), "note": g.Lacks})
	}
	for _, k := range c.Checks {
		values := map[string]string{"row": "check", "what": k.Ask, "at_utc": stamp(k.At), "by": k.Who(), "note": k.Said()}
		strike(values, k.Struck)
		s.row(values)
	}
	for _, e := range c.Entries {
		s.entry(e)
	}
}

// entry is a row for each pot, each reading, and what else was written.
func (s *sheet) entry(e Entry) {
	with := func(more map[string]string) {
		values := map[string]string{
			"row": "entry", "pass": whole(e.Pass), "at_utc": stamp(e.At), "entered_utc": stamp(e.Entered), "by": e.By, "number": strconv.FormatInt(e.ID, 10),
		}
		strike(values, e.Struck)
		for k, v := range more {
			values[k] = v
		}
		s.row(values)
	}
	instrument := e.Instrument
	if e.Due != "" {
		instrument += ", " + e.Calibration()
	}
	for _, p := range []struct {
		name string
		Pot
	}{{"base", e.Base}, {"hardener", e.Hardener}, {"reducer", e.Reducer}} {
		if p.Pot != (Pot{}) {
			with(map[string]string{"what": p.name, "batch": p.Batch, "litres": litres(p.Litres)})
		}
	}
	for _, um := range e.Wet {
		with(map[string]string{"what": "wet film", "wet_film_um": float(um), "instrument": instrument})
	}
	for i, spot := range e.Dry {
		for _, um := range spot {
			with(map[string]string{"what": "dry film", "dry_film_um": float(um), "spot": strconv.Itoa(i + 1), "instrument": instrument})
		}
	}
	for _, word := range [][2]string{{"variant", e.Variant}, {"gun", e.Gun}, {"remark", e.Note}} {
		if word[1] != "" {
			with(map[string]string{"what": word[0], "note": word[1]})
		}
	}
}

func strike(values map[string]string, s *Strike) {
	if s != nil {
		values["struck_by"], values["struck_utc"], values["struck_why"] = s.By, stamp(s.At), s.Why
	}
}

func stamp(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.UTC().Format(time.RFC3339)
}

func float(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

func maybe(v *float64) string {
	if v == nil {
		return ""
	}
	return float(*v)
}

func litres(v float64) string {
	if v == 0 {
		return ""
	}
	return float(v)
}

func whole(n int) string {
	if n == 0 {
		return ""
	}
	return strconv.Itoa(n)
}
