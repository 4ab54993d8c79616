package pages

import (
	"fmt"
	"io"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"fairwindow/config"
	"fairwindow/planner/waits"
)

// lostView is the statement of one month's days lost to the weather.
type lostView struct {
	Yard    string
	Month   string
	Rule    string
	None    bool // no rule is written down
	Sums    []string
	Days    []lostLine
	Earlier string
	Later   string
	Query   string
	Made    string
}

type lostLine struct {
	Day     string
	What    string
	Boat    string
	Where   string
	Counts  bool
	Because []string
	Then    string
	Was     string
	Hours   string
	Instead string
	Log     string
	Plan    *link
	Place   link
}

// lost is the statement by the yard's own rule: what counts, what does not and why not.
func (p *pages) lost(w http.ResponseWriter, r *http.Request) error {
	c, yard := p.clock(r), p.Plans.Yard()
	month := c.month(r.URL.Query().Get("month"))
	v := lostView{
		Yard: yard.Name, Month: month.Format("January 2006"), Rule: lostRule(yard.LostDay), None: yard.LostDay == nil,
		Earlier: lostLink(month.AddDate(0, -1, 0)), Query: url.Values{"month": {month.Format("2006-01")}}.Encode(), Made: c.moment(c.now),
	}
	if next := month.AddDate(0, 1, 0); !next.After(c.now) {
		v.Later = lostLink(next)
	}
	if v.None {
		return show(p, w, r, screen[lostView]{"lost", "Days lost to the weather", http.StatusOK, v})
	}
	days, err := p.Waits.LostDays(r.Context(), month, month.AddDate(0, 1, 0))
	if err != nil {
		return fmt.Errorf("lost days: %w", err)
	}
	v.Sums = lostSums(days, yard)
	for _, d := range days {
		v.Days = append(v.Days, c.lostLine(d, yard))
	}
	return show(p, w, r, screen[lostView]{"lost", "Days lost to the weather", http.StatusOK, v})
}

func lostLink(month time.Time) string {
	return "/waits/lost?" + url.Values{"month": {month.Format("2006-01")}}.Encode()
}

// month is the first midnight of a month as asked for, else of this one.
func (c clock) month(text string) time.Time {
	if t, err := time.ParseInLocation("2006-01", text, c.zone); err == nil {
		return t
	}
	return time.Date(c.now.Year(), c.now.Month(), 1, 0, 0, 0, 0, c.zone)
}

// lostRule is the yard's rule as it stands at the top of the statement.
func lostRule(rule *config.LostDay) string {
	if rule == nil {
		return ""
	}
	s := fmt.Sprintf("A day counts for a boat when weather, measured outside a limit, took at least %s of the crew's shift from a stage that was told for it",
		percent(rule.Least()))
	if !rule.AnyStage {
		s += ", when the boat's launch hung on that stage"
	}
	if !rule.OtherWork {
		s += ", and when by the daily log the crew had no other work for as much of its shift"
	}
	return s + "."
}

// lostSums is how many days count, boat by boat, and what the crews' hours cost.
func lostSums(days []waits.LostDay, yard config.Yard) []string {
	var order []string
	count := map[string]int{}
	idle := map[string]float64{}
	for _, d := range days {
		if !d.Counts() {
			continue
		}
		if count[d.Boat] == 0 {
			order = append(order, d.Boat)
		}
		count[d.Boat]++
		if crew, ok := yard.Crew(d.Crew); ok && d.Logged {
			idle[d.Boat] += max(0, d.Shift-d.Worked) * float64(max(crew.People, 1))
		}
	}
	var all []string
	for _, boat := range order {
		s := fmt.Sprintf("%s: %d days count", boat, count[boat])
		if count[boat] == 1 {
			s = boat + ": 1 day counts"
		}
		if yard.Rates != nil && yard.Rates.Painter > 0 {
			s += fmt.Sprintf("; people without work cost %s", waits.Money(idle[boat]*yard.Rates.Painter, yard.Rates.Currency))
		}
		all = append(all, s+".")
	}
	return all
}

func (c clock) lostLine(d waits.LostDay, yard config.Yard) lostLine {
	day, _ := time.ParseInLocation(time.DateOnly, d.Day, c.zone)
	l := lostLine{
		Day: c.day(day), What: key(d.Key), Boat: boatLink(d.Boat), Counts: d.Counts(), Because: notWords(d, yard.LostDay),
		Then: c.then(d), Was: was(d), Place: link{d.Place, placeDayLink(d.Place, day)},
		Hours:   fmt.Sprintf("%s of %s", inHours(d.Lost), inHours(d.Shift)),
		Instead: "nothing logged", Log: "/log?" + url.Values{"crew": {d.Crew}, "day": {d.Day}}.Encode(),
	}
	if d.Logged {
		l.Instead = "crew " + d.Crew + " had other work for " + inHours(d.Worked)
		if d.Worked == 0 {
			l.Instead = "crew " + d.Crew + " had no other work"
		}
	}
	if d.Plan != 0 {
		l.Plan = &link{"plan " + strconv.FormatInt(d.Plan, 10), planLink(d.Plan)}
	}
	return l
}

// then is what was known of the weather when the stage was put off.
func (c clock) then(d waits.LostDay) string {
	return capital(c.outside(d.Then)) + "; told " + c.moment(d.Told)
}

// was is what was measured on the day.
func was(d waits.LostDay) string {
	if d.Measured == 0 {
		return "not measured"
	}
	b := d.Then.Bound
	sign := unitOf(b)
	least, most := number(inUnit(b.Of, d.Least, sign), 1), number(inUnit(b.Of, d.Greatest, sign), 1)
	span := least + " to " + most
	if least == most {
		span = least
	}
	return quantity(b.Of) + " " + span + " " + signOf(b.Of, sign) + " in " + inHours(d.Measured) + " of the shift"
}

// notWords are why a day does not count.
func notWords(d waits.LostDay, rule *config.LostDay) []string {
	var all []string
	for _, n := range d.Not {
		switch n {
		case waits.TooShort:
			lost := inHours(d.Lost)
			if d.Lost < 0.05 {
				lost = "by what was measured none"
			}
			all = append(all, fmt.Sprintf("%s of the %s shift was lost, and the rule asks for %s", lost, inHours(d.Shift), inHoursWhole(rule.Least()*d.Shift)))
		case waits.Unmeasured:
			all = append(all, "nothing was measured that day, and a forecast alone is no evidence")
		case waits.NotFixing:
			all = append(all, "the boat's launch did not hang on the stage")
		case waits.NotLogged:
			all = append(all, "nobody wrote down what crew "+d.Crew+" did instead")
		case waits.HadWork:
			all = append(all, fmt.Sprintf("crew %s had other work for %s", d.Crew, inHours(d.Worked)))
		}
	}
	return all
}

// lostCSV writes the statement, the rule at its top.
func (p *pages) lostCSV(w io.Writer, days []waits.LostDay, rule *config.LostDay, c clock) error {
	rows := [][]string{
		{"rule", lostRule(rule), "", "", "", "", "", "", "", "", "", "", "", "", ""},
		{"day", "boat", "area", "stage", "place", "crew", "plan", "told_at", "known_then", "measured", "lost_h", "shift_h", "other_work_h", "counts", "because"},
	}
	for _, d := range days {
		worked := ""
		if d.Logged {
			worked = thousandths(d.Worked)
		}
		rows = append(rows, []string{
			d.Day, d.Boat, d.Key.Area, d.Key.Stage, d.Place, d.Crew, strconv.FormatInt(d.Plan, 10), stamp(d.Told, c.zone), c.outside(d.Then), was(d),
			thousandths(d.Lost), thousandths(d.Shift), worked, strconv.FormatBool(d.Counts()), strings.Join(notWords(d, rule), "; "),
		})
	}
	return table(w, rows)
}
