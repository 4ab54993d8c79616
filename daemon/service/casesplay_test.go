package service_test

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
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
	caseTick   = 5 * time.Minute
	breath     = 3 * time.Second  // longer than the daemon gathers facts before it plans
	steadily   = 15 * time.Minute // between two readings of a logger
	reforecast = 6 * time.Hour    // between two issues of a forecast
)

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
	shared, changed := mapping(t, text), mapping(t, []byte(own))
	for i := 0; i < len(changed.Content); i += 2 {
		key, value := changed.Content[i], changed.Content[i+1]
		at := slices.IndexFunc(shared.Content, func(n *yaml.Node) bool { return n.Value == key.Value })
		switch {
		case at < 0:
			shared.Content = append(shared.Content, key, value)
		case value.Kind != yaml.SequenceNode:
			shared.Content[at+1] = value
		default:
			list := shared.Content[at+1]
			for _, entry := range value.Content {
				same := func(other *yaml.Node) bool { return named(other) == named(entry) }
				if i := slices.IndexFunc(list.Content, same); i >= 0 {
					list.Content[i] = entry
				} else {
					list.Content = append(list.Content, entry)
				}
			}
		}
	}
	text, err = yaml.Dump(shared)
	if err != nil {
		t.Fatal(err)
	}
	return text
}

// mapping is a file's top level: keys and values in turn.
func mapping(t *testing.T, text []byte) *yaml.Node {
	t.Helper()
	var root yaml.Node
	if len(text) == 0 {
		return &root
	}
	if err := yaml.Load(text, &root); err != nil {
		t.Fatal(err)
	}
	return root.Content[0]
}

// named is the name of an entry of a list.
func named(entry *yaml.Node) string {
	for i := 0; i+1 < len(entry.Content); i += 2 {
		if entry.Content[i].Value == "name" {
			return entry.Content[i+1].Value
		}
	}
	return ""
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
		Plans: svc, Air: svc, Desk: svc, Records: svc, Trials: svc, Intake: intake, Metrics: svc.Metrics(), Ready: svc.Ready, Log: logrus.NewEntry(log), Clock: p.clock,
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
	if err != nil {
		return err
	}
	if p.svc == nil {
		return p.begin(at)
	}
	if at.Before(p.clock.Now()) {
		return fmt.Errorf("it is %s already", p.say(p.clock.Now()))
	}
	for p.clock.Now().Before(at) {
		tick := min(caseTick, at.Sub(p.clock.Now()))
		if tick > breath {
			// The plan that is owed is made before the tick brings its own news.
			p.clock.Advance(breath)
			if err := p.svc.Settled(p.ctx); err != nil {
				return err
			}
			tick -= breath
		}
		p.clock.Advance(tick)
		if err := p.svc.Settled(p.ctx); err != nil {
			return err
		}
		now := p.clock.Now()
		if p.outlook != "" && !now.Before(p.issued.Add(reforecast)) {
			if err := p.forecast(p.outlook); err != nil {
				return err
			}
		}
		if now.Truncate(steadily).Equal(now) && now.Before(at) {
			p.turn++
			for _, name := range slices.Sorted(maps.Keys(p.steady)) {
				entry := p.steady[name]
				if p.turn%2 == 1 {
					entry = wobbled(entry)
				}
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

// measured reads "air 18 C, humidity 84 %, fan 1".
func measured(text string) (names, numbers, units []string, err error) {
	for one := range strings.SplitSeq(text, ",") {
		words := strings.Fields(one)
		if len(words) == 2 {
			words = append(words, "") // a fan has no unit
		}
		if len(words) != 3 {
			return nil, nil, nil, fmt.Errorf("%q is not a value like air 18 C", one)
		}
		names, numbers, units = append(names, words[0]), append(numbers, words[1]), append(units, words[2])
	}
	return names, numbers, units, nil
}

// forecast puts a document of hourly points into the forecast folder. After each
// semicolon stand values that are others from a time on.
func (p *playing) forecast(text string) error {
	day, values, _ := strings.Cut(strings.TrimPrefix(text, "until "), ": ")
	end, err := p.time(day)
	if err != nil {
		return err
	}
	spells := strings.Split(values, ";")
	names, numbers, units, err := measured(spells[0])
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
		cells := slices.Clone(numbers)
		for _, spell := range spells[1:] {
			if err := p.spell(spell, at, names, cells, units); err != nil {
				return err
			}
		}
		fmt.Fprintf(&doc, "\n%s,%s", at.Format(time.RFC3339), strings.Join(cells, ","))
	}
	name := p.issued.UTC().Format("20060102T150405Z") + ".csv"
	return os.WriteFile(filepath.Join(p.folder, "forecasts", name), []byte(doc.String()+"\n"), 0o600)
}

// spell puts what holds from a time on, "from 18:00 each day" or "from Mon
// 2026-04-06 18:00", into an hour's cells.
func (p *playing) spell(text string, at time.Time, names, cells, units []string) error {
	when, values, _ := strings.Cut(strings.TrimPrefix(strings.TrimSpace(text), "from "), ": ")
	if hour, daily := strings.CutSuffix(when, " each day"); daily {
		when = at.In(p.zone).Format("2006-01-02 ") + hour
	}
	from, err := p.time(when)
	if err != nil || at.Before(from) {
		return err
	}
	others, numbers, signs, err := measured(values)
	if err != nil {
		return err
	}
	for i, name := range others {
		n := slices.Index(names, name)
		if n < 0 || signs[i] != units[n] {
			return fmt.Errorf("%s in %s is not among the first values of this forecast: %s", name, signs[i], strings.Join(names, ", "))
		}
		cells[n] = numbers[i]
	}
	return nil
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
	entry := map[string]any{"source": line[2], "values": values}
	if boat, ok := strings.CutPrefix(line[1], "hull of "); ok {
		entry["boat"] = boat
	} else {
		entry["place"] = line[1]
	}
	return entry, nil
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
	where, _, _ := strings.Cut(text, ": ")
	p.steady[where] = entry
	return p.post(entry)
}

// wobbled is what a logger says at every other turn, a little off: an instrument
// that never moves is thought stuck.
func wobbled(entry map[string]any) map[string]any {
	moved := map[string]any{}
	for name, value := range entry["values"].(map[string]any) {
		number, unit, _ := strings.Cut(value.(string), " ")
		x, _ := strconv.ParseFloat(number, 64)
		moved[name] = fmt.Sprintf("%g %s", x+0.05, unit)
	}
	off := maps.Clone(entry)
	off["values"] = moved
	return off
}

// post sends a reading to POST /v1/readings.
func (p *playing) post(entry map[string]any) error {
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

var pressLine = regexp.MustCompile(`^(\w+)(?:/([^/]+)/(.+?))? (started|pass_done|paused|resumed|finished|arrived|moved|held|freed)(?: (\d+))?(?: in (.+?))? by (\w+)(?: saying "(.+)")?$`)

func (p *playing) press(text string) error {
	line := pressLine.FindStringSubmatch(text)
	if line == nil {
		return errors.New("write it like Wren/topsides/primer pass_done 1 by Ines")
	}
	press := planner.Press{Key: planner.Key{Boat: line[1], Area: line[2], Stage: line[3]}, Kind: planner.PressKind(line[4]), Place: line[6], By: line[7], Note: line[8]}
	fmt.Sscan(line[5], &press.Pass)
	return p.svc.Press(p.ctx, press)
}

// A case that expects what is not so must fail, line by line; otherwise none of
// them shows anything.
func TestCasesCanFail(t *testing.T) {
	t.Parallel()
	var want []string
	for i, line := range strings.Split(part(txtar.Parse([]byte(falsely)), "play"), "\n") {
		if strings.HasPrefix(line, "expect ") && !strings.HasSuffix(line, "# true") {
			want = append(want, fmt.Sprintf("play:%d", i+1))
		}
	}
	var got []string
	for _, fault := range playCase(t, []byte(falsely)) {
		line, _, _ := strings.Cut(fault, ": ")
		got = append(got, line)
	}
	if !slices.Equal(got, want) {
		t.Errorf("faults of lines %q, want those of %q", got, want)
	}
}
