package pages

import (
	"cmp"
	"net/url"
	"slices"
	"strings"
)

// boatsAsked is which boats somebody looks for, and in which order; the address keeps it.
type boatsAsked struct {
	Find string // words that a boat's name, owner, place, areas or systems have
	Show string // one of the shows
	Sort string // one of the orders; by name, if none
	Down bool
}

// What may be shown of the boats.
const (
	showAll      = ""
	showHere     = "here"
	showToCome   = "come"
	showLate     = "late"
	showLaunched = "launched"
)

// found is a part of the boats, as a table.
type found struct {
	Heads []boatHead
	Rows  []boatRow
}

// boatHead is a column that boats may be ordered by.
type boatHead struct {
	link
	Order string // ascending or descending, if they are
}

// boatOrder is an order by what one column shows; who has nothing there comes last both ways.
type boatOrder struct {
	key, name string
	lacks     func(boatRow) bool
	by        func(a, b boatRow) int
}

var boatOrders = []boatOrder{
	{"", "Boat", func(boatRow) bool { return false }, func(a, b boatRow) int {
		return strings.Compare(strings.ToLower(a.Name), strings.ToLower(b.Name))
	}},
	{"size", "Size", func(boatRow) bool { return false }, func(a, b boatRow) int { return cmp.Compare(a.length, b.length) }},
	{"where", "Where", func(r boatRow) bool { return r.Place == "" }, func(a, b boatRow) int { return strings.Compare(a.Place, b.Place) }},
	{"arrives", "Arrives", func(r boatRow) bool { return r.arrives.IsZero() }, func(a, b boatRow) int { return a.arrives.Compare(b.arrives) }},
	{"promised", "Promised", func(r boatRow) bool { return r.promised.IsZero() }, func(a, b boatRow) int { return a.promised.Compare(b.promised) }},
	{"launch", "Launch planned", func(r boatRow) bool { return r.launch.IsZero() }, func(a, b boatRow) int { return a.launch.Compare(b.launch) }},
}

// compare is the order of two boats, from the last to the first if down.
func (o boatOrder) compare(a, b boatRow, down bool) int {
	switch x, y := o.lacks(a), o.lacks(b); {
	case x && !y:
		return 1
	case y && !x:
		return -1
	}
	known := cmp.Or(o.by(a, b), boatOrders[0].by(a, b))
	if down {
		return -known
	}
	return known
}

func boatsAskedIn(q url.Values) boatsAsked {
	a := boatsAsked{Find: strings.TrimSpace(q.Get("find")), Show: q.Get("show"), Sort: q.Get("sort"), Down: q.Get("down") != ""}
	if !slices.Contains([]string{showAll, showHere, showToCome, showLate, showLaunched}, a.Show) {
		a.Show = showAll
	}
	if !slices.ContainsFunc(boatOrders, func(o boatOrder) bool { return o.key == a.Sort }) {
		a.Sort = ""
	}
	return a
}

// to is the address of the boats asked for.
func (a boatsAsked) to() string {
	q := url.Values{}
	for key, value := range map[string]string{"find": a.Find, "show": a.Show, "sort": a.Sort} {
		if value != "" {
			q.Set(key, value)
		}
	}
	if a.Down {
		q.Set("down", "yes")
	}
	if len(q) == 0 {
		return "/boats"
	}
	return "/boats?" + q.Encode()
}

// Count is how many boats are found.
func (v boatsView) Count() int { return len(v.Here.Rows) + len(v.Launched.Rows) }

// Narrows says that not all boats are asked for.
func (a boatsAsked) Narrows() bool { return a.Find != "" || a.Show != showAll }

// All is the address of all boats in the same order.
func (a boatsAsked) All() string { return boatsAsked{Sort: a.Sort, Down: a.Down}.to() }

// Shows are what may be shown.
func (a boatsAsked) Shows() (all []optionView) {
	for _, s := range [][2]string{{showAll, "all"}, {showHere, "those here"}, {showToCome, "those to come"}, {showLate, "those likely late"}, {showLaunched, "those launched"}} {
		all = append(all, optionView{Value: s[0], Label: s[1], On: a.Show == s[0]})
	}
	return all
}

// Orders are what the boats may be ordered by, for a screen too narrow for columns.
func (a boatsAsked) Orders() (all []optionView) {
	for _, o := range boatOrders {
		all = append(all, optionView{Value: o.key, Label: strings.ToLower(o.name), On: a.Sort == o.key})
	}
	return all
}

// wants says that a boat is asked for.
func (a boatsAsked) wants(row boatRow) bool {
	switch a.Show {
	case showHere:
		if row.Place == "" || row.Launched != "" {
			return false
		}
	case showToCome:
		if row.Place != "" || row.Launched != "" {
			return false
		}
	case showLate:
		if !row.Late || row.Launched != "" {
			return false
		}
	case showLaunched:
		if row.Launched == "" {
			return false
		}
	}
	return a.finds(row.words())
}

// finds says that a text has each of the words looked for.
func (a boatsAsked) finds(text string) bool {
	text = strings.ToLower(text)
	return !slices.ContainsFunc(strings.Fields(strings.ToLower(a.Find)), func(word string) bool { return !strings.Contains(text, word) })
}

// words are those by which a boat is found.
func (row boatRow) words() string {
	all := []string{row.Name, row.Owner, row.Place}
	for _, area := range row.Areas {
		all = append(all, area.Name, area.System)
	}
	return strings.Join(all, "\n")
}

// pick is what is asked for of some boats, in order.
func (a boatsAsked) pick(rows []boatRow) found {
	rows = slices.DeleteFunc(slices.Clone(rows), func(row boatRow) bool { return !a.wants(row) })
	i := slices.IndexFunc(boatOrders, func(o boatOrder) bool { return o.key == a.Sort })
	slices.SortStableFunc(rows, func(x, y boatRow) int { return boatOrders[i].compare(x, y, a.Down) })
	f := found{Rows: rows}
	for _, o := range boatOrders {
		next, order := a, ""
		next.Sort, next.Down = o.key, false
		if o.key == a.Sort {
			next.Down, order = !a.Down, "ascending"
			if a.Down {
				order = "descending"
			}
		}
		f.Heads = append(f.Heads, boatHead{link{o.name, next.to()}, order})
	}
	return f
}
