package pages

import (
	"cmp"
	"fmt"
	"math"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"fairwindow/config"
	"fairwindow/planner"
	"fairwindow/planner/waits"
	"fairwindow/planner/whatif"
)

// whatifView is one question about a change of the yard, and its answer.
type whatifView struct {
	Text     string
	Fault    string
	Examples []sayable
	Study    *studyView
}

type sayable struct{ Words, To string }

// studyView is a question that was asked.
type studyView struct {
	Text     string
	Asked    string
	Running  string // what is said while it is worked out
	Fault    string
	Sentence string
	Notes    []string
	Launches []pairLine
	Waits    []pairLine
	Cost     []pairLine
	Money    []pairLine
	MoneyBy  string
}

// pairLine is one thing as it is and with the change.
type pairLine struct{ Name, Before, After, By string }

func (p *pages) whatif(w http.ResponseWriter, r *http.Request) error {
	return p.showWhatif(w, r, whatifView{Text: r.URL.Query().Get("text")}, http.StatusOK)
}

func (p *pages) showWhatif(w http.ResponseWriter, r *http.Request, v whatifView, status int) error {
	boats, err := p.Plans.Boats(r.Context())
	if err != nil {
		return fmt.Errorf("boats: %w", err)
	}
	for _, form := range examples(p.Plans.Yard(), boats, p.clock(r).now) {
		v.Examples = append(v.Examples, sayable{form, "/whatif?" + url.Values{"text": {form}}.Encode()})
	}
	return show(p, w, r, screen[whatifView]{"whatif", "What if", status, v})
}

// examples are the changes that can be said, with this yard's own names.
func examples(y config.Yard, boats []config.Boat, now time.Time) []string {
	names := map[string]string{"2026-05-30": now.AddDate(0, 1, 0).Format(time.DateOnly)}
	for _, place := range y.Places {
		switch place.Kind {
		case config.Booth:
			names["booth 1"] = place.Name
		case config.Slip:
			names["slip 2"] = place.Name
		case config.Shed:
			names["shed"] = place.Name
		case config.Tent:
			names["tent "] = place.Name + " "
		}
	}
	if len(y.Crews) > 0 {
		names["crew paint"], names["crew prep"], names["painter"] = "crew "+y.Crews[0].Name, "crew "+y.Crews[len(y.Crews)-1].Name, "in crew "+y.Crews[0].Name
	}
	if len(boats) > 0 {
		names["Kestrel"] = boats[0].Name
		day, _, _ := strings.Cut(boats[0].Promised, " ")
		if promised, err := time.Parse(time.DateOnly, day); err == nil && promised.After(now) {
			names["2026-05-30"] = promised.AddDate(0, 0, 7).Format(time.DateOnly)
		}
	}
	if len(boats) > 1 {
		names["Dunlin"] = boats[1].Name
	}
	var pairs []string
	for _, old := range []string{"booth 1", "slip 2", "shed", "crew paint", "crew prep", "painter", "2026-05-30", "Kestrel", "Dunlin"} {
		if to := names[old]; to != "" {
			pairs = append(pairs, old, to)
		}
	}
	replace := strings.NewReplacer(pairs...)
	var all []string
	for _, form := range whatif.Forms() {
		if strings.HasPrefix(form, "dehumidifier tent") && names["tent "] == "" {
			continue
		}
		all = append(all, replace.Replace(form))
	}
	return all
}

// tryChange asks, and leads to where the answer will be.
func (p *pages) tryChange(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return p.badForm(w, r, err)
	}
	text := strings.TrimSpace(r.PostForm.Get("text"))
	id, err := p.Studies.TryChange(r.Context(), text, cmp.Or(p.by(r), rememberedName(r)))
	if err != nil {
		sentence, ok := refused(err)
		if !ok {
			return fmt.Errorf("what if %q: %w", text, err)
		}
		return p.showWhatif(w, r, whatifView{Text: text, Fault: sentence}, http.StatusUnprocessableEntity)
	}
	http.Redirect(w, r, "/whatif/"+url.PathEscape(id), http.StatusSeeOther)
	return nil
}

// answer shows an answer under its own address, for as long as the daemon runs.
func (p *pages) answer(w http.ResponseWriter, r *http.Request) error {
	s, ok := p.Studies.Study(r.PathValue("id"))
	if !ok || s.Plan != 0 {
		return missing("That answer is not kept any more: answers last until the program is started anew. Ask again under What if.")
	}
	v := p.studied(s, p.clock(r))
	if v.Running != "" {
		w.Header().Set("Refresh", "2")
	}
	return p.showWhatif(w, r, whatifView{Text: s.Text, Study: &v}, http.StatusOK)
}

func (p *pages) studied(s whatif.Study, c clock) studyView {
	v := studyView{Text: s.Text, Asked: c.moment(s.Asked), Fault: fullStop(s.Fault)}
	switch {
	case s.Done.IsZero() && s.Ahead > 0:
		v.Running = fmt.Sprintf("%d before it. This page shows the answer by itself.", s.Ahead)
	case s.Done.IsZero():
		v.Running = "Two plans are being made. This page shows the answer by itself."
	}
	if s.Answer == nil || s.Fault != "" {
		return v
	}
	a := s.Answer
	v.Sentence = capital(a.Sentence)
	for _, text := range a.Idle {
		v.Notes = append(v.Notes, capital(text)+".")
	}
	for _, text := range a.Assumed {
		v.Notes = append(v.Notes, "Assumed: "+text+".")
	}
	for _, l := range a.Difference.Launches {
		v.Launches = append(v.Launches, launchBothWays(l, c))
	}
	if a.Difference.Gained() == 0 && len(a.Difference.Moved) == 0 && !slices.ContainsFunc(v.Launches, unlike) {
		return v // both plans are one: the tables would say so line by line
	}
	var sum planner.WaitPair
	for _, w := range a.Difference.Waits {
		if w.Again() {
			continue // counted already, with the stage before
		}
		sum.Before, sum.After = sum.Before+w.Before, sum.After+w.After
		if line := hoursPair(waitName(w), w.Before, w.After); unlike(line) {
			v.Waits = append(v.Waits, line)
		}
	}
	v.Waits = append(v.Waits, hoursPair("in all", sum.Before, sum.After))
	for _, t := range a.Difference.Cost {
		if t.Before != t.After {
			v.Cost = append(v.Cost, pairLine{termName(t.Name), fmt.Sprint(t.Before), fmt.Sprint(t.After), withSign(float64(t.After-t.Before), 0, "")})
		}
	}
	if rates := p.Plans.Yard().Rates; rates != nil {
		v.Money, v.MoneyBy = money(a, p.Plans.Yard(), *rates), "Late launches by the day, and booths by the hour that a boat holds them, over the whole plan."
	}
	return v
}

// unlike reports whether a line is another with the change.
func unlike(l pairLine) bool { return l.By != "" }

// waitName names what stages waited for, and what of the air was outside its limit.
func waitName(w planner.WaitPair) string {
	if w.Cause == planner.OutOfLimits {
		return whatif.WaitWords(w)
	}
	return CauseName(w.Cause)
}

func launchBothWays(l planner.LaunchPair, c clock) pairLine {
	word := func(of planner.Launch) string {
		switch {
		case of.Promised.IsZero() && of.Likely.IsZero():
			return "not in it"
		case of.Likely.IsZero():
			return "beyond the plan"
		case !of.Promised.IsZero() && of.Likely.After(of.Promised):
			return c.moment(of.Likely) + ", late"
		}
		return c.moment(of.Likely)
	}
	out := pairLine{Name: l.Boat, Before: word(l.Before), After: word(l.After)}
	if by, ok := l.Sooner(); ok && by > 0 {
		out.By = length(by) + " sooner"
	} else if ok && by < 0 {
		out.By = length(-by) + " later"
	}
	return out
}

func hoursPair(name string, before, after float64) pairLine {
	return pairLine{name, number(before, 1), number(after, 1), withSign(after-before, 1, "")}
}

// withSign words a difference with its sign; nothing of none.
func withSign(by float64, decimals int, behind string) string {
	text := number(math.Abs(by), decimals)
	if text == number(0, decimals) {
		return ""
	}
	if by < 0 {
		return "−" + text + behind
	}
	return "+" + text + behind
}

// moneyMore words a difference in money with its sign; nothing of none.
func moneyMore(by float64, currency string) string {
	switch by = math.Round(by); {
	case by < 0:
		return "−" + waits.Money(-by, currency)
	case by > 0:
		return "+" + waits.Money(by, currency)
	}
	return ""
}

// money is what both plans cost by the yard's rates.
func money(a *whatif.Answer, y config.Yard, rates config.Rates) []pairLine {
	cost := func(plan planner.Plan) (late, booths float64) {
		for _, l := range plan.Launches {
			launch := l.Likely
			if launch.IsZero() {
				launch = plan.Until
			}
			if !l.Promised.IsZero() && launch.After(l.Promised) {
				late += launch.Sub(l.Promised).Hours() / 24 * rates.BoatDay
			}
		}
		for _, b := range plan.Blocks {
			if place, ok := y.Place(b.Place); ok && place.Kind == config.Booth {
				booths += b.To.Sub(b.From).Hours() * rates.Booth
			}
		}
		return late, booths
	}
	lateB, boothB := cost(a.Before)
	lateA, boothA := cost(a.After)
	line := func(name string, before, after float64) pairLine {
		return pairLine{name, waits.Money(before, rates.Currency), waits.Money(after, rates.Currency), moneyMore(after-before, rates.Currency)}
	}
	return []pairLine{line("late launches", lateB, lateA), line("booths", boothB, boothA), line("in all", lateB+boothB, lateA+boothA)}
}
