package service

import (
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"sort"
	"time"

	"fairwindow/conditions"
	"fairwindow/config"
	"fairwindow/daemon/record"
	"fairwindow/daemon/store"
	"fairwindow/sensors"
)

// RecordOf makes a boat's record from what a store keeps; for who has no service.
func RecordOf(ctx context.Context, from *store.Store, y config.Yard, boat string) (record.Record, error) {
	f := factsOf(y.WithDefaults())
	if err := f.recallWork(ctx, from); err != nil {
		return record.Record{}, err
	}
	return recordOf(ctx, from, f.yard, &f, boat)
}

func recordOf(ctx context.Context, from *store.Store, y config.Yard, f *facts, boat string) (record.Record, error) {
	known, err := recordFacts(ctx, from, y, f, boat)
	if err != nil {
		return record.Record{}, err
	}
	for _, w := range record.Wants(known) {
		air, err := answered(ctx, from, y, boat, w)
		if err != nil {
			return record.Record{}, err
		}
		known.Air = append(known.Air, air...)
	}
	return record.Of(known), nil
}

// recordFacts are those of a record without the air.
func recordFacts(ctx context.Context, from *store.Store, y config.Yard, f *facts, boat string) (record.Facts, error) {
	is, err := everBoat(ctx, from, f, boat)
	if err != nil {
		return record.Facts{}, err
	}
	known := record.Facts{Yard: y, Boat: is, Presses: onBoat(f.presses, boat), Terms: map[string]record.Terms{}}
	if known.Entries, err = from.Entries(ctx, boat); err != nil {
		return known, err
	}
	for _, g := range f.signed {
		if g.Key.Boat == boat {
			known.Signatures = append(known.Signatures, g)
		}
	}
	digests := map[string]bool{}
	for _, p := range known.Presses {
		known.Checks = append(known.Checks, checked(p)...)
		if p.Terms != "" {
			digests[p.Terms] = true
		}
	}
	texts, err := from.Terms(ctx, digests)
	if err != nil {
		return known, err
	}
	for digest, text := range texts {
		var t record.Terms
		if err := json.Unmarshal(text, &t); err != nil {
			return known, fmt.Errorf("terms %s: %w", digest, err)
		}
		known.Terms[digest] = t
	}
	return known, nil
}

// everBoat is a boat of the book, or as it was when it was taken out: its record outlives that.
func everBoat(ctx context.Context, from *store.Store, f *facts, boat string) (config.Boat, error) {
	if at := slices.IndexFunc(f.boats, func(b config.Boat) bool { return b.Name == boat }); at >= 0 {
		return f.boats[at], nil
	}
	all, err := from.BoatVersions(ctx, boat)
	if err == nil && len(all) == 0 {
		err = errNoBoat(boat)
	}
	if err != nil {
		return config.Boat{}, err
	}
	return all[0].Of, nil
}

// answered is what was measured in a place and on a boat at the times that a record asks
// for, a day of readings at a time. Where nobody measured there is no answer.
func answered(ctx context.Context, from *store.Store, y config.Yard, boat string, w record.Want) ([]record.Air, error) {
	place, _ := y.Place(w.Place)
	spot := sensors.Spot{Place: w.Place, Boat: boat, Pressure: conditions.StandardPressure(y.Elevation.SI)}
	var all []record.Air
	for i := 0; i < len(w.At); {
		first := w.At[i]
		n := i + sort.Search(len(w.At)-i, func(k int) bool { return w.At[i+k].Sub(first) > 24*time.Hour })
		readings, err := around(ctx, from, w.Place, boat, first.Add(-record.Reach), w.At[n-1].Add(time.Millisecond))
		if err != nil {
			return nil, err
		}
		var station []sensors.Reading
		if !place.Roofed() {
			station, err = from.Readings(ctx, store.Query{Place: config.Outdoors, From: first.Add(-record.Reach), To: w.At[n-1].Add(time.Millisecond)})
			if err != nil {
				return nil, err
			}
		}
		for ; i < n; i++ {
			if air, ok := airAt(readings, station, spot, place, w.At[i]); ok {
				all = append(all, air)
			}
		}
	}
	return all, nil
}

// around are the readings of a place's air and of one boat, by time.
func around(ctx context.Context, from *store.Store, place, boat string, since, to time.Time) ([]sensors.Reading, error) {
	all, err := from.Readings(ctx, store.Query{Place: place, From: since, To: to})
	if err != nil {
		return nil, err
	}
	all = slices.DeleteFunc(all, func(r sensors.Reading) bool { return r.Boat != "" && r.Boat != boat })
	own, err := from.Readings(ctx, store.Query{Boat: boat, From: since, To: to})
	if err != nil {
		return nil, err
	}
	for _, r := range own {
		if r.Place == "" {
			all = append(all, r)
		}
	}
	slices.SortStableFunc(all, func(a, b sensors.Reading) int { return cmp.Or(a.At.Compare(b.At), cmp.Compare(a.ID, b.ID)) })
	return all, nil
}

func airAt(readings, station []sensors.Reading, spot sensors.Spot, place config.Place, at time.Time) (record.Air, bool) {
	near := window(readings, at)
	if len(near) == 0 {
		return record.Air{}, false
	}
	m := sensors.Merge(near, spot, at, record.Reach)
	if place.Roofed() {
		m.Wind, m.Gust, m.Rain, m.RainChance = 0, 0, 0, 0
	} else if far := window(station, at); len(far) > 0 {
		w := sensors.Merge(far, sensors.Spot{Place: config.Outdoors, Pressure: spot.Pressure}, at, record.Reach)
		m.Wind, m.Gust, m.Rain, m.RainChance = w.Wind, w.Gust, w.Rain, w.RainChance
	}
	air := record.Air{Place: spot.Place, Moment: m}
	heard := map[string]bool{}
	for _, r := range near {
		if len(r.Flags) == 0 && !heard[r.Source] {
			heard[r.Source] = true
			air.By = append(air.By, r.Source)
		}
	}
	slices.Sort(air.By)
	return air, true
}

// window are the readings that speak for a time.
func window(readings []sensors.Reading, at time.Time) []sensors.Reading {
	upTo := sort.Search(len(readings), func(i int) bool { return readings[i].At.After(at) })
	since := sort.Search(upTo, func(i int) bool { return !readings[i].At.Before(at.Add(-record.Reach)) })
	return readings[since:upTo]
}
