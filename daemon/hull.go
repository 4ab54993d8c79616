package main

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
	"fairwindow/config/file"
)

// hullAsk is what the flags of `hull` say.
type hullAsk struct {
	weather, station, site, zone, cloud, start string
	days                                       int

	yard, place, mode     string
	heading               float64
	boats, boat           string
	build, colour, behind string
	from                  string

	every  string
	asJSON bool
	chart  string
}

func hullCommand() *cobra.Command {
	var ask hullAsk
	c := &cobra.Command{
		Use:   "hull --weather FILE [--boat NAME | --build B --colour C --behind W]",
		Short: "How warm and how wet each side of a hull gets under a weather file",
		Long: `Follows the skin of a hull through recorded weather: its surface temperature on
each side, hour by hour, with the margin over the dew point and where it is wet; then
the coldest and the warmest spot, the wet hours, and when the margin holds.

The weather file is an EPW, TMY2 or hourly CSV file. Sun and sky are those of --site,
else of the yard named by --yard, else of the site that the file names. What the file
does not tell is assumed on the shut side, and said: an unknown sky is both clear and
overcast, each side shown as coldest/warmest; an unknown wind is calm. Only rain that
is not recorded is none. With --from the hull comes in at that temperature when the
table starts; without it, it has long stood there.

Exit code 0: done; 2: wrong use or wrong input.`,
		Example: `  fairwindow hull --weather newark.csv --site 40.7,-74.2 --zone America/New_York --start 2013-04-15
  fairwindow hull --weather site.epw --start 2013-06-20 --build cored --colour dark
  fairwindow hull --weather site.epw --place "booth 1" --build aluminium --from 4C --days 1`,
		Args: exactly(),
		RunE: func(c *cobra.Command, _ []string) error {
			if !c.Flags().Changed("heading") {
				ask.heading = -1
			} else if !(ask.heading >= 0 && ask.heading <= 360) {
				return usage("--heading: %v is not a heading of the bow; give degrees from north over east, 0 to 360", ask.heading)
			}
			return ask.answer(c)
		},
	}
	f := c.Flags()
	f.StringVar(&ask.weather, "weather", "", "file of recorded weather: EPW, TMY2 or hourly CSV")
	f.StringVar(&ask.station, "station", "", "station in the file, where it has several; default its first")
	f.StringVar(&ask.site, "site", "", "latitude and longitude of the sun and sky, such as 40.7,-74.2")
	f.StringVar(&ask.zone, "zone", "", "time zone of the table, such as America/New_York")
	f.StringVar(&ask.cloud, "cloud", "", "cloud where the file has none, such as 0% for a clear sky; default both clear and overcast")
	f.StringVar(&ask.start, "start", "", `first day or time, such as 2013-04-15 or "2013-04-15 08:00"; default the file's first day`)
	f.IntVar(&ask.days, "days", 2, "how many days")
	f.StringVar(&ask.yard, "yard", "", "yard file; default the starter yard")
	f.StringVar(&ask.place, "place", "", "place in the yard; default its first slip")
	f.StringVar(&ask.mode, "mode", string(conditions.Idle), "what a booth does: idle, spraying or curing")
	f.Float64Var(&ask.heading, "heading", 0, "way the bow points, degrees from north over east; default the place's")
	f.StringVar(&ask.boats, "boats", "", "file of boats; default boats.yaml beside the yard file")
	f.StringVar(&ask.boat, "boat", "", "boat in that file")
	f.StringVar(&ask.build, "build", "", "laminate, cored, aluminium, steel or wood; default laminate")
	f.StringVar(&ask.colour, "colour", "", "white, light, medium or dark; default light")
	f.StringVar(&ask.behind, "behind", "", "behind the skin of the topsides: cabin, tank, keel or open; default cabin")
	f.StringVar(&ask.from, "from", "", "temperature at which the hull comes in, such as 4C")
	f.StringVar(&ask.every, "every", "1h", "time between two lines of the table, in whole 5 min")
	f.BoolVar(&ask.asJSON, "json", false, "print JSON")
	f.StringVar(&ask.chart, "chart", "", "write the chart to this SVG file instead of the terminal")
	return c
}

// mostDrawn is how many days a chart in a terminal can tell apart.
const mostDrawn = 14

func (ask *hullAsk) answer(c *cobra.Command) error {
	if ask.weather == "" {
		return usage("--weather is missing: a file of recorded weather, such as --weather site.epw")
	}
	if ask.days < 1 || ask.days > 366 {
		return usage("--days: %d is no number of days to follow; give 1 to 366", ask.days)
	}
	every, err := unit.ParseDuration(ask.every)
	if err != nil {
		return usage("--every: %w", err)
	}
	if every.Std() < hullStep || every.Std()%hullStep != 0 {
		return usage("--every: %s is not whole times 5 min", ask.every)
	}
	y, err := yardOrStarter(ask.yard)
	if err != nil {
		return err
	}
	place, err := ask.placeIn(y)
	if err != nil {
		return err
	}
	boat, err := ask.boatFor(y)
	if err != nil {
		return err
	}
	hull, err := boat.Hull()
	if err != nil {
		return usageError{err}
	}
	stand := y.Stand(place)
	if ask.heading >= 0 {
		stand.Heading = ask.heading
	}
	mode := conditions.Mode(ask.mode)
	if modes := []conditions.Mode{conditions.Idle, conditions.Spraying, conditions.Curing}; !slices.Contains(modes, mode) {
		return usage("--mode: %q is not what a booth does; use idle, spraying or curing", ask.mode)
	}
	known, err := ask.weatherAt(y, &stand)
	if err != nil {
		return err
	}
	var from *unit.Temperature
	if ask.from != "" {
		t, err := unit.Parse[unit.Temperature](ask.from)
		if err != nil {
			return usage("--from: %w", err)
		}
		from = &t.SI
	}
	run := follow(stand, hull, known, mode, from)
	answer := run.answer(marginRule(y, place), every.Std())
	answer.Hull, answer.Place, answer.Heading, answer.Mode = describe(boat), place.Name, stand.Heading, mode
	answer.Assumed, answer.Faults = known.assumed, known.faults
	if mode != conditions.Idle && place.Kind != config.Booth {
		answer.Assumed = append(answer.Assumed, fmt.Sprintf("--mode %s changes nothing here: %s is no booth", mode, place.Name))
	}
	picture := run.chart(y.Units)
	if ask.chart != "" {
		if err := os.WriteFile(ask.chart, []byte(picture.SVG()), 0o644); err != nil {
			return usage("the chart %s can't be written: %w", ask.chart, plain(err))
		}
	}
	if ask.asJSON {
		return printJSON(c.OutOrStdout(), answer)
	}
	printHull(c.OutOrStdout(), answer, y.Units, known.zone)
	switch {
	case ask.chart != "":
	case ask.days > mostDrawn:
		fmt.Fprintf(c.OutOrStdout(), "\nno chart of more than %d days in a terminal; --chart draws them into a file\n", mostDrawn)
	default:
		fmt.Fprint(c.OutOrStdout(), "\n", picture.Text())
	}
	return nil
}

// placeIn is the place asked for, else the yard's first slip, else its first place.
func (ask *hullAsk) placeIn(y config.Yard) (config.Place, error) {
	if ask.place == "" {
		if i := slices.IndexFunc(y.Places, func(p config.Place) bool { return p.Kind == config.Slip }); i >= 0 {
			return y.Places[i], nil
		}
		return y.Places[0], nil
	}
	if p, ok := y.Place(ask.place); ok {
		return p, nil
	}
	var names []string
	for _, p := range y.Places {
		names = append(names, p.Name)
	}
	return config.Place{}, usage("--place: %s", noSuch("place", ask.place, names))
}

// boatFor is the boat named, or one made of the flags.
func (ask *hullAsk) boatFor(y config.Yard) (config.Boat, error) {
	if ask.boat == "" {
		if ask.boats != "" {
			return config.Boat{}, usage("--boats names a file; name the boat in it with --boat")
		}
		return config.Boat{Build: ask.build, Colour: ask.colour, Behind: ask.behind}, nil
	}
	if ask.build+ask.colour+ask.behind != "" {
		return config.Boat{}, usage("--boat says what the hull is: leave out --build, --colour and --behind, or --boat")
	}
	boats, err := ask.readBoats(y)
	if err != nil {
		return config.Boat{}, err
	}
	var names []string
	for _, b := range boats {
		if b.Name == ask.boat {
			return b, nil
		}
		names = append(names, b.Name)
	}
	return config.Boat{}, usage("--boat: %s", noSuch("boat", ask.boat, names))
}

func (ask *hullAsk) readBoats(y config.Yard) ([]config.Boat, error) {
	switch {
	case ask.boats != "":
		return readBoats(y, ask.boats)
	case ask.yard != "":
		return readBoats(y, filepath.Join(filepath.Dir(yardPath(ask.yard)), boatsName))
	}
	_, text := file.Starter()
	boats, mistakes := file.BoatsFor(y, "starter "+boatsName, text)
	return boats, mistakes.Err()
}

// noSuch says that a name is not among some, and which was probably meant.
func noSuch(what, name string, among []string) string {
	if near, ok := config.Near(name, among); ok {
		return fmt.Sprintf("there is no %s %q; did you mean %q? There are %s", what, name, near, strings.Join(among, ", "))
	}
	return fmt.Sprintf("there is no %s %q; there are %s", what, name, strings.Join(among, ", "))
}

// describe says what is known of a boat's skin, in its own words where it has them.
func describe(b config.Boat) string {
	words := []string{or(b.Build, "laminate"), or(b.Colour, "light"), "topsides with " + behindWords(or(b.Behind, "cabin")) + " behind"}
	if len(b.Skin) > 0 {
		words[0] = ""
		for i, l := range b.Skin {
			if i > 0 {
				words[0] += " on "
			}
			words[0] += fmt.Sprintf("%s of %s", l.Thick, l.Of)
		}
	}
	if b.Name != "" {
		words = append([]string{b.Name}, words...)
	}
	return strings.Join(words, ", ")
}

func behindWords(behind string) string {
	switch behind {
	case "open":
		return "open air"
	case "keel":
		return "the keel"
	}
	return "a " + behind
}

func or(word, otherwise string) string {
	if word == "" {
		return otherwise
	}
	return word
}

// marginRule is the strictest margin of the yard, the place and the yard's profile.
func marginRule(y config.Yard, p config.Place) conditions.Bound {
	sets := []conditions.Owned{{Owner: "the yard", Limits: y.Limits}, {Owner: "place " + p.Name, Limits: p.Limits}}
	if profile, ok := y.ProfileNamed(y.Profile); ok {
		sets = append(sets, conditions.Owned{Owner: "profile " + profile.Name, Limits: profile.Limits})
	}
	for _, b := range conditions.Strictest(nil, sets...) {
		if b.Of == conditions.OfMargin {
			return b
		}
	}
	return conditions.Bound{Of: conditions.OfMargin, Least: true, At: 3, Written: "3 C", Owner: "common practice"}
}

// siteOf reads "40.7,-74.2".
func siteOf(text string) (lat, lon float64, err error) {
	parts := strings.FieldsFunc(text, func(r rune) bool { return r == ',' || r == ' ' })
	if len(parts) == 2 {
		a, first := strconv.ParseFloat(parts[0], 64)
		b, second := strconv.ParseFloat(parts[1], 64)
		if first == nil && second == nil && a >= -90 && a <= 90 && b >= -180 && b <= 180 {
			return a, b, nil
		}
	}
	return 0, 0, usage("--site: %q is not a latitude and a longitude; write degrees, north and east positive, like 40.7,-74.2", text)
}

// wallTime reads a time with its offset, or a day or a time on a zone's clock.
// Of two times that the clock shows alike it is the first.
func wallTime(text string, zone *time.Location) (time.Time, error) {
	if at, err := time.Parse(time.RFC3339, text); err == nil {
		return at.UTC(), nil
	}
	return onClock(text, zone)
}
