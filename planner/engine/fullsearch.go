package engine

import (
	"cmp"
	"context"
	"math"
	"slices"
	"sync"
)

// What the search does in a round, and how it judges. Our judgement, tried on
// generated yards.
const (
	roundTrials = 64   // trials of each worker in a round
	startSlack  = 0.01 // of the best cost: how much worse a trial may be at first
	startBlinks = 20   // of 1000 choices
)

// general is the search for problems of every kind: first plans by priority rules,
// then ruin and recreate (Schrimpf et al. 2000; removal of strings and blinks after
// Christiaens and Vanden Berghe 2020), with the ruins that did well chosen more often
// (adaptive weights after Ropke and Pisinger 2006) and record-to-record acceptance
// (Dueck 1993); all from memory.
type general struct {
	p         *Problem
	plan      *outline
	workers   []*worker
	best      *full
	least     int64
	rounds    int
	schedules int
}

// worker is a logical one: its own schedule, its own stream.
type worker struct {
	f      *full
	cost   int64
	best   *full
	least  int64
	order  []int // pieces that are out
	key    []int64
	scores [ruins]float64
	used   int
	isOut  []bool
}

func newGeneral(p *Problem) *general { return &general{p: p, plan: newOutline(p)} }

// search runs rounds until effort or context end, and settles the best schedule.
func (g *general) search(ctx context.Context, e Effort) Result {
	n := max(e.Workers, 1)
	for w := range n {
		g.workers = append(g.workers, g.newWorker(e.Seed, uint64(w)))
	}
	laid := 0
	for rule := range rules {
		if rule == 0 || ctx.Err() == nil {
			laid += g.workers[rule%n].first(rule)
		}
	}
	for _, k := range g.workers {
		if k.least == unknown {
			k.least = g.workers[0].least
			k.best.copyFrom(g.workers[0].best)
		}
		k.f.copyFrom(k.best)
		k.cost = k.least
	}
	tasks := max(len(g.p.Tasks), 1)
	for len(g.plan.pieces) > 0 && ctx.Err() == nil {
		if e.Schedules > 0 && laid/tasks >= e.Schedules || (e.Schedules == 0 || e.Rounds > 0) && g.rounds >= e.Rounds {
			break
		}
		if g.merge(); g.least == 0 {
			break
		}
		progress := 0.0
		if e.Rounds > 0 {
			progress = float64(g.rounds) / float64(e.Rounds)
		}
		if e.Schedules > 0 {
			progress = max(progress, float64(laid/tasks)/float64(e.Schedules))
		}
		var wait sync.WaitGroup
		for _, k := range g.workers {
			wait.Go(func() { k.round(progress) })
		}
		wait.Wait()
		for _, k := range g.workers {
			laid += k.used
		}
		g.rounds++
	}
	g.merge()
	g.schedules = max(laid/tasks, 1)
	g.best.settle()
	return g.result(e)
}

const unknown int64 = math.MaxInt64

func (g *general) newWorker(seed, stream uint64) *worker {
	k := &worker{f: newFull(g.p, g.plan), best: newFull(g.p, g.plan), least: unknown}
	k.f.random = newPCG(seed, stream)
	k.key, k.isOut = make([]int64, len(g.plan.pieces)), make([]bool, len(g.plan.pieces))
	for r := range k.scores {
		k.scores[r] = 1
	}
	return k
}

// merge takes the best of the workers, the first of equals; one that fell far behind
// goes on from there.
func (g *general) merge() {
	lead := 0
	for w, k := range g.workers {
		if k.least < g.workers[lead].least {
			lead = w
		}
	}
	g.best, g.least = g.workers[lead].best, g.workers[lead].least
	for _, k := range g.workers {
		if k.least > g.least+g.least/20 {
			k.f.copyFrom(g.best)
			k.best.copyFrom(g.best)
			k.cost, k.least = g.least, g.least
		}
	}
}

// rules are the ways to order pieces for a first plan.
const rules = 4

// first makes a plan by a rule, from nothing.
func (k *worker) first(rule int) int {
	f := k.f
	f.clear()
	k.order = k.order[:0]
	for u := range f.plan.pieces {
		k.order = append(k.order, u)
		k.key[u] = k.priority(u, rule)
	}
	if rule%2 == 0 { // an owner's pieces follow each other
		for _, us := range f.plan.ofOwner {
			least := unknown
			for _, u := range us {
				least = min(least, k.key[u])
			}
			for _, u := range us {
				k.key[u] = least
			}
		}
	}
	k.recreate(0)
	k.cost = f.cost()
	k.note()
	return k.spent()
}

// priority is a piece's key, the least first: what is fixed, then least slack,
// earliest date, arrivals or most work after it.
func (k *worker) priority(u, rule int) int64 {
	f := k.f
	pc := &f.plan.pieces[u]
	if pc.fixed {
		return -unknown / 2
	}
	first := pc.tasks[0]
	latest := f.slots * 4
	for _, i := range pc.tasks {
		for _, g := range f.plan.dues[i] {
			latest = min(latest, g.latest)
		}
		if due := f.p.Tasks[i].Due; due != nil {
			latest = min(latest, due.At)
		}
	}
	arrives := f.p.Tasks[first].Release
	if pc.owner >= 0 {
		arrives = max(arrives, f.p.Owners[pc.owner].Arrives)
	}
	switch rule {
	case 0:
		return int64(latest)
	case 1:
		return int64(latest)
	case 2:
		return int64(arrives)
	}
	return -int64(f.plan.tail[first])
}

func (k *worker) spent() int {
	n := k.f.work
	k.f.work = 0
	return n
}

// note keeps the schedule if it is the best so far.
func (k *worker) note() {
	if k.cost < k.least {
		k.least = k.cost
		k.best.copyFrom(k.f)
	}
}

// recreate lays the pieces of order, by their keys, each after those it waits for;
// what finds no place is tried again once the others have theirs.
func (k *worker) recreate(delayed int) {
	f := k.f
	turn := f.plan.turn
	slices.SortFunc(k.order, func(a, b int) int { return cmp.Compare(turn[a], turn[b]) })
	for _, u := range k.order {
		for _, v := range f.plan.pieces[u].after {
			if !f.done[v] {
				k.key[u] = max(k.key[u], k.key[v])
			}
		}
	}
	slices.SortFunc(k.order, func(a, b int) int { return cmp.Or(cmp.Compare(k.key[a], k.key[b]), cmp.Compare(turn[a], turn[b])) })
	left := k.order
	for len(left) > 0 {
		rest := left[:0]
		for _, u := range left {
			from := Slot(0)
			if delayed > 0 && f.random.below(100) < delayed {
				from = Slot(f.random.below(int(f.slots)))
				if told := f.p.Tasks[f.plan.pieces[u].tasks[0]].Told; told != nil {
					from = told.Start
				}
			}
			if !f.place(u, from) {
				rest = append(rest, u)
			}
		}
		if len(rest) == len(left) {
			return
		}
		left, delayed = rest, 0
	}
}

// round is a worker's share of one round.
func (k *worker) round(progress float64) {
	slack := startSlack * (1 - progress)
	for range roundTrials {
		k.trial(slack)
	}
	k.justify()
	k.used = k.spent()
}

// justify lays everything again in the order in which it starts: what can go before
// something that was laid earlier now does (the forward half of the double
// justification of Valls, Ballestín and Quintanilla 2005; from memory).
func (k *worker) justify() {
	f := k.f
	for u := range f.plan.pieces {
		if k.key[u] = unknown; f.done[u] {
			k.key[u] = int64(f.at[f.plan.pieces[u].tasks[0]].start)
		}
	}
	f.begin()
	k.order = k.order[:0]
	for u := range f.plan.pieces {
		k.out(u)
	}
	for u := range f.plan.pieces {
		if k.key[u] == unknown {
			k.order = append(k.order, u)
		}
	}
	k.recreate(0)
	if cost := f.cost(); cost < k.cost {
		f.endTrial()
		k.cost = cost
		k.note()
		return
	}
	f.undo()
}

// trial takes some pieces out and lays them again, and keeps what came of it if it
// is good enough.
func (k *worker) trial(slack float64) {
	f := k.f
	f.begin()
	kind := k.choose()
	k.order = k.order[:0]
	k.ruin(kind)
	f.blinks = startBlinks
	delayed := 0
	if f.random.below(10) == 0 {
		delayed = 30
	}
	k.recreate(delayed)
	f.blinks = 0
	cost := f.cost()
	k.learn(kind, cost)
	limit := k.least + int64(slack*float64(k.least))
	if cost > limit && cost >= k.cost {
		f.undo()
		return
	}
	f.endTrial()
	k.cost = cost
	k.note()
}
