package service

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"fairwindow/daemon/store"
	"fairwindow/planner"
	"fairwindow/planner/waits"
)

// dayHours is how long a day is, at most.
const dayHours = 24

// LogDay keeps lines of the daily log: what a crew did on a day. They are on disk when it
// returns nil; sent twice with one Once, they count once.
func (s *Service) LogDay(ctx context.Context, lines []waits.Logged) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	now := s.clock.Now()
	for i := range lines {
		lines[i].At = now
		if err := s.facts.acceptsLog(lines[i], now); err != nil {
			return err
		}
	}
	if len(lines) == 0 {
		return nil
	}
	l := lines[0] // a sheet is of one crew's day
	once := ""
	if l.Once != "" {
		once = "log/" + l.Once
	}
	return s.store.LogDay(ctx, lines, hands(ctx, "day logged", fmt.Sprintf("crew %s, %s", l.Crew, l.Day), once)...)
}

func (f *facts) acceptsLog(l waits.Logged, now time.Time) error {
	if l.By == "" {
		return refuse("nobody's name is on it: say who reports this")
	}
	if _, ok := f.yard.Crew(l.Crew); !ok {
		return refuse("%q is no crew of this yard: choose one of the yard file's crews", l.Crew)
	}
	day, err := time.ParseInLocation(time.DateOnly, l.Day, f.zone)
	if err != nil {
		return refuse("%q is no day: write it like 2026-04-07", l.Day)
	}
	if day.After(now) {
		return refuse("%s is still to come: the log is of what was done", l.Day)
	}
	if !(l.Hours >= 0 && l.Hours <= dayHours) {
		return refuse("%v hours are no part of a day: write 0 to 24", l.Hours)
	}
	if l.Hours > 0 && l.Boat == "" && l.What == "" {
		return refuse("say what the crew worked on: a boat, or in words")
	}
	return nil
}

// StrikeLog strikes a line of the daily log through, for a reason.
func (s *Service) StrikeLog(ctx context.Context, id int64, by, why string) error {
	switch {
	case by == "":
		return refuse("nobody's name is on it: say who strikes it")
	case strings.TrimSpace(why) == "":
		return refuse("say why: a reason is kept with every line that is struck through")
	}
	err := s.store.StrikeLog(ctx, id, by, why, s.clock.Now(), hands(ctx, "log line struck", fmt.Sprintf("line %d: %s", id, why), "")...)
	if errors.Is(err, store.ErrStruck) {
		return refuse("that line is struck through already, or there is none of that number: look at the log again")
	}
	return err
}

// CrewLog are the lines of the log of the days from one to another, both included.
func (s *Service) CrewLog(ctx context.Context, first, last time.Time) ([]waits.Logged, error) {
	s.mu.Lock()
	zone := s.facts.zone
	s.mu.Unlock()
	return s.store.CrewLog(ctx, first.In(zone).Format(time.DateOnly), last.In(zone).Format(time.DateOnly))
}

// Reported are what a crew may have done on a day, by what people pressed: the stages worked at
// that its skills are for, with the hours that fall on the day.
func (s *Service) Reported(_ context.Context, crew string, day time.Time) ([]waits.Logged, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	f := &s.facts
	c, ok := f.yard.Crew(crew)
	if !ok {
		return nil, fmt.Errorf("%q is no crew of this yard", crew)
	}
	from, to := day, day.AddDate(0, 0, 1)
	var all []waits.Logged
	for _, b := range f.boats {
		for _, a := range b.Areas {
			for _, p := range f.work.Stages(b.Name, a.Name) {
				if !slices.Contains(c.Skills, p.Stage.Skill) {
					continue
				}
				hours := workedWithin(p, from, to, s.clock.Now())
				if hours > 0 {
					all = append(all, waits.Logged{Crew: crew, Day: day.In(f.zone).Format(time.DateOnly), Boat: b.Name, Area: a.Name, Stage: p.Key.Stage, Hours: hours.Hours()})
				}
			}
		}
	}
	return all, nil
}

// workedWithin is the time worked at a stage between two times.
func workedWithin(p planner.Progress, from, to, now time.Time) time.Duration {
	var closed, sum time.Duration
	for _, w := range p.Worked {
		closed += w.To.Sub(w.From)
		sum += max(0, overlap(w.From, w.To, from, to))
	}
	if runs := p.WorkedBy(now) - closed; runs > 0 {
		sum += max(0, overlap(now.Add(-runs), now, from, to))
	}
	return sum
}
