package pages

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"fairwindow/conditions/unit"
	"fairwindow/config"
	"fairwindow/planner"
)

// boatsView is every boat in the book.
type boatsView struct {
	Asked    boatsAsked
	Of       int // boats in the book that are asked about
	Here     found
	Launched found
	Gone     []goneRow
	Formats  []link
	Fault    string // of bringing one back
}

// boatRow is one boat on a line.
type boatRow struct {
	Name                        string
	Open, Edit, Copy, History   string
	Owner, Size, Place          string
	Arrives, Promised, Launched string
	Likely                      string
	Late                        bool
	Areas                       []areaRow

	length                    unit.Length // by which they are ordered, as the times are
	arrives, promised, launch time.Time
}

type areaRow struct {
	Name, System, Size string
	Done, Of           int
	Now                string // what runs or comes next
}

type goneRow struct {
	Name, When, Who, Why, Back, History, Record string
	Once                                        string
	By                                          byField
}

// boatDesk is where boats are kept.
func (p *pages) boatDesk(ctx context.Context) (deskOf[config.Boat], error) {
	boats, err := p.Plans.Boats(ctx)
	if err != nil {
		return deskOf[config.Boat]{}, fmt.Errorf("boats: %w", err)
	}
	return deskOf[config.Boat]{
		writing:  boatWriting(p.Plans.Yard(), boats),
		versions: p.Book.BoatVersions,
		edit: func(ctx context.Context, e config.Edit[config.Boat]) error {
			return p.Book.EditBoats(ctx, []config.Edit[config.Boat]{e})
		},
		foresee: p.foreseeBoat,
		make:    "/boats/new", open: boatLink, all: link{"All boats", "/boats"}, kept: "boat",
	}, nil
}

func (p *pages) boats(w http.ResponseWriter, r *http.Request) error {
	return p.showBoats(w, r, http.StatusOK, "")
}

func (p *pages) showBoats(w http.ResponseWriter, r *http.Request, status int, fault string) error {
	ctx, c, u := r.Context(), p.clock(r), p.units(r)
	boats, err := p.Plans.Boats(ctx)
	if err != nil {
		return fmt.Errorf("boats: %w", err)
	}
	work, err := p.Plans.Work(ctx)
	if err != nil {
		return fmt.Errorf("work: %w", err)
	}
	draft, _, err := p.Plans.Draft(ctx)
	if err != nil {
		return fmt.Errorf("draft: %w", err)
	}
	gone, err := p.Book.RemovedBoats(ctx)
	if err != nil {
		return fmt.Errorf("removed boats: %w", err)
	}
	v := boatsView{Formats: []link{{"YAML", "/boats/file/boats.yaml"}, {"CSV", "/boats/file/boats.csv"}}, Fault: fault, Asked: boatsAskedIn(r.URL.Query())}
	yard := p.Plans.Yard()
	var here, launched []boatRow
	for _, b := range boats {
		row := boatRowOf(b, yard, work, u, c)
		for _, l := range draft.Launches {
			if l.Boat == b.Name && row.Launched == "" {
				row.Likely, row.launch = launchWords(l.Likely, draft.Until, c.day, c), l.Likely
				if _, row.Late = offBy(l, draft); l.Likely.IsZero() {
					row.launch = draft.Until.Add(1) // behind all that the plan reaches
				}
			}
		}
		if row.Launched != "" {
			launched = append(launched, row)
		} else {
			here = append(here, row)
		}
	}
	v.Of, v.Here, v.Launched = len(boats), v.Asked.pick(here), v.Asked.pick(launched)
	for _, g := range gone {
		if !v.Asked.finds(g.Of.Name + "\n" + g.Of.Owner) {
			continue
		}
		v.Gone = append(v.Gone, goneRow{
			Name: g.Of.Name, When: c.moment(g.At), Who: g.By, Why: g.Why, Back: boatLink(g.Of.Name) + "/back", History: boatLink(g.Of.Name) + "/history", Record: recordLink(g.Of.Name),
			Once: newOnce(), By: byField{Name: rememberedName(r), Label: "Who"},
		})
	}
	return p.showBook(w, r, "Boats", status, bookView{Boats: &v})
}

func boatRowOf(b config.Boat, yard config.Yard, work planner.Work, u units, c clock) boatRow {
	is := work.Place(b.Name)
	to := boatLink(b.Name)
	row := boatRow{
		Name: b.Name, Open: to, Edit: to + "/edit", Copy: "/boats/new?" + url.Values{"like": {b.Name}}.Encode(), History: to + "/history",
		Owner: b.Owner, Size: u.lengthText(b.Length.SI) + " × " + u.lengthText(b.Beam.SI), Place: is.Place,
		Arrives: wallDay(b.Arrives, yard, c), Promised: wallDay(b.Promised, yard, c), length: b.Length.SI,
	}
	row.arrives, _ = yard.Time(b.Arrives) // what is no time comes last
	row.promised, _ = yard.Time(b.Promised)
	if !is.Arrived.IsZero() && !is.Arrived.After(c.now) {
		row.Arrives, row.arrives = "came "+c.day(is.Arrived), is.Arrived
	}
	if !is.Launched.IsZero() {
		row.Launched, row.launch = c.day(is.Launched), is.Launched
	}
	for _, a := range b.Areas {
		one := areaRow{Name: a.Name, System: a.System, Size: text(unit.In(a.Size.SI, u.area), 0, u.area)}
		for _, s := range work.Stages(b.Name, a.Name) {
			one.Of++
			switch {
			case s.Done:
				one.Done++
			case s.Running && !s.Paused:
				one.Now = s.Key.Stage + " runs"
			case one.Now == "":
				one.Now = s.Key.Stage + " is next"
			}
		}
		if one.Of == 0 {
			one.Now = "no such system is in force"
		}
		row.Areas = append(row.Areas, one)
	}
	return row
}

// wallDay words a day or a time as the yard's people wrote it.
func wallDay(text string, yard config.Yard, c clock) string {
	at, err := yard.Time(text)
	switch {
	case err != nil:
		return text
	case strings.Contains(text, " "):
		return c.moment(at)
	}
	return c.day(at)
}

// lengthText is a length in people's units.
func (u units) lengthText(l unit.Length) string {
	if u.temp == "F" {
		return text(unit.In(l, "ft"), 1, "ft")
	}
	return text(float64(l), 1, "m")
}

func (p *pages) newBoat(w http.ResponseWriter, r *http.Request) error {
	d, err := p.boatDesk(r.Context())
	if err != nil {
		return err
	}
	var like config.Boat
	if name := r.URL.Query().Get("like"); name != "" {
		v, _, err := d.stands(r.Context(), name)
		if err != nil {
			return err
		}
		like = v.Of
		like.Name, like.Owner, like.Arrives, like.Promised, like.Place = "", "", "", "", ""
		like.Areas = nil
		for _, a := range v.Of.Areas {
			a.Done, a.DoneAt = "", ""
			like.Areas = append(like.Areas, a)
		}
	}
	return write(p, w, r, d, "", like)
}

func (p *pages) editBoat(w http.ResponseWriter, r *http.Request) error {
	d, err := p.boatDesk(r.Context())
	if err != nil {
		return err
	}
	return write(p, w, r, d, r.PathValue("name"), config.Boat{})
}

func (p *pages) keepBoat(w http.ResponseWriter, r *http.Request) error {
	d, err := p.boatDesk(r.Context())
	if err != nil {
		return err
	}
	return keep(p, w, r, d, r.PathValue("name"))
}

func (p *pages) removeBoat(w http.ResponseWriter, r *http.Request) error {
	d, err := p.boatDesk(r.Context())
	if err != nil {
		return err
	}
	return remove(p, w, r, d, r.PathValue("name"), true)
}

func (p *pages) boatHistory(w http.ResponseWriter, r *http.Request) error {
	d, err := p.boatDesk(r.Context())
	if err != nil {
		return err
	}
	return history(p, w, r, d, r.PathValue("name"))
}

// boatBack puts a boat that was taken out into the book again, as it last was.
func (p *pages) boatBack(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return p.badForm(w, r, err)
	}
	d, err := p.boatDesk(r.Context())
	if err != nil {
		return err
	}
	name, by := r.PathValue("name"), p.by(r)
	v, there, err := d.stands(r.Context(), name)
	switch {
	case err != nil:
		return err
	case v.Revision == 0:
		return missing(fmt.Sprintf("There was never a boat called %q here.", name))
	case by == "":
		return p.showBoats(w, r, http.StatusUnprocessableEntity, "Write who brings "+name+" back: its history names a person.")
	case !there:
		err = d.edit(r.Context(), config.Edit[config.Boat]{To: v.Of, By: by, Once: r.PostForm.Get("once")})
	}
	if err != nil {
		sentence, public := refused(err)
		if !public {
			return fmt.Errorf("boat %s: %w", name, err)
		}
		return p.showBoats(w, r, http.StatusConflict, sentence)
	}
	rememberName(w, by)
	http.Redirect(w, r, "/boats?said=boat", http.StatusSeeOther)
	return nil
}

// revisionField names the hidden field with the revision of a boat that a file changes.
func revisionField(boat string) string { return "revision " + strconv.Quote(boat) }
