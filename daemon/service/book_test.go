package service

import (
	"context"
	"slices"
	"strings"
	"testing"

	"fairwindow/config"
	"fairwindow/planner"
)

// ours is a copy of the yard file's two coats with a third.
func (r *rig) ours(stages ...string) config.System {
	r.t.Helper()
	from, ok := r.svc.Yard().System("two coats")
	if !ok {
		r.t.Fatal("no system to copy")
	}
	s := config.System{Name: "ours", Stages: slices.Clone(from.Stages)}
	for _, name := range stages {
		more := s.Stages[1]
		more.Name = name
		s.Stages = slices.Insert(s.Stages, 2, more)
	}
	return s
}

func (r *rig) boat() config.Version[config.Boat] {
	r.t.Helper()
	all, err := r.svc.BoatVersions(context.Background(), "Boat One")
	if err != nil || len(all) == 0 {
		r.t.Fatalf("%v, %v", all, err)
	}
	v := all[0]
	v.Of.Areas = slices.Clone(v.Of.Areas)
	return v
}

func (r *rig) keeps(err error) {
	r.t.Helper()
	if err != nil {
		r.t.Fatal(err)
	}
}

func (r *rig) refuses(err error, says string) {
	r.t.Helper()
	public, ok := err.(interface{ Public() string })
	if !ok || !strings.Contains(public.Public(), says) {
		r.t.Errorf("said %v, want %q", err, says)
	}
}

func edits(b config.Boat, from int64) []config.Edit[config.Boat] {
	return []config.Edit[config.Boat]{{To: b, From: from, By: "Rui"}}
}

// planned tells whether the newest plan has a stage of Boat One's topsides.
func (r *rig) planned(stage string) bool {
	r.t.Helper()
	r.until(r.clock.Now().Add(3 * r.tick)) // a plan is not made for each of several changes
	plan, _, err := r.svc.Draft(context.Background())
	if err != nil {
		r.t.Fatal(err)
	}
	return slices.ContainsFunc(plan.Stages, func(p planner.Planned) bool { return p.Key.Stage == stage && !p.Start.IsZero() })
}

// A system written on the pages is in force at once, in the plan and in the problem that
// it was made from; it stays so through a new yard file and a new start.
func TestAnOwnSystemIsInForce(t *testing.T) {
	t.Parallel()
	r := play(t, "two coats")
	r.keeps(r.svc.EditSystem(t.Context(), config.Edit[config.System]{To: r.ours("third"), By: "Rui"}))
	v := r.boat()
	v.Of.Areas[0].System = "ours"
	r.keeps(r.svc.EditBoats(t.Context(), edits(v.Of, v.Revision)))
	check := func(when string) {
		t.Helper()
		if _, ok := r.svc.Yard().System("ours"); !ok || !r.planned("third") {
			t.Errorf("%s: in force %t, planned %t", when, ok, r.planned("third"))
		}
	}
	check("at once")
	row, ok, err := r.svc.store.LatestPlan(t.Context())
	if err != nil || !ok {
		t.Fatal(err)
	}
	problem, err := r.svc.store.Problem(t.Context(), row.Problem)
	if err != nil {
		t.Fatal(err)
	}
	if _, ok := problem.Yard.System("ours"); !ok {
		t.Error("the kept problem does not have the system")
	}
	r.yard = strings.Replace(r.yard, "people: 2\n", "people: 3\n", 1)
	r.keeps(r.svc.Reload(t.Context()))
	check("after a new yard file")
	r.restart()
	check("after a new start")
	if health, _ := r.svc.Health(t.Context()); strings.Contains(strings.Join(health, " "), "ours") {
		t.Errorf("said of a system in force: %q", health)
	}
}

// Nobody loses what was reported, what is in use, or what somebody else changed.
func TestEditsThatAreRefused(t *testing.T) {
	t.Parallel()
	r := play(t, "two coats")
	ctx := t.Context()
	put := func(s config.System, from int64) error {
		return r.svc.EditSystem(ctx, config.Edit[config.System]{To: s, From: from, By: "Rui"})
	}
	r.refuses(r.svc.EditSystem(ctx, config.Edit[config.System]{To: r.ours()}), "nobody's name is on it")
	r.keeps(put(r.ours("third"), 0))
	taken := r.ours()
	taken.Name = "Two Coats"
	r.refuses(put(taken, 0), "the yard file has a system")
	bad := r.ours()
	bad.Stages[0].Skill = "caulk"
	r.refuses(put(bad, 1), `there is no skill "caulk"`)
	if err := put(r.ours("fourth"), 7); err == nil || !err.(interface{ Overtaken() bool }).Overtaken() {
		t.Errorf("an old revision: %v", err)
	}

	v := r.boat()
	v.Of.Areas[0].System = "ours"
	r.keeps(r.svc.EditBoats(ctx, edits(v.Of, v.Revision)))
	r.refuses(r.svc.EditSystem(ctx, config.Edit[config.System]{To: r.ours(), From: 1, Removed: true, By: "Rui"}), "in use by Boat One")
	r.press(planner.Press{Kind: planner.Started, Key: first})
	r.press(planner.Press{Kind: planner.Finished, Key: first})
	renamed := r.ours("third")
	renamed.Stages[0].Name = "number one"
	r.refuses(put(renamed, 1), "was reported of Boat One, topsides, first")
	// Nor does a boat that comes in a file lose it, into a daemon or into the store of none.
	bare := r.boat().Of
	bare.Areas = slices.Clone(bare.Areas)
	bare.Areas[0].Name = "deck"
	r.refuses(r.svc.PutBoats(ctx, []config.Boat{bare}, "Rui"), "was reported of Boat One, topsides, first")
	_, err := PuttingBoats(ctx, r.svc.store, r.svc.opt.Yard, []config.Boat{bare}, "Rui")
	r.refuses(err, "was reported of Boat One, topsides, first")
	r.keeps(put(r.ours(), 1)) // what nobody touched may go

	v = r.boat()
	b := v.Of
	b.Areas = []config.Area{{Name: "deck", System: "ours", Size: b.Areas[0].Size}}
	r.refuses(r.svc.EditBoats(ctx, edits(b, v.Revision)), "keep that area")
	b = r.boat().Of
	b.Areas[0].System = "nothing"
	r.refuses(r.svc.EditBoats(ctx, edits(b, v.Revision)), `there is no system "nothing"`)
	b = r.boat().Of
	b.Owner = "Owner Two"
	if err := r.svc.EditBoats(ctx, edits(b, v.Revision-1)); err == nil || !err.(interface{ Overtaken() bool }).Overtaken() {
		t.Errorf("an old revision: %v", err)
	}
	b.Name = "BOAT ONE"
	r.refuses(r.svc.EditBoats(ctx, edits(b, 0)), "there is a boat")
	if got := r.boat(); got.Revision != v.Revision {
		t.Errorf("something refused was kept: %+v", got)
	}
}

// A boat goes only when it was launched or never came; it comes back as it was.
func TestABoatGoesAndComesBack(t *testing.T) {
	t.Parallel()
	r := play(t, "two coats")
	ctx, v := t.Context(), r.boat()
	out := config.Edit[config.Boat]{To: v.Of, From: v.Revision, Removed: true, By: "Rui", Once: "out"}
	r.refuses(r.svc.EditBoats(ctx, []config.Edit[config.Boat]{out}), "say why")
	out.Why = "sold"
	r.refuses(r.svc.EditBoats(ctx, []config.Edit[config.Boat]{out}), "stands at booth")
	r.press(planner.Press{Kind: planner.Started, Key: first})
	r.refuses(r.svc.EditBoats(ctx, []config.Edit[config.Boat]{out}), "work was reported on Boat One")
	r.press(planner.Press{Kind: planner.Finished, Key: first})
	r.press(planner.Press{Kind: planner.Launched, Key: planner.Key{Boat: "Boat One"}})
	for range 2 {
		r.keeps(r.svc.EditBoats(ctx, []config.Edit[config.Boat]{out}))
	}
	r.restart()
	gone, err := r.svc.RemovedBoats(ctx)
	if boats, _ := r.svc.Boats(ctx); err != nil || len(boats) != 0 || len(gone) != 1 || gone[0].Why != "sold" {
		t.Fatalf("%+v, %v", gone, err)
	}
	r.keeps(r.svc.EditBoats(ctx, edits(gone[0].Of, 0)))
	work, err := r.svc.Work(ctx)
	if s, ok := work.Stage(first); err != nil || !ok || !s.Done {
		t.Errorf("what was reported of it did not come back: %+v", s)
	}
}

// The yard file owns its names, and what its systems need: on a clash it counts, and the
// pages say so; a file without what a boat needs is not taken.
func TestTheFileAndThePages(t *testing.T) {
	t.Parallel()
	r := play(t, "two coats")
	ctx := t.Context()
	r.keeps(r.svc.EditSystem(ctx, config.Edit[config.System]{To: r.ours("third"), By: "Rui"}))
	good := r.yard
	r.yard = strings.Replace(good, "  - name: sanded\n", "  - name: Ours\n", 1)
	r.keeps(r.svc.Reload(ctx))
	r.healthSays("System ours, written on the pages, is not in force: the yard file has a system of that name, which counts.")
	if s, ok := r.svc.Yard().System("Ours"); !ok || s.Stages[1].Name != "rub down" {
		t.Error("the file's system does not count")
	}
	v := r.boat()
	v.Of.Areas[0].System = "ours"
	r.refuses(r.svc.EditBoats(ctx, edits(v.Of, v.Revision)), `there is no system "ours"`)
	r.yard = good
	r.keeps(r.svc.Reload(ctx))
	r.keeps(r.svc.EditBoats(ctx, edits(v.Of, v.Revision)))
	r.yard = strings.ReplaceAll(good, "card: Gloss", "card: Satin")
	r.yard = strings.Replace(r.yard, "name: Gloss", "name: Satin", 1)
	if err := r.svc.Reload(ctx); err == nil || !strings.Contains(err.Error(), `there is no system "ours" in force, since there is no card "Gloss"`) {
		t.Errorf("a file without the card: %v", err)
	}
	if !r.planned("third") {
		t.Error("the last good file is not in force with the system")
	}
}

// What a change would do to the plan is what it does, and asking keeps nothing.
func TestForesight(t *testing.T) {
	t.Parallel()
	r := play(t, "two coats")
	ctx := t.Context()
	r.keeps(r.svc.EditSystem(ctx, config.Edit[config.System]{To: r.ours("third", "fourth"), By: "Rui"}))
	r.until(r.clock.Now().Add(3 * r.tick))
	v := r.boat()
	v.Of.Areas[0].System = "ours"
	before, after, err := r.svc.Foresee(ctx, v.Of)
	if err != nil {
		t.Fatal(err)
	}
	if got := r.boat(); got.Revision != v.Revision || got.Of.Areas[0].System != "two coats" {
		t.Errorf("asking kept %+v", got)
	}
	day := func(p planner.Plan) string { return p.Launches[0].Likely.Format("2006-01-02") }
	if len(before.Stages) == len(after.Stages) {
		t.Errorf("two more coats, and %d stages before and after", len(after.Stages))
	}
	r.keeps(r.svc.EditBoats(ctx, edits(v.Of, v.Revision)))
	if !r.planned("fourth") {
		t.Fatal("not planned")
	}
	is, _, err := r.svc.Draft(ctx)
	if err != nil || day(is) != day(after) {
		t.Errorf("foreseen for %s, planned for %s, %v", day(after), day(is), err)
	}
	r.svc.foreseeing.Lock()
	defer r.svc.foreseeing.Unlock()
	_, _, err = r.svc.Foresee(ctx, v.Of)
	r.refuses(err, "another change is being worked out")
}
