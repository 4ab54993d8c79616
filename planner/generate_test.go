package planner

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"testing"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
)

// generated is an invented yard in the midst of its work, on the real weather of a
// place and year drawn by the seed, from April to early September: one Problem for
// one number of boats and one seed, bit for bit. Forty boats have twelve places,
// six crews and some 700 open stages in six weeks.
func generated(t testing.TB, boats int, seed uint64) Problem {
	t.Helper()
	luck := rand.New(rand.NewPCG(seed, uint64(boats)))
	all := climates(t)
	where := &all[luck.IntN(len(all))]
	zone, err := time.LoadLocation(where.zone)
	if err != nil {
		t.Fatal(err)
	}
	g := &generator{luck: luck, zone: zone}
	day := time.Date(where.hours[0].At.Year(), time.April, 2+luck.IntN(150), 0, 0, 0, 0, zone)
	for day.Weekday() == time.Saturday || day.Weekday() == time.Sunday {
		day = day.AddDate(0, 0, 1)
	}
	at := day.Add(8*time.Hour + time.Duration(luck.IntN(8*60))*time.Minute)
	g.p = Problem{At: at.UTC(), Horizon: 6 * 7 * 24 * time.Hour, Issued: at.UTC().Truncate(6 * time.Hour)}
	g.p.Outdoors = where.foretelling(g.p.At, g.p.Horizon, luck)
	g.p.Yard = config.Yard{
		Name: fmt.Sprintf("generated yard of %d boats, seed %d", boats, seed), Zone: where.zone,
		Latitude: where.latitude, Longitude: where.longitude,
		Cards: generatedCards(), Systems: generatedSystems(),
	}
	g.places(boats)
	g.crews(boats)
	g.closures()
	for i := range boats {
		g.boat(i, boats)
	}
	return g.p
}

type generator struct {
	luck *rand.Rand
	zone *time.Location
	p    Problem
	in   map[string]int // boats standing in each place
}

// days is a day and hour in the yard's zone, so many days from now, as people write it.
func (g *generator) days(n int, hour int) string {
	d := g.p.At.In(g.zone).AddDate(0, 0, n)
	return time.Date(d.Year(), d.Month(), d.Day(), hour, 0, 0, 0, g.zone).Format("2006-01-02 15:04")
}

func (g *generator) often(share float64) bool { return g.luck.Float64() < share }

func (g *generator) between(low, high float64) float64 { return low + (high-low)*g.luck.Float64() }

// places are, for every ten boats, a large booth or two, a shed, a tent, a slip, and
// standings for all.
func (g *generator) places(boats int) {
	g.in = map[string]int{}
	add := func(n int, one config.Place, sizes ...[3]float64) {
		for i := range n {
			p := one
			p.Name = fmt.Sprintf("%s %d", p.Kind, i+1)
			size := sizes[i%len(sizes)]
			p.Length, p.Width = unit.Of(unit.Length(size[0])), unit.Of(unit.Length(size[1]))
			if size[2] > 0 {
				p.Height = unit.Of(unit.Length(size[2]))
			}
			p.Move = hours([]float64{0.5, 0.75, 1}[g.luck.IntN(3)])
			if p.Kind == config.Booth {
				air := *p.Booth
				p.Booth = &air
			}
			// Two booths in one hall, and a shed beside them.
			if p.Kind == config.Booth && i < 2 && n > 1 || p.Kind == config.Shed && i == 0 && n > 1 {
				p.Air = "hall"
			}
			g.p.Yard.Places = append(g.p.Yard.Places, p)
		}
	}
	plant := &config.BoothAir{
		Heater: unit.Of(unit.Power(350)), Spraying: unit.Of(unit.Flow(60000)), Curing: unit.Of(unit.Flow(6000)),
		SetPoint: celsius(22), Dehumid: unit.Of(unit.WaterRate(20)), Clearance: hours(5.0 / 60),
	}
	large, middle, small := [3]float64{30, 9, 11}, [3]float64{27, 8.5, 10}, [3]float64{19, 7, 8}
	add(max(1, (boats+7)/8), config.Place{Kind: config.Booth, Booth: plant}, large, middle, small, large)
	add(max(1, boats/20), config.Place{Kind: config.Shed, Boats: 2}, [3]float64{32, 9, 11})
	add(max(1, boats/20), config.Place{Kind: config.Tent}, large)
	add(max(1, boats/40), config.Place{Kind: config.Slip, Heading: 250}, [3]float64{30, 10, 0})
	add(max(1, boats/20), config.Place{Kind: config.Standing, Boats: max(boats/max(1, boats/20), boats)}, [3]float64{32, 10, 0})
}

// crews grow from three to six, and their people with the boats: about one for
// every three boats in preparing, one for five in painting.
func (g *generator) crews(boats int) {
	people := func(per float64, crews int) int { return max(2, int(float64(boats)/per/float64(crews)+0.5)) }
	weekdays := config.Shift{Starts: "0 7 * * 1-5", Length: hours(8.5)}
	saturday := config.Shift{Starts: "0 7 * * 6", Length: hours(5)}
	late := config.Shift{Starts: "0 11 * * 1-5", Length: hours(8.5)}
	prep, paint := []string{"prep"}, []string{"paint", "wipe"}
	add := func(name string, skills []string, n int, shifts ...config.Shift) {
		g.p.Yard.Crews = append(g.p.Yard.Crews, config.Crew{Name: name, Skills: skills, People: n, Shifts: shifts})
	}
	preps, paints := 1, 1
	if boats >= 15 {
		preps = 2
	}
	if boats >= 25 {
		paints = 2
	}
	add("prep A", prep, people(2.5, preps)+1, weekdays)
	if preps == 2 {
		add("prep B", prep, people(2.5, preps)+1, weekdays)
	}
	add("paint A", paint, people(6, paints)+1, weekdays, saturday)
	if paints == 2 {
		add("paint B", paint, people(6, paints)+1, late)
	}
	detail := []string{"detail", "move"}
	if boats >= 10 {
		add("lift", []string{"move"}, max(2, boats/15), weekdays)
		detail = detail[:1]
	}
	add("detail", detail, people(8, 1)+1, weekdays)
}

// closures are a holiday, a morning of new filters, a crew on a course, and a
// booth that is cleaned every Friday.
func (g *generator) closures() {
	y := &g.p.Yard
	holiday := g.days(3+g.luck.IntN(30), 0)[:10]
	filters := 2 + g.luck.IntN(15)
	course := g.days(1+g.luck.IntN(20), 0)[:10]
	y.Closures = []config.Closure{
		{From: holiday, Why: "public holiday"},
		{Place: "booth 1", From: g.days(filters, 7), To: g.days(filters, 12), Why: "filters are changed"},
		{Crew: "prep A", From: course, Why: "a course"},
		{Place: y.Places[g.booths()-1].Name, Starts: "0 13 * * 5", Length: hours(2), Why: "cleaning"},
	}
}

func (g *generator) booths() int {
	n := 0
	for _, p := range g.p.Yard.Places {
		if p.Kind == config.Booth {
			n++
		}
	}
	return n
}

// curve is a time that doubles for each 10 °C less than 20 and halves for each
// more, from 5 to 40 °C: an illustrative card's.
func curve(at20 float64) conditions.Table {
	return conditions.Table{
		{At: celsius(5), Takes: hours(at20 * 2.83)}, {At: celsius(10), Takes: hours(at20 * 2)}, {At: celsius(20), Takes: hours(at20)},
		{At: celsius(30), Takes: hours(at20 / 2)}, {At: celsius(40), Takes: hours(at20 / 4)},
	}
}

// generatedCards are three illustrative coatings: a primer that reactivates, a
// filler coat with a short recoat window that must be sanded then, and a topcoat by
// the hottest hour whose protection ends in two steps.
func generatedCards() []config.Card {
	humidity := func(v float64) *unit.Written[unit.Humidity] { w := unit.Of(unit.Humidity(v)); return &w }
	rain := unit.Of(unit.Share(0.1))
	card := func(name string, k float64) config.Card {
		return config.Card{
			Name: name, Revision: 1, Illustrative: true, Material: "illustrative " + name,
			Mix: config.Mix{Base: 2, Hardener: 1}, PotLife: config.PotLife{Lasts: hours(4), At: celsius(21)},
			Spread: config.Spread{Solids: unit.Of(unit.Share(0.5)), Dry: unit.Of(unit.Film(50e-6)), Loss: unit.Of(unit.Share(0.4))},
			Cure: conditions.Cure{
				DustFree: curve(1.5 * k), TouchDry: curve(3 * k), Protected: curve(6 * k), Taped: curve(10 * k), Recoat: curve(5 * k),
				Sandable: curve(12 * k), Movable: curve(14 * k), LastRecoat: curve(60 * k), Launch: curve(120),
			},
			FlashOff: config.Interval{Least: hours(0.5), Greatest: hours(4)},
			Limits:   config.Limits{Margin: least(3), HumidityMax: humidity(85), SurfaceMin: degrees(10), SurfaceMax: degrees(35), WindMax: wind(6.7), RainMax: &rain},
		}
	}
	primer, build, finish := card("primer", 0.9), card("high build", 1.2), card("topcoat", 1.4)
	primer.ProtectUntil, build.ProtectUntil = conditions.Protected, conditions.Protected
	primer.Cure.Reactivate = curve(120)
	build.Cure.LastRecoat = curve(40)
	finish.Limits.SurfaceMin, finish.Limits.HumidityMax = degrees(15), humidity(80)
	finish.Cure.Recoat, finish.Cure.LastRecoat = nil, nil
	finish.Cure.Bands = []conditions.Band{
		{From: celsius(5), To: celsius(15), Opens: hours(12), Closes: hours(60)},
		{From: celsius(15), To: celsius(21), Opens: hours(8), Closes: hours(48)},
		{From: celsius(21), To: celsius(40), Opens: hours(6), Closes: hours(36)},
	}
	finish.Protection = []config.Protect{
		{Until: conditions.TouchDry, Limits: config.Limits{RainMax: &rain}},
		{Until: conditions.Protected, Limits: config.Limits{Margin: least(3)}},
	}
	return []config.Card{primer, build, finish}
}

// generatedSystems are what boats come for, with rates of common practice, no source.
func generatedSystems() []config.System {
	rough := []config.PlaceKind{config.Shed, config.Tent, config.Slip}
	clean := []config.PlaceKind{config.Booth}
	either := []config.PlaceKind{config.Booth, config.Tent}
	stage := func(name string, kind config.StageKind, skill string, people int, rate float64, block string, places []config.PlaceKind) config.Stage {
		return config.Stage{Name: name, Kind: kind, Skill: skill, People: people, Rate: unit.Of(unit.WorkRate(rate)), Block: block, Places: places}
	}
	wipe := func(name string, life float64, block string, places []config.PlaceKind) config.Stage {
		s := stage(name, config.Wipe, "wipe", 2, 40, block, places)
		s.Life, s.Limits = hours(life), config.Limits{Margin: least(1)}
		return s
	}
	coat := func(name, card string, passes int, rate float64, block string, places []config.PlaceKind) config.Stage {
		s := stage(name, config.Coat, "paint", 2, rate, block, places)
		s.Card, s.Passes = card, passes
		return s
	}
	mask := func(name, block string, places []config.PlaceKind) config.Stage {
		s := stage(name, config.Mask, "prep", 2, 12, block, places)
		s.Life = hours(12 * 24)
		return s
	}
	unmask := func(block string, places []config.PlaceKind) config.Stage {
		return stage("unmask", config.Unmask, "detail", 2, 30, block, places)
	}
	inspect := config.Stage{Name: "inspect", Kind: config.Inspect, Skill: "detail", People: 1, Takes: hours(0.5)}
	launch := config.Stage{Name: "cure to launch", Kind: config.Hold, Until: conditions.Launch}
	return []config.System{
		{Name: "refinish", Stages: []config.Stage{
			stage("wash", config.Wash, "prep", 2, 25, "prep", rough),
			stage("sand 80", config.Sand, "prep", 2, 5, "prep", rough),
			stage("fair", config.Fair, "prep", 2, 8, "prep", rough),
			mask("mask", "paint", clean),
			wipe("wipe", 4, "paint", clean), coat("prime", "high build", 2, 40, "paint", clean),
			stage("sand 320", config.Sand, "prep", 2, 8, "paint", clean),
			wipe("tack", 2, "paint", clean), coat("topcoat", "topcoat", 2, 45, "paint", clean),
			unmask("paint", clean), inspect, launch,
		}},
		{Name: "topcoat only", Stages: []config.Stage{
			stage("wash", config.Wash, "prep", 2, 25, "prep", rough),
			stage("sand 320", config.Sand, "prep", 2, 8, "prep", rough),
			mask("mask", "paint", clean), wipe("tack", 2, "paint", clean),
			coat("topcoat", "topcoat", 2, 45, "paint", clean), unmask("paint", clean), inspect,
		}},
		{Name: "two primers", Stages: []config.Stage{
			stage("sand 180", config.Sand, "prep", 2, 8, "prep", rough),
			mask("mask", "coats", either), wipe("wipe", 4, "coats", either),
			coat("first", "primer", 1, 40, "coats", either), coat("second", "primer", 1, 40, "coats", either),
			unmask("coats", either), inspect,
		}},
		{Name: "stripe", Stages: []config.Stage{
			mask("mask", "stripe", either), wipe("wipe", 4, "stripe", either), coat("stripe", "topcoat", 2, 12, "stripe", either), unmask("stripe", either),
		}},
	}
}

// TestGeneratedTwice: a seed is one yard, and another seed is another.
func TestGeneratedTwice(t *testing.T) {
	text := func(seed uint64) string {
		all, err := json.Marshal(generated(t, 5, seed))
		if err != nil {
			t.Fatal(err)
		}
		return string(all)
	}
	first, again, other := text(1), text(1), text(2)
	if first != again || first == other {
		t.Error("a seed is not one yard")
	}
}
