package pages

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strconv"

	"fairwindow/config"
)

// bookView is the page of all that people write down; one of these is there.
type bookView struct {
	Boats   *boatsView
	Form    *writingForm
	Clash   *clashView
	History *historyView
	Import  *importView
	Systems *systemsView
	System  *systemView
	Cards   *cardsView
}

func (p *pages) showBook(w http.ResponseWriter, r *http.Request, title string, status int, v bookView) error {
	return show(p, w, r, screen[bookView]{"book", title, status, v})
}

// askForesight is what the button sends that asks what keeping would change.
const askForesight = "foresee all"

// deskOf is where one kind of thing is kept, and where its pages are.
type deskOf[T any] struct {
	writing[T]
	versions func(ctx context.Context, name string) ([]config.Version[T], error)
	edit     func(ctx context.Context, e config.Edit[T]) error
	foresee  func(r *http.Request, v T) ([]string, error) // what keeping it would change; nil: that is not asked
	make     string                                       // the address at which a new one is written down
	open     func(name string) string
	all      link // the page of all of them
	kept     string
}

// stands is the newest version of a thing; false if it is not there now.
func (d deskOf[T]) stands(ctx context.Context, name string) (config.Version[T], bool, error) {
	all, err := d.versions(ctx, name)
	if err != nil {
		return config.Version[T]{}, false, fmt.Errorf("%s %s: %w", d.noun, name, err)
	}
	if len(all) == 0 {
		return config.Version[T]{}, false, nil
	}
	return all[0], !all[0].Removed, nil
}

// formOf is a form about the thing of a name; empty for a new one.
func (d deskOf[T]) formOf(p *pages, r *http.Request, t typed, bad, warnings amiss, name string) writingForm {
	f := d.form(t, bad, warnings, name != "")
	f.Name, f.Back, f.Once = name, d.all, newOnce()
	f.Action, f.Heading, f.Keep = d.make, "A new "+d.noun, "Add this "+d.noun
	if name != "" {
		f.Action, f.Heading, f.Keep, f.History = d.open(name)+"/edit", name, "Keep the changes", d.open(name)+"/history"
	}
	f.Then = "The plan is made anew at once. People are told of it when it is released."
	f.Foresees = d.foresee != nil
	f.By = byField{Name: rememberedName(r), Label: "Who"}
	if by := p.by(r); r.PostForm != nil && r.PostForm.Has("by") {
		f.By.Name = by
	}
	if once := r.PostForm.Get("once"); once != "" {
		f.Once = once
	}
	return f
}

// write shows the form of a thing as it stands, or of a new one, perhaps like another.
func write[T any](p *pages, w http.ResponseWriter, r *http.Request, d deskOf[T], name string, like T) error {
	t, from := d.typed(like), int64(0)
	warnings := amiss{}
	if name != "" {
		v, ok, err := d.stands(r.Context(), name)
		if err != nil {
			return err
		}
		if !ok {
			return missing(fmt.Sprintf("There is no %s called %q here.", d.noun, name))
		}
		t, from = d.typed(v.Of), v.Revision
		bad := amiss{}
		warnings = d.checked(v.Of, bad)
		for path, said := range bad { // it stands, and the yard has changed under it
			warnings[path] = append(warnings[path], said...)
		}
	} else if r.URL.Query().Get("like") == "" {
		t.rows[d.lists[0].key] = 1
	}
	f := d.formOf(p, r, t, amiss{}, warnings, name)
	f.Revision = strconv.FormatInt(from, 10)
	if name != "" {
		f.Remove = &removeForm{Action: d.open(name) + "/remove", Revision: f.Revision, Once: newOnce(), By: f.By}
	}
	return p.showBook(w, r, f.Heading, http.StatusOK, bookView{Form: &f})
}

// keep takes a form: a button of a list changes the form, the last one keeps it.
func keep[T any](p *pages, w http.ResponseWriter, r *http.Request, d deskOf[T], name string) error {
	if err := r.ParseForm(); err != nil {
		return p.badForm(w, r, err)
	}
	ctx, t, from := r.Context(), typedIn(r.PostForm), revision(r.PostForm.Get("revision"))
	again := func(status int, t typed, bad, warnings amiss) error {
		f := d.formOf(p, r, t, bad, warnings, name)
		f.Revision = strconv.FormatInt(from, 10)
		if said, ok := bad["by"]; ok {
			f.By.Fault = said[0]
		}
		return p.showBook(w, r, f.Heading, status, bookView{Form: &f})
	}
	do := r.PostForm.Get("do")
	if do != "" && do != askForesight {
		list, row := t.change(do)
		f := d.formOf(p, r, t, amiss{}, amiss{}, name)
		f.Revision = strconv.FormatInt(from, 10)
		f.focus(list, row)
		return p.showBook(w, r, f.Heading, http.StatusOK, bookView{Form: &f})
	}
	mine, bad := d.read(t)
	if name != "" && d.name(mine) != name {
		bad.add(d.key, fmt.Sprintf("it stays %q: what was reported of it and kept hangs on the name; copy it under the new one instead", name))
	}
	if settle := r.PostForm.Get("settle"); settle != "" && len(bad) == 0 {
		theirs, ok, err := d.stands(ctx, name)
		if err != nil {
			return err
		}
		if !ok || theirs.Revision != revision(settle) {
			return clash(p, w, r, d, mine, from)
		}
		mine = d.settled(mine, theirs.Of, func(key string) bool { return r.PostForm.Get("take "+key) == "theirs" })
		t, from = d.typed(mine), theirs.Revision
	}
	warnings := d.checked(mine, bad)
	if do == askForesight && d.foresee != nil && len(bad) == 0 {
		said, err := d.foresee(r, mine)
		if sentence, public := refused(err); public {
			said = []string{sentence}
		} else if err != nil {
			return fmt.Errorf("%s %s: %w", d.noun, d.name(mine), err)
		}
		f := d.formOf(p, r, t, bad, warnings, name)
		f.Revision, f.Foreseen = strconv.FormatInt(from, 10), said
		return p.showBook(w, r, f.Heading, http.StatusOK, bookView{Form: &f})
	}
	by := p.by(r)
	if by == "" && do == "" {
		bad.add("by", "Write who keeps it: its history names a person")
	}
	if len(bad) > 0 {
		return again(http.StatusUnprocessableEntity, t, bad, warnings)
	}
	err := d.edit(ctx, config.Edit[T]{To: mine, From: from, By: by, Once: r.PostForm.Get("once")})
	sentence, public := refused(err)
	taken := false
	if public && name == "" {
		var lost error
		if _, taken, lost = d.stands(ctx, d.name(mine)); lost != nil {
			return lost
		}
	}
	switch {
	case taken:
		bad.add(d.key, fmt.Sprintf("a %s of that name is there already; give this one another name, or change that one", d.noun))
	case err == nil:
		rememberName(w, by)
		http.Redirect(w, r, d.all.To+"?said="+d.kept, http.StatusSeeOther)
		return nil
	case overtaken(err) && name != "":
		return clash(p, w, r, d, mine, from)
	case overtaken(err):
		bad[d.key] = append(bad[d.key], sentence)
	case public:
		bad[""] = append(bad[""], sentence)
	default:
		return fmt.Errorf("%s %s: %w", d.noun, d.name(mine), err)
	}
	return again(http.StatusConflict, t, bad, warnings)
}

// remove takes a thing out.
func remove[T any](p *pages, w http.ResponseWriter, r *http.Request, d deskOf[T], name string, whys bool) error {
	if err := r.ParseForm(); err != nil {
		return p.badForm(w, r, err)
	}
	v, _, err := d.stands(r.Context(), name)
	if err != nil {
		return err
	}
	if v.Revision == 0 {
		return missing(fmt.Sprintf("There is no %s called %q here.", d.noun, name))
	}
	form := removeForm{Action: d.open(name) + "/remove", Revision: r.PostForm.Get("revision"), Once: r.PostForm.Get("once"), Why: r.PostForm.Get("why")}
	form.By = byField{Name: p.by(r), Label: "Who"}
	status := http.StatusUnprocessableEntity
	switch {
	case form.By.Name == "":
		form.By.Fault = "Write who takes it out: its history names a person."
	case whys && form.Why == "":
		form.Fault = "Write why it is taken out, in a few words. The reason is kept."
	default:
		err := d.edit(r.Context(), config.Edit[T]{To: v.Of, From: revision(form.Revision), Removed: true, By: form.By.Name, Why: form.Why, Once: form.Once})
		if err == nil {
			rememberName(w, form.By.Name)
			http.Redirect(w, r, d.all.To+"?said=taken-out", http.StatusSeeOther)
			return nil
		}
		sentence, public := refused(err)
		if !public {
			return fmt.Errorf("%s %s: %w", d.noun, name, err)
		}
		form.Fault, status = sentence, http.StatusConflict
	}
	f := d.formOf(p, r, d.typed(v.Of), amiss{}, amiss{}, name)
	f.Revision = strconv.FormatInt(v.Revision, 10)
	f.Once, form.Revision, f.Remove = newOnce(), f.Revision, &form
	return p.showBook(w, r, name, status, bookView{Form: &f})
}

// base is the version of a revision.
func base[T any](all []config.Version[T], revision int64) (config.Version[T], error) {
	i := slices.IndexFunc(all, func(v config.Version[T]) bool { return v.Revision == revision })
	if i < 0 {
		return config.Version[T]{}, errors.New("no such revision")
	}
	return all[i], nil
}
