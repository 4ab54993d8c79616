package pages

import (
	"errors"
	"fmt"
	"mime"
	"net/http"
	"net/url"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"fairwindow/planner"
)

// typedField is one thing that a person typed into a form that could not be taken, so that he
// sees it, may mend it, and sends it again.
type typedField struct {
	Name  string // of the field, for sending it again
	Label string
	Value string
	Long  bool // wants lines
}

// keptView is a form given back: filled in, and sent by nobody but the person.
type keptView struct {
	To     string
	Why    string
	By     string       // who sends it
	About  []typedField // what it is about, which he chose by a button and does not type anew
	Fields []typedField
	Hidden []typedField
}

// unseen are fields that a form carries for itself; a person did not type them.
var unseen = []string{"once", "plan", "pass", "revision", "area", "stage", "boat_revision", "kind", "by", "endpoint", "p256dh", "auth", "keep", "settle"}

// about are the fields in which a form says what a button was about.
func about(form url.Values) []typedField {
	var all []typedField
	for _, name := range []string{"kind", "stage", "area"} {
		value := form.Get(name)
		if a, ok := actionOf(planner.PressKind(value)); ok && name == "kind" {
			value = a.Name
		}
		if value != "" {
			all = append(all, typedField{Label: map[string]string{"kind": "Button", "stage": "Stage", "area": "Area"}[name], Value: value})
		}
	}
	return all
}

// secretField reports whether a field is never given back: it is a password or a word like one.
func secretField(name string) bool {
	name = strings.ToLower(name)
	return strings.Contains(name, "password") || strings.Contains(name, "secret") || name == "word"
}

// kept is a form as an address writes one, without its passwords, and what could not be kept of it.
func kept(w http.ResponseWriter, r *http.Request) (form, lost string) {
	kind, _, _ := mime.ParseMediaType(r.Header.Get("Content-Type"))
	if kind != "application/x-www-form-urlencoded" {
		if r.ContentLength == 0 {
			return "", ""
		}
		return "", "A file or something else than a form was sent. It could not be kept: choose it again."
	}
	r.Body = http.MaxBytesReader(w, r.Body, formLimit)
	if err := r.ParseForm(); err != nil {
		var large *http.MaxBytesError
		if errors.As(err, &large) {
			return "", "What was typed was too long to keep: go back and copy it before you sign in."
		}
		return "", "What was typed could not be read: go back and copy it before you sign in."
	}
	fields := url.Values{}
	for name, values := range r.PostForm {
		if !secretField(name) {
			fields[name] = values
		}
	}
	return fields.Encode(), ""
}

// visible are the fields of a form that a person typed, in the order of their names.
func visible(form url.Values) []typedField {
	var all []typedField
	for _, name := range names(form) {
		if slices.Contains(unseen, name) {
			continue
		}
		for _, value := range form[name] {
			if value != "" && !secretField(name) {
				all = append(all, typedField{name, fieldLabel(name), value, strings.Contains(value, "\n") || len(value) > 60})
			}
		}
	}
	return all
}

// hidden are all others.
func hidden(form url.Values) []typedField {
	shown := visible(form)
	var all []typedField
	for _, name := range names(form) {
		for _, value := range form[name] {
			if !secretField(name) && !slices.ContainsFunc(shown, func(f typedField) bool { return f.Name == name && f.Value == value }) {
				all = append(all, typedField{Name: name, Value: value})
			}
		}
	}
	return all
}

func names(form url.Values) []string {
	var all []string
	for name := range form {
		all = append(all, name)
	}
	slices.Sort(all)
	return all
}

// fieldLabel is what a form calls a field; one of a row is told with its row: areas[1].size.
func fieldLabel(name string) string {
	if row := rowField.FindStringSubmatch(name); row != nil {
		noun := map[string]string{"areas": "Area", "stages": "Stage", "skin": "Layer"}[row[1]]
		n, err := strconv.Atoi(row[2])
		if noun != "" && err == nil {
			return noun + " " + strconv.Itoa(n+1) + ": " + strings.ReplaceAll(row[3], "_", " ")
		}
	}
	for _, one := range [][2]string{
		{"note_", "Note"}, {"more_", "With it"}, {"happened", "When it happened"}, {"at", "When"}, {"valid", "Its calibration is valid until"},
	} {
		if name == one[0] || strings.HasSuffix(one[0], "_") && strings.HasPrefix(name, one[0]) {
			return one[1]
		}
	}
	return capital(strings.ReplaceAll(name, "_", " "))
}

// rowField is the path of a field in a row of a list.
var rowField = regexp.MustCompile(`^([a-z]+)\[([0-9]+)\]\.([a-z_]+)$`)

// giveBack answers a form that was not taken with the form, filled in.
func (p *pages) giveBack(w http.ResponseWriter, r *http.Request, status int, why string) {
	form, lost := kept(w, r)
	if lost != "" {
		why += " " + lost
	}
	if err := p.showKept(w, r, r.URL.RequestURI(), form, why, status); err != nil && !errors.Is(err, errGone) {
		http.Error(w, why, status)
	}
}

// showKept shows a form that was given back.
func (p *pages) showKept(w http.ResponseWriter, r *http.Request, to, form, why string, status int) error {
	fields, err := url.ParseQuery(form)
	if err != nil {
		return fmt.Errorf("a form that was kept: %w", err)
	}
	return show(p, w, r, screen[keptView]{"kept", "What you typed", status, keptView{
		To: to, Why: why, By: p.who(r).visitor.Name, About: about(fields), Fields: visible(fields), Hidden: hidden(fields),
	}})
}
