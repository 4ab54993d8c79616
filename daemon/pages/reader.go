package pages

import (
	"net/http"
	"net/url"
	"time"
)

// reader is how the person who asks reads, and the name he goes by.
type reader struct {
	name   string // as last typed; it is no proof of who presses
	units  string // SI or US
	twelve bool
	light  string // light, dark, or empty for what the browser says
}

const readsCookie = "fairwindow_reads"

// reader goes by what this browser was told, else by the yard's usage.
func (p *pages) reader(r *http.Request) reader {
	is := reader{name: rememberedName(r), units: p.Plans.Yard().Units}
	if v := p.who(r).visitor; v.Name != "" {
		is.name = v.Name
	}
	cookie, err := r.Cookie(readsCookie)
	if err != nil {
		return is
	}
	told, err := url.ParseQuery(cookie.Value)
	if err != nil {
		return is
	}
	if units := told.Get("units"); units == "SI" || units == "US" {
		is.units = units
	}
	if light := told.Get("light"); light == "light" || light == "dark" {
		is.light = light
	}
	is.twelve = told.Get("hours") == "12"
	return is
}

func (p *pages) units(r *http.Request) units { return unitsOf(p.reader(r).units) }

// youView is what a person may settle for himself.
type youView struct {
	US, Twelve bool
	Light      string
	Account    *accountView // nil where nobody signs in
}

func (p *pages) you(w http.ResponseWriter, r *http.Request) error {
	a, err := p.account(r)
	if err != nil {
		return err
	}
	return p.showYou(w, r, a, http.StatusOK)
}

func (p *pages) showYou(w http.ResponseWriter, r *http.Request, a *accountView, status int) error {
	is := p.reader(r)
	return show(p, w, r, screen[youView]{"you", "You", status, youView{is.units == "US", is.twelve, is.light, a}})
}

// readSo keeps how a browser's person reads.
func (p *pages) readSo(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return p.badForm(w, r, err)
	}
	told := url.Values{}
	for _, field := range []string{"units", "hours", "light"} {
		told.Set(field, r.PostForm.Get(field))
	}
	http.SetCookie(w, &http.Cookie{
		Name: readsCookie, Value: told.Encode(), Path: "/", MaxAge: int((365 * 24 * time.Hour).Seconds()),
		HttpOnly: true, SameSite: http.SameSiteStrictMode,
	})
	http.Redirect(w, r, "/you?said=reads", http.StatusSeeOther)
	return nil
}

// byField is who puts his name to a form.
type byField struct {
	Name  string
	Label string // "Who", "Who releases it"
	Fault string
}
