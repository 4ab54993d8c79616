package notify

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"
	"time"
	"unicode"

	"github.com/sebdah/goldie/v2"
	"pgregory.net/rapid"
)

// berlin is a zone whose summer time ends on 2026-10-25 at 01:00 UTC.
func berlin(t testing.TB) *time.Location {
	t.Helper()
	zone, err := time.LoadLocation("Europe/Berlin")
	if err != nil {
		t.Skipf("no time zone data here: %v", err)
	}
	return zone
}

// examples holds one notice of each kind, all invented.
func examples(zone *time.Location) []Notice {
	at := func(day, hour, minute int) time.Time { return time.Date(2026, 5, day, hour, minute, 0, 0, zone) }
	now := at(12, 8, 30) // a Tuesday
	const card = "card Topcoat rev 2"
	topcoat := Notice{Boat: "Petrel", Area: "topsides", Stage: "topcoat", Pass: 1, Occurrence: 1, Revision: 1, Place: "Booth 2", At: now}
	dew := Cause{Limit: "margin", Value: 1.2, Bound: 3, Unit: "C", Whose: card, Sure: Forecast, Issued: at(12, 6, 0)}
	with := func(n Notice, k Kind, from, until time.Time, c Cause) Notice {
		n.Kind, n.From, n.Until, n.Cause = k, from, until, c
		return n
	}
	none := time.Time{}

	opens := with(topcoat, WindowOpens, none, at(12, 16, 40), dew)
	opens.Mix = Mix{Card: "Topcoat", Revision: 2, Variant: "spray", Reducer: "slow reducer", Parts: "2:1 by volume", Volume: 4.2, PotLife: 2 * time.Hour}
	gone := with(topcoat, WetCoatAtRisk, at(12, 20, 0), at(12, 23, 30), dew)
	gone.Pass, gone.Cause.Value = 2, -0.1
	filler := Notice{Boat: "Petrel", Area: "topsides", Stage: "sand 320", Occurrence: 1, Revision: 1, Place: "Shed 1", At: now}
	recoat := topcoat
	recoat.Pass = 2
	lapsed := with(recoat, RecoatLapsed, none, at(12, 7, 0), Cause{Text: "the hull held 29 °C for two hours on Monday", Sure: Measured})
	lapsed.Do = DoAbrade
	moved := with(topcoat, StageMoved, at(14, 8, 0), at(14, 12, 0), Cause{Text: "Booth 2 is held by Auk until Wed 18:00"})
	measure := with(topcoat, MeasureNow, none, at(12, 9, 30), Cause{Limit: "age", Value: 5 + 1.0/6, Bound: 4, Unit: "h"})
	measure.Do = "read the port side under the sheer, and the transom in the sun"
	place := Notice{Occurrence: 1, Revision: 1, Place: "Booth 2", At: now}
	stopped := with(topcoat, BoothStopped, at(12, 8, 29), none, Cause{Text: "extract fan off", Sure: Measured, Issued: at(12, 8, 29)})

	return []Notice{
		opens,
		with(topcoat, WindowClosing, none, at(12, 16, 40), dew),
		with(topcoat, WindowClosed, none, at(12, 8, 30), Cause{Limit: "humidity", Value: 86.5, Bound: 85, Unit: "%", Whose: card, Sure: Measured, Issued: at(12, 8, 28)}),
		with(topcoat, WindowLapsed, none, at(11, 16, 40), Cause{Text: "no crew came free"}),
		with(topcoat, WindowShortened, none, at(12, 14, 20), dew),
		gone,
		with(filler, ReadyToSand, at(12, 10, 0), none, Cause{Text: "cured at 17 °C overnight", Sure: Measured}),
		with(recoat, RecoatOpens, none, at(14, 9, 0), Cause{Whose: card, Sure: Forecast, Issued: at(12, 6, 0)}),
		with(recoat, RecoatLastCall, none, at(12, 12, 0), Cause{}),
		lapsed,
		with(recoat, WeekendCloses, none, at(16, 16, 0), Cause{Text: "the card allows 48 h and the crew is back on Monday at 07:00"}),
		moved,
		with(topcoat, StagePutOff, none, none, dew),
		with(topcoat, StageUnconfirmed, at(12, 8, 0), none, Cause{}),
		with(topcoat, PotLifeOver, none, at(12, 8, 30), Cause{Text: "the pot stood at 31 °C", Sure: Measured}),
		measure,
		with(place, SourceSilent, at(12, 7, 10), none, Cause{Source: "probe 7", Sure: Unknown}),
		with(place, ForecastOld, none, none, Cause{Source: "the weather office", Issued: at(11, 6, 0), Sure: Unknown}),
		stopped,
	}
}

func TestSentenceOfEachKind(t *testing.T) {
	zone := berlin(t)
	kinds := Kinds()
	var page strings.Builder
	for i, n := range examples(zone) {
		if n.Kind != kinds[i] {
			t.Fatalf("example %d is %s, want %s: each kind has one", i, n.Kind, kinds[i])
		}
		si := Sentence(n, Style{Zone: zone, Units: SI})
		us := Sentence(n, Style{Zone: zone, Units: US, Clock12: true})
		fmt.Fprintf(&page, "%s\n  title %s\n  SI    %s\n  US    %s\n", n.Kind, Title(n), si, us)
	}
	goldie.New(t).Assert(t, "sentences", []byte(page.String()))
}

// TestBoothNotFit: what a booth says of itself is said as what it is; as the service
// writes the causes.
func TestBoothNotFit(t *testing.T) {
	at := time.Date(2026, 5, 12, 8, 29, 0, 0, time.UTC)
	for _, tt := range []struct {
		name        string
		cause       Cause
		do          string
		title, want string
	}{
		{"fan", Cause{Signal: SignalFan, Text: "its fan stands", Sure: Measured}, "", "Booth stopped: topcoat pass 1 on Petrel topsides",
			"Booth 2 stopped during topcoat pass 1 on Petrel topsides: its fan stands, measured; stop spraying, heat off, call the booth owner."},
		{"fan not known", Cause{Signal: SignalFan, Text: "whether its fan runs is not known, the last word is 35 min old", Sure: Unknown}, "look whether the fan runs", "Booth stopped: topcoat pass 1 on Petrel topsides",
			"Booth 2 may have stopped during topcoat pass 1 on Petrel topsides: whether its fan runs is not known, the last word is 35 min old; look whether the fan runs."},
		{"door", Cause{Signal: SignalDoor, Sure: Measured}, "stop spraying until the door is shut", "Booth door open: topcoat pass 1 on Petrel topsides",
			"Door open in Booth 2 during topcoat pass 1 on Petrel topsides, measured; stop spraying until the door is shut."},
		{"filters", Cause{Signal: SignalFilters, Limit: "filter_pressure", Value: 260, Bound: 250, Unit: "Pa", Side: AtMost, Sure: Measured}, "stop at a whole pass, the filters must be changed",
			"Booth filters clogged: topcoat pass 1 on Petrel topsides",
			"Filters past their limit in Booth 2 during topcoat pass 1 on Petrel topsides: filter pressure 260 Pa, at most 250 Pa allowed, measured; stop at a whole pass, the filters must be changed."},
	} {
		t.Run(tt.name, func(t *testing.T) {
			n := Notice{Kind: BoothStopped, Boat: "Petrel", Area: "topsides", Stage: "topcoat", Pass: 1, Place: "Booth 2", At: at, Cause: tt.cause, Do: tt.do}
			if got := Title(n); got != tt.title {
				t.Errorf("title %s", got)
			}
			if got := Sentence(n, Style{Zone: time.UTC, Units: US, Clock12: true}); got != tt.want {
				t.Errorf("got  %s\nwant %s", got, tt.want)
			}
		})
	}
}

func TestWhy(t *testing.T) {
	now := time.Date(2026, 5, 12, 8, 30, 0, 0, time.UTC)
	for _, tt := range []struct {
		name  string
		cause Cause
		units Units
		want  string
	}{
		// TRADE case 4: 2.92 °C is outside 3 °C and within 5 °F; the rule keeps its own unit.
		{"outside 3 °C", Cause{Limit: "margin", Value: 2.92, Bound: 3, Unit: "C", Whose: "card A rev 1"}, SI,
			"outside the limits of card A rev 1 (surface 2.9 °C over dew point, at least 3 °C wanted)"},
		{"within 5 °F", Cause{Limit: "margin", Value: 5.256, Bound: 5, Unit: "F", Whose: "card A rev 1"}, SI,
			"within the limits of card A rev 1 (surface 2.9 °C over dew point, at least 2.8 °C (5 °F) wanted)"},
		{"3 °C read in °F", Cause{Limit: "margin", Value: 2.92, Bound: 3, Unit: "C", Whose: "card A rev 1"}, US,
			"outside the limits of card A rev 1 (surface 5.3 °F over dew point, at least 5.4 °F (3 °C) wanted)"},
		{"no two figures alike that differ", Cause{Limit: "margin", Value: 2.98, Bound: 3, Unit: "C"}, SI,
			"surface 2.98 °C over dew point, at least 3 °C wanted"},
		{"a temperature has an offset", Cause{Limit: "surface", Value: 45, Bound: 40.6, Unit: "C"}, US,
			"surface temperature 113 °F, at most 105.1 °F (40.6 °C) allowed"},
		{"gust in mph", Cause{Limit: "gust", Value: 9, Bound: 6.7, Unit: "m/s"}, US,
			"gust 20.1 mph, at most 15 mph (6.7 m/s) allowed"},
		{"a difference has none", Cause{Limit: "surface_below_air", Value: 10.8, Bound: 9, Unit: "F", Side: AtMost}, SI,
			"surface below air 6 °C, at most 5 °C (9 °F) allowed"},
		{"a difference in kelvin", Cause{Limit: "margin", Value: 2.5, Bound: 3, Unit: "K"}, US,
			"surface 4.5 °F over dew point, at least 5.4 °F (3 K) wanted"},
		{"as it was written", Cause{Limit: "margin", Value: 2.5, Bound: 3, Unit: "K"}, SI,
			"surface 2.5 K over dew point, at least 3 K wanted"},
		{"a temperature in kelvin", Cause{Limit: "air", Value: 278.15, Bound: 283.15, Unit: "K"}, SI,
			"air temperature 5 °C, at least 10 °C (283.15 K) wanted"},
		{"and read in °F", Cause{Limit: "air", Value: 278.15, Bound: 283.15, Unit: "K"}, US,
			"air temperature 41 °F, at least 50 °F (283.15 K) wanted"},
		{"a rate", Cause{Limit: "fall_of_the_surface", Value: 4, Bound: 3, Unit: "K/h"}, US,
			"fall of the surface 7.2 °F/h, at most 5.4 °F/h (3 K/h) allowed"},
		{"a rate in °F", Cause{Limit: "fall_of_the_surface", Value: 9, Bound: 5.4, Unit: "F/h"}, SI,
			"fall of the surface 5 K/h, at most 3 K/h (5.4 °F/h) allowed"},
		{"a rate in °C", Cause{Limit: "fall_of_the_surface", Value: 4, Bound: 3, Unit: "C/h"}, SI,
			"fall of the surface 4 °C/h, at most 3 °C/h allowed"},
		{"a wind in km/h", Cause{Limit: "wind", Value: 40, Bound: 24, Unit: "km/h"}, US,
			"wind 24.9 mph, at most 14.9 mph (24 km/h) allowed"},
		{"knots are knots to all", Cause{Limit: "wind", Value: 20, Bound: 12, Unit: "kn"}, US,
			"wind 20 kn, at most 12 kn allowed"},
		{"unknown is not bad", Cause{Limit: "margin", Sure: Unknown, Text: "probe 7 is silent", Whose: "card A rev 1"}, SI,
			"surface over dew point unknown, probe 7 is silent, so not within the limits of card A rev 1"},
		{"pencilled", Cause{Limit: "air", Value: 8, Bound: 10, Unit: "C", Sure: Pencilled}, SI,
			"air temperature 8 °C, at least 10 °C wanted, pencilled from the season's record"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			got := wording{Notice{At: now, Cause: tt.cause}, Style{Units: tt.units}}.why()
			if got != tt.want {
				t.Errorf("got  %s\nwant %s", got, tt.want)
			}
		})
	}
}

// TestReadAloud: what was hard to follow when read aloud, as the service writes it.
func TestReadAloud(t *testing.T) {
	at := time.Date(2026, 4, 10, 7, 15, 0, 0, time.UTC)
	until := at.Add(40 * time.Minute)
	foretold := Cause{Limit: "margin", Value: 5.7, Bound: 3, Unit: "C", Whose: "card Topcoat rev 1", Sure: Forecast}
	measured := foretold
	measured.Sure = Measured
	for _, tt := range []struct {
		name string
		n    Notice
		want string
	}{
		{"an end that is near a limit is said to be the end's", Notice{Kind: WindowOpens, Until: until, Cause: foretold},
			"Window open for topcoat on Plover in booth 2 now until 07:55; after that too near a limit of card Topcoat rev 1 to count on (surface 5.7 °C over dew point, at least 3 °C wanted, forecast); start when all before it is done."},
		{"so is that of a shortened one", Notice{Kind: WindowShortened, Until: until, Cause: foretold},
			"Window shortened for topcoat on Plover in booth 2, it now ends 07:55; after that too near a limit of card Topcoat rev 1 to count on (surface 5.7 °C over dew point, at least 3 °C wanted, forecast); start only what will be done by then."},
		{"what is measured holds now", Notice{Kind: WindowOpens, Until: until, Cause: measured},
			"Window open for topcoat on Plover in booth 2 now until 07:55; within the limits of card Topcoat rev 1 (surface 5.7 °C over dew point, at least 3 °C wanted, measured); start when all before it is done."},
		{"no end, no after that", Notice{Kind: WindowOpens, Cause: foretold},
			"Window open for topcoat on Plover in booth 2 now; within the limits of card Topcoat rev 1 (surface 5.7 °C over dew point, at least 3 °C wanted, forecast); start when all before it is done."},
		{"shut by what nobody knows", Notice{Kind: WindowClosed, Cause: Cause{Sure: Unknown, Text: "no surface temperature"}},
			"Window closed for topcoat on Plover in booth 2: conditions unknown, no surface temperature; do not start, wait for the next notice."},
		{"who is asked to measure hears what is missing", Notice{Kind: MeasureNow, Cause: Cause{Sure: Unknown, Text: "no surface reading within 4 h"}},
			"Measure now for topcoat on Plover in booth 2: no surface reading within 4 h; take air, humidity and surface, at the coldest and the warmest spot."},
		{"the coat beneath allows, the weather may not", Notice{Kind: RecoatOpens, Until: until},
			"Recoat window open, the coat beneath takes topcoat on Plover in booth 2 now until 07:55; coat by then, once air and hull are within its limits too."},
	} {
		t.Run(tt.name, func(t *testing.T) {
			tt.n.Boat, tt.n.Stage, tt.n.Place, tt.n.At = "Plover", "topcoat", "booth 2", at
			if got := Sentence(tt.n, Style{}); got != tt.want {
				t.Errorf("got  %s\nwant %s", got, tt.want)
			}
		})
	}
}

func TestMoment(t *testing.T) {
	zone := berlin(t)
	today := time.Date(2026, 10, 24, 18, 0, 0, 0, zone) // the Saturday before summer time ends
	si, us := Style{Zone: zone}, Style{Zone: zone, Units: US, Clock12: true}
	for _, tt := range []struct {
		name, got, want string
	}{
		{"today", si.end(today.Add(30*time.Minute), today), "18:30"},
		{"tomorrow", si.end(time.Date(2026, 10, 25, 9, 0, 0, 0, zone), today), "Sun 09:00"},
		{"next week", si.end(time.Date(2026, 10, 31, 9, 0, 0, 0, zone), today), "Sat 31 Oct 09:00"},
		{"next week, US", us.end(time.Date(2026, 10, 31, 21, 5, 0, 0, zone), today), "Sat Oct 31 9:05 pm"},
		{"noon", us.end(time.Date(2026, 10, 24, 12, 0, 0, 0, zone), today), "noon"},
		{"shown twice, first", si.end(time.Date(2026, 10, 25, 0, 30, 0, 0, time.UTC), today), "Sun 02:30 CEST"},
		{"shown twice, then", si.end(time.Date(2026, 10, 25, 1, 30, 0, 0, time.UTC), today), "Sun 02:30 CET"},
		{"an end is never told late", si.end(today.Add(59*time.Second), today), "18:00"},
		{"a start is never told early", si.start(today.Add(time.Second), today), "18:01"},
	} {
		if tt.got != tt.want {
			t.Errorf("%s: got %q, want %q", tt.name, tt.got, tt.want)
		}
	}
}

func TestIDsDiffer(t *testing.T) {
	seen := map[string]Notice{}
	for _, n := range []Notice{
		{Kind: WindowOpens, Boat: "Auk", Area: "deck", Stage: "topcoat", Pass: 1, Occurrence: 1},
		{Kind: WindowOpens, Boat: "Auk", Area: "deck", Stage: "topcoat", Pass: 1, Occurrence: 2},
		{Kind: WindowOpens, Boat: "Auk/deck", Stage: "topcoat", Pass: 1, Occurrence: 1},
		{Kind: WindowOpens, Boat: "@Auk", Area: "deck", Stage: "topcoat", Pass: 1, Occurrence: 1},
		{Kind: WindowOpens, Place: "Auk", Area: "deck", Stage: "topcoat", Pass: 1, Occurrence: 1},
		{Kind: SourceSilent, Place: "Booth 2", Cause: Cause{Source: "probe 7"}, Occurrence: 1},
		{Kind: SourceSilent, Place: "Booth 2", Cause: Cause{Source: "probe 8"}, Occurrence: 1},
		{Kind: SourceSilent, Place: "Booth 2@probe 7", Occurrence: 1},
		{Kind: SourceSilent, Place: "Booth 2probe 7", Occurrence: 1},
	} {
		id := ID(n)
		if other, ok := seen[id]; ok {
			t.Errorf("%+v and %+v share the id %q", other, n, id)
		}
		seen[id] = n
		n.Revision, n.Until = 7, time.Unix(1, 0)
		if ID(n) != id {
			t.Errorf("a revision changed the id %q to %q", id, ID(n))
		}
		if strings.ContainsFunc(id, unicode.IsSpace) {
			t.Errorf("id %q has white space, which no header takes", id)
		}
	}
}

func TestNoticeJSONRoundTrip(t *testing.T) {
	for _, n := range examples(time.UTC) {
		data, err := json.Marshal(n)
		if err != nil {
			t.Fatal(err)
		}
		var back Notice
		if err := json.Unmarshal(data, &back); err != nil {
			t.Fatal(err)
		}
		if back != n {
			t.Errorf("%s came back as\n%+v\nwant\n%+v", data, back, n)
		}
	}
}

// Whatever a notice holds, its sentence is one line with one closing stop, and never promises
// what only people may.
func TestSentenceHoldsForAnyNotice(t *testing.T) {
	zone := berlin(t)
	text := rapid.StringMatching(`[A-Za-z0-9 .°\n\t/@-]{0,12}`)
	when := rapid.Custom(func(t *rapid.T) time.Time {
		if rapid.Bool().Draw(t, "none") {
			return time.Time{}
		}
		return time.Unix(rapid.Int64Range(1.7e9, 1.9e9).Draw(t, "unix"), 0)
	})
	number := rapid.Float64()
	rapid.Check(t, func(t *rapid.T) {
		n := Notice{
			Kind: rapid.SampledFrom(append(Kinds(), "", "made_up")).Draw(t, "kind"),
			Boat: text.Draw(t, "boat"), Area: text.Draw(t, "area"), Stage: text.Draw(t, "stage"),
			Pass: rapid.IntRange(-1, 4).Draw(t, "pass"), Place: text.Draw(t, "place"),
			At: when.Draw(t, "at"), From: when.Draw(t, "from"), Until: when.Draw(t, "until"),
			Cause: Cause{
				Limit: rapid.SampledFrom([]string{"", "margin", "humidity", "surface", "age", "made_up"}).Draw(t, "limit"),
				Value: number.Draw(t, "value"), Bound: number.Draw(t, "bound"),
				Unit:   rapid.SampledFrom([]string{"", "C", "F", "%", "m/s", "mph", "h", "min"}).Draw(t, "unit"),
				Sure:   rapid.SampledFrom([]Sure{"", Measured, Forecast, Pencilled, Unknown}).Draw(t, "sure"),
				Issued: when.Draw(t, "issued"), Whose: text.Draw(t, "whose"), Source: text.Draw(t, "source"), Text: text.Draw(t, "text"),
			},
			Mix: Mix{Card: text.Draw(t, "card"), Volume: number.Draw(t, "volume"), PotLife: time.Duration(rapid.Int64().Draw(t, "life"))},
			Do:  text.Draw(t, "do"),
		}
		s := Style{Zone: zone, Units: rapid.SampledFrom([]Units{SI, US}).Draw(t, "units"), Clock12: rapid.Bool().Draw(t, "12h")}
		got := Sentence(n, s)
		if strings.ContainsAny(got, "\n\t\r") || strings.Contains(got, "  ") || !strings.HasSuffix(got, ".") || strings.HasSuffix(got, "..") {
			t.Fatalf("not one clean line: %q", got)
		}
		if title := Title(n); strings.ContainsAny(title, "\n\t\r") {
			t.Fatalf("title of several lines: %q", title)
		}
	})
}

func TestNoSentencePromises(t *testing.T) {
	for _, n := range examples(time.UTC) {
		for _, do := range []string{"", DoWait, DoCover, DoReactivate, DoAbrade} {
			n.Do = do
			if s := strings.ToLower(Sentence(n, Style{}) + Title(n)); strings.Contains(s, "safe") {
				t.Errorf("%s says safe: %s", n.Kind, s)
			}
		}
	}
}
