package config

import (
	"fmt"
	"math"
	"net/url"
	"sort"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"fairwindow/conditions/unit"
)

// Fault is one thing wrong in what the yard wrote down.
type Fault struct {
	Path    string `json:"path"`  // cards[2].cure.recoat[1].takes; the file's own keys
	What    string `json:"what"`  // what is wrong, with the bad value
	Right   string `json:"right"` // what would be right
	Warning bool   `json:"warning,omitempty"`
}

// Check finds everything wrong with a yard, not only the first. A yard with no
// fault but warnings can be worked with.
func (y Yard) Check() []Fault {
	c := &checker{y: y}
	c.site()
	c.confidence()
	c.limits("limits", y.Limits)
	if y.Profile != "" {
		c.refers("profile", "profile", y.Profile, names(y.Profiles, profileName))
	}
	c.places()
	c.crews()
	c.equipment()
	c.closures()
	c.profiles()
	c.cards()
	c.systems()
	c.checklist()
	c.season()
	c.brokers()
	c.sensors()
	c.readTwice()
	c.forecasts()
	c.people()
	c.door()
	c.costs()
	return c.faults
}

type checker struct {
	y      Yard
	faults []Fault
}

func (c *checker) fault(path, what, right string) {
	c.faults = append(c.faults, Fault{Path: path, What: what, Right: right})
}

func (c *checker) warn(path, what, right string) {
	c.faults = append(c.faults, Fault{Path: path, What: what, Right: right, Warning: true})
}

// refers faults a name that is not among the known ones.
func (c *checker) refers(path, noun, name string, known []string) bool {
	for _, k := range known {
		if k == name {
			return true
		}
	}
	if (noun == "place" && len(c.y.Places) == 0) || (noun == "crew" && len(c.y.Crews) == 0) {
		return false // a fault of its own; each name would only say it again
	}
	sort.Strings(known)
	right := fmt.Sprintf("no %s is written down yet", noun)
	if near, ok := Near(name, known); ok {
		right = fmt.Sprintf("did you mean %q?", near)
	} else if len(known) > 0 {
		right = "use " + either(known)
	}
	c.fault(path, fmt.Sprintf("there is no %s %q", noun, name), right)
	return false
}

// either words a choice: "a, b or c".
func either(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:len(words)-1], ", ") + " or " + words[len(words)-1]
}

func names[T any](all []T, named func(T) string) []string {
	list := make([]string, 0, len(all))
	for _, one := range all {
		if name := named(one); name != "" {
			list = append(list, name)
		}
	}
	return list
}

// longestName is how many letters a name may have.
const longestName = 80

// named faults missing names and names used twice; a difference in case only
// would confuse people on the phone.
func named[T any](c *checker, list, key, noun string, all []T, name func(T) string) {
	first := map[string]int{}
	for i, one := range all {
		path := fmt.Sprintf("%s[%d].%s", list, i, key)
		if strings.TrimSpace(name(one)) == "" {
			c.fault(path, fmt.Sprintf("this %s has no name", noun), fmt.Sprintf("write %s: and a name used once", key))
			continue
		}
		switch long := utf8.RuneCountInString(name(one)); {
		case name(one) == "." || name(one) == "..":
			c.fault(path, fmt.Sprintf("%q can't be a name: it has a meaning of its own in a page's address", name(one)), "write a word")
			continue
		case strings.ContainsFunc(name(one), unseen):
			c.fault(path, fmt.Sprintf("%s %+q has a character in its name that nobody can see or type", noun, name(one)), "write it without")
			continue
		case strings.Join(strings.Fields(name(one)), " ") != name(one):
			c.fault(path, fmt.Sprintf("%s %q has a space too many, by which it is another name to the program and to nobody else", noun, name(one)), fmt.Sprintf("write %q", strings.Join(strings.Fields(name(one)), " ")))
			continue
		case long > longestName:
			c.fault(path, fmt.Sprintf("a name of %d letters can't be read on a board or in a notice", long), fmt.Sprintf("use at most %d", longestName))
			continue
		}
		folded := strings.ToLower(name(one))
		if j, twice := first[folded]; twice {
			c.fault(path, fmt.Sprintf("%s %q is there twice, also as number %d", noun, name(one), j+1), "give one of them another name")
			continue
		}
		first[folded] = i
	}
}

// unseen are characters by which two names differ that look the same, and what stands
// where a letter was lost.
func unseen(r rune) bool { return !unicode.IsPrint(r) || r == utf8.RuneError }

func (c *checker) site() {
	y := c.y
	if strings.TrimSpace(y.Name) == "" {
		c.fault("yard", "the yard has no name", "write yard: and its name")
	}
	if _, err := y.Location(); y.Zone == "" {
		c.fault("zone", "the yard has no time zone", "write zone: and its IANA name, like Europe/Lisbon")
	} else if err != nil {
		c.fault("zone", fmt.Sprintf("%q is not a time zone", y.Zone), "write its IANA name, like Europe/Lisbon")
	}
	switch {
	case y.Latitude == 0 && y.Longitude == 0:
		c.fault("latitude", "the yard has no position", "write latitude: and longitude: in degrees, north and east positive")
	case !(math.Abs(y.Latitude) <= 90):
		c.fault("latitude", fmt.Sprintf("%g is not a latitude", y.Latitude), "write degrees from -90 (south) to 90 (north)")
	}
	if !(math.Abs(y.Longitude) <= 180) {
		c.fault("longitude", fmt.Sprintf("%g is not a longitude", y.Longitude), "write degrees from -180 (west) to 180 (east)")
	}
	if e := y.Elevation; e.SI < -430 || e.SI > 5000 {
		c.fault("elevation", fmt.Sprintf("%s is no height of a boat yard above the sea", e), "write it like \"3 m\"")
	}
	c.oneOf("units", y.Units, "SI", "US")
	c.oneOf("release", y.Release, ByHand, Auto)
	c.address("listen", y.Listen)
	c.bus()
	c.apart()
	c.atLeastZero("notices.ahead", y.Notice.Ahead)
	c.atLeastZero("notices.frozen", y.Notice.Frozen)
	c.atLeastZero("notices.stale", y.Notice.Stale)
	if y.Notice.Stale > days(1) {
		c.warn("notices.stale", fmt.Sprintf("a reading of %s ago would open a window", y.Notice.Stale), "write how long air and hull stay about as they were, like \"4 h\"")
	}
	if n := y.Notice; n.Ahead > 0 && n.Frozen > n.Ahead {
		c.fault("notices.frozen", fmt.Sprintf("stages would be fixed %s before they start, but announced only %s before", n.Frozen, n.Ahead), "make frozen shorter than ahead")
	}
	c.atLeastZero("keep.readings", y.Keep.Readings)
	c.atLeastZero("keep.hours", y.Keep.Hours)
	if k := y.Keep; k.Hours > 0 && k.Hours < k.Readings {
		c.fault("keep.hours", fmt.Sprintf("the hours would go after %s, before the readings are summed into them after %s", k.Hours, k.Readings), "make hours longer than readings, or leave it out to keep them for good")
	}
	c.atLeastZero("keep.plans", y.Keep.Plans)
	c.atLeastZero("keep.warranty", unit.Duration(y.Keep.Warranty))
	if r := y.Keep.Readings; r > 0 && r < days(14) {
		c.warn("keep.readings", fmt.Sprintf("of readings only hours are left after %s", r), "keep them for 14 d at least, or the plan forgets how hulls were")
	}
}

func (c *checker) confidence() {
	y := c.y
	for _, p := range []struct {
		path  string
		share unit.Written[unit.Share]
	}{{"confidence.start", y.Confidence.Start}, {"confidence.plan", y.Confidence.Plan}, {"confidence.pencil", y.Confidence.Pencil}} {
		if !p.share.IsZero() && (p.share.SI <= 0 || p.share.SI >= 1) {
			c.fault(p.path, fmt.Sprintf("%s is not a chance to ask for", p.share), "write more than 0 % and less than 100 %")
		}
	}
	d := y.WithDefaults().Confidence
	if d.Plan.SI > d.Start.SI {
		c.warn("confidence.plan", fmt.Sprintf("more is asked of a plan (%s) than of a start (%s)", d.Plan, d.Start), "make plan the smaller")
	}
	if d.Pencil.SI > d.Plan.SI {
		c.warn("confidence.pencil", fmt.Sprintf("more is asked of a pencilled stage (%s) than of a firm one (%s)", d.Pencil, d.Plan), "make pencil the smaller")
	}
	w := y.Weights
	for _, p := range []struct {
		key    string
		weight float64
	}{{"lateness", w.Lateness}, {"spoiling", w.Spoiling}, {"repair", w.Repair}, {"holding", w.Holding}, {"waiting", w.Waiting}, {"moving", w.Moving}, {"change", w.Change}} {
		if !(p.weight >= 0 && p.weight <= 1e6) {
			c.fault("weights."+p.key, fmt.Sprintf("%g is not a weight", p.weight), "write a number from 0 to 1000000")
		}
	}
}

// oneOf faults a word that is neither empty nor among the allowed ones.
func (c *checker) oneOf(path, word string, allowed ...string) bool {
	for _, a := range allowed {
		if word == a || word == "" {
			return true
		}
	}
	right := "use " + either(allowed)
	if near, ok := Near(word, allowed); ok {
		right = fmt.Sprintf("did you mean %q?", near)
	}
	c.fault(path, fmt.Sprintf("%q is not known here", word), right)
	return false
}

func (c *checker) atLeastZero(path string, d unit.Duration) {
	if d < 0 {
		c.fault(path, fmt.Sprintf("%s is less than no time", d), "write a time above 0, like \"2 h\"")
	}
}

func (c *checker) address(path, text string) {
	if text == "" {
		return
	}
	u, err := url.Parse("//" + text)
	if err == nil && u.Port() != "" && u.Host == text {
		_, err = strconv.ParseUint(u.Port(), 10, 16)
	}
	if err != nil || u.Port() == "" || u.Host != text {
		c.fault(path, fmt.Sprintf("%q is not an address to listen on", text), "write host:port, like 127.0.0.1:8450, the port at most 65535")
	}
}

// apart faults two doors of the daemon at one address: the second could not be opened.
func (c *checker) apart() {
	y := c.y.WithDefaults()
	taken := map[string]string{}
	for _, door := range []struct{ path, at string }{{"listen", y.Listen}, {"bus.listen", y.Bus.Listen}, {"bus.mqtt", y.Bus.MQTT}} {
		if other := taken[door.at]; other != "" && !strings.HasSuffix(door.at, ":0") {
			c.fault(door.path, fmt.Sprintf("%s is taken: %s listens there too", door.at, other), "give each a port of its own")
		}
		if door.at != "" {
			taken[door.at] = door.path
		}
	}
}

// link faults what is no URL, and one with a password in it: secrets stay out
// of the yard file.
func (c *checker) link(path, text string, schemes ...string) {
	u, err := url.Parse(text)
	if err != nil || u.Host == "" {
		c.fault(path, fmt.Sprintf("%q is not a URL", redacted(text)), fmt.Sprintf("write it like %s://host", schemes[0]))
		return
	}
	c.oneOf(path, u.Scheme, schemes...)
	if u.User != nil {
		c.fault(path, "there is a user or password in the URL", "keep secrets in a file of their own and name that file")
	}
}

// redacted leaves out what may be a password when a URL is shown.
func redacted(text string) string {
	if at := strings.LastIndex(text, "@"); at >= 0 {
		return "…" + text[at:]
	}
	return text
}
