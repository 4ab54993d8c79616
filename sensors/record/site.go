package record

import (
	"math"
	"strconv"
	"strings"
	"time"
)

// Site is where a file says that it was recorded.
type Site struct {
	Name                string
	Latitude, Longitude float64        // degrees, north and east positive
	Zone                *time.Location // local standard time, without summer time
}

// Where reads a file's head for its site: an EPW, a TMY2 and the reference
// network's records name it, tables do not.
func Where(text []byte) (Site, bool) {
	head, _, _ := strings.Cut(strings.TrimPrefix(string(text), "\ufeff"), "\n")
	head = strings.TrimRight(head, "\r")
	var s Site
	var hours float64
	switch cells := strings.Split(head, ","); {
	case strings.HasPrefix(head, "LOCATION,") && len(cells) >= 9:
		s = Site{Name: strings.TrimSpace(cells[1]), Latitude: number(cells[6]), Longitude: number(cells[7])}
		hours = number(cells[8])
	case isTMY2(head):
		degrees := func(sign, whole, minutes string) float64 {
			v := number(whole) + number(minutes)/60
			if strings.Contains("SW", sign) {
				return -v
			}
			return v
		}
		s = Site{
			Name:     strings.TrimSpace(head[7:29]),
			Latitude: degrees(head[37:38], head[39:41], head[42:44]), Longitude: degrees(head[45:46], head[47:50], head[51:53]),
		}
		hours = number(head[33:36])
	case isReference(head):
		f := strings.Fields(clean(head))
		const layout = "20060102 1504"
		utc, err := time.Parse(layout, f[1]+" "+f[2])
		local, failed := time.Parse(layout, f[3]+" "+f[4])
		if err != nil || failed != nil {
			return Site{}, false
		}
		s = Site{Name: "station " + f[0], Latitude: number(f[7]), Longitude: number(f[6])}
		hours = local.Sub(utc).Hours()
	}
	if s.Name == "" || !(math.Abs(s.Latitude) <= 90) || !(math.Abs(s.Longitude) <= 180) || !(math.Abs(hours) <= 14) {
		return Site{}, false
	}
	s.Zone = time.FixedZone(offsetName(hours), int(hours*3600))
	return s, true
}

// offsetName is UTC-5 or UTC+5:30.
func offsetName(hours float64) string {
	name := "UTC"
	if hours != 0 {
		name += strconv.FormatFloat(math.Trunc(hours), 'f', 0, 64)
		if hours > 0 {
			name = strings.Replace(name, "UTC", "UTC+", 1)
		}
		if minutes := math.Round(60 * math.Abs(hours-math.Trunc(hours))); minutes > 0 {
			name += ":" + strconv.Itoa(int(minutes))
		}
	}
	return name
}

func number(text string) float64 {
	v, err := strconv.ParseFloat(strings.TrimSpace(text), 64)
	if err != nil {
		return math.NaN()
	}
	return v
}
