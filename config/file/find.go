package file

import (
	"slices"
	"strconv"
	"strings"

	"go.yaml.in/yaml/v4"
)

// find is the node that a path such as cards[2].cure.recoat[1].takes names, or
// as much of the path as the file has. Known says that the file has a mistake
// there already, or, where the rest of the path is missing, in a key beside it.
func (d *document) find(path string) (at *yaml.Node, known bool) {
	at = d.root
	node := resolve(d.root)
	for _, step := range steps(path) {
		key, value := child(node, step)
		if value == nil {
			return at, d.broken[at] || slices.Contains(d.guessed[node], step)
		}
		if d.broken[value] {
			return value, true
		}
		at, node = value, resolve(value)
		if key != nil && node.Kind != yaml.ScalarNode {
			at = key // a better place to point at than the first entry
		}
	}
	return at, false
}

// steps parts a path into keys and indexes: cards, 2, cure, recoat, 1, takes.
// A variable's name is a key like any other.
func steps(path string) []string {
	return strings.FieldsFunc(path, func(r rune) bool { return r == '.' || r == '[' || r == ']' })
}

// child is the entry of a mapping or a sequence, with its key if it has one.
func child(n *yaml.Node, step string) (key, value *yaml.Node) {
	switch n.Kind {
	case yaml.SequenceNode:
		i, err := strconv.Atoi(step)
		if err != nil || i < 0 || i >= len(n.Content) {
			return nil, nil
		}
		return nil, n.Content[i]
	case yaml.MappingNode:
		for i := 0; i+1 < len(n.Content); i += 2 {
			if n.Content[i].Value == step {
				return n.Content[i], n.Content[i+1]
			}
		}
	}
	return nil, nil
}

// resolve follows an alias to what it stands for.
func resolve(n *yaml.Node) *yaml.Node {
	for n.Kind == yaml.AliasNode && n.Alias != nil {
		n = n.Alias
	}
	return n
}

// nodeAt is the innermost node that starts at a position; nil if none does.
func nodeAt(n *yaml.Node, line, column int) *yaml.Node {
	for _, c := range n.Content {
		if found := nodeAt(c, line, column); found != nil {
			return found
		}
	}
	if n.Line == line && n.Column == column {
		return n
	}
	return nil
}
