package main

import (
	"fmt"
	"math"
	"os"
	"slices"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
	"fairwindow/sensors"
	"fairwindow/sensors/record"
)

// knownSky is the weather over a hull, from before the hours that are shown on.
type knownSky struct {
	hours    []conditions.Weather // whole hours, without gaps
	from, to time.Time            // what is shown
	zone     *time.Location
	assumed  []string
	faults   []string
}

// leadIn is how long a hull that has long stood somewhere is followed before what
// is shown, so that the table does not begin with a guess.
const leadIn = 48 * time.Hour

// fewFaults is how many lines of a weather file's faults are printed.
const fewFaults = 4

// weatherAt reads the weather file and sets the stand to where its sun is.
func (ask *hullAsk) weatherAt(y config.Yard, stand *conditions.Stand) (knownSky, error) {
	var known knownSky
	text, err := os.ReadFile(ask.weather)
	if err != nil {
		return known, usage("the weather file %s can't be read: %w", ask.weather, plain(err))
	}
	if err := ask.where(y, text, stand, &known); err != nil {
		return known, err
	}
	var start time.Time
	year := 0
	if ask.start != "" {
		if start, err = wallTime(ask.start, known.zone); err != nil {
			return known, usage("--start: %w", err)
		}
		year = start.In(known.zone).Year()
	}
	rows, faults, err := record.Read(ask.weather, text, record.Options{Station: ask.station, Zone: known.zone, Year: year})
	if err != nil {
		return known, usageError{err}
	}
	known.faults = faults
	rows = slices.DeleteFunc(rows, func(w conditions.Weather) bool { return w.Sure != conditions.Measured })
	if len(rows) == 0 {
		return known, usage("%s: no hour has both an air temperature and a dew point or a humidity", ask.weather)
	}
	first, last := rows[0].At, rows[len(rows)-1].At
	if ask.start == "" {
		if start = midnight(first, known.zone); start.Before(first) {
			start = midnight(first.Add(24*time.Hour), known.zone)
		}
	}
	local := start.In(known.zone)
	end := time.Date(local.Year(), local.Month(), local.Day()+ask.days, local.Hour(), local.Minute(), 0, 0, known.zone)
	if start.Before(first) || !start.Before(last) {
		return known, usage("--start: %s lies outside the weather of %s, which goes from %s to %s", day(start, known.zone), ask.weather, day(first, known.zone), day(last, known.zone))
	}
	if end.After(last) {
		known.assume("the weather file ends on %s: so does the table", day(last, known.zone))
		end = last
	}
	known.from, known.to = start, end
	lead := time.Duration(0)
	if ask.from == "" {
		lead = min(leadIn, start.Sub(first).Truncate(time.Hour))
	}
	cloud := unit.NaN[unit.Share]()
	if ask.cloud != "" {
		c, err := unit.Parse[unit.Share](ask.cloud)
		if err != nil || c.SI < 0 || c.SI > 1 {
			return known, usage("--cloud: %q is not a part of the sky; write 0%% for clear to 100%% for overcast", ask.cloud)
		}
		cloud = c.SI
	}
	lacks := lacking{stand: stand, cloud: cloud}
	for at := start.Add(-lead); at.Before(end.Add(time.Hour)); at = at.Add(time.Hour) {
		w := conditions.At(rows, at)
		if !at.Before(start) && !at.After(end) {
			lacks.count(w, rows)
		}
		if !unit.Known(w.Cloud) {
			w.Cloud = cloud
		}
		known.hours = append(known.hours, w)
	}
	lacks.say(&known)
	return known, nil
}

// faraway is how many degrees a yard may lie from its weather file's site: one of
// longitude is four minutes of sun. Our judgement, no source.
const faraway = 5

// where decides whose sun and whose clock count.
func (ask *hullAsk) where(y config.Yard, text []byte, stand *conditions.Stand, known *knownSky) (err error) {
	if known.zone, err = y.Location(); err != nil {
		return usageError{err}
	}
	site, told := record.Where(text)
	switch {
	case ask.site != "":
		if stand.Site.Latitude, stand.Site.Longitude, err = siteOf(ask.site); err != nil {
			return err
		}
	case ask.yard != "":
		if told && math.Abs(site.Latitude-stand.Site.Latitude)+math.Abs(site.Longitude-stand.Site.Longitude) > faraway {
			known.assume("sun and clock of the yard, %s, though the weather is that of %s, %s: --site sets another sun", degrees(stand.Site.Latitude, stand.Site.Longitude), site.Name, degrees(site.Latitude, site.Longitude))
		}
	case told:
		stand.Site.Latitude, stand.Site.Longitude = site.Latitude, site.Longitude
		known.zone = site.Zone
		known.assume("sun and clock of the weather file's site: %s, %s, %s all year", site.Name, degrees(site.Latitude, site.Longitude), site.Zone)
	default:
		known.assume("sun and clock of the starter yard, %s, for the file names no site: give --site or --yard if it is another", degrees(stand.Site.Latitude, stand.Site.Longitude))
	}
	if ask.zone != "" {
		if known.zone, err = (config.Yard{Zone: ask.zone}).Location(); err != nil {
			return usage("--zone: %w", err)
		}
	} else if ask.site != "" && ask.yard == "" {
		known.zone = time.UTC
		if told {
			known.zone = site.Zone
		}
		known.assume("times in %s, for --site says no zone: give --zone", known.zone)
	}
	return nil
}

func (k *knownSky) assume(format string, args ...any) {
	k.assumed = append(k.assumed, fmt.Sprintf(format, args...))
}

// lacking counts the hours shown for which something was not recorded.
type lacking struct {
	stand *conditions.Stand
	cloud unit.Share
	hours, bridged, unknown,
	sky, sun, wind, rain int
}

func (l *lacking) count(w conditions.Weather, rows []conditions.Weather) {
	l.hours++
	if _, exact := slices.BinarySearchFunc(rows, w.At, func(r conditions.Weather, at time.Time) int { return r.At.Compare(at) }); !exact && w.Sure != conditions.Unknown && w.At.Equal(w.At.Truncate(time.Hour)) {
		l.bridged++
	}
	one := func(n *int, missing bool) {
		if missing {
			*n++
		}
	}
	one(&l.unknown, w.Sure == conditions.Unknown)
	one(&l.sky, !unit.Known(w.Cloud))
	one(&l.sun, math.IsNaN(w.Shortwave))
	one(&l.wind, !unit.Known(w.Wind))
	one(&l.rain, !unit.Known(w.Rain))
}

// say words what was assumed, for what counts where the hull stands.
func (l *lacking) say(k *knownSky) {
	of := func(n int) string {
		if n == l.hours {
			return "all hours"
		}
		return fmt.Sprintf("%d of %d hours", n, l.hours)
	}
	if l.bridged > 0 {
		k.assume("%d hours that are not in the file: straight lines between their neighbours", l.bridged)
	}
	if l.unknown > 0 {
		k.assume("%d hours in gaps of more than 6 h: not known, nor is the hull for some time after", l.unknown)
	}
	open := !l.stand.Roofed && !l.stand.OwnAir
	if open || l.stand.Sun > 0 {
		sky := "both clear and overcast, whichever is worse for each side: coldest/warmest"
		if unit.Known(l.cloud) {
			sky = fmt.Sprintf("%.0f %%, as --cloud says", 100*float64(l.cloud))
		}
		switch {
		case l.sky > 0 && l.sky == l.sun:
			k.assume("cloud and sunshine are not recorded in %s: %s", of(l.sky), sky)
		case l.sky > 0:
			k.assume("cloud is not recorded in %s: %s", of(l.sky), sky)
		}
		if l.sun > 0 && l.sky != l.sun {
			k.assume("sunshine is not recorded in %s: a clear sky's at the sun's height, less the cloud", of(l.sun))
		}
	}
	if l.wind > 0 && !l.stand.OwnAir {
		k.assume("wind is not recorded in %s: calm", of(l.wind))
	}
	if l.rain > 0 && open {
		k.assume("rain is not recorded in %s: none", of(l.rain))
	}
}

// midnight is the start of the zone's day that a time lies in.
func midnight(t time.Time, zone *time.Location) time.Time {
	local := t.In(zone)
	return time.Date(local.Year(), local.Month(), local.Day(), 0, 0, 0, 0, zone)
}

// onClock is the first time at which a zone's clock shows what is written.
func onClock(text string, zone *time.Location) (time.Time, error) {
	for _, layout := range []string{"2006-01-02 15:04", "2006-01-02T15:04", "2006-01-02"} {
		wall, err := time.Parse(layout, text)
		if err != nil {
			continue
		}
		at := sensors.OnClock(wall, zone)
		if len(at) == 0 {
			return wall, fmt.Errorf("%q does not exist on the clock of %s: it is put forward then", text, zone)
		}
		return at[0], nil
	}
	return time.Time{}, fmt.Errorf("%q is not a day or a time; write it like 2026-04-03, \"2026-04-03 08:00\" or 2026-04-03T08:00:00Z", text)
}

func day(t time.Time, zone *time.Location) string { return t.In(zone).Format("2006-01-02 15:04") }

// degrees is 40.7° N, 74.2° W.
func degrees(lat, lon float64) string {
	north, east := "N", "E"
	if lat < 0 {
		north = "S"
	}
	if lon < 0 {
		east = "W"
	}
	return fmt.Sprintf("%.1f° %s %.1f° %s", math.Abs(lat), north, math.Abs(lon), east)
}
