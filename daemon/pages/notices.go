package pages

import (
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"fairwindow/notify"
)

// noticesView is what people were told, the latest first.
type noticesView struct {
	Days    int
	Choices []choice
	Groups  []noticeDay
	Hear    hearForm
	Push    string                    // the key for a browser that is to be rung; empty: none is
	Unrung  string                    // who is to be rung and has allowed no browser yet
	heard   map[string]map[int]string // by whom, of which revision; nil: nobody is asked
	asked   map[string]bool           // whose latest revision was shown
	nobody  bool                      // is named in the yard file, to whom a notice would be passed on
}

type noticeDay struct {
	Day     string
	Notices []noticeLine
}

type noticeLine struct {
	At       string
	Sentence string
	Kind     string
	Urgent   bool
	Revision int
	Link     string
	Hear     string // where a press says that it is heard; empty: nobody is asked any more
	HeardBy  string
}

// Days of notices that may be shown.
const (
	usualNoticeDays = 3
	mostNoticeDays  = 28
)

func (p *pages) notices(w http.ResponseWriter, r *http.Request) error {
	return p.showNotices(w, r, hearForm{By: rememberedName(r)}, http.StatusOK)
}

// style is how the person who asks reads times and units.
func (p *pages) style(r *http.Request) notify.Style {
	is := p.reader(r)
	style := notify.Style{Zone: p.clock(r).zone, Units: notify.SI, Clock12: is.twelve}
	if is.units == "US" {
		style.Units = notify.US
	}
	return style
}

func (p *pages) showNotices(w http.ResponseWriter, r *http.Request, form hearForm, status int) error {
	c := p.clock(r)
	days, err := strconv.Atoi(r.URL.Query().Get("days"))
	if err != nil {
		days = usualNoticeDays
	}
	v := noticesView{Days: min(max(days, 1), mostNoticeDays), Hear: form, nobody: len(p.Plans.Yard().People) == 0}
	for _, n := range []int{1, 3, 7, 28} {
		v.Choices = append(v.Choices, choice{Days: n, Now: n == v.Days})
	}
	all, err := p.Desk.Notices(r.Context(), c.midnight(c.now, 1-v.Days))
	if err != nil {
		return fmt.Errorf("notices: %w", err)
	}
	style := p.style(r)
	if v.heard, err = p.heardSince(r.Context(), c.midnight(c.now, 1-v.Days)); err != nil {
		return err
	}
	if v.Push, err = p.bell(); err != nil {
		return err
	}
	if v.Push != "" {
		unrung, err := p.Bells.Unrung(r.Context())
		if err != nil {
			return fmt.Errorf("who has allowed no browser: %w", err)
		}
		v.Unrung = strings.Join(unrung, ", ")
	}
	for _, n := range slices.Backward(all) {
		v.add(n, style, c)
	}
	return show(p, w, r, screen[noticesView]{"notices", "Notices", status, v})
}

// noticesShown keeps the page short; a longer look back is the log's.
const noticesShown = 250

func (v *noticesView) add(n notify.Notice, style notify.Style, c clock) {
	shown := 0
	for _, g := range v.Groups {
		shown += len(g.Notices)
	}
	if shown >= noticesShown {
		return
	}
	day := c.day(n.At)
	if len(v.Groups) == 0 || v.Groups[len(v.Groups)-1].Day != day {
		v.Groups = append(v.Groups, noticeDay{Day: day})
	}
	kind, _, _ := strings.Cut(notify.Title(n), ": ") // the sentence names the work
	l := noticeLine{At: c.hour(n.At), Sentence: notify.Sentence(n, style), Kind: kind, Urgent: n.Kind.Urgent(), Revision: n.Revision}
	switch {
	case n.Boat != "":
		l.Link = boatLink(n.Boat)
	case n.Place != "":
		l.Link = placeLink(n.Place)
	}
	v.ask(&l, n, c.now)
	group := &v.Groups[len(v.Groups)-1]
	group.Notices = append(group.Notices, l)
}
