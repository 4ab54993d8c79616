package service

import (
	"cmp"
	"context"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"

	"fairwindow/conditions"
	"fairwindow/config"
	"fairwindow/daemon/record"
	"fairwindow/daemon/record/bundle"
	"fairwindow/daemon/record/paper"
	"fairwindow/daemon/store"
	"fairwindow/planner"
	"fairwindow/sensors"
)

// The readings of an evidence bundle go from so long before a coat to so long after it.
const (
	evidenceBefore = 24 * time.Hour
	evidenceAfter  = 48 * time.Hour
)

// readMe is the first thing that somebody without the program opens.
const readMe = `This is the record of the coats on one boat, with the evidence behind it.

record.pdf       to read and to print
record.csv       the same as a table, for a spreadsheet
record.json      the same as data; its SHA-256 is the digest that is signed
signatures.json  who signed, when, and which digest
signed/          each record as it was signed
presses.json     all that people reported, those struck through and the strikes
                 among them; overrides are those of kind "override", with their reason
entries.json     all that people entered: batches, amounts, films
terms/           the cards and the limits that were in force for each coat
readings.csv     what the instruments said, as it came, with the doubts about it
forecasts/       the forecasts that there were at each coat
plans/           the plan behind each coat, and problems/ what it was made from;
                 they tell of the yard's other boats too
MANIFEST         the SHA-256 of each file: "sha256sum -c MANIFEST" checks them

Times are UTC unless they say otherwise; temperatures are in degrees Celsius, films in
micrometres. What is empty or null was not measured. Nothing here was modelled.

The maker's instructions, the site's rules, local codes and licensed practice decide.
`

// Evidence writes the bundle of a boat's record and all that it rests on.
func (s *Service) Evidence(ctx context.Context, boat string, w io.Writer, style paper.Style) error {
	s.mu.Lock()
	f := s.facts
	s.mu.Unlock()
	return evidence(ctx, s.store, &f, boat, w, style)
}

// EvidenceOf is Evidence from what a store keeps; for who has no service.
func EvidenceOf(ctx context.Context, from *store.Store, y config.Yard, boat string, w io.Writer, style paper.Style) error {
	f := factsOf(y.WithDefaults())
	if err := f.recallWork(ctx, from); err != nil {
		return err
	}
	return evidence(ctx, from, &f, boat, w, style)
}

// bundler writes one bundle.
type bundler struct {
	*bundle.Writer
	from  *store.Store
	facts *facts
	boat  string
}

func evidence(ctx context.Context, from *store.Store, f *facts, boat string, w io.Writer, style paper.Style) error {
	r, err := recordOf(ctx, from, f.yard, f, boat)
	if err != nil {
		return err
	}
	b := bundler{bundle.NewWriter(w, r.Newest()), from, f, boat}
	parts := []struct {
		name  string
		write func(io.Writer) error
	}{
		{"README.txt", func(w io.Writer) error { _, err := io.WriteString(w, readMe); return err }},
		{"record.pdf", func(w io.Writer) error { return paper.Write(w, r, style) }},
		{"record.csv", r.CSV},
		{"record.json", func(w io.Writer) error {
			text, err := r.Canonical()
			if err == nil {
				_, err = w.Write(text)
			}
			return err
		}},
		{"signatures.json", inJSON(append([]record.Signature{}, r.Signatures...))},
		{"presses.json", inJSON(onBoat(f.presses, boat))},
		{"readings.csv", func(w io.Writer) error { return b.readings(ctx, w, r) }},
	}
	for _, p := range parts {
		if err := b.Add(p.name, p.write); err != nil {
			return err
		}
	}
	for _, more := range []func(context.Context, record.Record) error{b.entered, b.signed, b.terms, b.forecasts, b.plans} {
		if err := more(ctx, r); err != nil {
			return err
		}
	}
	return b.Close()
}

// inJSON writes a value as JSON.
func inJSON(v any) func(io.Writer) error {
	return func(w io.Writer) error {
		out := json.NewEncoder(w)
		out.SetIndent("", "  ")
		return out.Encode(v)
	}
}

func (b bundler) entered(ctx context.Context, _ record.Record) error {
	entries, err := b.from.Entries(ctx, b.boat)
	if err != nil {
		return err
	}
	return b.Add("entries.json", inJSON(append([]record.Entry{}, entries...)))
}

func (b bundler) signed(ctx context.Context, r record.Record) error {
	for _, g := range r.Signatures {
		if g.Act != record.Signed {
			continue
		}
		text, err := b.from.SignedRecord(ctx, g.ID)
		if err != nil {
			return err
		}
		if err := b.Add(bundle.SignedName(g), func(w io.Writer) error { _, err := w.Write(text); return err }); err != nil {
			return err
		}
	}
	return nil
}

func (b bundler) terms(ctx context.Context, _ record.Record) error {
	digests := map[string]bool{}
	for _, p := range onBoat(b.facts.presses, b.boat) {
		if p.Terms != "" {
			digests[p.Terms] = true
		}
	}
	texts, err := b.from.Terms(ctx, digests)
	if err != nil {
		return err
	}
	names := make([]string, 0, len(texts))
	for name := range texts {
		names = append(names, name)
	}
	slices.Sort(names)
	for _, name := range names {
		if err := b.Add("terms/"+name+".json", func(w io.Writer) error { _, err := w.Write(texts[name]); return err }); err != nil {
			return err
		}
	}
	return nil
}

func (b bundler) forecasts(ctx context.Context, r record.Record) error {
	n, seen := 0, map[string]bool{}
	for _, c := range r.Coats {
		issued, err := b.from.Issues(ctx, c.Started.Add(-evidenceBefore), later(c.Started, c.Ended), time.Millisecond)
		if err != nil {
			return err
		}
		for _, f := range issued {
			id := f.Source + f.Issued.String()
			if seen[id] {
				continue
			}
			seen[id] = true
			n++
			if err := b.Add(fmt.Sprintf("forecasts/%04d.json", n), inJSON(f)); err != nil {
				return err
			}
		}
	}
	return nil
}

func later(a, b time.Time) time.Time {
	if b.After(a) {
		return b
	}
	return a
}

func (b bundler) plans(ctx context.Context, r record.Record) error {
	plans, problems := map[int64]bool{}, map[string]bool{}
	for _, c := range r.Coats {
		row, ok, err := b.from.PlanBehind(ctx, c.Started)
		if err != nil {
			return err
		}
		if !ok || plans[row.ID] {
			continue
		}
		plans[row.ID] = true
		type kept struct {
			ID       int64        `json:"id"`
			At       time.Time    `json:"at"`
			Released bool         `json:"released"`
			By       string       `json:"by,omitempty"`
			Problem  string       `json:"problem"`
			Plan     planner.Plan `json:"plan"`
		}
		if err := b.Add(fmt.Sprintf("plans/%d.json", row.ID), inJSON(kept{row.ID, row.At, row.Released, row.ReleasedBy, row.Problem, row.Plan})); err != nil {
			return err
		}
		if problems[row.Problem] {
			continue
		}
		problems[row.Problem] = true
		problem, err := b.from.Problem(ctx, row.Problem)
		if err != nil {
			return err
		}
		if err := b.Add("problems/"+row.Problem+".json", inJSON(problem)); err != nil {
			return err
		}
	}
	return nil
}

// readings writes what was read around each coat, of the places where the boat stood, of
// the boat itself and outdoors: a line for each value, a day at a time.
func (b bundler) readings(ctx context.Context, w io.Writer, r record.Record) error {
	out := csv.NewWriter(w)
	out.UseCRLF = true
	if err := out.Write([]string{"at_utc", "received_utc", "by_the_device's_clock", "source", "place", "boat", "of", "value", "doubts", "as_it_came"}); err != nil {
		return err
	}
	for _, span := range coatSpans(r) {
		for from := span.From; from.Before(span.To); from = from.Add(24 * time.Hour) {
			to := from.Add(24 * time.Hour)
			if to.After(span.To) {
				to = span.To
			}
			if err := b.day(ctx, out, r, from, to); err != nil {
				return err
			}
		}
	}
	out.Flush()
	return out.Error()
}

func (b bundler) day(ctx context.Context, out *csv.Writer, r record.Record, from, to time.Time) error {
	var all []sensors.Reading
	seen := map[int64]bool{}
	queries := []store.Query{{Place: config.Outdoors, From: from, To: to}, {Boat: b.boat, From: from, To: to}}
	for _, place := range placesIn(r, from, to) {
		queries = append(queries, store.Query{Place: place, From: from, To: to})
	}
	for _, q := range queries {
		some, err := b.from.Readings(ctx, q)
		if err != nil {
			return err
		}
		for _, one := range some {
			if !seen[one.ID] && (one.Boat == "" || one.Boat == b.boat) {
				seen[one.ID] = true
				all = append(all, one)
			}
		}
	}
	slices.SortFunc(all, func(a, b sensors.Reading) int { return cmp.Or(a.At.Compare(b.At), cmp.Compare(a.ID, b.ID)) })
	for _, one := range all {
		if err := eachValue(out, one); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}

// eachValue writes a reading's values, the doubts about each beside it.
func eachValue(out *csv.Writer, r sensors.Reading) error {
	names := make([]string, 0, len(r.Values))
	for v := range r.Values {
		names = append(names, string(v))
	}
	slices.Sort(names)
	if len(names) == 0 {
		names = []string{""}
	}
	for _, name := range names {
		var doubts []string
		for _, f := range r.Flags {
			if f.Of == "" || string(f.Of) == name || name == "" {
				doubts = append(doubts, strings.TrimSpace(string(f.Fault)+" "+f.Note))
			}
		}
		value := ""
		if v, ok := r.Values[conditions.Variable(name)]; ok {
			value = strconv.FormatFloat(v, 'f', -1, 64)
		}
		if err := out.Write([]string{
			r.At.UTC().Format(time.RFC3339Nano), r.Received.UTC().Format(time.RFC3339Nano), strconv.FormatBool(r.FromDevice),
			record.Guarded(r.Source), record.Guarded(r.Place), record.Guarded(r.Boat), name, value, record.Guarded(strings.Join(doubts, "; ")), record.Guarded(r.Raw),
		}); err != nil {
			return err
		}
	}
	return nil
}
