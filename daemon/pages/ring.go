package pages

import (
	"fmt"
	"net/http"
)

// ring takes a person's leave to ring the browser in which he gives it.
func (p *pages) ring(w http.ResponseWriter, r *http.Request) error {
	if p.Bells == nil {
		return missing("This yard rings no browser.")
	}
	if err := r.ParseForm(); err != nil {
		return p.badForm(w, r, err)
	}
	f := r.PostForm
	form := hearForm{By: p.by(r)}
	if err := p.Bells.Subscribe(r.Context(), form.By, f.Get("endpoint"), f.Get("p256dh"), f.Get("auth")); err != nil {
		sentence, ok := refused(err)
		if !ok {
			return fmt.Errorf("a browser for %s: %w", form.By, err)
		}
		form.Fault = sentence
		return p.showNotices(w, r, form, http.StatusUnprocessableEntity)
	}
	rememberName(w, form.By)
	http.Redirect(w, r, "/notices?said=rung", http.StatusSeeOther)
	return nil
}

// bell is the key for a browser that is to be rung; empty if none may be.
func (p *pages) bell() (string, error) {
	if p.Bells == nil {
		return "", nil
	}
	key, err := p.Bells.PushKey()
	if err != nil {
		return "", fmt.Errorf("the key for browsers: %w", err)
	}
	return key, nil
}
