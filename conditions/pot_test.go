package conditions

import (
	"testing"
	"time"

	"fairwindow/conditions/unit"
	"pgregory.net/rapid"
)

// urethane is a polyurethane topcoat's pot life, UFGS 09971: 2 h at 21 °C.
func urethane(t testing.TB) PotLife {
	return PotLife{Lasts: unit.Duration(2 * time.Hour), At: *lim[unit.Temperature](t, "21 C")}
}

// epoxyStands is an epoxy's induction, NAVFAC MO-124, p. 70: 2 h at 50 to 60 °F,
// 1 to 1.5 h at 60 to 70, 0.5 to 1 h above; of each the longer.
func epoxyStands(t testing.TB) []Induction {
	var all []Induction
	for _, r := range []struct {
		from, to string
		stands   time.Duration
	}{{"50 F", "60 F", 2 * time.Hour}, {"60 F", "70 F", 90 * time.Minute}, {"70 F", "100 F", time.Hour}} {
		all = append(all, Induction{*lim[unit.Temperature](t, r.from), *lim[unit.Temperature](t, r.to), unit.Duration(r.stands)})
	}
	return all
}

// TestPotLifeHalves per 10 °C rise and doubles per 10 °C drop: UFGS 09971, 3.7.1.3.
func TestPotLifeHalves(t *testing.T) {
	p := urethane(t)
	for temp, want := range map[unit.Temperature]time.Duration{
		31: time.Hour, 21: 2 * time.Hour, 11: 4 * time.Hour, 41: 30 * time.Minute, noTemp: 2 * time.Hour,
	} {
		if got := p.LastsAt(temp); got != want {
			t.Errorf("at %v: got %v, want %v", temp, got, want)
		}
	}
	if got := p.LastsAt(-1e6); got <= 0 {
		t.Errorf("in an impossible cold: got %v", got)
	}
	p.Lasts = unit.Duration(99 * 365 * 24 * time.Hour)
	if got := p.LastsAt(-80); got <= 0 || got > 101*365*24*time.Hour {
		t.Errorf("a long life in the cold: got %v", got)
	}
	p.Lasts = -1
	if got := p.Ends(monday, nil); got.Before(monday) {
		t.Errorf("it is over before it is mixed: %v", got)
	}
	if got := (PotLife{}).LastsAt(21); got != 0 {
		t.Errorf("a card without a pot life: got %v", got)
	}
}

// TestCase15: mixed 10:00 with 2 h at 21 °C; a pot at 31 °C is over at 11:00. Had
// it stood half an hour at 21 °C first, a quarter of its life would be gone and
// the rest last 45 minutes.
func TestCase15(t *testing.T) {
	p := urethane(t)
	mixed := time.Date(2026, 5, 4, 10, 0, 0, 0, time.UTC)
	till := func(minutes int, temp unit.Temperature) Stood {
		return Stood{mixed.Add(time.Duration(minutes) * time.Minute), temp}
	}
	for _, c := range []struct {
		name string
		pot  []Stood
		want string
	}{
		{"nothing known", nil, "12:00"},
		{"hot throughout", []Stood{till(10, 31)}, "11:00"},
		{"hot throughout, seen to the end", []Stood{till(300, 31)}, "11:00"},
		{"half an hour at 21", []Stood{till(30, 21), till(31, 31)}, "11:15"},
		{"cooled too late", []Stood{till(55, 31), till(300, 21)}, "11:05"},
		{"over before the last", []Stood{till(90, 31), till(300, 11)}, "11:00"},
		{"a spell that ended before it", []Stood{till(-60, 41), till(10, 31)}, "11:00"},
		{"a gap is as the card has it", []Stood{till(60, noTemp), till(61, 31)}, "11:30"},
		{"too hot to last at all", []Stood{till(30, 300), till(31, 21)}, "10:00"},
	} {
		if got := p.Ends(mixed, c.pot).Format("15:04"); got != c.want {
			t.Errorf("%s: %s, want %s", c.name, got, c.want)
		}
	}
	if got := (PotLife{}).Ends(mixed, []Stood{till(30, 21)}); !got.Equal(mixed) {
		t.Errorf("a card without a pot life: %v", got)
	}
}

// TestCase16: an epoxy mixed at 14 °C at 07:30 may not be used before 09:30.
func TestCase16(t *testing.T) {
	mixed := time.Date(2026, 5, 4, 7, 30, 0, 0, time.UTC)
	if got := mixed.Add(Stands(epoxyStands(t), 14)).Format("15:04"); got != "09:30" {
		t.Errorf("used from %s", got)
	}
	for mix, want := range map[unit.Temperature]time.Duration{
		18:                                   90 * time.Minute,
		written[unit.Temperature](t, "60 F"): 2 * time.Hour, // where two meet: the longer
		5:                                    2 * time.Hour, // beyond: the nearest
		45:                                   time.Hour,
		noTemp:                               2 * time.Hour, // unknown: the longest
	} {
		if got := Stands(epoxyStands(t), mix); got != want {
			t.Errorf("mixed at %v: got %v, want %v", mix, got, want)
		}
	}
	if got := Stands(nil, 14); got != 0 {
		t.Errorf("a card without induction: got %v", got)
	}
}

// TestWarmerPotsEndSooner, each step of a history for itself, and a history in
// pieces ends when the whole does.
func TestWarmerPotsEndSooner(t *testing.T) {
	p := urethane(t)
	rapid.Check(t, func(t *rapid.T) {
		var cool, warm, pieces []Stood
		for i := range rapid.IntRange(1, 8).Draw(t, "spells") {
			temp := unit.Temperature(rapid.Float64Range(5, 40).Draw(t, "temperature"))
			more := unit.Temperature(rapid.Float64Range(0, 10).Draw(t, "warmer"))
			until := after(float64(i+1) / 4)
			cool, warm = append(cool, Stood{until, temp}), append(warm, Stood{until, temp + more})
			pieces = append(pieces, Stood{until.Add(-7 * time.Minute), temp}, Stood{until, temp})
		}
		whole := p.Ends(monday, cool)
		if whole.Before(p.Ends(monday, warm)) {
			t.Fatalf("cool ends %v, warm %v", whole, p.Ends(monday, warm))
		}
		if d := whole.Sub(p.Ends(monday, pieces)).Abs(); d > time.Second {
			t.Fatalf("in pieces it ends %v off", d)
		}
	})
}
