package chart

import (
	"encoding/xml"
	"errors"
	"io"
	"math"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

var morning = time.Date(2026, 4, 15, 6, 0, 0, 0, time.UTC)

func hours(from float64, each ...float64) []Point {
	points := []Point{{morning, from}}
	for i, v := range each {
		points = append(points, Point{morning.Add(time.Duration(i+1) * time.Hour), v})
	}
	return points
}

func TestText(t *testing.T) {
	c := Chart{
		Title: "Hull", Unit: "°C", From: morning, To: morning.Add(4 * time.Hour), Zone: time.UTC, Now: morning.Add(time.Hour),
		Lines: []Line{
			{Letter: 'D', Name: "deck", Points: hours(4, 6, 8, math.NaN(), 8)},
			{Letter: 'P', Name: "port", Points: hours(8, 8, 8, 8, 8)},
			{Letter: '~', Name: "dew point", Behind: true, Points: hours(5, 5, 5, 5, 5)},
		},
		Strips: []Strip{{Letter: 'w', Name: "wet", Spans: [][2]time.Time{{morning, morning.Add(time.Hour)}}}},
		Rows:   5,
	}
	// A column is 5 min. The deck is not known after eight o'clock, but at the end; half
	// way between two rows a letter goes up.
	want := strings.Join([]string{
		"Hull, °C",
		"     8 |PPPPPPPPPPPPPPPPPPPPP++++PPPPPPPPPPPPPPPPPPPPPPP+",
		"     7 |            |  DDDDDD",
		"     6 |         DDDDDD",
		"     5 |~~~DDDDDD~~~~~~~~~~~~~~~~~~~~~~~~~~~~~~~~~~~~~~~~",
		"     4 |DDD         |",
		"       +-------------------------------------------------",
		"   wet |wwwwwwwwwwww",
		"        '06:00      '07:00      '08:00      '09:00      '10:00",
		"       a column is 5 min;  D deck;  P port;  ~ dew point;  + several;  | now",
		"",
	}, "\n")
	if got := c.Text(); got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
}

func TestNothingKnown(t *testing.T) {
	c := Chart{Title: "Hull", Unit: "°C", From: morning, To: morning.Add(time.Hour), Zone: time.UTC, Lines: []Line{{Letter: 'D', Points: hours(math.NaN(), math.NaN())}}}
	if got := c.Text(); !strings.Contains(got, "nothing is known") {
		t.Error(got)
	}
	if got := c.SVG(); !strings.Contains(got, "nothing is known") || !wellFormed(got) {
		t.Error(got)
	}
}

func wellFormed(text string) bool {
	d := xml.NewDecoder(strings.NewReader(text))
	for {
		if _, err := d.Token(); err != nil {
			return errors.Is(err, io.EOF)
		}
	}
}

// One value has no range of its own: it is drawn in a least one, also where that is none, or
// lost beside it in a float64.
func TestOneValue(t *testing.T) {
	for _, value := range []float64{0, 1, -60, 1e-300} {
		for _, least := range []float64{0, 1e-16, 5} {
			c := Chart{Unit: "°C", Zone: time.UTC, From: morning, To: morning.Add(time.Hour), Least: least,
				Lines: []Line{{Letter: 'x', Points: []Point{{morning, value}}}}}
			if svg := c.SVG(); strings.Contains(svg, "NaN") || strings.Contains(svg, "Inf") || strings.Contains(c.Text(), "NaN") {
				t.Errorf("%g in %g: %s", value, least, svg)
			}
		}
	}
}

// Whatever is drawn fits a terminal and is XML, on any hours of any zone.
func TestAnyChartFits(t *testing.T) {
	zone, err := time.LoadLocation("America/New_York")
	if err != nil {
		t.Fatal(err)
	}
	rapid.Check(t, func(t *rapid.T) {
		span := time.Duration(rapid.IntRange(1, 400*24*60).Draw(t, "minutes")) * time.Minute
		c := Chart{
			Title: rapid.String().Draw(t, "title"), Unit: "°C", Zone: zone,
			From: morning, To: morning.Add(span), Least: rapid.Float64Range(0, 10).Draw(t, "least"),
			Now: morning.Add(span / 3),
		}
		for _, name := range rapid.SliceOfN(rapid.StringN(0, 20, 40), 1, 9).Draw(t, "names") {
			l := Line{Letter: 'x', Name: name, Behind: rapid.Bool().Draw(t, "behind")}
			for i, v := range rapid.SliceOfN(rapid.OneOf(rapid.Float64Range(-60, 120), rapid.Just(math.NaN())), 0, 20).Draw(t, "values") {
				l.Points = append(l.Points, Point{morning.Add(time.Duration(i) * span / 20), v})
			}
			c.Lines = append(c.Lines, l)
		}
		text := c.Text()
		drawn := strings.Split(text, "\n")
		for i, line := range drawn {
			if i > 0 && i <= len(drawn)-10-len(c.Lines) && len([]rune(line)) > 100 {
				t.Fatalf("%d columns: %q", len([]rune(line)), line)
			}
		}
		if len(drawn) > rows+20+strings.Count(text, ";  ") {
			t.Fatalf("%d lines", len(drawn))
		}
		if svg := c.SVG(); !wellFormed(svg) || strings.Contains(svg, "NaN") || strings.Contains(svg, "Inf") {
			t.Fatal(svg)
		}
	})
}
