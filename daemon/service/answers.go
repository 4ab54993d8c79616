package service

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"fairwindow/conditions"
	"fairwindow/config"
	"fairwindow/notify/bus"
	"fairwindow/planner"
)

// askPlan asks for a plan: the one that people were told, or the draft.
type askPlan struct {
	Plan  string `json:"plan"`
	Boat  string `json:"boat"`
	Place string `json:"place"`
}

// askWhy asks why a boat's stages are not earlier.
type askWhy struct {
	Boat  string `json:"boat"`
	Area  string `json:"area"`
	Stage string `json:"stage"`
}

// askConditions asks how it is in a place, and will be for some hours.
type askConditions struct {
	Place string `json:"place"`
	Hours int    `json:"hours"`
}

// stagesAnswer answers plan and why.
type stagesAnswer struct {
	Plan   int64             `json:"plan"` // its number
	At     time.Time         `json:"at"`   // when it was made
	Stages []planner.Planned `json:"stages"`
}

// conditionsAnswer holds a place's air and hull against the limits of whose they are.
type conditionsAnswer struct {
	Place string             `json:"place"`
	Whose string             `json:"whose"`
	Now   conditions.Moment  `json:"now"`
	Is    conditions.Verdict `json:"is"`
	// Ahead is hour by hour, by the outlook.
	Ahead []conditions.Verdict `json:"ahead"`
}

// mostHours is how far ahead conditions are answered.
const mostHours = 7 * 24

// answers are what may be asked on the bus.
func (s *Service) answers() map[string]bus.Answer {
	return map[string]bus.Answer{"plan": s.answerPlan, "why": s.answerWhy, "conditions": s.answerConditions}
}

func (s *Service) openAnswers() error {
	stop, err := s.bus.Answer(s.answers())
	if err != nil {
		return err
	}
	s.onClose("answers", func(context.Context) error { return stop() })
	return nil
}

// question reads what was asked, and says of a wrong one what would be right.
func question(text json.RawMessage, into any) error {
	d := json.NewDecoder(bytes.NewReader(text))
	d.DisallowUnknownFields()
	err := d.Decode(into)
	if err == nil {
		if _, more := d.Token(); !errors.Is(more, io.EOF) {
			err = errors.New("something stands behind it")
		}
	}
	if err != nil {
		return refuse("The question is not the JSON object that is wanted: %s.", strings.TrimPrefix(err.Error(), "json: "))
	}
	return nil
}

func (s *Service) answerPlan(ctx context.Context, text json.RawMessage) (any, error) {
	var ask askPlan
	if err := question(text, &ask); err != nil {
		return nil, err
	}
	if ask.Place != "" && !slices.ContainsFunc(s.Yard().Places, func(p config.Place) bool { return strings.EqualFold(p.Name, ask.Place) }) {
		return nil, s.noPlace(ask.Place)
	}
	which := s.Told
	switch ask.Plan {
	case "", "told":
	case "draft":
		which = s.Draft
	default:
		return nil, refuse("%q is no plan: ask for told, which is usual, or draft.", ask.Plan)
	}
	plan, id, err := which(ctx)
	if err != nil {
		return nil, err
	}
	if id == 0 {
		return nil, refuse("There is no such plan yet: ask again when one was made and told.")
	}
	a := stagesAnswer{id, plan.At, []planner.Planned{}}
	for _, p := range plan.Stages {
		if (ask.Boat == "" || strings.EqualFold(p.Key.Boat, ask.Boat)) && (ask.Place == "" || strings.EqualFold(p.Place, ask.Place)) {
			a.Stages = append(a.Stages, p)
		}
	}
	return a, nil
}

func (s *Service) answerWhy(ctx context.Context, text json.RawMessage) (any, error) {
	var ask askWhy
	if err := question(text, &ask); err != nil {
		return nil, err
	}
	plan, id, err := s.Draft(ctx)
	if err != nil {
		return nil, err
	}
	if id == 0 {
		return nil, refuse("There is no plan yet: ask again in a minute.")
	}
	a := stagesAnswer{id, plan.At, []planner.Planned{}}
	var boats []string
	for _, p := range plan.Stages {
		if !slices.Contains(boats, p.Key.Boat) {
			boats = append(boats, p.Key.Boat)
		}
		if strings.EqualFold(p.Key.Boat, ask.Boat) && (ask.Area == "" || strings.EqualFold(p.Key.Area, ask.Area)) &&
			(ask.Stage == "" || strings.EqualFold(p.Key.Stage, ask.Stage)) {
			a.Stages = append(a.Stages, p)
		}
	}
	if len(a.Stages) == 0 {
		return nil, refuse("The newest plan has no such open stage: give one of the boats %s, and an area and stage of it or neither.", strings.Join(boats, ", "))
	}
	s.mu.Lock()
	problem := s.cycle.problem
	s.mu.Unlock()
	if problem.At.Equal(plan.At) { // else it is not this plan's: after a restart, or while the next is made
		planner.Explain(problem, a.Stages)
	}
	return a, nil
}

func (s *Service) answerConditions(ctx context.Context, text json.RawMessage) (any, error) {
	var ask askConditions
	if err := question(text, &ask); err != nil {
		return nil, err
	}
	if ask.Hours < 0 || ask.Hours > mostHours {
		return nil, refuse("%d hours ahead can't be answered: ask for 0 to %d.", ask.Hours, mostHours)
	}
	rules, whose, err := s.Rules(ctx, ask.Place)
	if err != nil {
		return nil, s.noPlace(ask.Place)
	}
	now := s.clock.Now()
	s.mu.Lock()
	m := s.facts.standing(ask.Place, s.facts.onlyBoat(ask.Place), now)
	s.mu.Unlock()
	a := conditionsAnswer{Place: ask.Place, Whose: whose, Now: m, Is: conditions.Judge(m, rules), Ahead: []conditions.Verdict{}}
	if ask.Hours > 0 {
		all, err := s.Judged(ctx, ask.Place, now, now.Add(time.Duration(ask.Hours)*time.Hour))
		if err != nil {
			return nil, fmt.Errorf("conditions ahead: %w", err)
		}
		for _, v := range all {
			if v.At.After(now) {
				a.Ahead = append(a.Ahead, v)
			}
		}
	}
	return a, nil
}

// noPlace says of a name that it is none of a place's, and which are.
func (s *Service) noPlace(name string) error {
	var places []string
	for _, p := range s.Yard().Places {
		places = append(places, p.Name)
	}
	return refuse("%q is no place of this yard: give one of %s.", name, strings.Join(places, ", "))
}
