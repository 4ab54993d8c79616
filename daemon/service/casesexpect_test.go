package service_test

import (
	"errors"
	"fmt"
	"html"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strings"
	"time"
)

// forms of what may be expected.
var (
	expectVerdict = regexp.MustCompile(`^verdict (.+): (yes|no|unknown)$`)
	expectPage    = regexp.MustCompile(`^(place|boat) (.+?) (says|does not say) "(.+)"$`)
	expectNotice  = regexp.MustCompile(`^(no )?notice (\w+)(?: for (\w+(?:/[^/]+/.+?)?))?(?: (?:at|since) (.+?))?(?: until (.+?))?(?: saying "(.+)")?$`)
	expectPlanned = regexp.MustCompile(`^(not )?planned (.+?)(?: in (.+?))?(?: after (.+?))?(?: before (.+))?$`)
	expectLaunch  = regexp.MustCompile(`^launch (\w+) after (.+) before (.+)$`)
)

func (p *playing) expect(text string) error {
	if m := expectVerdict.FindStringSubmatch(text); m != nil {
		return p.verdict(m[1], m[2])
	}
	if m := expectPage.FindStringSubmatch(text); m != nil {
		words, err := p.page(m[1], m[2])
		if err == nil && strings.Contains(plainly(words), m[4]) != (m[3] == "says") {
			err = fmt.Errorf("the page reads: %s", plainly(words))
		}
		return err
	}
	if m := expectNotice.FindStringSubmatch(text); m != nil {
		return p.notice(m)
	}
	if m := expectPlanned.FindStringSubmatch(text); m != nil {
		return p.planned(m)
	}
	if m := expectLaunch.FindStringSubmatch(text); m != nil {
		return p.launch(m)
	}
	return errors.New("nobody knows this expectation: see the top of cases_test.go")
}

func (p *playing) page(kind, name string) (string, error) {
	w := httptest.NewRecorder()
	p.web.ServeHTTP(w, httptest.NewRequest(http.MethodGet, "/"+kind+"/"+url.PathEscape(name), nil))
	if w.Code != http.StatusOK {
		return "", fmt.Errorf("the page answers %d", w.Code)
	}
	_, main, _ := strings.Cut(w.Body.String(), "<main")
	return "<main" + main, nil
}

var (
	drawing = regexp.MustCompile(`(?s)<svg.*?</svg>|<form.*?</form>`)
	tag     = regexp.MustCompile(`<[^>]*>`)
)

// plainly is a page's text on one line, without its drawings and forms.
func plainly(page string) string {
	return strings.Join(strings.Fields(html.UnescapeString(tag.ReplaceAllString(drawing.ReplaceAllString(page, " "), " "))), " ")
}

func (p *playing) verdict(place, want string) error {
	page, err := p.page("place", place)
	if err != nil {
		return err
	}
	words := map[string]string{"yes": "✓ Within the limits of ", "no": "✕ Outside the limits of ", "unknown": "? Unknown"}
	for answer, word := range words {
		if strings.Contains(plainly(page), word) != (answer == want) {
			return fmt.Errorf("the page reads: %s", plainly(page))
		}
	}
	return nil
}

// near is a moment between a time and five minutes after it, or, either way, around it.
func near(t, want time.Time, either bool) bool {
	d := t.Sub(want)
	return d <= caseTick && (d >= 0 || either && d >= -caseTick)
}

// notice looks among those heard so far.
func (p *playing) notice(m []string) error {
	at, until, err := time.Time{}, time.Time{}, error(nil)
	if m[4] != "" {
		at, err = p.time(m[4])
	}
	if m[5] != "" && err == nil {
		until, err = p.time(m[5])
	}
	if err != nil {
		return err
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	never := m[1] != ""
	var heard []string
	for _, n := range p.heard {
		about := n.Boat
		if strings.Contains(m[3], "/") {
			about += "/" + n.Area + "/" + n.Stage
		}
		if string(n.Kind) != m[2] || m[3] != "" && m[3] != about || never && n.At.Before(at) {
			continue
		}
		heard = append(heard, fmt.Sprintf("%s: %s", p.say(n.At), n.sentence))
		if !never && (at.IsZero() || near(n.At, at, false)) && (until.IsZero() || near(n.Until, until, true)) && strings.Contains(n.sentence, m[6]) {
			return nil
		}
	}
	switch {
	case never && len(heard) == 0:
		return nil
	case len(heard) == 0:
		return errors.New("no such notice was heard")
	}
	return fmt.Errorf("heard was:\n\t%s", strings.Join(heard, "\n\t"))
}

// between holds a span against the times of an expectation; either may be empty.
func (p *playing) between(from, to time.Time, after, before string) error {
	a, err := p.time(after)
	if after != "" && (err != nil || from.Before(a)) {
		return errors.Join(err, fmt.Errorf("it begins %s", p.say(from)))
	}
	b, err := p.time(before)
	if before != "" && (err != nil || to.After(b)) {
		return errors.Join(err, fmt.Errorf("it ends %s", p.say(to)))
	}
	return nil
}

func (p *playing) planned(m []string) error {
	plan, _, err := p.svc.Told(p.ctx)
	if err != nil {
		return err
	}
	var have []string
	for _, s := range plan.Stages {
		key := s.Key.Boat + "/" + s.Key.Area + "/" + s.Key.Stage
		have = append(have, fmt.Sprintf("%s %s in %s, %s to %s", key, s.State, s.Place, p.say(s.Start), p.say(s.End)))
		switch {
		case key != m[2]:
		case m[1] != "" || s.Start.IsZero() || m[3] != "" && s.Place != m[3]:
			return errors.New("planned is " + have[len(have)-1])
		default:
			return p.between(s.Start, s.End, m[4], m[5])
		}
	}
	if m[1] != "" {
		return nil
	}
	return fmt.Errorf("the plan has:\n\t%s", strings.Join(have, "\n\t"))
}

func (p *playing) launch(m []string) error {
	plan, _, err := p.svc.Told(p.ctx)
	if err != nil {
		return err
	}
	for _, l := range plan.Launches {
		if l.Boat == m[1] && !l.Likely.IsZero() {
			return p.between(l.Likely, l.Likely, m[2], m[3])
		}
	}
	return errors.New("the plan has no launch of this boat")
}
