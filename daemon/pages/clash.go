package pages

import (
	"cmp"
	"fmt"
	"net/http"
	"slices"
	"strconv"

	"fairwindow/config"
)

// clashView shows two people's versions of one thing, field by field. Nothing is lost:
// mine is in the form, theirs is kept already.
type clashView struct {
	Heading, Noun string
	Theirs        string // who made what stands
	When          string
	Gone          string // why what stands is that it was taken out
	Action        string
	Revision      string // that mine was made from
	Settle        string // that stands
	Once          string
	Hidden        []hiddenField
	Rows          []clashRow
	By            byField
	Back          link
}

type hiddenField struct{ Name, Value string }

type clashRow struct {
	Key, Label, Mine, Theirs string
	TakeTheirs               bool
	Both                     bool // both changed it
}

// clash shows what mine and what stands differ in. What only they changed is taken from
// them unless told otherwise, and all that I changed from me.
func clash[T any](p *pages, w http.ResponseWriter, r *http.Request, d deskOf[T], mine T, from int64) error {
	name := d.name(mine)
	all, err := d.versions(r.Context(), name)
	if err != nil {
		return fmt.Errorf("%s %s: %w", d.noun, name, err)
	}
	if len(all) == 0 {
		return missing(fmt.Sprintf("There is no %s called %q here.", d.noun, name))
	}
	c, theirs := p.clock(r), all[0]
	v := clashView{
		Heading: name, Noun: d.noun, Theirs: theirs.By, When: c.moment(theirs.At), Action: d.open(name) + "/edit",
		Revision: strconv.FormatInt(from, 10), Settle: strconv.FormatInt(theirs.Revision, 10), Once: newOnce(),
		By: byField{Name: p.by(r), Label: "Who"}, Back: d.all,
	}
	t := d.typed(mine)
	if theirs.Removed {
		v.Gone, v.Action, v.Settle, v.Revision = theirs.Why, d.make, "", "0"
	}
	var changed []differs // by me
	if was, err := base(all, from); err == nil {
		changed = d.differences(was.Of, mine)
	}
	for _, one := range d.differences(mine, theirs.Of) {
		if theirs.Removed {
			break
		}
		isMine := slices.ContainsFunc(changed, func(c differs) bool { return c.key == one.key })
		v.Rows = append(v.Rows, clashRow{Key: one.key, Label: one.label, Mine: one.was, Theirs: one.is, TakeTheirs: !isMine, Both: isMine && d.changedBy(all, from, theirs.Of, one.key)})
	}
	v.Hidden = t.hidden()
	return p.showBook(w, r, name, http.StatusConflict, bookView{Clash: &v})
}

// changedBy tells whether theirs differs in a key from the revision that mine was made from.
func (d deskOf[T]) changedBy(all []config.Version[T], from int64, theirs T, key string) bool {
	was, err := base(all, from)
	if err != nil {
		return true
	}
	return slices.ContainsFunc(d.differences(was.Of, theirs), func(c differs) bool { return c.key == key })
}

// hidden is a form as fields that are sent along unseen.
func (t typed) hidden() []hiddenField {
	var all []hiddenField
	for path, text := range t.text {
		all = append(all, hiddenField{path, text})
	}
	for list, n := range t.rows {
		for range n {
			all = append(all, hiddenField{"row " + list, ""})
		}
	}
	slices.SortFunc(all, func(a, b hiddenField) int { return cmp.Compare(a.Name, b.Name) })
	return all
}
