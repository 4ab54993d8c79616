// The cases of the trade, one file each in testdata/cases, played through the
// whole daemon: yard file, boats, posted readings, forecast documents and what
// people press go in where they go in at the yard; what is expected is read off
// the pages and heard on the bus.
//
// A case is a text file in parts. Above the first "-- name --" stands the story,
// in plain words, and its source. Then come
//
//	-- yard.yaml --   what is different from the yard that all cases share, testdata/cases/yard.yaml
//	-- boats.yaml --  the boats, as "fairwindow boats import" takes them; may be missing
//	-- play --        what happens, line by line, and what must be so then
//
// The lines of a play (# begins a remark; times are the yard's wall clock):
//
//	at Mon 2026-04-06 08:00
//	    The clock goes on to then; the first one is where the play begins.
//	forecast until 2026-04-20: air 16 C, dew_point 6 C, wind 2 m/s
//	    A forecast comes now, and the same again every six hours.
//	forecast until 2026-04-20: air 20 C, dew_point 12 C; from 18:00 each day: air 15 C; from Tue 2026-04-07 09:00: dew_point 14 C
//	    So does one that changes: each spell holds from its time on, to the end or to midnight.
//	reading booth 1 by whirling: air 20 C, wet_bulb 17 C
//	reading hull of Wren by Ines: surface 14 C
//	    Somebody reads an instrument once. The name may be a sensor of the yard file.
//	steady booth 1 by logger: air 20 C, humidity 50 %, surface 20 C
//	    A logger says so now and every quarter of an hour, until it is told otherwise.
//	press Wren arrived in booth 1 by Ines
//	press Wren/topsides/primer started by Ines
//	press Wren/topsides/primer pass_done 1 by Ines
//	press Wren/topsides/topcoat held by Ines saying "greasy patches"
//	    What people press, boat/area/stage.
//	expect verdict booth 1: no
//	    The answer on that place's page: yes, no or unknown.
//	expect place booth 1 says "surface over dew point 1.7"
//	expect boat Wren says "Reducer"
//	    Words on a page; with "does not say", not on it.
//	expect notice recoat_opens for Wren/topsides/coat 2 at Mon 2026-04-06 17:00 until Wed 2026-04-08 09:00 saying "may go on"
//	    A notice that was heard so far; at is when it came, to five minutes after, until its end, to
//	    five minutes. Each of for, at, until and saying may be left out.
//	expect no notice window_opens for Wren
//	    None was heard so far; with "since", from then on.
//	expect planned Wren/topsides/primer in booth 1 after Mon 2026-04-06 08:00 before Mon 2026-04-06 17:00
//	    The stage stands in the plan, from start to end within these times. "expect not planned" says
//	    that it is not in the plan at all.
//	expect launch Wren after Sat 2026-04-18 15:00 before Sat 2026-04-18 17:30
//	    When the plan says that the boat is ready; the promise is in boats.yaml.
package service_test

import (
	"errors"
	"fmt"
	"html"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"golang.org/x/tools/txtar"
)

const casesDir = "../../testdata/cases"

func TestCases(t *testing.T) {
	names, err := filepath.Glob(filepath.Join(casesDir, "*.txtar"))
	if err != nil || len(names) == 0 {
		t.Fatalf("no cases in %s: %v", casesDir, err)
	}
	for _, name := range names {
		t.Run(strings.TrimSuffix(filepath.Base(name), ".txtar"), func(t *testing.T) {
			t.Parallel()
			text, err := os.ReadFile(name)
			if err != nil {
				t.Fatal(err)
			}
			for _, fault := range playCase(t, text) {
				t.Error(fault)
			}
		})
	}
}

// Every case tells its story and says where it comes from.
func TestCasesTellTheirSource(t *testing.T) {
	names, _ := filepath.Glob(filepath.Join(casesDir, "*.txtar"))
	for _, name := range names {
		a, err := txtar.ParseFile(name)
		if err != nil {
			t.Fatal(err)
		}
		story := string(a.Comment)
		if len(strings.Fields(story)) < 20 || !strings.Contains(story, "Source:") {
			t.Errorf("%s: write the story above the first part, with a line \"Source: …\"", name)
		}
	}
}

// falsely expects what is not so, but for the lines marked true.
const falsely = `
-- boats.yaml --
boats:
  - boat: Wren
    length: 14 m
    beam: 4.2 m
    arrives: 2026-04-01
    promised: 2026-05-08
    areas:
      - {area: topsides, system: two finish coats, size: 40 m2, done: sand, done_at: 2026-04-03 15:00}
-- play --
at Mon 2026-04-06 07:00
forecast until 2026-04-14: air 16 C, dew_point 11 C, wind 2 m/s
press Wren arrived in booth 1 by Ines
steady booth 1 by logger: air 20 C, humidity 55 %, surface 20 C
at Mon 2026-04-06 07:10
expect verdict booth 1: yes # true
expect verdict booth 1: no
expect verdict booth 1: unknown
expect verdict booth 2: yes
expect place booth 1 says "Outside the limits"
expect place booth 1 does not say "Within the limits"
expect notice window_opens for Wren/topsides/coat 1 # true
expect notice window_opens for Wren/topsides/coat 2
expect notice window_opens for Wren at Tue 2026-04-07 07:00
expect notice window_opens for Wren saying "next year"
expect notice pot_life_over
expect no notice window_opens
press Wren/topsides/coat 1 started by Ines
at Mon 2026-04-06 08:00
press Wren/topsides/coat 1 pass_done 1 by Ines
at Mon 2026-04-06 16:10
expect notice recoat_opens at Mon 2026-04-06 16:00 until Wed 2026-04-08 08:00 # true
expect notice recoat_opens at Mon 2026-04-06 16:00 until Wed 2026-04-08 09:00
expect no notice recoat_opens since Mon 2026-04-06 15:00
expect no notice recoat_opens since Mon 2026-04-06 16:10 # true
expect planned Wren/topsides/coat 2 before Wed 2026-04-08 08:00 # true
expect planned Wren/topsides/coat 2 before Mon 2026-04-06 16:00
expect planned Wren/topsides/coat 2 after Wed 2026-04-08 08:00
expect planned Wren/topsides/coat 2 in row
expect planned Wren/topsides/coat 3
expect not planned Wren/topsides/coat 2
expect launch Wren after Mon 2026-04-06 07:00 before Tue 2026-04-07 07:00
expect launch Tern after Mon 2026-04-06 07:00 before Fri 2026-05-08 07:00
expect planned Wren/topsides/coat 2 before Mon 2026-04-07 08:00
expect that all is well
`

func part(a *txtar.Archive, name string) string {
	for _, f := range a.Files {
		if f.Name == name {
			return string(f.Data)
		}
	}
	return ""
}

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
