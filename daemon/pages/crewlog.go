package pages

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"fairwindow/planner/waits"
)

// logView is one crew's day: what is written down, and the form for more.
type logView struct {
	Crew  string
	Day   string // 2026-04-07
	Words string // Tue 7 Apr
	Crews []string
	Boats []string
	Lines []logLine
	Form  logForm
	Today string
}

type logLine struct {
	ID     int64
	What   string
	Hours  string
	Remark string
	By     string
	Struck string // by whom and why; empty: it stands
	Fault  string
	Why    string
}

// logForm is one sheet of the log: a few lines and a name. A line left empty is none.
type logForm struct {
	Once  string
	Rows  []logRow
	None  bool
	By    byField
	Fault string
}

type logRow struct {
	N                        int
	Boat, What, Hours, Notes string
	Fault                    string
}

// logRows is how many lines a sheet has beyond those filled in beforehand.
const logRows = 2

// noOtherWork is what stands in the log of a crew that had none.
const noOtherWork = "no other work"

// mostLogRows bounds a sheet.
const mostLogRows = 24

func (p *pages) crewLog(w http.ResponseWriter, r *http.Request) error {
	return p.showLog(w, r, nil, http.StatusOK)
}

// showLog shows a crew's day; a form that failed comes back as it was filled in.
func (p *pages) showLog(w http.ResponseWriter, r *http.Request, failed *logForm, status int) error {
	c, yard := p.clock(r), p.Plans.Yard()
	v := logView{Today: c.now.Format(time.DateOnly), Crew: r.FormValue("crew")}
	day, err := time.ParseInLocation(time.DateOnly, r.FormValue("day"), c.zone)
	if err != nil {
		day = c.midnight(c.now, 0)
	}
	v.Day, v.Words = day.Format(time.DateOnly), c.day(day)
	for _, crew := range yard.Crews {
		v.Crews = append(v.Crews, crew.Name)
	}
	if !slices.Contains(v.Crews, v.Crew) && len(v.Crews) > 0 {
		v.Crew = v.Crews[0]
	}
	boats, err := p.Plans.Boats(r.Context())
	if err != nil {
		return fmt.Errorf("boats: %w", err)
	}
	for _, b := range boats {
		v.Boats = append(v.Boats, b.Name)
	}
	kept, err := p.Waits.CrewLog(r.Context(), day, day)
	if err != nil {
		return fmt.Errorf("the daily log: %w", err)
	}
	for _, l := range kept {
		if l.Crew == v.Crew {
			v.Lines = append(v.Lines, c.logLine(l))
		}
	}
	if failed != nil {
		v.Form = *failed
	} else if v.Form, err = p.freshLog(r, v, day); err != nil {
		return err
	}
	return show(p, w, r, screen[logView]{"log", "Daily log", status, v})
}

// freshLog is a sheet filled in with what people pressed, if nothing is written down yet.
func (p *pages) freshLog(r *http.Request, v logView, day time.Time) (logForm, error) {
	f := logForm{Once: newOnce(), By: byField{Name: rememberedName(r), Label: "Who writes this down"}}
	if len(v.Lines) == 0 && v.Crew != "" {
		reported, err := p.Waits.Reported(r.Context(), v.Crew, day)
		if err != nil {
			return f, fmt.Errorf("what was reported: %w", err)
		}
		for _, l := range reported {
			f.Rows = append(f.Rows, logRow{Boat: l.Boat, What: strings.TrimPrefix(l.Area+", "+l.Stage, ", "), Hours: number(l.Hours, 1)})
		}
	}
	for range logRows {
		f.Rows = append(f.Rows, logRow{})
	}
	f.Rows = f.Rows[:min(len(f.Rows), mostLogRows)]
	for i := range f.Rows {
		f.Rows[i].N = i
	}
	return f, nil
}

func (c clock) logLine(l waits.Logged) logLine {
	line := logLine{ID: l.ID, Hours: inHours(l.Hours), Remark: l.Remark, By: l.By + " " + c.moment(l.At)}
	what := []string{}
	for _, part := range []string{l.Boat, l.Area, l.Stage, l.What} {
		if part != "" {
			what = append(what, part)
		}
	}
	if line.What = strings.Join(what, ", "); line.What == "" {
		line.What, line.Hours, line.Remark = noOtherWork, "", ""
	}
	if !l.Stands() {
		line.Struck = "struck through by " + l.StruckBy + " " + c.moment(l.Struck) + ": " + l.StruckWhy
	}
	return line
}

// logDay keeps a sheet of the log, whole or not at all.
func (p *pages) logDay(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return p.badForm(w, r, err)
	}
	form := logForm{Once: r.PostForm.Get("once"), None: r.PostForm.Get("none") != "", By: byField{Name: p.by(r), Label: "Who writes this down"}}
	if form.Once == "" {
		form.Once = newOnce()
	}
	crew, day := r.PostForm.Get("crew"), r.PostForm.Get("day")
	line := func(n int) waits.Logged {
		return waits.Logged{Crew: crew, Day: day, By: form.By.Name, Once: form.Once + "/" + strconv.Itoa(n)}
	}
	var lines []waits.Logged
	bad := false
	for n := range mostLogRows {
		name := func(field string) string {
			return strings.TrimSpace(r.PostForm.Get(field + "_" + strconv.Itoa(n)))
		}
		row := logRow{N: n, Boat: name("boat"), What: name("what"), Hours: name("hours"), Notes: name("remark")}
		if _, there := r.PostForm["hours_"+strconv.Itoa(n)]; !there {
			continue
		}
		l := line(n)
		l.Boat, l.What, l.Remark = row.Boat, row.What, row.Notes
		hours, err := strconv.ParseFloat(strings.TrimSpace(strings.TrimSuffix(strings.ReplaceAll(row.Hours, ",", "."), "h")), 64)
		switch {
		case row.Boat == "" && row.What == "" && row.Hours == "" && row.Notes == "":
		case err != nil || !(hours > 0 && hours <= 24):
			row.Fault = "Write the hours, like 2.5."
		case row.Boat == "" && row.What == "":
			row.Fault = "Say what it was: a boat, or in words."
		default:
			l.Hours = hours
			lines = append(lines, l)
		}
		bad = bad || row.Fault != ""
		form.Rows = append(form.Rows, row)
	}
	if form.By.Name == "" {
		form.By.Fault = "Write who writes this down: the statement names it."
	}
	switch {
	case bad:
	case form.None && len(lines) > 0:
		form.Fault = "Either the crew had no other work, or it did what the lines say: take one out."
	case form.None:
		l := line(mostLogRows)
		l.Remark = noOtherWork
		lines = append(lines, l)
	case len(lines) == 0:
		form.Fault = "Nothing is filled in. Write what the crew did, or say that it had no other work."
	}
	if bad || form.Fault != "" || form.By.Fault != "" {
		return p.showLog(w, r, &form, http.StatusUnprocessableEntity)
	}
	if err := p.Waits.LogDay(r.Context(), lines); err != nil {
		sentence, ok := refused(err)
		if !ok {
			return fmt.Errorf("the log of crew %s on %s: %w", crew, day, err)
		}
		form.Fault = sentence
		return p.showLog(w, r, &form, http.StatusConflict)
	}
	rememberName(w, form.By.Name)
	http.Redirect(w, r, "/log?"+url.Values{"crew": {crew}, "day": {day}, "said": {"logged"}}.Encode(), http.StatusSeeOther)
	return nil
}

// strikeLog strikes a line through, for a reason: what was written stays readable.
func (p *pages) strikeLog(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return p.badForm(w, r, err)
	}
	id, err := strconv.ParseInt(r.PathValue("id"), 10, 64)
	if err != nil {
		return missing("There is no such line in the log.")
	}
	by := p.by(r)
	if err := p.Waits.StrikeLog(r.Context(), id, by, strings.TrimSpace(r.PostForm.Get("why"))); err != nil {
		sentence, ok := refused(err)
		if !ok {
			return fmt.Errorf("strike line %d of the log: %w", id, err)
		}
		form := logForm{Once: newOnce(), Fault: sentence, By: byField{Name: by, Label: "Who writes this down"}, Rows: []logRow{{N: 0}, {N: 1}}}
		return p.showLog(w, r, &form, http.StatusConflict)
	}
	rememberName(w, by)
	http.Redirect(w, r, "/log?"+url.Values{"crew": {r.PostForm.Get("crew")}, "day": {r.PostForm.Get("day")}, "said": {"unlogged"}}.Encode(), http.StatusSeeOther)
	return nil
}
