package planner

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"fairwindow/config"
)

// TestWaitingForTheMover: a boat is to be sanded in the shed by people who are always
// there. The one man who moves boats, for half an hour each, is there from 07:00 to 15:30
// on weekdays, an hour behind UTC. What a boat waits for is the move only while he is
// there long enough for one; of a night and a weekend the cause is his shift.
func TestWaitingForTheMover(t *testing.T) {
	const short, nobody = "too little of the shift is left to move the boat", "nobody is there to move the boat"
	for name, c := range map[string]struct {
		at   time.Duration // since Monday 07:00 in the yard
		busy bool          // he works at another boat up to the end of his shift
		want []string
	}{
		"at once":                       {at: 0, want: []string{"lift or move Mon 06:00 Mon 06:30"}},
		"too late for a move":           {at: 8*time.Hour + 10*time.Minute, want: []string{"lift or move Mon 14:10 Mon 14:40", "no shift Mon 14:40 Tue 06:30 " + short}},
		"too late before a weekend":     {at: 104*time.Hour + 10*time.Minute, want: []string{"lift or move Fri 14:10 Fri 14:40", "no shift Fri 14:40 Mon 06:30 " + short}},
		"in the evening":                {at: 14 * time.Hour, want: []string{"lift or move Mon 20:00 Mon 20:30", "no shift Mon 20:30 Tue 06:30 " + nobody}},
		"busy until the shift is over":  {at: 6 * time.Hour, busy: true, want: []string{"lift or move Mon 12:00 Mon 14:35", "no shift Mon 14:35 Tue 06:30 " + short}},
		"busy before a weekend as well": {at: 102 * time.Hour, busy: true, want: []string{"lift or move Fri 12:00 Fri 14:35", "no shift Fri 14:35 Mon 06:30 " + short}},
	} {
		t.Run(name, func(t *testing.T) {
			p := problem(fleet(2)...)
			p.At, p.Horizon = monday.Add(c.at), 10*24*time.Hour
			p.Yard.Crews[0].Skills, p.Yard.Crews[0].Shifts = []string{"prep"}, week("0 0 * * *", 24)
			p.Yard.Crews[1] = config.Crew{Name: "mover", Skills: []string{"move", "detail"}, People: 1, Shifts: week("0 7 * * 1-5", 8.5)}
			sand := config.Stage{Name: "sand", Kind: config.Sand, Skill: "prep", People: 2, Takes: hours(2), Places: []config.PlaceKind{config.Shed}}
			unmask := config.Stage{Name: "unmask", Kind: config.Unmask, Skill: "detail", People: 1, Takes: hours(3.5), Places: []config.PlaceKind{config.Slip}}
			p.Yard.Systems = []config.System{{Name: "sand", Stages: []config.Stage{sand}}, {Name: "unmask", Stages: []config.Stage{unmask}}}
			p.Boats[0].Areas[0].System, p.Boats[1].Areas[0].System = "sand", "unmask"
			p.Presses = []Press{
				{Kind: Arrived, Key: Key{Boat: "boat 01"}, Place: "standing", Happened: p.At.Add(-100 * time.Hour)},
				{Kind: Arrived, Key: Key{Boat: "boat 02"}, Place: "slip", Happened: p.At.Add(-100 * time.Hour)},
			}
			if c.busy {
				p.Presses = append(p.Presses, Press{Kind: Started, Key: Key{"boat 02", "topsides", "unmask"}, Happened: p.At.Add(-time.Hour), By: "mover"})
			} else {
				p.Boats = p.Boats[:1]
			}
			var got []string
			for _, w := range stageOf(t, kept(t, p), "boat 01", "sand").Waits {
				got = append(got, strings.TrimSpace(fmt.Sprintf("%s %s %s %s", w.Cause, w.From.Format("Mon 15:04"), w.To.Format("Mon 15:04"), w.Evidence.Note)))
			}
			if !slices.Equal(got, c.want) {
				t.Errorf("%q, want %q", got, c.want)
			}
		})
	}
}
