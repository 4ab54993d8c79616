package pages

import (
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"fairwindow/config"
	"fairwindow/daemon/record"
	"fairwindow/planner"
)

// coatsView is the record of a boat's coats.
type coatsView struct {
	Name     string
	Boat     string // where the boat's page is
	Self     string
	Coats    []coatView
	Signed   []signedLine
	Sign     signForm // of the whole
	Strike   *strikeView
	Gone     string // that the boat is no longer in the book
	Kept     string // until when the evidence is kept
	Decides  string
	Evidence string
}

// strikeView is an entry that is to be struck through.
type strikeView struct {
	What string
	Slip *strikeForm
	Form *strikeForm
}

// coatView is one coat, or one attempt at it.
type coatView struct {
	Title    string
	Area     string
	Rejected string
	Illus    bool
	Later    bool
	Facts    [][2]string
	Passes   []passLine
	Limits   []boundLine
	Air      []airLine
	Signs    [2]string // of temperatures, of their differences
	Gaps     []string
	Entries  []entryLine
	Films    []string
	Events   []recordLine
	Checks   []checkLine
	Add      *entryForm // nil: signed off, or an attempt that is past
	Chosen   bool
	Sign     *signForm
}

type passLine struct{ Number, When, Entered, By, Flash string }
type boundLine struct{ Kept, Class, Worst, Whose string }

// checkLine is a go / no-go list as it was answered.
type checkLine struct {
	When, By, Struck string
	Said             [][2]string // point, answer
}

type airLine struct{ At, Air, Humidity, Dew, Coldest, Warmest, Margin, By string }
type signedLine struct{ What, Remark, Digest, Changed string }

// entryLine is something that was entered, with the form that strikes it.
type entryLine struct {
	ID     int64
	When   string
	By     string
	What   []string
	Struck string
	Shut   bool // signed off: it is struck no more
}

func (p *pages) coats(w http.ResponseWriter, r *http.Request) error {
	boat, gone, err := p.everBoat(r)
	if err != nil {
		return err
	}
	return p.showCoats(w, r, boat, coatsTried{gone: gone}, http.StatusOK)
}

// coatsTried is a form of the record's page as it was filled in.
type coatsTried struct {
	gone   string // the boat is not in the book any more: who took it out, when and why
	entry  *entryForm
	strike *strikeForm
	sign   *signForm
}

func (p *pages) showCoats(w http.ResponseWriter, r *http.Request, boat config.Boat, tried coatsTried, status int) error {
	is, err := p.Records.Record(r.Context(), boat.Name)
	if err != nil {
		return fmt.Errorf("record of %s: %w", boat.Name, err)
	}
	c, u := p.clock(r), p.units(r)
	v := coatsView{Name: boat.Name, Boat: boatLink(boat.Name), Self: recordLink(boat.Name), Decides: decides, Evidence: boatLink(boat.Name) + "/evidence.zip"}
	kept, err := p.Records.Kept(r.Context(), boat.Name)
	if err != nil {
		return fmt.Errorf("warranty of %s: %w", boat.Name, err)
	}
	v.Kept, v.Gone = c.kept(kept, boat, !is.Boat.Launched.IsZero(), p.Plans.Yard().Keep.Warranty), tried.gone
	asked := planner.Key{Boat: boat.Name, Area: r.URL.Query().Get("area"), Stage: r.URL.Query().Get("stage")}
	if tried.entry != nil {
		asked = tried.entry.Key
	}
	for i, coat := range is.Coats {
		key := coat.Key(boat.Name)
		one := c.coat(coat, u)
		_, shut := record.Locked(is.Signatures, key)
		for j := range one.Entries {
			one.Entries[j].Shut = shut || v.Gone != ""
		}
		one.Chosen = key == asked
		if lastTry(is.Coats, i) && v.Gone == "" {
			if err := p.forms(&one, r, is, coat, shut, tried); err != nil {
				return err
			}
		}
		v.Coats = append(v.Coats, one)
	}
	if v.Gone == "" {
		v.Strike = p.striking(r, is, tried)
		if v.Sign, err = p.signFormOf(r, is, planner.Key{Boat: boat.Name}, tried); err != nil {
			return err
		}
	}
	for _, g := range is.Signatures {
		line, err := c.signature(is, g)
		if err != nil {
			return err
		}
		v.Signed = append(v.Signed, line)
	}
	return show(p, w, r, screen[coatsView]{"record", "Record of " + boat.Name, status, v})
}

// lastTry reports whether no later attempt at the same coat follows.
func lastTry(coats []record.Coat, i int) bool {
	return !slices.ContainsFunc(coats[i+1:], func(c record.Coat) bool { return c.Area == coats[i].Area && c.Stage == coats[i].Stage })
}

// forms puts to a coat what may be done with it.
func (p *pages) forms(v *coatView, r *http.Request, is record.Record, coat record.Coat, shut bool, tried coatsTried) error {
	key := coat.Key(is.Boat.Name)
	again := tried.entry != nil && tried.entry.Key == key // comes back, though it was signed off meanwhile
	if !shut || again {
		f := p.newEntryForm(r, key, coat)
		if again {
			f.refill(*tried.entry)
		}
		f.Open = f.Open || v.Chosen && r.URL.Query().Get("said") == ""
		v.Add = &f
	}
	sign, err := p.signFormOf(r, is, key, tried)
	v.Sign = &sign
	return err
}

// striking is the form for the entry that was asked for; nil where none may be struck.
func (p *pages) striking(r *http.Request, is record.Record, tried coatsTried) *strikeView {
	id, _ := strconv.ParseInt(r.URL.Query().Get("entry"), 10, 64)
	if tried.strike != nil {
		id = tried.strike.Entry
	}
	c, u := p.clock(r), p.units(r)
	for _, coat := range is.Coats {
		for _, e := range coat.Entries {
			if _, shut := record.Locked(is.Signatures, coat.Key(is.Boat.Name)); e.ID != id || tried.strike == nil && (e.Struck != nil || shut) {
				continue
			}
			line := c.entry(e, u)
			v := strikeView{What: coat.Stage + " on " + coat.Area + ", " + line.When + ", by " + line.By + ": " + strings.Join(line.What, "; ")}
			form := func(slip bool) *strikeForm {
				f := strikeForm{Entry: id, Once: newOnce(), Slip: slip, Link: boatLink(is.Boat.Name) + "/strike", By: byField{Name: rememberedName(r), Label: "Who"}}
				if slip {
					f.Link = boatLink(is.Boat.Name) + "/slip"
				}
				if t := tried.strike; t != nil && t.Slip == slip {
					t.Link, t.By.Label = f.Link, f.By.Label
					return t
				}
				return &f
			}
			if c.now.Sub(e.Entered) <= slipLasts || tried.strike != nil && tried.strike.Slip {
				v.Slip = form(true)
			}
			v.Form = form(false)
			return &v
		}
	}
	return nil
}
