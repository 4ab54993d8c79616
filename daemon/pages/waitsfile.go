package pages

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"net/http"
	"strconv"
	"strings"
	"time"

	"fairwindow/config"
	"fairwindow/daemon/record"
	"fairwindow/planner"
	"fairwindow/planner/waits"
)

// waitsFile hands out what the page shows, for a spreadsheet or a program.
func (p *pages) waitsFile(w http.ResponseWriter, r *http.Request) error {
	name := r.PathValue("file")
	var write func(io.Writer) error
	c, q := p.clock(r), r.URL.Query()
	switch name {
	case "deferrals.csv", "totals.csv", "waits.json":
		all, err := p.Waits.PutOff(r.Context())
		if err != nil {
			return fmt.Errorf("what was put off: %w", err)
		}
		yard, only := p.Plans.Yard(), onlyOf(q)
		q.Set("all", "1") // a program counts for itself
		some := chosen(all, only, q, c)
		sum := waits.Sum(waits.Lines(all, yard, c.zone), only, yard.Rates)
		switch name {
		case "deferrals.csv":
			write = func(w io.Writer) error { return DeferralsCSV(w, some, only, c.zone) }
		case "totals.csv":
			write = func(w io.Writer) error { return TotalsCSV(w, sum) }
		default:
			write = func(w io.Writer) error { return WaitsJSON(w, some, sum) }
		}
	case "lost.csv", "lost.json":
		rule := p.Plans.Yard().LostDay
		if rule == nil {
			return missing("The yard file has no rule for lost days, so there is no statement.")
		}
		month := c.month(q.Get("month"))
		days, err := p.Waits.LostDays(r.Context(), month, month.AddDate(0, 1, 0))
		if err != nil {
			return fmt.Errorf("lost days: %w", err)
		}
		write = func(w io.Writer) error { return p.lostCSV(w, days, rule, c) }
		if name == "lost.json" {
			write = func(w io.Writer) error { return lostJSON(w, days, rule) }
		}
	default:
		return missing("There is no such file here. Waits has each time and sums as CSV, and all of it as JSON.")
	}
	kind := "text/csv; charset=utf-8; header=present" // RFC 4180, 3
	if strings.HasSuffix(name, ".json") {
		kind = "application/json"
	}
	w.Header().Set("Content-Type", kind)
	w.Header().Set("Content-Disposition", `attachment; filename="`+name+`"`)
	if err := write(w); err != nil {
		return errGone
	}
	return nil
}

// table writes rows as RFC 4180 has them: lines end in CRLF, quotes are doubled.
func table(w io.Writer, rows [][]string) error {
	out := csv.NewWriter(w)
	out.UseCRLF = true
	for _, row := range rows {
		for i := range row {
			row[i] = record.Guarded(row[i])
		}
		if err := out.Write(row); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}

// stamp is a time with its offset, for a program; empty for none.
func stamp(t time.Time, zone *time.Location) string {
	if t.IsZero() {
		return ""
	}
	return t.In(zone).Format(time.RFC3339)
}

// thousandths is a number for a spreadsheet, without digits that nobody measured.
func thousandths(v float64) string { return figure(math.Round(v*1000)/1000, -1) }

// DeferralsCSV writes each deferral as a line; counts_h adds up to the hours of the sums.
func DeferralsCSV(w io.Writer, all []waits.Entry, only waits.Only, zone *time.Location) error {
	c := clock{zone: zone}
	rows := [][]string{{"told_at", "told_by", "plan", "boat", "area", "stage", "kind", "place", "crew", "first_told", "told_before", "told_now",
		"later_h", "counts_h", "cause", "evidence", "limit", "limit_of", "value", "value_at", "forecast_issued", "fixed_launch", "moved_only_with_another"}}
	for _, e := range all {
		ev := e.Wait.Evidence
		value := ""
		if ev.Bound.Of != "" {
			value = thousandths(inUnit(ev.Bound.Of, ev.Value, unitOf(ev.Bound))) + " " + signOf(ev.Bound.Of, unitOf(ev.Bound))
		}
		plan := ""
		if e.Plan != 0 {
			plan = strconv.FormatInt(e.Plan, 10)
		}
		rows = append(rows, []string{
			stamp(e.At, zone), e.By, plan, e.Key.Boat, e.Key.Area, e.Key.Stage, string(e.Kind), e.Place, e.Crew,
			stamp(e.First, zone), stamp(e.From, zone), stamp(e.To, zone), thousandths(e.Later().Hours()), thousandths(only.Counts(e, zone).Hours()),
			CauseName(e.Cause), c.because(e.Key, e.Wait), ev.Bound.Written, ev.Bound.Owner, value, stamp(ev.When, zone), stamp(ev.Issued, zone),
			strconv.FormatBool(e.Fixes), strconv.FormatBool(e.Again),
		})
	}
	return table(w, rows)
}

// TotalsCSV writes the four tables one under the other.
func TotalsCSV(w io.Writer, sum waits.Totals) error {
	head := []string{"by", "name", "hours"}
	if sum.Cost != nil {
		head = append(head, "cost", "currency")
	}
	rows := [][]string{head}
	add := func(by, name string, hours float64, cost *float64) {
		row := []string{by, name, thousandths(hours)}
		if cost != nil {
			row = append(row, thousandths(*cost), sum.Money)
		}
		rows = append(rows, row)
	}
	for _, t := range []struct {
		by   string
		rows []waits.Row
	}{{"cause", sum.Causes}, {"place", sum.Places}, {"boat", sum.Boats}, {"week", sum.Weeks}} {
		for _, r := range t.rows {
			name := r.Name
			if t.by == "cause" {
				name = CauseName(planner.Cause(name))
			}
			add(t.by, name, r.Hours, r.Cost)
		}
	}
	add("all", "", sum.Hours, sum.Cost)
	return table(w, rows)
}

// WaitsJSON writes deferrals and totals as one object.
func WaitsJSON(w io.Writer, all []waits.Entry, sum waits.Totals) error {
	if all == nil {
		all = []waits.Entry{}
	}
	return indented(w, struct {
		Deferrals []waits.Entry `json:"deferrals"`
		Totals    waits.Totals  `json:"totals"`
	}{all, sum})
}

func lostJSON(w io.Writer, days []waits.LostDay, rule *config.LostDay) error {
	type judged struct {
		waits.LostDay
		Counts bool `json:"counts"`
	}
	all := []judged{}
	for _, d := range days {
		all = append(all, judged{d, d.Counts()})
	}
	return indented(w, struct {
		Rule string   `json:"rule"`
		Days []judged `json:"days"`
	}{lostRule(rule), all})
}

func indented(w io.Writer, v any) error {
	out := json.NewEncoder(w)
	out.SetIndent("", "  ")
	return out.Encode(v)
}
