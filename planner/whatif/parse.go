// Package whatif answers one question: what would a change of the yard do to the plan?
// A change is said in plain words; the answer is two plans, by the same rules and from the
// same facts, and their difference as a sentence. It is pure.
package whatif

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"fairwindow/planner"
)

// Forms is an example of every change that can be said.
func Forms() []string {
	return []string{
		"heater booth 1 to 24 C", "heater booth 1 with 500 kW", "dehumidifier shed at 55 %", "dehumidifier tent of 20 kg/h leaking 4000 m3/h",
		"tent over slip 2", "one more painter", "two fewer in crew prep", "saturday shifts for crew paint", "saturday shifts for crew paint from 07:00 for 5 h",
		"promise Kestrel 2026-05-30", "swap turns of Kestrel and Dunlin", "swap places of Kestrel and Dunlin", "put off Kestrel by 7 d", "take out Kestrel",
	}
}

// Parse reads a change said in plain words. Its errors name the character,
// counted from 1, and what would be right there.
func Parse(text string) (planner.Change, error) {
	p := &phrase{text: text, words: wordsOf(text)}
	c, err := p.change()
	if err != nil {
		return planner.Change{}, err
	}
	if w := p.peek(); w.text != "" {
		return planner.Change{}, p.wrong(w, "nothing more belongs here")
	}
	return c, nil
}

func (p *phrase) change() (planner.Change, error) {
	p.skip("a", "an", "the")
	head := p.next()
	switch kind := strings.ToLower(head.text); kind {
	case "heater":
		return p.heater()
	case "dehumidifier", "dryer":
		return p.dehumidifier()
	case "tent":
		c := planner.Change{Kind: planner.Cover}
		if err := p.must("tent over slip 2", "over"); err != nil {
			return c, err
		}
		p.skip("the")
		var err error
		c.Place, err = p.name("a slip", "tent over slip 2")
		return c, err
	case "promise":
		return p.promise()
	case "swap":
		return p.swap()
	case "put", "postpone":
		if kind == "put" {
			if err := p.must("put off Kestrel by 7 d", "off"); err != nil {
				return planner.Change{}, err
			}
		}
		return p.putOff()
	case "take", "without":
		if kind == "take" {
			if err := p.must("take out Kestrel", "out"); err != nil {
				return planner.Change{}, err
			}
		}
		name, err := p.name("a boat", "take out Kestrel")
		return planner.Change{Kind: planner.TakeOut, Boat: name}, err
	default:
		if n, ok := number(kind); ok {
			return p.people(n)
		}
		if day, ok := weekday(kind); ok {
			return p.shifts(day)
		}
		return planner.Change{}, p.wrong(head, "this begins no change; begin with heater, dehumidifier, tent, promise, swap, put off, take out, how many people or which weekday, like \"one more painter\"")
	}
}

func (p *phrase) heater() (planner.Change, error) {
	const example = "heater booth 1 to 24 C with 500 kW"
	c := planner.Change{Kind: planner.Heat}
	p.skip("in", "of", "for")
	keys := []string{"to", "at", "with", "of"}
	var err error
	if c.Place, err = p.name("a booth", example, keys...); err != nil {
		return c, err
	}
	for said := false; ; said = true {
		switch key := p.peek(); {
		case p.skip("to", "at"):
			err = quantity(p, &c.SetPoint, keys...)
		case p.skip("with", "of"):
			err = quantity(p, &c.Heater, keys...)
		case !said:
			return c, p.wrong(key, fmt.Sprintf("say what it does, as in %q", example))
		default:
			return c, nil
		}
		if err != nil {
			return c, err
		}
	}
}

func (p *phrase) dehumidifier() (planner.Change, error) {
	c := planner.Change{Kind: planner.Dry}
	p.skip("in", "for")
	keys := []string{"of", "with", "at", "to", "leaking"}
	var err error
	if c.Place, err = p.name("a place under a roof", "dehumidifier shed at 55 %", keys...); err != nil {
		return c, err
	}
	for {
		switch {
		case p.skip("of", "with"):
			err = quantity(p, &c.Takes, keys...)
		case p.skip("at", "to"):
			err = quantity(p, &c.DownTo, keys...)
		case p.skip("leaking"):
			err = quantity(p, &c.Leaks, keys...)
		default:
			return c, nil
		}
		if err != nil {
			return c, err
		}
	}
}

// mostPeople bounds a number of people said in words or figures.
const mostPeople = 100

func (p *phrase) people(n int) (planner.Change, error) {
	const example = "one more painter"
	c := planner.Change{Kind: planner.Staff, People: n}
	switch word := p.peek(); {
	case n < 1 || n > mostPeople:
		return c, fmt.Errorf("%q: %d people is no number to try; give 1 to %d", p.text, n, mostPeople)
	case p.skip("more"):
	case p.skip("fewer", "less"):
		c.People = -n
	default:
		return c, p.wrong(word, fmt.Sprintf("write \"more\" or \"fewer\" here, as in %q", example))
	}
	p.skip("in")
	p.skip("the")
	var err error
	c.Crew, err = p.crew(example)
	return c, err
}

// crew is a crew's name, with the word crew before or after it or without.
func (p *phrase) crew(example string, keys ...string) (string, error) {
	p.skip("crew")
	name, err := p.name("a crew", example, keys...)
	if short, is := strings.CutSuffix(strings.ToLower(name), " crew"); is {
		name = name[:len(short)]
	}
	return name, err
}

func (p *phrase) shifts(day time.Weekday) (planner.Change, error) {
	const example = "saturday shifts for crew paint from 07:00 for 5 h"
	c := planner.Change{Kind: planner.WorkOn, Weekday: day}
	if err := p.must(example, "shifts", "shift"); err != nil {
		return c, err
	}
	if err := p.must(example, "for"); err != nil {
		return c, err
	}
	p.skip("the")
	var err error
	if c.Crew, err = p.crew(example, "from", "for"); err != nil {
		return c, err
	}
	if p.skip("from") {
		w := p.next()
		at, err := time.Parse("15:04", w.text)
		if err != nil {
			return c, p.wrong(w, "write a time of day here, like 07:00")
		}
		c.Starts = at.Format("15:04")
	}
	if p.skip("for") {
		w := p.peek()
		if c.Length, err = p.duration(); err == nil && c.Length.Std() > 24*time.Hour {
			err = p.wrong(w, "no shift is longer than a day; write its hours, like 5 h")
		}
	}
	return c, err
}

func (p *phrase) promise() (planner.Change, error) {
	const example = "promise Kestrel for 2026-05-30"
	c := planner.Change{Kind: planner.Promise}
	// The day is last, so that "for" may be left out.
	days := 0
	for i := len(p.words) - 1; i > 0 && days == 0; i-- {
		if len(p.words[i].text) == len("2026-05-30") && strings.Count(p.words[i].text, "-") == 2 {
			days = len(p.words) - i
		}
	}
	if days == 0 {
		return c, p.wrong(word{at: p.end()}, fmt.Sprintf("name a boat and then a day, as in %q", example))
	}
	last := p.words[len(p.words)-days:]
	p.words = p.words[:len(p.words)-days]
	var err error
	if c.Boat, err = p.name("a boat", example, "for", "to", "on", "by"); err != nil {
		return c, err
	}
	p.skip("for", "to", "on", "by")
	if w := p.peek(); w.text != "" {
		return c, p.wrong(w, fmt.Sprintf("the day comes here, as in %q", example))
	}
	p.words = last
	c.Day, err = p.day()
	return c, err
}

func (p *phrase) swap() (planner.Change, error) {
	c := planner.Change{Kind: planner.SwapTurns}
	if p.skip("places") {
		c.Kind = planner.SwapPlaces
	} else {
		p.skip("turns")
	}
	p.skip("of")
	var err error
	if c.Boat, err = p.name("a boat", "swap turns of Kestrel and Dunlin", "and", "with"); err != nil {
		return c, err
	}
	if err = p.must("swap turns of Kestrel and Dunlin", "and", "with"); err != nil {
		return c, err
	}
	c.Other, err = p.name("another boat", "swap turns of Kestrel and Dunlin")
	return c, err
}

func (p *phrase) putOff() (planner.Change, error) {
	const example = "put off Kestrel by 7 d"
	c := planner.Change{Kind: planner.PutOff}
	var err error
	if c.Boat, err = p.name("a boat", example, "to", "until", "by"); err != nil {
		return c, err
	}
	switch w := p.peek(); {
	case p.skip("to", "until"):
		c.Day, err = p.day()
	case p.skip("by"):
		c.By, err = p.duration()
	default:
		err = p.wrong(w, fmt.Sprintf("say to when or by how much, as in %q", example))
	}
	return c, err
}

func number(text string) (int, bool) {
	said := []string{"no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten"}
	if i := slices.Index(said, text); i > 0 {
		return i, true
	}
	n, err := strconv.Atoi(text)
	return n, err == nil
}

func weekday(text string) (time.Weekday, bool) {
	for d := time.Sunday; d <= time.Saturday; d++ {
		name := strings.ToLower(d.String())
		if text == name || text == name+"s" {
			return d, true
		}
	}
	return 0, false
}
