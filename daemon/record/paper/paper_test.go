package paper

import (
	"bytes"
	"fmt"
	"io"
	"strings"
	"testing"
	"time"

	"github.com/ledongthuc/pdf"
	"github.com/sebdah/goldie/v2"

	"fairwindow/conditions"
	"fairwindow/daemon/record"
	"fairwindow/planner"
)

// Yard, boat and coat are invented, and only for these tests.

func at(day, hour, minute int) time.Time {
	return time.Date(2026, 5, 3+day, hour, minute, 0, 0, time.UTC)
}

func is(v float64) *float64 { return &v }

func testRecord() record.Record {
	sample := record.Sample{At: at(1, 8, 0), Air: is(20), Humidity: is(60), DewPoint: is(12), Coldest: is(18), Warmest: is(19.04), Margin: is(6), By: []string{"probe 1"}}
	bound := conditions.Bound{Of: conditions.OfMargin, Least: true, At: 3, Written: "3 K", Owner: "card Gloss rev 2"}
	struck := &record.Strike{By: "Rui", At: at(1, 12, 0), Why: "it was another boat"}
	reports := []record.Report{
		{ID: 1, Kind: planner.Arrived, Place: "booth", Happened: at(1, 7, 0), Entered: at(1, 7, 1), By: "Ines"},
		{ID: 2, Kind: planner.Override, Area: "topsides", Stage: "first", Place: "booth", Happened: at(1, 8, 0), Entered: at(1, 11, 0), Late: true, By: "Ines", Note: "test panel stayed clear"},
		{ID: 3, Kind: planner.Rejected, Area: "topsides", Stage: "first", Place: "booth", Happened: at(1, 10, 0), Entered: at(1, 10, 1), By: "Ines", Note: "runs, çã ß µ", Struck: struck},
	}
	r := record.Record{
		Form: 1, Yard: "Test Yard", Zone: "UTC",
		Boat: record.Boat{Name: "Alder", Length: "14 m", Beam: "4 m", Arrived: at(1, 7, 0), Areas: []record.Area{{Name: "topsides", System: "two coats", Size: "40 m2"}}},
		Coats: []record.Coat{{
			Area: "topsides", Stage: "first", Card: "Gloss", Revision: 2, Material: "polyurethane", Illustrative: true, Place: "booth", By: "Ines", Crews: []string{"paint"},
			Started: at(1, 8, 0), Ended: at(1, 8, 50), Done: true, DryCard: 40,
			Passes: []record.Pass{{Number: 1, From: at(1, 8, 0), To: at(1, 8, 20), Entered: at(1, 8, 21), By: "Ines"},
				{Number: 2, From: at(1, 8, 20), To: at(1, 8, 50), Entered: at(1, 11, 0), Late: true, By: "Ines", Flash: 30, Least: 45, Greatest: 60, Short: true}},
			Events:   reports[1:],
			Limits:   []record.Limit{{Bound: bound, Worst: is(6), Margin: is(3), When: at(1, 8, 0), Missed: 1, Of: 3}},
			Air:      []record.Sample{sample, {At: at(1, 8, 30), By: []string{}}},
			Gaps:     []record.Gap{{From: at(1, 8, 30), To: at(1, 8, 50), Lacks: "air and hull"}},
			Entries:  []record.Entry{{ID: 1, At: at(1, 8, 10), By: "Ines", Variant: "slow", Base: record.Pot{Batch: "B-17", Litres: 2.4}, Wet: []float64{110, 120}, Instrument: "comb 2", Due: "2027-01-31"}, {ID: 2, At: at(1, 8, 12), By: "Ines", Gun: "wrong gun", Struck: struck}},
			Wet:      &record.Film{Readings: 2, Least: 110, Mean: 115, Greatest: 120},
			Dry:      &record.Film{Readings: 6, Spots: 2, Least: 40, Mean: 42, Greatest: 44},
			Recoat:   &record.Recoat{Over: "primer", Since: at(0, 8, 0), Hours: 24, Slow: is(1.5), Fast: is(.5), Uncounted: 2, Kept: record.Within},
			Sandings: []record.Sanding{{Stage: "rub down", Grit: 400, Ended: at(0, 12, 0), By: "Ines"}},
			Checks:   []record.Check{{At: at(1, 7, 50), By: "Ines", Ask: "Booth swept?", Answer: "yes"}},
		}},
		Work: reports, Instruments: []record.Instrument{{Name: "probe 1", Due: "2027-04-01"}},
	}
	digest, _ := r.Digest()
	r.Signatures = []record.Signature{{ID: 1, Key: planner.Key{Boat: "Alder"}, Act: record.Signed, By: "Rui", Role: "manager", At: at(2, 8, 0), Remark: "handed over", Digest: digest}}
	return r
}

func plain() Style {
	return Style{Zone: time.UTC, Against: func(b conditions.Bound, v float64) string {
		return fmt.Sprintf("%s %g, at least %s", b.Of, v, b.Written)
	}}
}

func written(t testing.TB, r record.Record, s Style) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := Write(&b, r, s); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// read is the text of each page, by a second program's reader.
func read(t testing.TB, text []byte) []string {
	t.Helper()
	f, err := pdf.NewReader(bytes.NewReader(text), int64(len(text)))
	if err != nil {
		t.Fatal(err)
	}
	var pages []string
	for i := 1; i <= f.NumPage(); i++ {
		rows, err := f.Page(i).GetTextByRow()
		if err != nil {
			t.Fatal(err)
		}
		var b strings.Builder
		for _, row := range rows {
			for _, word := range row.Content {
				if text := strings.TrimSpace(word.S); text != "" {
					b.WriteString(text + "\n")
				}
			}
		}
		pages = append(pages, b.String())
	}
	return pages
}

func TestWhatStandsOnPaper(t *testing.T) {
	pages := read(t, written(t, testRecord(), plain()))
	goldie.New(t).Assert(t, "record", []byte(strings.Join(pages, "\f\n")))
}

func TestUSPaper(t *testing.T) {
	s := plain()
	s.US, s.Twelve = true, true
	text := strings.Join(read(t, written(t, testRecord(), s)), "\n")
	for _, want := range []string{"Air °F", "68.0", "10.8", "4.3 mil", "2.54 qt", "8:00 am"} { // 20 °C, 6 K, 110 µm, 2.4 L
		if !strings.Contains(text, want) {
			t.Errorf("no %q in\n%s", want, text)
		}
	}
}

// People write what their phones offer. What no type of the paper has is shown to be missing,
// wherever it stands, and the rest stands as it was written.
func TestWhatNoTypeHas(t *testing.T) {
	r := testRecord()
	r.Yard, r.Boat.Name = "Yard \U00010000", "Alder \U0001F6E5"
	r.Coats[0].Stage, r.Coats[0].Card = "first \U0001F44D\U0001F3FD", "Gloss \U0010FFFF"
	r.Work[1].Note = "stayed \U0001F44D clear, \u4e2d, \x07bell"
	r.Signatures[0].Remark = "handed \U0001F389 over"
	text := strings.Join(read(t, written(t, r, plain())), "\n")
	text = strings.ReplaceAll(text, "\u00a1", "\u25a1") // this reader gives the low byte alone of what is beyond Latin 1
	for _, want := range []string{"Yard \u25a1", "Alder \u25a1", "first \u25a1\u25a1", "Gloss \u25a1", "stayed \u25a1 clear, \u25a1, \u25a1bell", "handed \u25a1 over", "runs, \u00e7\u00e3 \u00df \u00b5"} {
		if !strings.Contains(text, want) {
			t.Errorf("no %q in\n%s", want, text)
		}
	}
}

// Every page says which it is of how many, and what decides.
func TestPagesAreNumbered(t *testing.T) {
	r := testRecord()
	for i := range 150 {
		r.Work = append(r.Work, record.Report{ID: int64(i), Kind: planner.Held, Area: "topsides", Stage: "first", Happened: at(3, 0, i), Entered: at(3, 0, i), By: "Ines", Note: strings.Repeat("a long note ", i%9)})
	}
	pages := read(t, written(t, r, plain()))
	if len(pages) < 5 {
		t.Fatalf("%d pages", len(pages))
	}
	for i, text := range pages {
		if !strings.Contains(text, fmt.Sprintf("page %d of %d", i+1, len(pages))) || !strings.Contains(text, "licensed practice decide") || !strings.Contains(text, "Record of coats: Alder") {
			t.Errorf("page %d says\n%s", i+1, text)
		}
	}
	if got := strings.Count(strings.Join(pages, ""), "topsides, first: held"); got != 150 {
		t.Errorf("%d of 150 reports stand on paper", got)
	}
}

func TestSameRecordSameBytes(t *testing.T) {
	want := written(t, testRecord(), plain())
	for range 5 {
		if !bytes.Equal(written(t, testRecord(), plain()), want) {
			t.Fatal("other bytes of the same record")
		}
	}
}

// What was signed and is no longer all there is, is said.
func TestAChangedRecordIsSaid(t *testing.T) {
	r := testRecord()
	r.Work = r.Work[:2]
	text := strings.Join(read(t, written(t, r, plain())), "\n")
	if !strings.Contains(text, "is not what was signed then") {
		t.Error(text)
	}
}

// What was struck through has a line through each of its words: one more than the rule
// below its row.
func TestStruckIsStruck(t *testing.T) {
	rules := func(struck *record.Strike) int {
		r := testRecord()
		r.Coats = nil
		r.Work[2].Note, r.Work[2].Struck = "short", struck
		text := written(t, r, plain())
		f, err := pdf.NewReader(bytes.NewReader(text), int64(len(text)))
		if err != nil {
			t.Fatal(err)
		}
		stream, err := io.ReadAll(f.Page(1).V.Key("Contents").Reader())
		if err != nil {
			t.Fatal(err)
		}
		return bytes.Count(stream, []byte(" l S"))
	}
	// When, entered, what was reported, where and by whom: five texts. Who struck it, and why,
	// nobody struck.
	if more := rules(&record.Strike{By: "R", At: at(1, 12, 0), Why: "w"}) - rules(nil); more != 5 {
		t.Errorf("%d lines more than without a strike, want 5", more)
	}
}

// Wherever a page ends, the heads of a table stand above a row of it; and a long name stays
// within the head of a page, and in full on the first.
func TestWhereAPageEnds(t *testing.T) {
	t.Parallel()
	r := testRecord()
	r.Boat.Name = strings.Repeat("Alder of the long northern shed ", 9) + "the last"
	for n := range 16 {
		r.Boat.Areas = append(r.Boat.Areas, record.Area{Name: fmt.Sprint("area ", n), System: "two coats", Size: "1 m2"})
		pages := read(t, written(t, r, plain()))
		for i, text := range pages {
			body, _, _ := strings.Cut(text, "A record of what was reported")
			for _, head := range []string{"Measured, mixed Pass What By", "Happened Entered Reported Place By", "Margin K By", "Answered By Asked before the start Answer", "Kept Nearest or worst Whose"} {
				if strings.HasSuffix(strings.Join(strings.Fields(body), " "), head) {
					t.Errorf("with %d areas, page %d ends with the heads %s", n+2, i+1, head)
				}
			}
			if i > 0 && strings.Contains(text, "the last") {
				t.Errorf("the head of page %d has all of a long name", i+1)
			}
		}
		if joined := strings.Join(strings.Fields(pages[0]), " "); !strings.Contains(joined, "the last") || !strings.Contains(joined, "...") {
			t.Errorf("the first page has the name in part only: %.300s", joined)
		}
	}
}
