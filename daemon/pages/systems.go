package pages

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"fairwindow/conditions"
	"fairwindow/config"
)

// systemsView is every system of the yard.
type systemsView struct {
	File, Own []systemRow
	Aside     []systemRow
}

type systemRow struct {
	Name, Open, Edit, Copy string
	Stages, Coats          int
	Cards                  string
	Users                  []link
	Why                    string // it is not in force
	Changed                string
}

// systemView is one system with its stages in order.
type systemView struct {
	Name, Edit, Copy, History, File string
	Own                             bool
	Why                             string
	Changed                         string
	Users                           []link
	Stages                          []stageView
}

// stageView is a stage in the trade's words.
type stageView struct {
	Number            int
	Name, Kind        string
	Work, Where, Coat string
	Card              link
	Waits             string
	Block             string
	NewBlock          bool
	Limits            []string
}

func systemLink(name string) string { return "/system/" + url.PathEscape(name) }

// systemDesk is where systems written on the pages are kept.
func (p *pages) systemDesk() deskOf[config.System] {
	return deskOf[config.System]{
		writing: systemWriting(p.Plans.Yard()), versions: p.Book.SystemVersions, edit: p.Book.EditSystem,
		make: "/systems/new", open: systemLink, all: link{"All systems", "/systems"}, kept: "system",
	}
}

func (p *pages) systems(w http.ResponseWriter, r *http.Request) error {
	own, aside, err := p.Book.OwnSystems(r.Context())
	if err != nil {
		return fmt.Errorf("systems: %w", err)
	}
	boats, err := p.Plans.Boats(r.Context())
	if err != nil {
		return fmt.Errorf("boats: %w", err)
	}
	c := p.clock(r)
	var v systemsView
	for _, s := range p.Plans.Yard().Systems {
		row := systemRowOf(s, boats)
		i := slices.IndexFunc(own, func(o config.Version[config.System]) bool { return o.Of.Name == s.Name })
		if i < 0 || aside[s.Name] != "" {
			v.File = append(v.File, row)
			continue
		}
		row.Edit, row.Changed = row.Open+"/edit", c.moment(own[i].At)+" by "+own[i].By
		v.Own = append(v.Own, row)
	}
	for _, o := range own {
		if why := aside[o.Of.Name]; why != "" {
			row := systemRowOf(o.Of, nil)
			row.Why, row.Edit = why, row.Open+"/edit"
			v.Aside = append(v.Aside, row)
		}
	}
	return p.showBook(w, r, "Systems", http.StatusOK, bookView{Systems: &v})
}

func systemRowOf(s config.System, boats []config.Boat) systemRow {
	row := systemRow{Name: s.Name, Open: systemLink(s.Name), Copy: "/systems/new?" + url.Values{"like": {s.Name}}.Encode(), Stages: len(s.Stages), Users: usersOf(s.Name, boats)}
	var cards []string
	for _, st := range s.Stages {
		if st.Kind == config.Coat {
			row.Coats++
			if !slices.Contains(cards, st.Card) {
				cards = append(cards, st.Card)
			}
		}
	}
	row.Cards = strings.Join(cards, ", ")
	return row
}

// usersOf are the boats that have a system, with the areas that do.
func usersOf(system string, boats []config.Boat) []link {
	var users []link
	for _, b := range boats {
		var areas []string
		for _, a := range b.Areas {
			if a.System == system {
				areas = append(areas, a.Name)
			}
		}
		if len(areas) > 0 {
			users = append(users, link{b.Name + " " + strings.Join(areas, " and "), boatLink(b.Name)})
		}
	}
	return users
}

// systemNamed is the system that an address names: the one in force, else what was
// written on the pages, with why that is not.
func (p *pages) systemNamed(r *http.Request) (s config.System, own *config.Version[config.System], why string, err error) {
	name := r.PathValue("name")
	mine, aside, err := p.Book.OwnSystems(r.Context())
	if err != nil {
		return s, nil, "", fmt.Errorf("systems: %w", err)
	}
	for i := range mine {
		if mine[i].Of.Name == name {
			own, why = &mine[i], aside[name]
		}
	}
	s, ok := p.Plans.Yard().System(name)
	if !ok && own != nil {
		s, ok = own.Of, true
	}
	if !ok {
		return s, nil, "", missing(fmt.Sprintf("There is no system called %q here.", name))
	}
	return s, own, why, nil
}

func (p *pages) system(w http.ResponseWriter, r *http.Request) error {
	s, own, why, err := p.systemNamed(r)
	if err != nil {
		return err
	}
	boats, err := p.Plans.Boats(r.Context())
	if err != nil {
		return fmt.Errorf("boats: %w", err)
	}
	row, yard := systemRowOf(s, boats), p.Plans.Yard()
	v := systemView{Name: s.Name, Copy: row.Copy, File: row.Open + "/file", Users: row.Users, Why: why}
	if own != nil {
		v.Own, v.Edit, v.History = true, row.Open+"/edit", row.Open+"/history"
		v.Changed = p.clock(r).moment(own.At) + " by " + own.By
	}
	block := ""
	for i, st := range s.Stages {
		one := stageWords(yard, st, slices.ContainsFunc(s.Stages[:i], func(o config.Stage) bool { return o.Kind == config.Coat }))
		one.Number, one.NewBlock = i+1, st.Block != "" && st.Block != block
		block = st.Block
		v.Stages = append(v.Stages, one)
	}
	return p.showBook(w, r, s.Name, http.StatusOK, bookView{System: &v})
}

// stageWords says a stage in the trade's words; figures stay as they were written. Over
// says that there is a coat before it, for whose cure it may wait.
func stageWords(y config.Yard, st config.Stage, over bool) stageView {
	v := stageView{Name: st.Name, Kind: string(st.Kind), Block: st.Block, Where: "anywhere"}
	if st.Grit > 0 {
		v.Kind += ", grit " + strconv.Itoa(st.Grit)
	}
	if kinds := textsOf(st.Places); len(kinds) > 0 {
		v.Where = orWords(kinds)
	}
	switch {
	case st.Skill == "":
		v.Work = "nobody works"
	case st.Takes > 0:
		v.Work = fmt.Sprintf("%s, skill %s, %s", peopleText(st.People), st.Skill, st.Takes)
	default:
		v.Work = fmt.Sprintf("%s, skill %s, %s each", peopleText(st.People), st.Skill, signs(st.Rate.String()))
	}
	if len(st.Uses) > 0 {
		v.Work += "; takes " + strings.Join(st.Uses, ", ")
	}
	if card, ok := y.Card(st.Card); ok && st.Kind == config.Coat {
		v.Card = link{card.Name + " rev " + strconv.Itoa(card.Revision), "/cards#" + cardID(card.Name)}
		v.Coat = howMany(max(1, st.Passes), "pass", "passes")
		if st.Passes > 1 {
			v.Coat += ", flash-off " + intervalText(card.FlashOff)
		}
	}
	switch need := st.Needs(); {
	case st.Kind == config.Hold && st.Until != "":
		v.Waits = "until the last coat is " + milestoneWords(st.Until)
	case need != "" && over:
		v.Waits = "after the last coat is " + milestoneWords(need)
	}
	if st.Life > 0 {
		v.Waits = strings.TrimPrefix(v.Waits+"; lasts "+st.Life.String(), "; ")
	}
	v.Limits = limitTexts(st.Limits)
	return v
}

func peopleText(n int) string {
	if n <= 1 {
		return "1 person"
	}
	return strconv.Itoa(n) + " people"
}

// signs writes units with their signs, and keeps them with their figure: 25 m²/h.
func signs(text string) string {
	return strings.NewReplacer("m2", "m²", "ft2", "ft²", "um", "µm", " ", "\u00a0").Replace(printed(text))
}

func milestoneWords(m conditions.Milestone) string {
	switch m {
	case conditions.Recoat:
		return "ready to be overcoated"
	case conditions.Taped:
		return "ready for tape"
	case conditions.Protected:
		return "beyond harm by dew and rain"
	case conditions.Movable:
		return "ready to be moved"
	case conditions.Launch:
		return "ready for launch"
	case conditions.LastRecoat:
		return "past its last recoat"
	case conditions.Reactivate:
		return "past reactivating"
	}
	return spaced(string(m))
}

func intervalText(i config.Interval) string {
	if i.Greatest == 0 {
		return "at least " + i.Least.String()
	}
	return i.Least.String() + " to " + i.Greatest.String()
}

func orWords(all []string) string {
	if len(all) < 2 {
		return strings.Join(all, "")
	}
	return strings.Join(all[:len(all)-1], ", ") + " or " + all[len(all)-1]
}

func (p *pages) newSystem(w http.ResponseWriter, r *http.Request) error {
	var like config.System
	if name := r.URL.Query().Get("like"); name != "" {
		s, ok := p.Plans.Yard().System(name)
		if !ok {
			return missing(fmt.Sprintf("There is no system called %q here.", name))
		}
		like = config.System{Stages: s.Stages}
	}
	return write(p, w, r, p.systemDesk(), "", like)
}

func (p *pages) editSystem(w http.ResponseWriter, r *http.Request) error {
	return write(p, w, r, p.systemDesk(), r.PathValue("name"), config.System{})
}

func (p *pages) keepSystem(w http.ResponseWriter, r *http.Request) error {
	return keep(p, w, r, p.systemDesk(), r.PathValue("name"))
}

func (p *pages) removeSystem(w http.ResponseWriter, r *http.Request) error {
	return remove(p, w, r, p.systemDesk(), r.PathValue("name"), false)
}

func (p *pages) systemHistory(w http.ResponseWriter, r *http.Request) error {
	return history(p, w, r, p.systemDesk(), r.PathValue("name"))
}

// systemFile hands out a system as it would stand in a yard file.
func (p *pages) systemFile(w http.ResponseWriter, r *http.Request) error {
	s, _, _, err := p.systemNamed(r)
	if err != nil {
		return err
	}
	text, err := p.Files.WriteSystem(s)
	if err != nil {
		return err
	}
	return handOut(w, "system.yaml", "application/yaml", text)
}
