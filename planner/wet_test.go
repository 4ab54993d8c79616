package planner

import (
	"testing"
	"time"

	"pgregory.net/rapid"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
)

// wetYard has a card that is dust-free after 2 h at 20 °C, and two areas to coat.
func wetYard() (config.Yard, []config.Boat) {
	points := conditions.Table{{At: unit.Of(unit.Temperature(10)), Takes: unit.Duration(4 * time.Hour)}, {At: unit.Of(unit.Temperature(20)), Takes: unit.Duration(2 * time.Hour)}}
	y := config.Yard{
		Zone: "UTC", Cards: []config.Card{{Name: "Gloss", Cure: conditions.Cure{DustFree: points}}},
		Systems: []config.System{{Name: "s", Stages: []config.Stage{{Name: "coat", Kind: config.Coat, Card: "Gloss", Passes: 1}, {Name: "rub", Kind: config.Sand}}}},
		Places:  []config.Place{{Name: "booth", Kind: config.Booth}, {Name: "shed", Kind: config.Shed}},
	}
	return y, []config.Boat{{Name: "B", Areas: []config.Area{{Name: "hull", System: "s"}, {Name: "deck", System: "s"}}}}
}

var wetDay = time.Date(2026, 4, 6, 0, 0, 0, 0, time.UTC)

func wetAt(hour float64) time.Time { return wetDay.Add(time.Duration(hour * float64(time.Hour))) }

func wetPresses(area string, from, to float64) []Press {
	k := Key{Boat: "B", Area: area, Stage: "coat"}
	all := []Press{{Kind: Started, Key: k, Happened: wetAt(from)}}
	if to > 0 {
		all = append(all, Press{Kind: PassDone, Key: k, Pass: 1, Happened: wetAt(to)})
	}
	return all
}

func TestWet(t *testing.T) {
	y, boats := wetYard()
	arrived := Press{Kind: Arrived, Key: Key{Boat: "B"}, Place: "booth", Happened: wetAt(0)}
	for _, tt := range []struct {
		name     string
		presses  []Press
		place    string
		from, to float64
		want     []Span
	}{
		{"nothing", nil, "booth", 0, 24, nil},
		{"until it is dust-free", wetPresses("hull", 8, 9), "booth", 0, 24, []Span{{wetAt(8), wetAt(11)}}},
		{"elsewhere", wetPresses("hull", 8, 9), "shed", 0, 24, nil},
		{"it goes on", wetPresses("hull", 8, 0), "booth", 0, 12, []Span{{wetAt(8), wetAt(12)}}},
		{"nobody says that it ended", wetPresses("hull", 8, 0), "booth", 0, 48, []Span{{wetAt(8), wetAt(22)}}},
		{"only what is asked", wetPresses("hull", 8, 9), "booth", 8.5, 10, []Span{{wetAt(8.5), wetAt(10)}}},
		{"before", wetPresses("hull", 8, 9), "booth", 11, 24, nil},
		{"two at once count once", append(wetPresses("hull", 8, 9), wetPresses("deck", 10, 12)...), "booth", 0, 24, []Span{{wetAt(8), wetAt(14)}}},
		{"one after the other", append(wetPresses("hull", 8, 9), wetPresses("deck", 12, 13)...), "booth", 0, 24, []Span{{wetAt(8), wetAt(11)}, {wetAt(12), wetAt(15)}}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			w := Replay(y, boats, append([]Press{arrived}, tt.presses...))
			got := w.Wet(y, tt.place, wetAt(tt.from), wetAt(tt.to))
			if len(got) != len(tt.want) {
				t.Fatalf("got %v, want %v", got, tt.want)
			}
			for i := range got {
				if !got[i].From.Equal(tt.want[i].From) || !got[i].To.Equal(tt.want[i].To) {
					t.Errorf("got %v, want %v", got, tt.want)
				}
			}
		})
	}
}

// TestWetAddsUp: the hours up to a time and from then on are all the hours, so that
// they can be counted for good piece by piece.
func TestWetAddsUp(t *testing.T) {
	y, boats := wetYard()
	rapid.Check(t, func(t *rapid.T) {
		hour := rapid.Float64Range(0, 20)
		a, b := hour.Draw(t, "hull"), hour.Draw(t, "deck")
		presses := append([]Press{{Kind: Arrived, Key: Key{Boat: "B"}, Place: "booth", Happened: wetDay}}, wetPresses("hull", a, a+1)...)
		w := Replay(y, boats, append(presses, wetPresses("deck", b, b+2)...))
		sum := func(from, to float64) (all time.Duration) {
			for _, s := range w.Wet(y, "booth", wetAt(from), wetAt(to)) {
				all += s.To.Sub(s.From)
			}
			return all
		}
		mid := hour.Draw(t, "mid")
		if whole, parts := sum(0, 30), sum(0, mid)+sum(mid, 30); whole != parts {
			t.Fatalf("%s in all, %s in parts", whole, parts)
		}
		// Hours are drawn as fractions: each end is rounded to a nanosecond.
		if most, is := 7*time.Hour+time.Microsecond, sum(0, 30); is > most {
			t.Fatalf("%s, more than %s", is, most)
		}
	})
}
