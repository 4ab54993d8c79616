package store

import (
	"math"
	"reflect"
	"testing"
	"time"

	"fairwindow/conditions"
	"fairwindow/sensors"
)

func TestReadingComesBackAsItWent(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir())
	full := sensors.Reading{
		Source: "probe 3", Boat: "Alder", At: noon.Add(123456789), Received: noon.In(time.FixedZone("", 3600)), Key: "k",
		Values: map[conditions.Variable]float64{conditions.Surface: 17.123456789012345, conditions.DewPointTemp: -0.1,
			conditions.AirTemperature: math.Inf(1), conditions.RelHumidity: math.Inf(-1)},
		Flags: []sensors.Flag{{Of: conditions.AirTemperature, Fault: sensors.NotANumber, Note: "inf"}, {Fault: sensors.Old}},
		Raw:   "{\"t\": \"\x00é<\"}",
	}
	done := commit(t, s, Change{Readings: []sensors.Reading{full, {Source: "bare", At: noon.Add(time.Hour), Received: noon, Key: "b"}}})
	got, err := s.Readings(t.Context(), Query{})
	if err != nil {
		t.Fatal(err)
	}
	full.ID, full.At, full.Received = 1, noon.Add(123*time.Millisecond), noon
	if !reflect.DeepEqual(got[0], full) {
		t.Errorf("got  %+v\nwant %+v", got[0], full)
	}
	if !reflect.DeepEqual(done.Readings[0], full) {
		t.Errorf("committed %+v", done.Readings[0])
	}
	if len(got) != 2 || got[1].Values == nil || got[1].Flags != nil {
		t.Errorf("bare: %+v", got)
	}
}

func TestAValueThatIsNotANumberIsKept(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir())
	r := reading(0)
	r.Values[conditions.Surface] = math.NaN()
	commit(t, s, Change{Readings: []sensors.Reading{r}})
	got, err := s.Readings(t.Context(), Query{From: noon})
	if err != nil {
		t.Fatal(err)
	}
	if v, ok := got[0].Values[conditions.Surface]; !ok || !math.IsNaN(v) {
		t.Errorf("got %v, %v", v, ok)
	}
}

func TestReadingsAreNarrowedAndInOrder(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir())
	make := func(key, source, place, boat string, minute int) sensors.Reading {
		at := noon.Add(time.Duration(minute) * time.Minute)
		return sensors.Reading{Key: key, Source: source, Place: place, Boat: boat, At: at, Received: at}
	}
	commit(t, s, Change{Readings: []sensors.Reading{
		make("e", "h1", "booth 1", "", 4), make("a", "h1", "booth 1", "", 0), make("b", "h2", "shed", "", 1),
		make("c", "p1", "", "Alder", 2), make("d", "p1", "", "Alder", 2), make("f", "h2", "booth 1", "", 5),
	}})
	at := func(minute int) time.Time { return noon.Add(time.Duration(minute) * time.Minute) }
	for name, test := range map[string]struct {
		query Query
		want  string
	}{
		"all":                       {Query{}, "abcdef"},
		"place":                     {Query{Place: "booth 1"}, "aef"},
		"boat":                      {Query{Boat: "Alder"}, "cd"},
		"source":                    {Query{Source: "h2"}, "bf"},
		"source and place":          {Query{Source: "h2", Place: "booth 1"}, "f"},
		"span, half-open":           {Query{From: at(1), To: at(4)}, "bcd"},
		"the newest":                {Query{Limit: 3}, "def"},
		"the newest of a place":     {Query{Place: "booth 1", To: at(5), Limit: 1}, "e"},
		"a place nobody heard from": {Query{Place: "tent"}, ""},
	} {
		got, err := s.Readings(t.Context(), test.query)
		if err != nil || keys(got) != test.want {
			t.Errorf("%s: got %q, %v; want %q", name, keys(got), err, test.want)
		}
	}
	if got, err := s.Readings(t.Context(), Query{From: at(2)}); err != nil || keys(got) != "cdef" {
		t.Errorf("latest: %q, %v", keys(got), err)
	}
}

func keys(readings []sensors.Reading) string {
	all := ""
	for _, r := range readings {
		all += r.Key
	}
	return all
}
