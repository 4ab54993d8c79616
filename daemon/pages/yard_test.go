package pages

import (
	"context"
	"math"
	"net/http"
	"os"
	"testing"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
	"fairwindow/notify"
	"fairwindow/planner"
	"fairwindow/sensors"

	"github.com/sirupsen/logrus"
	logtest "github.com/sirupsen/logrus/hooks/test"
)

// A small invented yard, its work and its air; every page is made from these literals.

func at(day, hour, minute int) time.Time {
	return time.Date(2026, time.April, day, hour-1, minute, 0, 0, time.UTC) // Lisbon is an hour ahead in April
}

var now = at(7, 10, 20) // a Tuesday

func must[T ~float64](text string) unit.Written[T] {
	w, err := unit.Parse[T](text)
	if err != nil {
		panic(err)
	}
	return w
}

func ref[T ~float64](text string) *unit.Written[T] {
	w := must[T](text)
	return &w
}

const h = unit.Duration(time.Hour)

func testYard() config.Yard {
	place := func(name string, kind config.PlaceKind) config.Place {
		return config.Place{Name: name, Kind: kind, Length: must[unit.Length]("28 m"), Width: must[unit.Length]("9 m")}
	}
	booth := place("Booth 1", config.Booth)
	booth.Booth = &config.BoothAir{Clearance: unit.Duration(30 * time.Minute)}
	return config.Yard{
		Name: "Sample Yard", Zone: "Europe/Lisbon", Units: "SI",
		Notice: config.Noticing{Stale: unit.Duration(30 * time.Minute)},
		Places: []config.Place{booth, place("North shed", config.Shed), place("Slip 2", config.Slip), place("Hardstand", config.Standing)},
		Cards: []config.Card{{
			Name: "Gloss topcoat", Revision: 3, Illustrative: true, Material: "polyurethane topcoat",
			Limits:  config.Limits{Margin: ref[unit.TempDiff]("3 K"), HumidityMax: ref[unit.Humidity]("80 %"), AirMin: ref[unit.Temperature]("12 C"), SurfaceMax: ref[unit.Temperature]("32 C")},
			Mix:     config.Mix{Base: 2, Hardener: 1, Reducer: must[unit.Share]("15 %")},
			Spread:  config.Spread{Solids: must[unit.Share]("50 %"), Dry: must[unit.Film]("40 um"), Loss: must[unit.Share]("30 %")},
			PotLife: config.PotLife{Lasts: 3 * h, At: must[unit.Temperature]("20 C")},
			Variants: []config.Variant{
				{Name: "slow", Hardener: "H-slow", Reducer: "R-slow", From: must[unit.Temperature]("15 C"), To: must[unit.Temperature]("30 C")},
			},
			Cautions: []string{"Read the data sheet before mixing."},
		}},
		Systems: []config.System{{Name: "topsides gloss", Stages: []config.Stage{
			{Name: "wash", Kind: config.Wash, Skill: "prep", Rate: must[unit.WorkRate]("30 m2/h")},
			{Name: "sand 320", Kind: config.Sand, Skill: "prep", Rate: must[unit.WorkRate]("6 m2/h")},
			{Name: "mask", Kind: config.Mask, Skill: "prep", Rate: must[unit.WorkRate]("10 m2/h")},
			{Name: "wipe", Kind: config.Wipe, Skill: "paint", Rate: must[unit.WorkRate]("30 m2/h")},
			{Name: "gloss coat", Kind: config.Coat, Skill: "paint", Card: "Gloss topcoat", Passes: 3, Rate: must[unit.WorkRate]("12 m2/h")},
			{Name: "unmask", Kind: config.Unmask, Skill: "prep", Takes: 2 * h},
			{Name: "inspect", Kind: config.Inspect, Takes: h},
		}}},
	}
}

func testBoats() []config.Boat {
	boat := func(name, promised string) config.Boat {
		return config.Boat{
			Name: name, Length: must[unit.Length]("18 m"), Beam: must[unit.Length]("5 m"), Arrives: "2026-04-01", Promised: promised,
			Areas: []config.Area{{Name: "topsides", System: "topsides gloss", Size: must[unit.Area]("64 m2")}, {Name: "house", System: "topsides gloss", Size: must[unit.Area]("30 m2")}},
		}
	}
	return []config.Boat{boat("Kestrel", "2026-04-14"), boat("Ada & Sons", "2026-04-12"), boat("Plover", "2026-04-20")}
}

func testPresses() []planner.Press {
	k := func(boat, area, stage string) planner.Key { return planner.Key{Boat: boat, Area: area, Stage: stage} }
	var all []planner.Press
	add := func(kind planner.PressKind, key planner.Key, t time.Time, more func(*planner.Press)) {
		p := planner.Press{ID: int64(len(all) + 1), Kind: kind, Key: key, Happened: t, Entered: t.Add(time.Minute), By: "Ines"}
		if more != nil {
			more(&p)
		}
		all = append(all, p)
	}
	in := func(place string) func(*planner.Press) { return func(p *planner.Press) { p.Place = place } }
	add(planner.Arrived, k("Kestrel", "", ""), at(1, 9, 0), in("Booth 1"))
	add(planner.Arrived, k("Ada & Sons", "", ""), at(1, 11, 0), in("North shed"))
	add(planner.Arrived, k("Plover", "", ""), at(2, 11, 0), in("Slip 2"))
	for _, stage := range []string{"wash", "sand 320", "mask", "wipe"} {
		add(planner.Started, k("Kestrel", "topsides", stage), at(3, 8, 0), nil)
		add(planner.Finished, k("Kestrel", "topsides", stage), at(3, 12, 0), nil)
	}
	add(planner.Started, k("Kestrel", "topsides", "gloss coat"), at(7, 8, 30), nil)
	add(planner.PassDone, k("Kestrel", "topsides", "gloss coat"), at(7, 9, 40), func(p *planner.Press) { p.Pass, p.Entered = 1, at(7, 10, 5) })
	add(planner.Finished, k("Ada & Sons", "topsides", "wash"), at(3, 15, 0), nil)
	for _, stage := range []string{"wash", "sand 320", "mask", "wipe"} {
		add(planner.Finished, k("Plover", "house", stage), at(4, 12, 0), nil)
	}
	return all
}

// testPlan has something in each state; later puts Ada's sanding so much later.
func testPlan(made time.Time, later time.Duration) planner.Plan {
	k := func(boat, area, stage string) planner.Key { return planner.Key{Boat: boat, Area: area, Stage: stage} }
	bound := conditions.Bound{Of: conditions.OfMargin, Least: true, At: 25.0 / 9, Written: "5 F", Owner: "card Gloss topcoat rev 3"}
	p := planner.Plan{
		At: made, Until: made.AddDate(0, 0, 42), Version: planner.Version,
		Blocks: []planner.Block{
			{Boat: "Kestrel", Place: "Booth 1", From: at(1, 9, 0), To: at(9, 12, 0)},
			{Boat: "Plover", Place: "Booth 1", From: at(9, 13, 0), To: at(13, 12, 0)},
		},
		Launches: []planner.Launch{
			{Boat: "Kestrel", Promised: at(14, 0, 0), Likely: at(11, 16, 0)},
			{Boat: "Ada & Sons", Promised: at(12, 0, 0), Likely: at(14, 9, 0).Add(later)},
			{Boat: "Plover", Promised: at(20, 0, 0)},
		},
		Cost: []planner.Term{{Name: "lateness of launches", Amount: 3420}, {Name: "change against what people were told", Amount: 55}},
	}
	p.Stages = []planner.Planned{
		{Key: k("Kestrel", "topsides", "gloss coat"), Kind: config.Coat, Place: "Booth 1", Crew: "paint", People: 2, Start: at(7, 8, 30), End: at(7, 14, 0), State: planner.Running, Chance: .97, Protected: at(8, 2, 0)},
		{Key: k("Plover", "house", "gloss coat"), Kind: config.Coat, Place: "Booth 1", Crew: "paint", People: 2, Start: at(10, 9, 0), End: at(10, 13, 0), Until: at(10, 15, 0), State: planner.AtRisk, Chance: .61, Protected: at(10, 23, 0), Waits: []planner.Wait{
			{From: at(9, 8, 0), To: at(9, 13, 0), Cause: planner.PlaceTaken, Evidence: planner.Evidence{Other: planner.Key{Boat: "Kestrel"}}},
			{From: at(9, 13, 0), To: at(10, 9, 0), Cause: planner.OutOfLimits, Evidence: planner.Evidence{Bound: bound, Value: .65, When: at(10, 5, 0), Sure: conditions.Foretold, Issued: at(7, 6, 0)}},
		}},
		{Key: k("Ada & Sons", "topsides", "sand 320"), Kind: config.Sand, Place: "North shed", Crew: "prep", People: 2, Start: at(7, 13, 0).Add(later), End: at(8, 12, 0).Add(later), State: planner.Firm, Work: []planner.Span{
			{From: at(7, 13, 0).Add(later), To: at(7, 17, 0).Add(later)}, {From: at(8, 8, 0).Add(later), To: at(8, 12, 0).Add(later)},
		}, Waits: []planner.Wait{{From: at(7, 8, 0), To: at(7, 13, 0).Add(later), Cause: planner.CrewBusy, Evidence: planner.Evidence{Other: k("Kestrel", "topsides", "gloss coat")}}}},
		{Key: k("Ada & Sons", "house", "wash"), Kind: config.Wash, Place: "North shed", Crew: "prep", People: 1, Start: at(7, 8, 0), End: at(7, 9, 0), State: planner.Unconfirmed},
		{Key: k("Kestrel", "house", "wash"), Kind: config.Wash, Place: "Booth 1", Crew: "prep", People: 1, Start: at(8, 8, 0), End: at(8, 10, 0), State: planner.OpenNow},
		{Key: k("Ada & Sons", "topsides", "mask"), Kind: config.Mask, Place: "North shed", Crew: "prep", People: 2, Start: at(12, 8, 0), End: at(12, 15, 0), State: planner.PencilledIn},
		{Key: k("Plover", "house", "reactivate for gloss coat"), Kind: config.Wipe, Place: "Booth 1", Crew: "paint", People: 1, Start: at(10, 8, 0), End: at(10, 9, 0), State: planner.Firm, Repair: true},
		{Key: k("Plover", "topsides", "gloss coat"), Kind: config.Coat, State: planner.Unplaced},
	}
	return p
}

// fake is the yard behind the pages.
type fake struct {
	book     Book // nil: none
	probes   []config.Sensor
	exposed  map[string]sensors.Exposed
	yard     config.Yard
	boats    []config.Boat
	presses  []planner.Press
	draft    planner.Plan
	draftID  int64
	told     planner.Plan
	toldID   int64
	moments  []conditions.Moment
	health   []string
	notes    []notify.Notice
	readings []sensors.Reading
	err      error // of every write
	broken   error // of every read of plans
	taken    []sensors.Reading
	released []string
	once     map[string]int
	early    time.Duration // how long ago the outlook was made
	learned  bool          // of the forecast's errors
	leading  string        // of the sources of forecasts
	ranking  conditions.Ranking
	hulls    map[string]conditions.Worked
	coats    map[string]curing // by area of any boat
	books    books
	outlook  time.Time // by which a recoat window closes
}

func newFake() *fake {
	f := &fake{
		yard: testYard(), boats: testBoats(), presses: testPresses(), once: map[string]int{},
		draft: testPlan(now, 3*time.Hour), draftID: 12, told: testPlan(at(6, 17, 0), 0), toldID: 11,
		health: []string{"Forecast harbour is 19 h old: take what it says with doubt."},
	}
	for t := now.Add(-24 * time.Hour); !t.After(now); t = t.Add(10 * time.Minute) {
		f.moments = append(f.moments, momentAt(t, conditions.Measured))
	}
	f.notes = []notify.Notice{
		{ID: "window_opens/Plover/house/gloss%20coat/0/1", Kind: notify.WindowOpens, Boat: "Plover", Area: "house", Stage: "gloss coat", Place: "Booth 1", Occurrence: 1, Revision: 1, At: at(6, 9, 0), Until: at(6, 15, 0)},
		{ID: "wet_coat_at_risk/Kestrel/topsides/gloss%20coat/1/1", Kind: notify.WetCoatAtRisk, Boat: "Kestrel", Area: "topsides", Stage: "gloss coat", Pass: 1, Place: "Booth 1", Occurrence: 1, Revision: 2, At: at(7, 9, 55), Until: at(7, 20, 0), Cause: notify.Cause{Limit: "margin", Value: 2.1, Bound: 3, Unit: "K", Whose: "card Gloss topcoat rev 3", Sure: notify.Measured, Issued: at(7, 9, 50)}},
	}
	f.readings = []sensors.Reading{
		{Source: "booth probe", Place: "Booth 1", At: now.Add(-4 * time.Minute), Values: map[conditions.Variable]float64{conditions.AirTemperature: 19.4, conditions.RelHumidity: 61}},
		{Source: "hull puck", Place: "Booth 1", Boat: "Kestrel", At: now.Add(-9 * time.Minute), Values: map[conditions.Variable]float64{conditions.Surface: 17.1}, Flags: []sensors.Flag{{Of: conditions.Surface, Fault: sensors.Stuck, Note: "same value for 3 h"}}},
	}
	f.book = shelfOf(f)
	return f
}

// momentAt is a mild spring day: coldest before dawn, the hull a little behind.
func momentAt(t time.Time, sure conditions.Sureness) conditions.Moment {
	day := math.Sin(2 * math.Pi * (float64(t.Hour()) + float64(t.Minute())/60 - 9) / 24)
	return conditions.Moment{
		At: t, Air: unit.Temperature(17 + 3*day), DewPoint: unit.Temperature(11.6 + .4*day), Coldest: unit.Temperature(16 + 2*day), Warmest: unit.Temperature(17.5 + 4*day),
		Wind: unit.Speed(3 + 2*day), Gust: unit.Speed(6 + 3*day), RainChance: .1, Sure: sure, MarginError: .6, AirError: .5,
	}
}

func (f *fake) Now() time.Time    { return now }
func (f *fake) Yard() config.Yard { return f.yard }
func (f *fake) Boats(context.Context) ([]config.Boat, error) {
	return f.boats, nil
}
func (f *fake) Draft(context.Context) (planner.Plan, int64, error) {
	return f.draft, f.draftID, f.broken
}
func (f *fake) Told(context.Context) (planner.Plan, int64, error) { return f.told, f.toldID, f.broken }
func (f *fake) Work(context.Context) (planner.Work, error) {
	return planner.Replay(f.yard, f.boats, f.presses), nil
}
func (f *fake) Presses(_ context.Context, boat string) ([]planner.Press, error) {
	var some []planner.Press
	for _, p := range f.presses {
		if p.Key.Boat == boat {
			some = append(some, p)
		}
	}
	return some, nil
}
func (f *fake) Past(_ context.Context, place string, from, to time.Time) ([]conditions.Moment, error) {
	var some []conditions.Moment
	for _, m := range f.moments {
		if place != "Slip 2" && !m.At.Before(from) && !m.At.After(to) {
			some = append(some, m)
		}
	}
	return some, nil
}
func (f *fake) Ahead(_ context.Context, _ string, to time.Time) ([]conditions.Moment, error) {
	var all []conditions.Moment
	for t := now.Truncate(time.Hour).Add(time.Hour - f.early); !t.After(to); t = t.Add(time.Hour) {
		m := momentAt(t, conditions.Foretold)
		m.MarginError = unit.TempDiff(.6 + t.Sub(now).Hours()/40)
		all = append(all, m)
	}
	return all, nil
}
func (f *fake) Taught(_ context.Context, place string, at time.Time) (came, taken conditions.Weather, pairs int, err error) {
	came = conditions.Weather{At: at, Air: 15, DewPoint: 9, Sure: conditions.Foretold, AirError: 1.81}
	if !f.learned || place == "Slip 2" {
		return came, came, 0, nil
	}
	taken = came
	taken.Air, taken.DewPoint, taken.AirError = 14.24, 9.02, 1.27
	if place == "outdoors" {
		return came, taken, 96, nil
	}
	return came, taken, 412, nil
}
func (f *fake) Leading(context.Context) (string, conditions.Ranking, error) {
	return f.leading, f.ranking, f.broken
}
func (f *fake) Worked(_ context.Context, boat string) (conditions.Worked, error) {
	return f.hulls[boat], nil
}
func (f *fake) Coat(_ context.Context, boat, area string) (planner.CoatNow, conditions.Exposure, time.Time, error) {
	k, ok := f.coats[area]
	if !ok {
		return planner.CoatNow{}, conditions.Exposure{}, time.Time{}, nil
	}
	work := planner.Replay(f.yard, f.boats, f.presses)
	last, _ := work.LastCoat(boat, area)
	return planner.CoatNow{Key: last.Key, Clock: k.clock}, k.surface, f.outlook, nil
}
func (f *fake) Judged(ctx context.Context, place string, from, to time.Time) ([]conditions.Verdict, error) {
	rules, _, _ := f.Rules(ctx, place)
	var all []conditions.Verdict
	for t := from; t.Before(to); t = t.Add(time.Hour) {
		m := momentAt(t, conditions.Foretold)
		switch {
		case place == "Slip 2" && t.Hour() > 11 && t.Hour() < 16:
			m.Gust = 12
		case place == "Slip 2" && t.Day() == 10:
			m.RainChance = .8
		case place == "North shed" && t.Hour() < 7:
			m.Air, m.Coldest = 9, 9.5
			m.DewPoint = 4
		case place == "North shed" && t.Day() == 12:
			m.Sure = conditions.Unknown
		case place == "Booth 1" && t.Hour() < 5:
			m.Coldest = m.DewPoint + 1
		case place == "Booth 1" && t.Day() == 11 && t.Hour() > 8:
			m.Warmest = 34
		case place == "North shed" && t.Hour() > 20:
			m.DewPoint = m.Air - 1.8
			m.Coldest = m.Air + 2
		}
		all = append(all, conditions.Judge(m, rules))
	}
	return all, nil
}
func (f *fake) Rules(_ context.Context, place string) (conditions.Rules, string, error) {
	if len(f.yard.Cards) == 0 {
		return nil, "", nil
	}
	card := f.yard.Cards[0]
	sets := []conditions.Owned{{Owner: card.Title(), Limits: card.Limits}}
	if place == "Slip 2" {
		sets = append(sets, conditions.Owned{Owner: "the yard", Limits: config.Limits{WindMax: ref[unit.Speed]("8 m/s"), RainMax: ref[unit.Share]("30 %")}})
	}
	return conditions.Strictest(nil, sets...), card.Title(), nil
}
func (f *fake) Readings(_ context.Context, place string, _, _ time.Time) ([]sensors.Reading, error) {
	var some []sensors.Reading
	for _, r := range f.readings {
		if r.Place == place {
			some = append(some, r)
		}
	}
	return some, nil
}
func (f *fake) Accounts(_ context.Context, place string) ([]sensors.Account, error) {
	readings, err := f.Readings(context.Background(), place, now, now)
	return sensors.Accounts(config.Yard{Zone: f.yard.Zone, Sensors: f.probes}, readings, f.exposed, now), err
}
func (f *fake) Health(context.Context) ([]string, error) { return f.health, nil }
func (f *fake) Press(_ context.Context, p planner.Press) error {
	if f.err != nil {
		return f.err
	}
	if f.once[p.Once]++; f.once[p.Once] == 1 {
		f.presses = append(f.presses, p)
	}
	return nil
}
func (f *fake) Release(_ context.Context, plan int64, by string) error {
	if f.err != nil {
		return f.err
	}
	f.toldID, f.told = plan, f.draft
	f.released = append(f.released, by)
	return nil
}
func (f *fake) TakeReading(_ context.Context, r sensors.Reading) error {
	if f.err != nil {
		return f.err
	}
	f.taken = append(f.taken, r)
	return nil
}
func (f *fake) Notices(_ context.Context, since time.Time) ([]notify.Notice, error) {
	var some []notify.Notice
	for _, n := range f.notes {
		if !n.At.Before(since) {
			some = append(some, n)
		}
	}
	return some, nil
}

// options are the fake's, with a log that is kept.
func (f *fake) options() (Options, *logtest.Hook) {
	log, hook := logtest.NewNullLogger()
	word := func(s string) http.Handler {
		return http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) { _, _ = w.Write([]byte(s)) })
	}
	return Options{
		Plans: f, Air: f, Desk: f, Records: f, Trials: f, Intake: word("taken in"), Metrics: word("metrics"),
		Ready: func(context.Context) error { return f.broken }, Log: logrus.NewEntry(log), Book: f.book, Files: boatFiles{},
	}, hook
}

func handlerOf(t testing.TB, f *fake) http.Handler {
	t.Helper()
	o, _ := f.options()
	handler, err := New(o)
	if err != nil {
		t.Fatal(err)
	}
	return handler
}

// TestTheYardHasEachState: what the pages are shown from leaves out no state of a stage.
func TestTheYardHasEachState(t *testing.T) {
	there := map[planner.State]bool{}
	for _, s := range newFake().draft.Stages {
		there[s.State] = true
	}
	for _, state := range append([]planner.State{planner.Unplaced}, states...) {
		if !there[state] {
			t.Errorf("no stage of the invented yard is %s", state)
		}
	}
}

// TestLook serves the invented yard for a person to look at:
// FAIRWINDOW_LOOK=127.0.0.1:8099 go test -run TestLook ./daemon/pages
func TestLook(t *testing.T) {
	address := os.Getenv("FAIRWINDOW_LOOK")
	if address == "" {
		t.Skip("set FAIRWINDOW_LOOK to an address to look at the pages in a browser")
	}
	f := coated(conditions.Cure{
		DustFree: hours(2), Recoat: hours(40), Sandable: hours(50), LastRecoat: hours(90), Reactivate: hours(200), Launch: hours(150),
	}, exposed(12, 19), exposed(18.4, 31.2))
	f.hulls = map[string]conditions.Worked{"Kestrel": {
		Parts: []conditions.WorkedPart{{Part: conditions.Sides, Coldest: 18.4, Warmest: 31.2}, {Part: conditions.House, Coldest: 22, Warmest: 29}},
		Read:  at(7, 8, 10), Coldest: 17, Warmest: 17, Model: 18.4,
	}}
	f.presses = append(f.presses, planner.Press{ID: 200, Kind: planner.Started, Key: planner.Key{Boat: "Kestrel", Area: "topsides", Stage: "second gloss"}, Happened: now})
	f.readings = append(f.readings, sensors.Reading{Source: "booth fan", Place: "Booth 1", At: now, Values: map[conditions.Variable]float64{conditions.Fan: 0}})
	t.Fatal(http.ListenAndServe(address, handlerOf(t, f)))
}
