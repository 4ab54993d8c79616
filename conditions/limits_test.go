package conditions

import (
	"testing"

	"fairwindow/conditions/unit"
)

func lim[T ~float64](t testing.TB, text string) *unit.Written[T] {
	t.Helper()
	w, err := unit.Parse[T](text)
	if err != nil {
		t.Fatal(err)
	}
	return &w
}

// usual is the default profile of the trade's cases: margin 3 °C, 85 %, air and
// surface 10 to 32 °C, wind and gust 6.7 m/s (15 mph).
func usual(t testing.TB) Owned {
	return Owned{"profile usual", Limits{
		Margin:      lim[unit.TempDiff](t, "3 C"),
		HumidityMax: lim[unit.Humidity](t, "85 %"),
		AirMin:      lim[unit.Temperature](t, "10 C"),
		AirMax:      lim[unit.Temperature](t, "32 C"),
		SurfaceMin:  lim[unit.Temperature](t, "10 C"),
		SurfaceMax:  lim[unit.Temperature](t, "32 C"),
		WindMax:     lim[unit.Speed](t, "6.7 m/s"),
	}}
}

// finish is the finish profile's humidity, TM 55-1500-345-23: 40 to 75 %.
func finish(t testing.TB) Owned {
	return Owned{"profile finish", Limits{
		HumidityMin: lim[unit.Humidity](t, "40 %"),
		HumidityMax: lim[unit.Humidity](t, "75 %"),
	}}
}

// TestStrictest: all sets apply, strictest first; the fallback fills only what
// no set mentions, and a least is not a greatest.
func TestStrictest(t *testing.T) {
	card := Owned{"card A rev 2", Limits{
		Margin:     lim[unit.TempDiff](t, "5 F"),
		SurfaceMin: lim[unit.Temperature](t, "60 F"),
	}}
	yard := Owned{"the yard", Limits{SurfaceMin: lim[unit.Temperature](t, "12 C")}}
	fallback := usual(t)
	got := Strictest(&fallback, yard, card)
	want := []struct {
		of             Quantity
		least          bool
		written, owner string
	}{
		{OfMargin, true, "5 F", "card A rev 2"},
		{OfHumidity, false, "85 %", "profile usual"},
		{OfAir, true, "10 C", "profile usual"},
		{OfAir, false, "32 C", "profile usual"},
		{OfSurface, true, "60 F", "card A rev 2"},
		{OfSurface, true, "12 C", "the yard"},
		{OfSurface, false, "32 C", "profile usual"},
		{OfWind, false, "6.7 m/s", "profile usual"},
	}
	if len(got) != len(want) {
		t.Fatalf("got %d bounds %+v", len(got), got)
	}
	for i, w := range want {
		if g := got[i]; g.Of != w.of || g.Least != w.least || g.Written != w.written || g.Owner != w.owner {
			t.Errorf("bound %d is %+v, want %+v", i, g, w)
		}
	}
	if rules := Strictest(nil); len(rules) != 0 {
		t.Errorf("no sets gave %+v", rules)
	}
	if fallback.Limits.Margin.SI != 3 {
		t.Error("the fallback was changed")
	}
}
