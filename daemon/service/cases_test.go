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
//	reading booth 1 by whirling: air 20 C, wet_bulb 17 C
//	    Somebody reads an instrument once. The name may be a sensor of the yard file.
//	steady booth 1 by logger: air 20 C, humidity 50 %, surface 20 C
//	    A logger says so now and every quarter of an hour, until it is told otherwise.
//	press Wren arrived in booth 1 by Ines
//	press Wren/topsides/primer started by Ines
//	press Wren/topsides/primer pass_done 1 by Ines
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
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"html"
	"io"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/jonboulle/clockwork"
	"github.com/sirupsen/logrus"
	"go.yaml.in/yaml/v4"
	"golang.org/x/tools/txtar"

	"fairwindow/config"
	"fairwindow/config/file"
	"fairwindow/daemon/pages"
	"fairwindow/daemon/service"
	"fairwindow/notify"
	"fairwindow/planner"
)

const (
	casesDir   = "../../testdata/cases"
	caseTick   = 5 * time.Minute
	steadily   = 15 * time.Minute
	reforecast = 6 * time.Hour
)

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

// A case that expects what is not so must fail, line by line; otherwise none of
// them shows anything.
func TestCasesCanFail(t *testing.T) {
	t.Parallel()
	text, err := os.ReadFile(filepath.Join("testdata", "false.txtar"))
	if err != nil {
		t.Fatal(err)
	}
	var want []string
	play := part(txtar.Parse(text), "play")
	for i, line := range strings.Split(play, "\n") {
		if strings.HasPrefix(line, "expect ") && !strings.HasSuffix(line, "# true") {
			want = append(want, fmt.Sprintf("play:%d:", i+1))
		}
	}
	var got []string
	for _, fault := range playCase(t, text) {
		got = append(got, fault[:strings.Index(fault, ": ")+1])
	}
	if len(want) < 10 || !slices.Equal(got, want) {
		t.Errorf("faults of lines %q, want those of %q", got, want)
	}
}

func part(a *txtar.Archive, name string) string {
	for _, f := range a.Files {
		if f.Name == name {
			return string(f.Data)
		}
	}
	return ""
}

// playing is one case under way.
type playing struct {
	t       testing.TB
	ctx     context.Context
	yard    config.Yard
	zone    *time.Location
	boats   []config.Boat
	clock   *clockwork.FakeClock
	svc     *service.Service
	web     http.Handler
	token   string
	folder  string
	steady  map[string]map[string]any // what loggers say, by source and place
	turn    int
	outlook string // the forecast line in force
	issued  time.Time

	mu    sync.Mutex
	heard []told
}

// told is a notice as it was heard.
type told struct {
	notify.Notice
	sentence string
}

// playCase plays a case and lists what was not as expected, each with its line.
func playCase(t *testing.T, text []byte) []string {
	t.Helper()
	a := txtar.Parse(text)
	p := &playing{t: t, ctx: t.Context(), folder: t.TempDir(), steady: map[string]map[string]any{}}
	var mistakes file.Mistakes
	p.yard, mistakes = file.Yard("yard.yaml", sharedYard(t, part(a, "yard.yaml")))
	if err := mistakes.Err(); err != nil {
		t.Fatal(err)
	}
	if boats := part(a, "boats.yaml"); boats != "" {
		p.boats, mistakes = file.BoatsFor(p.yard, "boats.yaml", []byte(boats))
		if err := mistakes.Err(); err != nil {
			t.Fatal(err)
		}
	}
	p.zone, _ = p.yard.Location()
	var faults []string
	for i, line := range strings.Split(part(a, "play"), "\n") {
		line, _, _ = strings.Cut(line, "#")
		if line = strings.TrimSpace(line); line == "" {
			continue
		}
		what, rest, _ := strings.Cut(line, " ")
		does, known := map[string]func(string) error{
			"at": p.until, "forecast": p.forecast, "reading": p.reading, "steady": p.stand, "press": p.press, "expect": p.expect,
		}[what]
		if !known || p.svc == nil && what != "at" {
			t.Fatalf("play:%d: %q: a play begins with \"at\", and its lines with at, forecast, reading, steady, press or expect", i+1, line)
		}
		if err := does(rest); err != nil {
			faults = append(faults, fmt.Sprintf("play:%d: %s: %v", i+1, line, err))
			if what != "expect" {
				t.Fatal(faults[len(faults)-1])
			}
		}
		if what != "expect" {
			if err := p.svc.Settled(p.ctx); err != nil {
				t.Fatalf("play:%d: %v", i+1, err)
			}
		}
	}
	return faults
}

// sharedYard is the yard of all cases with a case's own entries put in: those of
// a list by their name.
func sharedYard(t *testing.T, own string) []byte {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(casesDir, "yard.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	var all, changed map[string]any
	if err := yaml.Load(text, &all); err != nil {
		t.Fatal(err)
	}
	if own != "" {
		if err := yaml.Load([]byte(own), &changed); err != nil {
			t.Fatal(err)
		}
	}
	for key, value := range changed {
		entries, isList := value.([]any)
		if !isList {
			all[key] = value
			continue
		}
		list, _ := all[key].([]any)
		for _, entry := range entries {
			same := func(other any) bool { return other.(map[string]any)["name"] == entry.(map[string]any)["name"] }
			if i := slices.IndexFunc(list, same); i >= 0 {
				list[i] = entry
			} else {
				list = append(list, entry)
			}
		}
		all[key] = list
	}
	text, err = yaml.Dump(all)
	if err != nil {
		t.Fatal(err)
	}
	return text
}

// begin starts the daemon, with its pages, and brings the boats.
func (p *playing) begin(at time.Time) error {
	log := logrus.New()
	log.SetOutput(io.Discard)
	p.clock = clockwork.NewFakeClockAt(at)
	state := filepath.Join(p.folder, "state")
	svc, err := service.New(p.ctx, service.Options{
		Yard: p.yard, Folder: p.folder, State: state, Clock: p.clock, Log: logrus.NewEntry(log), Tick: caseTick, Played: true,
		Heard: func(n notify.Notice, sentence string) {
			p.mu.Lock()
			defer p.mu.Unlock()
			p.heard = append(p.heard, told{n, sentence})
		},
	})
	if err != nil {
		return err
	}
	running, stop := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- svc.Run(running) }()
	p.t.Cleanup(func() {
		stop()
		if err := errors.Join(<-ended, svc.Close(context.Background())); err != nil {
			p.t.Errorf("the daemon ended: %v", err)
		}
	})
	p.svc = svc
	intake, err := svc.Intake()
	if err != nil {
		return err
	}
	p.web, err = pages.New(pages.Options{
		Plans: svc, Air: svc, Desk: svc, Intake: intake, Metrics: svc.Metrics(), Ready: svc.Ready, Log: logrus.NewEntry(log), Clock: p.clock,
	})
	if err != nil {
		return err
	}
	token, err := os.ReadFile(filepath.Join(state, service.TokenFile))
	if err != nil {
		return err
	}
	p.token = strings.TrimSpace(string(token))
	return svc.PutBoats(p.ctx, p.boats, "the case")
}

var weekday = regexp.MustCompile(`^(Mon|Tue|Wed|Thu|Fri|Sat|Sun) `)

// time reads a time of the yard's clock and holds its weekday, if it names one, against it.
func (p *playing) time(text string) (time.Time, error) {
	day := strings.TrimSpace(weekday.FindString(text))
	at, err := p.yard.Time(weekday.ReplaceAllString(text, ""))
	if err == nil && day != "" && at.In(p.zone).Format("Mon") != day {
		err = fmt.Errorf("%s is a %s", text, at.In(p.zone).Format("Monday"))
	}
	return at, err
}

// until lets the clock go on, tick by tick, with loggers and forecasts keeping up.
func (p *playing) until(text string) error {
	at, err := p.time(text)
	if err != nil || p.svc == nil {
		return errors.Join(err, p.begin(at))
	}
	if at.Before(p.clock.Now()) {
		return fmt.Errorf("it is %s already", p.say(p.clock.Now()))
	}
	for p.clock.Now().Before(at) {
		p.clock.Advance(min(caseTick, at.Sub(p.clock.Now())))
		now := p.clock.Now()
		if p.outlook != "" && !now.Before(p.issued.Add(reforecast)) {
			if err := p.forecast(p.outlook); err != nil {
				return err
			}
		}
		if now.Truncate(steadily).Equal(now) && len(p.steady) > 0 {
			p.turn++
			for _, entry := range p.steady {
				if err := p.post(entry); err != nil {
					return err
				}
			}
		}
		if err := p.svc.Settled(p.ctx); err != nil {
			return err
		}
	}
	return nil
}

func (p *playing) say(t time.Time) string { return t.In(p.zone).Format("Mon 2006-01-02 15:04") }

// measured reads "air 18 C, humidity 84 %".
func measured(text string) (names, numbers, units []string, err error) {
	for one := range strings.SplitSeq(text, ",") {
		words := strings.Fields(one)
		if len(words) != 3 {
			return nil, nil, nil, fmt.Errorf("%q is not a value like air 18 C", one)
		}
		names, numbers, units = append(names, words[0]), append(numbers, words[1]), append(units, words[2])
	}
	return names, numbers, units, nil
}

// forecast puts a document of hourly points into the forecast folder.
func (p *playing) forecast(text string) error {
	day, values, _ := strings.Cut(strings.TrimPrefix(text, "until "), ": ")
	end, err := p.time(day)
	if err != nil {
		return err
	}
	names, numbers, units, err := measured(values)
	if err != nil {
		return err
	}
	p.outlook, p.issued = text, p.clock.Now()
	var doc strings.Builder
	fmt.Fprintf(&doc, "# issued %s\ntime", p.issued.UTC().Format(time.RFC3339))
	for i := range names {
		fmt.Fprintf(&doc, ",%s_%s", names[i], units[i])
	}
	for at := p.issued.UTC().Truncate(time.Hour); !at.After(end); at = at.Add(time.Hour) {
		fmt.Fprintf(&doc, "\n%s,%s", at.Format(time.RFC3339), strings.Join(numbers, ","))
	}
	name := p.issued.UTC().Format("20060102T150405Z") + ".csv"
	return os.WriteFile(filepath.Join(p.folder, "forecasts", name), []byte(doc.String()+"\n"), 0o600)
}

var readingLine = regexp.MustCompile(`^(.+?) by (.+?): (.+)$`)

// entry is one posted reading of a reading or steady line.
func (p *playing) entry(text string) (map[string]any, error) {
	line := readingLine.FindStringSubmatch(text)
	if line == nil {
		return nil, errors.New("write it like booth 1 by hand: air 18 C, humidity 84 %")
	}
	names, numbers, units, err := measured(line[3])
	if err != nil {
		return nil, err
	}
	values := map[string]any{}
	for i, name := range names {
		values[name] = numbers[i] + " " + units[i]
	}
	return map[string]any{"source": line[2], "place": line[1], "values": values}, nil
}

func (p *playing) reading(text string) error {
	entry, err := p.entry(text)
	if err != nil {
		return err
	}
	return p.post(entry)
}

func (p *playing) stand(text string) error {
	entry, err := p.entry(text)
	if err != nil {
		return err
	}
	p.steady[fmt.Sprint(entry["source"], " in ", entry["place"])] = entry
	return p.post(entry)
}

// post sends a reading to POST /v1/readings. Every other one is a hundredth off:
// an instrument that never moves is thought stuck.
func (p *playing) post(entry map[string]any) error {
	if p.turn%2 == 1 {
		moved := map[string]any{}
		for name, value := range entry["values"].(map[string]any) {
			var number float64
			var unit string
			if _, err := fmt.Sscan(value.(string), &number, &unit); err != nil {
				return err
			}
			moved[name] = fmt.Sprintf("%g %s", number+0.01, unit)
		}
		entry = map[string]any{"source": entry["source"], "place": entry["place"], "values": moved}
	}
	body, err := json.Marshal(entry)
	if err != nil {
		return err
	}
	r := httptest.NewRequest(http.MethodPost, "/v1/readings", bytes.NewReader(body))
	r.Header.Set("Authorization", "Bearer "+p.token)
	w := httptest.NewRecorder()
	p.web.ServeHTTP(w, r)
	if w.Code != http.StatusAccepted {
		return fmt.Errorf("the reading was answered %d: %s", w.Code, w.Body)
	}
	return nil
}

var pressLine = regexp.MustCompile(`^(\w+)(?:/([^/]+)/(.+?))? (started|pass_done|paused|resumed|finished|arrived|moved)(?: (\d+))?(?: in (.+?))? by (\w+)$`)

func (p *playing) press(text string) error {
	line := pressLine.FindStringSubmatch(text)
	if line == nil {
		return errors.New("write it like Wren/topsides/primer pass_done 1 by Ines")
	}
	press := planner.Press{Key: planner.Key{Boat: line[1], Area: line[2], Stage: line[3]}, Kind: planner.PressKind(line[4]), Place: line[6], By: line[7]}
	fmt.Sscan(line[5], &press.Pass)
	return p.svc.Press(p.ctx, press)
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
	_, main, _ := strings.Cut(w.Body.String(), "<h1")
	return "<h1" + main, nil
}

var (
	drawing = regexp.MustCompile(`(?s)<svg.*?</svg>|<form.*?</form>`)
	tag     = regexp.MustCompile(`<[^>]*>`)
	gauge   = regexp.MustCompile(`class="gauge (\w+)"`)
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
	if m := gauge.FindStringSubmatch(page); m == nil || m[1] != want {
		return fmt.Errorf("the page reads: %s", plainly(page))
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
