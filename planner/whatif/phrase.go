package whatif

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"fairwindow/conditions/unit"
)

// word is one word of a phrase and the character it starts at, from 1.
type word struct {
	text string
	at   int
}

// phrase is a change being read, word by word.
type phrase struct {
	text  string
	words []word
}

func wordsOf(text string) []word {
	var all []word
	at := 0
	for _, r := range text + " " {
		at++
		blank := strings.ContainsRune(" \t\n\r,", r)
		n := len(all)
		inside := n > 0 && all[n-1].at+len([]rune(all[n-1].text)) == at
		switch {
		case !blank && inside:
			all[n-1].text += string(r)
		case !blank:
			all = append(all, word{string(r), at})
		}
	}
	return all
}

func (p *phrase) peek() word {
	if len(p.words) > 0 {
		return p.words[0]
	}
	return word{"", len([]rune(p.text)) + 1}
}

func (p *phrase) next() word {
	w := p.peek()
	if len(p.words) > 0 {
		p.words = p.words[1:]
	}
	return w
}

// skip passes over the next word if it is one of some.
func (p *phrase) skip(some ...string) bool {
	if slices.Contains(some, strings.ToLower(p.peek().text)) {
		p.next()
		return true
	}
	return false
}

// must passes over a word that has to be one of some.
func (p *phrase) must(example string, some ...string) error {
	if !p.skip(some...) {
		return p.wrong(p.peek(), fmt.Sprintf("write %q here, as in %q", some[0], example))
	}
	return nil
}

// name takes the words up to one of the keywords, or to the end.
func (p *phrase) name(of, example string, keys ...string) (string, error) {
	first := p.peek()
	var parts []string
	for len(p.words) > 0 && !slices.Contains(keys, strings.ToLower(p.peek().text)) {
		parts = append(parts, p.next().text)
	}
	if len(parts) == 0 {
		return "", p.wrong(first, fmt.Sprintf("name %s here, as in %q", of, example))
	}
	return strings.Join(parts, " "), nil
}

func (p *phrase) wrong(w word, right string) error {
	if w.text == "" {
		return fmt.Errorf("%q ends at character %d: %s", p.text, w.at-1, right)
	}
	return fmt.Errorf("%q, character %d, %q: %s", p.text, w.at, w.text, right)
}

// quantity reads what follows up to the next keyword, in the unit that it has.
func quantity[T ~float64](p *phrase, into *unit.Written[T], keys ...string) error {
	first := p.peek()
	text, err := p.name("a quantity with its unit", "24 C", keys...)
	if err != nil {
		return err
	}
	if *into, err = unit.Parse[T](text); err != nil {
		return p.wrong(first, err.Error())
	}
	return nil
}

// day reads a day, and a time of day if one follows.
func (p *phrase) day() (string, error) {
	w := p.next()
	if _, err := time.Parse("2006-01-02", w.text); err != nil {
		return "", p.wrong(w, "write a day here, like 2026-05-30")
	}
	clock := p.peek()
	if clock.text == "" {
		return w.text, nil
	}
	p.next()
	if _, err := time.Parse("15:04", clock.text); err != nil {
		return "", p.wrong(clock, "write a time of day here, like 08:00, or nothing")
	}
	return w.text + " " + clock.text, nil
}

func (p *phrase) duration() (unit.Duration, error) {
	first := p.peek()
	text, err := p.name("how long", "7 d")
	if err != nil {
		return 0, err
	}
	d, err := unit.ParseDuration(text)
	if err == nil && d <= 0 {
		err = fmt.Errorf("%s is no time at all; write more than nothing, like 5 h or 7 d", text)
	}
	if err != nil {
		return 0, p.wrong(first, err.Error())
	}
	return d, nil
}

func (p *phrase) end() int { return len([]rune(p.text)) + 1 }
