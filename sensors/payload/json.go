package payload

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
)

// lookup finds a path of keys with dots between. A key that holds the dots
// itself comes first, at every level.
func lookup(o map[string]any, path string) (any, bool) {
	if v, ok := o[path]; ok {
		return v, true
	}
	for i := len(path) - 1; i > 0; i-- {
		if path[i] != '.' {
			continue
		}
		inner, ok := o[path[:i]].(map[string]any)
		if !ok {
			continue
		}
		if v, found := lookup(inner, path[i+1:]); found {
			return v, true
		}
	}
	return nil, false
}

// mostOffered is how many paths are named where the one that was asked for is not there.
const mostOffered = 8

// offered names the paths at which an object has something, so that a mistyped one is
// seen beside the right one.
func offered(o map[string]any) string {
	var all []string
	var walk func(before string, o map[string]any)
	walk = func(before string, o map[string]any) {
		for key, v := range o {
			if inner, ok := v.(map[string]any); ok && len(inner) > 0 {
				walk(before+key+".", inner)
				continue
			}
			all = append(all, clip(before+key))
		}
	}
	walk("", o)
	return listed(all)
}

func listed(names []string) string {
	slices.Sort(names)
	names = slices.Compact(names)
	more := ""
	if n := len(names) - mostOffered; n > 0 {
		names, more = names[:mostOffered], fmt.Sprintf(" and %d more", n)
	}
	switch len(names) {
	case 0:
		return "there is nothing in it"
	case 1:
		return "there is " + names[0]
	}
	return "there are " + strings.Join(names, ", ") + more
}

// parse reads one JSON document. Old firmware writes a bare nan where a value
// is missing, which no JSON reader takes; it is read as the word "nan".
func parse(text string) (any, error) {
	doc, err := strict(text)
	if err == nil {
		return doc, nil
	}
	if repaired := quoteNaN(text); repaired != text {
		if doc, again := strict(repaired); again == nil {
			return doc, nil
		}
	}
	return nil, err
}

func strict(text string) (any, error) {
	if text == "" {
		return nil, fmt.Errorf("the message is empty")
	}
	dec := json.NewDecoder(strings.NewReader(text))
	dec.UseNumber()
	var doc any
	if err := dec.Decode(&doc); err != nil {
		return nil, fmt.Errorf("not JSON: %w, at byte %d of %q", err, dec.InputOffset(), clip(text))
	}
	if dec.More() {
		return nil, fmt.Errorf("not one JSON document: more follows at byte %d of %q", dec.InputOffset(), clip(text))
	}
	return doc, nil
}

func quoteNaN(text string) string {
	var out strings.Builder
	inString, escaped := false, false
	for i := 0; i < len(text); i++ {
		c := text[i]
		switch {
		case escaped:
			escaped = false
		case inString && c == '\\':
			escaped = true
		case c == '"':
			inString = !inString
		case !inString && (letter(c) || c == '-' || c == '+'):
			j := i + 1
			for j < len(text) && letter(text[j]) {
				j++
			}
			if notNumber(text[i:j]) {
				out.WriteString(`"nan"`)
				i = j - 1
				continue
			}
			out.WriteString(text[i:j])
			i = j - 1
			continue
		}
		out.WriteByte(c)
	}
	return out.String()
}

func letter(c byte) bool { return c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' }
