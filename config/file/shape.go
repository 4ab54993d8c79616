package file

import (
	"encoding"
	"fmt"
	"reflect"
	"slices"
	"sort"
	"strconv"
	"strings"

	"go.yaml.in/yaml/v4"

	"fairwindow/config"
)

// shape compares the file with the type it is read into: unknown keys, lists
// where a value should stand, words where a number should. The YAML library
// would find these too, but names our Go types to people.
func (d *document) shape(into any) { d.fits(d.root, reflect.TypeOf(into).Elem(), "", 0) }

// visit is a node read into a type.
type visit struct {
	node *yaml.Node
	as   reflect.Type
}

// deepest bounds the walk; the yard's types are far flatter.
const deepest = 30

var textual = reflect.TypeFor[encoding.TextUnmarshaler]()

func (d *document) fits(n *yaml.Node, t reflect.Type, path string, depth int) {
	value := resolve(n)
	if value.Tag == "!!null" || depth > deepest {
		return
	}
	if value != n { // once for each alias's target: aliases of aliases multiply
		if d.walked[visit{value, t}] {
			return
		}
		d.walked[visit{value, t}] = true
	}
	counts := t.Kind() == reflect.Int
	for t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	if reflect.PointerTo(t).Implements(textual) {
		d.want(n, value.Kind == yaml.ScalarNode, path, "one value is wanted here, not a list or a group", "write a value with its unit")
		return
	}
	switch t.Kind() {
	case reflect.Struct:
		if d.want(n, value.Kind == yaml.MappingNode, path, "a group of keys is wanted here", "write "+list(keys(t))+", each on its own line with a colon") {
			d.group(value, t, path, depth)
		}
	case reflect.Slice:
		if d.want(n, value.Kind == yaml.SequenceNode, path, "a list is wanted here", "start each entry with a dash, or write [a, b]") {
			for i, entry := range value.Content {
				at := fmt.Sprintf("%s[%d]", path, i)
				if d.want(entry, resolve(entry).Tag != "!!null", at, "this entry of the list is empty", "fill it in or leave out the dash") {
					d.fits(entry, t.Elem(), at, depth+1)
				}
			}
		}
	case reflect.Map:
		if d.want(n, value.Kind == yaml.MappingNode, path, "a group of keys is wanted here", "write each on its own line with a colon") {
			for i := 0; i+1 < len(value.Content); i += 2 {
				d.fits(value.Content[i+1], t.Elem(), path+"."+value.Content[i].Value, depth+1)
			}
		}
	default:
		if d.want(n, value.Kind == yaml.ScalarNode, path, "one value is wanted here, not a list or a group", "write a single value") {
			d.scalar(n, value, t, path)
			// Left out it is 0 too, which then gets the default: people: 0 would be one.
			none, err := strconv.Atoi(value.Value)
			d.want(n, !counts || err != nil || none != 0, path, "0 here would count as if nothing were written", "write 1 or more, or leave it out")
		}
	}
}

// group walks a mapping that is read into a struct.
func (d *document) group(n *yaml.Node, t reflect.Type, path string, depth int) {
	fields := fields(t)
	for i := 0; i+1 < len(n.Content); i += 2 {
		key, value := n.Content[i], n.Content[i+1]
		if key.Tag == "!!merge" {
			for _, merged := range either(resolve(value)) {
				d.fits(merged, t, path, depth+1)
			}
			continue
		}
		at := strings.TrimPrefix(path+"."+key.Value, ".")
		field, ok := fields[key.Value]
		if !ok {
			if near, ok := config.Near(key.Value, keys(t)); ok {
				d.guessed[n] = append(d.guessed[n], near)
			}
			d.add(key, at, fmt.Sprintf("there is no key %q here", key.Value), wayOut(key.Value, t))
			continue
		}
		d.fits(value, field.Type, at, depth+1)
	}
}

// either is what a merge brings in: one mapping or a list of them.
func either(n *yaml.Node) []*yaml.Node {
	if n.Kind == yaml.SequenceNode {
		return n.Content
	}
	return []*yaml.Node{n}
}

func wayOut(key string, t reflect.Type) string {
	for _, secret := range []string{"password", "secret", "token", "api_key"} {
		if strings.Contains(strings.ToLower(key), secret) {
			if own := secret + "_file"; slices.Contains(keys(t), own) {
				return "keep secrets in a file of their own and name it with " + own
			}
			return "keep secrets in a file of their own and name it with token_file or credentials under bus"
		}
	}
	if near, ok := config.Near(key, keys(t)); ok {
		return fmt.Sprintf("did you mean %s?", near)
	}
	return "use " + list(keys(t))
}

// scalar checks that a plain value is of its kind.
func (d *document) scalar(n, value *yaml.Node, t reflect.Type, path string) {
	var err error
	right := ""
	switch t.Kind() {
	case reflect.Int:
		_, err = strconv.Atoi(value.Value)
		right = "write a whole number"
	case reflect.Float64:
		_, err = strconv.ParseFloat(value.Value, 64)
		right = "write a number with a point, without a unit"
	case reflect.Bool:
		if value.Tag != "!!bool" {
			err = fmt.Errorf("not a bool")
		}
		right = "write true or false"
	}
	ok := d.want(n, err == nil, path, fmt.Sprintf("%q does not belong here", value.Value), right)
	if ok && (t.Kind() == reflect.Int || t.Kind() == reflect.Float64) {
		d.decimal(n, value.Value, path)
	}
}

// decimal refuses digits behind a zero, as a heading is often written, 045: YAML 1.1 and
// its library count them in eights.
func (d *document) decimal(n *yaml.Node, text, path string) {
	eights, err := strconv.ParseInt(text, 0, 64)
	tens, err2 := strconv.ParseInt(text, 10, 64)
	d.want(n, err != nil || err2 != nil || eights == tens, path,
		fmt.Sprintf("%s would be read as %d: digits behind a zero count in eights", text, eights), fmt.Sprintf("write %d", tens))
}

// want notes a mistake at a node unless ok, and returns ok.
func (d *document) want(n *yaml.Node, ok bool, path, what, right string) bool {
	if !ok {
		d.broken[n] = true
		d.add(n, path, what, right)
	}
	return ok
}

func (d *document) add(n *yaml.Node, path, what, right string) {
	d.mistakes = append(d.mistakes, Mistake{File: d.name, Line: n.Line, Column: n.Column, Path: path, What: what, Right: right})
}

// fields are a struct's fields by their key in the file.
func fields(t reflect.Type) map[string]reflect.StructField {
	all := map[string]reflect.StructField{}
	for f := range t.Fields() {
		if key, _, _ := strings.Cut(f.Tag.Get("yaml"), ","); key != "" && key != "-" {
			all[key] = f
		}
	}
	return all
}

func keys(t reflect.Type) []string {
	var all []string
	for key := range fields(t) {
		all = append(all, key)
	}
	sort.Strings(all)
	return all
}

func list(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:len(words)-1], ", ") + " or " + words[len(words)-1]
}
