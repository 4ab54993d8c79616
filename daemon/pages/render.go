package pages

import (
	"bytes"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"errors"
	"fmt"
	"html/template"
	"io/fs"
	"net/http"
	"path"
	"strings"
	"sync"

	"fairwindow/config"
	"fairwindow/daemon/door"
)

//go:embed templates/*.html
var templates embed.FS

//go:embed static/*
var statics embed.FS

// views are the parsed templates by name, and the fingerprint of the static files.
type views struct {
	byName map[string]*template.Template // as parsed; never executed, so that each role can have its own
	own    map[string]bool               // static files, by name: a view may have a style sheet and a script of its own
	print  string

	mu     sync.Mutex
	byRole map[config.Role]map[string]*template.Template // made when first asked for
}

// parse reads every view into its own set over the layout, so that a mistake in one shows at start.
func parse() (*views, error) {
	v := &views{byName: map[string]*template.Template{}, byRole: map[config.Role]map[string]*template.Template{}, own: map[string]bool{}}
	frame, err := template.New("frame").Funcs(asked(openRole)).ParseFS(templates, "templates/layout.html", "templates/parts.html", "templates/striking.html")
	if err != nil {
		return nil, fmt.Errorf("pages: %w", err)
	}
	names, err := fs.Glob(templates, "templates/*.html")
	if err != nil {
		return nil, fmt.Errorf("pages: %w", err)
	}
	for _, file := range names {
		if frame.Lookup(path.Base(file)) != nil {
			continue
		}
		one, err := frame.Clone()
		if err == nil {
			one, err = one.ParseFS(templates, file)
		}
		if err != nil {
			return nil, fmt.Errorf("pages: view %s: %w", file, err)
		}
		v.byName[strings.TrimSuffix(path.Base(file), ".html")] = one
	}
	files, err := statics.ReadDir("static")
	if err != nil {
		return nil, fmt.Errorf("pages: %w", err)
	}
	sum := sha256.New()
	for _, f := range files {
		text, err := statics.ReadFile("static/" + f.Name())
		if err != nil {
			return nil, fmt.Errorf("pages: %w", err)
		}
		sum.Write(text)
		v.own[f.Name()] = true
	}
	v.print = hex.EncodeToString(sum.Sum(nil))[:12]
	return v, nil
}

// asked are what a template may ask of who reads it: {{if may "works"}} for a button, {{if typed}}
// for a field that asks for a name.
func asked(role config.Role) template.FuncMap {
	is := who{open: role == openRole, visitor: door.Visitor{Role: role}}
	return template.FuncMap{
		"may":   func(what may) bool { return what.lets(is) },
		"typed": func() bool { return is.open },
	}
}

// of is a view as a role sees it: what it may not do has no button.
func (v *views) of(role config.Role, view string) (*template.Template, error) {
	v.mu.Lock()
	defer v.mu.Unlock()
	if t := v.byRole[role][view]; t != nil {
		return t, nil
	}
	t, err := v.byName[view].Clone()
	if err != nil {
		return nil, fmt.Errorf("view %s: %w", view, err)
	}
	if v.byRole[role] == nil {
		v.byRole[role] = map[string]*template.Template{}
	}
	v.byRole[role][view] = t.Funcs(asked(role))
	return t, nil
}

// static serves a file under the fingerprint in its address, which lets a browser keep it.
func (v *views) static(w http.ResponseWriter, r *http.Request) {
	if r.URL.Query().Get("v") == v.print {
		w.Header().Set("Cache-Control", "public, max-age=31536000, immutable")
	}
	http.ServeFileFS(w, r, statics, path.Join("static", r.PathValue("file")))
}

// frame is what the layout shows around every view.
type frame struct {
	Title  string
	Yard   string
	Here   string // the view's name, for the navigation
	Now    string
	Zone   string
	Health []string
	Said   string // the word after a form went well
	Stands string // where things stood before the page was made
	Print  string // of the static files
	Style  bool   // the view has a style sheet of its own
	Script bool   // and a script
	Light  string // or dark, if the reader asked for it
	Who    string // is signed in
	Door   bool   // there is one
	Places []link
	Boats  []link
}

type link struct{ Name, To string }

// shown is a frame with its view, as the layout's template takes it.
type shown[V any] struct {
	frame
	View V
}

// show renders the whole page before it sends the first byte, so that a fault
// becomes an error page and never half a page.
func show[V any](p *pages, w http.ResponseWriter, r *http.Request, s screen[V]) error {
	f, err := p.frame(r)
	if err != nil {
		return err
	}
	f.Title, f.Here = s.title, s.view
	f.Style, f.Script = p.views.own[s.view+".css"], p.views.own[s.view+".js"]
	t, err := p.views.of(p.who(r).role(), s.view)
	if err != nil {
		return err
	}
	var b bytes.Buffer
	if err := t.ExecuteTemplate(&b, "layout", shown[V]{f, s.body}); err != nil {
		return fmt.Errorf("view %s: %w", s.view, err)
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(s.status)
	_, err = w.Write(b.Bytes())
	if err != nil {
		return errGone
	}
	return nil
}

// errGone says that the reader went away; nobody is left to tell.
var errGone = errors.New("the reader went away")

// screen is one answer: which view, its title, its status and what it shows.
type screen[V any] struct {
	view   string
	title  string
	status int
	body   V
}

func (p *pages) frame(r *http.Request) (frame, error) {
	yard, now := p.Plans.Yard(), p.clock(r)
	f := frame{
		Yard: yard.Name, Now: now.moment(now.now), Zone: yard.Zone,
		Said: said(r.URL.Query().Get("said")), Print: p.views.print, Light: p.reader(r).light,
	}
	f.Stands, _ = r.Context().Value(standsKey{}).(string)
	is := p.who(r)
	if f.Who, f.Door = is.visitor.Name, p.Door != nil; is.role() == strangerRole {
		return f, nil // a stranger learns nothing of the yard
	}
	health, err := p.Air.Health(r.Context())
	if err != nil {
		p.Log.WithError(err).Error("pages: health cannot be read")
		health = []string{"The state of sensors and forecasts cannot be read: take conditions as unknown."}
	}
	f.Health = health
	for _, place := range yard.Places {
		f.Places = append(f.Places, link{place.Name, placeLink(place.Name)})
	}
	boats, err := p.Plans.Boats(r.Context())
	if err != nil {
		return f, fmt.Errorf("boats: %w", err)
	}
	for _, b := range boats {
		f.Boats = append(f.Boats, link{b.Name, boatLink(b.Name)})
	}
	return f, nil
}
