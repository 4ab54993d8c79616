package pages

import (
	"fmt"
	"net/http"
)

// historyView is all that a thing has been, latest change first.
type historyView struct {
	Heading, Noun string
	Edit          string
	Back          link
	Changes       []changeView
}

type changeView struct {
	When, Who, What string
	Why             string
	Rows            []differRow
}

type differRow struct{ Label, Was, Is string }

func rowsOfDiffers(all []differs) []differRow {
	var rows []differRow
	for _, one := range all {
		rows = append(rows, differRow{one.label, one.was, one.is})
	}
	return rows
}

// history shows who changed what.
func history[T any](p *pages, w http.ResponseWriter, r *http.Request, d deskOf[T], name string) error {
	all, err := d.versions(r.Context(), name)
	if err != nil {
		return fmt.Errorf("%s %s: %w", d.noun, name, err)
	}
	if len(all) == 0 {
		return missing(fmt.Sprintf("There is no %s called %q here.", d.noun, name))
	}
	c := p.clock(r)
	v := historyView{Heading: name, Noun: d.noun, Back: d.all}
	if !all[0].Removed {
		v.Edit = d.open(name) + "/edit"
	}
	var none T
	for i, one := range all {
		was, what := none, "put in"
		if i+1 < len(all) {
			was, what = all[i+1].Of, "changed"
		}
		switch {
		case one.Removed:
			what = "taken out"
		case i+1 < len(all) && all[i+1].Removed:
			what = "brought back"
		}
		v.Changes = append(v.Changes, changeView{c.moment(one.At), one.By, what, one.Why, rowsOfDiffers(d.differences(was, one.Of))})
	}
	return p.showBook(w, r, name+": who changed what", http.StatusOK, bookView{History: &v})
}
