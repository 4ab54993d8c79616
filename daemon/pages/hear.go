package pages

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"time"

	"fairwindow/notify"
)

// hearForm is what a person filled in who calls a notice heard.
type hearForm struct {
	By    string
	Fault string
}

// heardSince is who called what heard; nil if nobody is asked.
func (p *pages) heardSince(ctx context.Context, since time.Time) (map[string]map[int]string, error) {
	if p.Ears == nil {
		return nil, nil
	}
	heard, err := p.Ears.HeardBy(ctx, since)
	if err != nil {
		return nil, fmt.Errorf("who heard: %w", err)
	}
	if heard == nil {
		heard = map[string]map[int]string{}
	}
	return heard, nil
}

// ask puts to a line who heard it or, for the latest word on a thing of the last day, the button.
// Lines come latest first.
func (v *noticesView) ask(l *noticeLine, n notify.Notice, now time.Time) {
	if v.heard == nil {
		return
	}
	if v.asked == nil {
		v.asked = map[string]bool{}
	}
	latest := !v.asked[n.ID]
	v.asked[n.ID] = true
	if l.HeardBy = v.heard[n.ID][n.Revision]; l.HeardBy == "" && latest && !v.nobody && now.Sub(n.At) <= lately {
		l.Hear = "/notice/" + url.PathEscape(n.ID) + "/heard"
	}
}

// hear takes a person's word that he heard a notice.
func (p *pages) hear(w http.ResponseWriter, r *http.Request) error {
	if p.Ears == nil {
		return missing("Nobody is asked here whether he heard.")
	}
	if err := r.ParseForm(); err != nil {
		return p.badForm(w, r, err)
	}
	form := hearForm{By: p.by(r)}
	revision, err := strconv.Atoi(r.PostForm.Get("revision"))
	switch {
	case err != nil || revision < 1:
		form.Fault = "The form did not say which notice was heard. Press again."
	case form.By == "":
		form.Fault = "Write who heard it: else it is passed on to the next person."
	}
	if form.Fault != "" {
		return p.showNotices(w, r, form, http.StatusUnprocessableEntity)
	}
	if err := p.Ears.Hear(r.Context(), r.PathValue("id"), revision, form.By); err != nil {
		sentence, ok := refused(err)
		if !ok {
			return fmt.Errorf("heard %s: %w", r.PathValue("id"), err)
		}
		form.Fault = sentence
		return p.showNotices(w, r, form, http.StatusConflict)
	}
	rememberName(w, form.By)
	http.Redirect(w, r, "/notices?said=heard", http.StatusSeeOther)
	return nil
}
