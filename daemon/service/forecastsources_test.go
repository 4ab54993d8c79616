package service

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
	"fairwindow/sensors"
)

// twoSources is the yard of these tests with a second folder of forecasts.
const twoSources = `
  - {name: model, format: csv, folder: forecasts}
  - {name: other, format: csv, folder: others, stale: 6 h}
`

func withOther(yard string) string {
	return strings.Replace(yard, "\n  - {name: model, format: csv, folder: forecasts}\n", twoSources, 1)
}

// TestForecastSources: each source of the yard file is told with its newest issue and
// its age; one that never came is stale, and so is one that is older than it may be.
func TestForecastSources(t *testing.T) {
	t.Parallel()
	r := newRig(t, withOther(yardText))
	r.start()
	r.forecast("a.csv", monday, dry)
	r.until(at(0, 7, 0))
	all, err := r.svc.ForecastSources(t.Context())
	if err != nil || len(all) != 2 {
		t.Fatalf("%+v, %v", all, err)
	}
	if a := all[0]; a.Name != "model" || !a.Issued.Equal(monday) || a.Age != time.Hour || a.Stale || !a.Leads || a.Broken != "" {
		t.Errorf("%+v", a)
	}
	if b := all[1]; b.Name != "other" || !b.Issued.IsZero() || !b.Stale || b.Leads {
		t.Errorf("never came: %+v", b)
	}
	r.document("bad.csv", "<html>busy</html>\n")
	r.until(at(0, 7, 10))
	if all, err = r.svc.ForecastSources(t.Context()); err != nil || !strings.HasPrefix(all[0].Broken, "bad.csv: line 1") || all[1].Broken != "" {
		t.Errorf("with a bad file: %+v, %v", all, err)
	}
	r.until(at(1, 1, 0))
	if all, err = r.svc.ForecastSources(t.Context()); err != nil || !all[0].Stale || all[0].Leads {
		t.Errorf("19 h old: %+v, %v", all[0], err)
	}
}

// other puts a document into the second source's folder.
func (r *rig) other(name string, issued time.Time, w weather) {
	r.t.Helper()
	r.forecast(name, issued, w)
	from, to := filepath.Join(r.folder, "forecasts", name), filepath.Join(r.folder, "others", name)
	if err := errors.Join(os.MkdirAll(filepath.Dir(to), 0o755), os.Rename(from, to)); err != nil {
		r.t.Fatal(err)
	}
}

// leads is which source the plan goes by now.
func (r *rig) leads() string {
	r.t.Helper()
	now, _, err := r.svc.Leading(r.t.Context())
	if err != nil {
		r.t.Fatal(err)
	}
	return now
}

// TestStaleLeaderHandsOver: the first of the yard file leads, whichever was issued last;
// when it is too old the next does at once, with a new plan, until it is back. Where the
// leading one ends, the other goes on.
func TestStaleLeaderHandsOver(t *testing.T) {
	t.Parallel()
	warm := func(time.Time) (air, dew string) { return "24", "6" }
	r := newRig(t, strings.Replace(withOther(yardText), "folder: forecasts}", "folder: forecasts, stale: 4 h}", 1))
	r.tick = 10 * time.Minute
	r.start()
	step := func(until time.Time, want string, air float64) {
		t.Helper()
		r.until(until.Add(debounce))
		if got := r.leads(); got != want {
			t.Errorf("at %s %s leads, want %s", until.Format("15:04"), got, want)
		}
		plan, _, err := r.svc.Draft(t.Context())
		if err != nil || until.Sub(plan.At) > 10*time.Minute {
			t.Errorf("at %s the plan is of %s, %v", until.Format("15:04"), plan.At.Format("15:04"), err)
		}
		r.svc.mu.Lock()
		defer r.svc.mu.Unlock()
		p := r.svc.facts.problem(until)
		if w := conditions.At(p.Outdoors, until.Add(30*time.Hour).Truncate(time.Hour)); float64(w.Air) != air || w.Sure != conditions.Foretold {
			t.Errorf("at %s tomorrow has %v °C, %s; want %v", until.Format("15:04"), w.Air, w.Sure, air)
		}
	}
	r.forecast("a.csv", monday, dry)
	step(at(0, 6, 10), "model", 20)
	r.other("b.csv", at(0, 6, 10), warm) // newer, and not the first
	r.until(at(0, 6, 20))
	if got := r.leads(); got != "model" {
		t.Errorf("%s leads", got)
	}
	step(at(0, 10, 10), "other", 24)
	r.forecast("c.csv", at(0, 10, 0), dry)
	step(at(0, 10, 30), "model", 20)

	short := strings.SplitAfter(r.read("c.csv"), "\n")
	r.document("d.csv", strings.Replace(strings.Join(short[:20], ""), "10:00:00Z", "10:30:00Z", 1))
	step(at(0, 10, 50), "model", 24)
	r.other("e.csv", at(0, 10, 50), func(time.Time) (air, dew string) { return "200", "6" })
	r.until(at(0, 11, 0))
	r.forecast("f.csv", at(0, 10, 55), func(time.Time) (air, dew string) { return "200", "6" })
	r.until(at(0, 11, 10))
	if got := r.leads(); got != "model" {
		t.Errorf("with both doubtful %s leads", got)
	}
	r.other("g.csv", at(0, 11, 10), warm)
	step(at(0, 11, 20), "other", 24)
}

// TestTells: a forecast that has ended foretells nothing, and another takes over though it is fresh.
func TestTells(t *testing.T) {
	for hours, want := range map[[2]int]bool{{-3, 0}: false, {-3, 1}: true, {1, 1}: true, {6, 6}: true, {7, 40}: false} {
		c := sensors.Forecast{}
		for h := hours[0]; h <= hours[1]; h++ {
			c.Points = append(c.Points, conditions.Weather{At: monday.Add(time.Duration(h) * time.Hour), Sure: conditions.Foretold})
		}
		if got := tells(c, monday); got != want {
			t.Errorf("of the hours %v: %v, want %v", hours, got, want)
		}
	}
}

// TestTheMoreRightLeads: the source that was more right here at the station comes to lead,
// each put right by its own errors, also after a restart; the scores are told.
func TestTheMoreRightLeads(t *testing.T) {
	t.Parallel()
	r := newRig(t, withOther(learningYard))
	r.tick = time.Hour
	r.start()
	// The first is wrong by up to 4 K from hour to hour, which nobody can learn; the other
	// always by the same 2 K and 1 K.
	wild := func(t time.Time) (air, dew string) {
		a, d := truth(t)
		off := 4 * math.Sin(float64(t.Unix()/3600)*2.4)
		return fmt.Sprintf("%.1f", a+off), fmt.Sprintf("%.1f", min(a+off, d))
	}
	say := func() {
		now := r.clock.Now()
		if now.Minute() == 0 && now.Hour()%6 == 0 {
			name := now.Format("20060102T15") + ".csv"
			r.other(name, now, wrong)
			r.forecast(name, now, wild)
		}
		air, dew := truth(now)
		if code, answer := r.send(fmt.Sprintf(`{"source": "station", "values": {"air": %.2f, "dew_point": %.2f, "wind": %.2f}}`, air, dew, 3+air/100)); code != http.StatusAccepted {
			t.Fatalf("%d %s", code, answer)
		}
		r.settle()
	}
	say()
	r.during(at(2, 7, 0), say)
	if got := r.leads(); got != "model" {
		t.Errorf("after two days %s leads", got)
	}
	r.during(at(7, 7, 0), say)
	check := func(when string) {
		t.Helper()
		all, err := r.svc.ForecastSources(t.Context())
		if err != nil || len(all) != 2 || r.leads() != "other" {
			t.Fatalf("%s %s leads: %+v, %v", when, r.leads(), all, err)
		}
		model, other := all[0], all[1]
		if !other.Leads || model.Leads || !(model.Skill.Behind.Gain < -0.5) || model.Skill.Behind.Days < 5 || other.Skill.Behind.Hours != 0 {
			t.Errorf("%s: %+v, %+v", when, model.Skill, other.Skill)
		}
		for i, e := range other.Skill.Leads {
			if m := model.Skill.Leads[i]; e.Pairs < 24 || m.Pairs < 24 || !(e.Air < m.Air) || !(m.Air > 2) {
				t.Errorf("%s: group %d: %+v, %+v", when, i, e, m)
			}
		}
		r.svc.mu.Lock()
		defer r.svc.mu.Unlock()
		now := r.clock.Now()
		p := r.svc.facts.problem(now)
		tomorrow := now.Add(40 * time.Hour).Truncate(time.Hour)
		want, _ := truth(tomorrow)
		if w := conditions.At(p.Outdoors, tomorrow); math.Abs(float64(w.Air)-want) > 0.5 {
			t.Errorf("%s: tomorrow has %v °C, want %.1f", when, w.Air, want)
		}
		if asJSON(t, p.Experience) != asJSON(t, r.svc.facts.learned.Sources["other"].Experience) || len(p.Experience.Places) == 0 {
			t.Errorf("%s: the problem's experience is not the leading source's", when)
		}
	}
	check("after a week")
	r.restart()
	check("after a restart")
}

// TestOldMemory: what was remembered before each source had its own counts for all of
// them until the next night; what is remembered now counts for its own source only.
func TestOldMemory(t *testing.T) {
	var l learned
	old := `{"at": "2026-05-04T03:00:00Z", "pairs": {"shed": 412}, "experience": {"places": {"shed": {"air": {"pairs": 50}, "wind": 1}}, "together": 0.4, "persists": "5 h"}}`
	if err := l.recall(map[string]json.RawMessage{memoryOfLearned: json.RawMessage(old)}); err != nil {
		t.Fatal(err)
	}
	if is := l.of("model"); is.Pairs["shed"] != 412 || !is.habit("shed") || is.Experience.Together != 0.4 || l.Ranking.Leader != "" {
		t.Errorf("%+v", is)
	}
	text := asJSON(t, learned{At: monday, Sources: map[string]taught{"other": l.taught}, Ranking: conditions.Ranking{Leader: "other"}})
	if err := l.recall(map[string]json.RawMessage{memoryOfLearned: json.RawMessage(text)}); err != nil {
		t.Fatal(err)
	}
	if l.of("model").habit("shed") || !l.of("other").habit("shed") || l.Ranking.Leader != "other" {
		t.Errorf("%s", text)
	}
}

// TestLeaderIsFresh: whatever issues there are of whichever sources, ranked or not, the
// leading one is not too old if any is, and the best ranked of those that foretell.
func TestLeaderIsFresh(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		names := []string{"a", "b", "c"}
		f := facts{zone: time.UTC}
		for _, n := range names {
			f.yard.Forecasts = append(f.yard.Forecasts, config.Forecast{Name: n, Stale: unit.Duration(rapid.IntRange(1, 20).Draw(t, "stale")) * unit.Duration(time.Hour)})
		}
		for _, n := range rapid.Permutation(names).Draw(t, "ranked")[:rapid.IntRange(0, 3).Draw(t, "how many")] {
			f.learned.Ranking.Skills = append(f.learned.Ranking.Skills, conditions.Skill{Source: n})
		}
		good := map[string]bool{}
		for _, n := range append(names, "gone") {
			if !rapid.Bool().Draw(t, "is there") {
				continue
			}
			c := sensors.Forecast{Source: n, Issued: monday.Add(-time.Duration(rapid.IntRange(-3, 30).Draw(t, "age")) * time.Hour)}
			for h := range 60 {
				w := conditions.At(nil, c.Issued.Add(time.Duration(h)*time.Hour))
				if w.Sure = conditions.Foretold; rapid.IntRange(0, 3).Draw(t, "doubt") == 0 {
					w.Sure = conditions.Unknown
				}
				c.Points = append(c.Points, w)
			}
			f.forecasts = append(f.forecasts, c)
			age := monday.Sub(c.Issued)
			good[n] = age <= staleAfter(f.yard, n) && age >= -time.Hour
		}
		lead, ok := f.forecast(monday)
		any := false
		for _, is := range good {
			any = any || is
		}
		if ok != any || ok && !good[lead.Source] {
			t.Fatalf("%q leads, %v; good are %v", lead.Source, ok, good)
		}
		if !ok || !tells(lead, monday) {
			return
		}
		for _, n := range f.order() {
			if n == lead.Source {
				break
			}
			for _, c := range f.forecasts {
				if c.Source == n && good[n] && tells(c, monday) {
					t.Fatalf("%s leads before %s", lead.Source, n)
				}
			}
		}
	})
}
