package file

import (
	"fmt"
	"reflect"

	"go.yaml.in/yaml/v4"
)

// zeros warns of each nought that counts as left out: config fills it in like a key that
// is not there, which who wrote 0 did not mean. A count of 0 was refused before. Is what was
// read at a node, then the same with the defaults.
func (d *document) zeros(n *yaml.Node, is, then reflect.Value, path string) {
	value := resolve(n)
	for is.Kind() == reflect.Pointer && !is.IsNil() && !then.IsNil() {
		is, then = is.Elem(), then.Elem()
	}
	switch {
	case value.Kind == yaml.MappingNode && is.Kind() == reflect.Struct:
		fields := fields(is.Type())
		for i := 0; i+1 < len(value.Content); i += 2 {
			key := value.Content[i].Value
			if f, ok := fields[key]; ok {
				d.zeros(value.Content[i+1], is.FieldByIndex(f.Index), then.FieldByIndex(f.Index), path+"."+key)
			}
		}
	case value.Kind == yaml.SequenceNode && is.Kind() == reflect.Slice:
		for i, entry := range value.Content {
			if i < is.Len() && i < then.Len() {
				d.zeros(entry, is.Index(i), then.Index(i), fmt.Sprintf("%s[%d]", path, i))
			}
		}
	case value.Kind == yaml.ScalarNode && value.Tag != "!!null" && value.Value != "" && is.IsZero() && !then.IsZero():
		right := ""
		switch is.Interface().(type) {
		case float64:
			right = "write a small number, like 0.001, or leave it out"
		case fmt.Stringer:
			right = "write the time that you mean, or leave it out"
		}
		if right != "" && !d.broken[n] {
			d.mistakes = append(d.mistakes, Mistake{
				File: d.name, Line: n.Line, Column: n.Column, Path: path[1:], Warning: true,
				What: fmt.Sprintf("%s counts as left out, and then it is %v", value.Value, then), Right: right,
			})
		}
	}
}
