package designfile

import (
	"fmt"

	"go.yaml.in/yaml/v4"
)

// extent returns where a scalar stands, and the first character of anything else.
func (w *walker) extent(n *yaml.Node) span {
	from := w.source.offset(n.Line, n.Column)
	if n.Kind != yaml.ScalarNode {
		return span{from, min(from+1, len(w.source.text))}
	}
	if n.Value == "" && n.Style&quoted == 0 {
		return span{from, from}
	}
	return span{from, w.source.scalarEnd(from, n.Style, n.Value)}
}

const quoted = yaml.DoubleQuotedStyle | yaml.SingleQuotedStyle | yaml.LiteralStyle | yaml.FoldedStyle

// isNull reports whether a node states no value.
func isNull(n *yaml.Node) bool {
	if n.Kind != yaml.ScalarNode || n.Style&quoted != 0 {
		return false
	}
	switch n.Value {
	case "", "~", "null", "Null", "NULL":
		return true
	}
	return false
}

// plainNode refuses what a design file may not contain.
func (w *walker) plainNode(n *yaml.Node, path string) bool {
	switch {
	case n.Kind == yaml.AliasNode:
		w.problem(n, path, "an alias (*"+n.Value+")", "write the value where it belongs; anchors and aliases are not used in these files")
	case n.Anchor != "":
		w.problem(n, path, "an anchor (&"+n.Anchor+")", "write the value where it belongs; anchors and aliases are not used in these files")
	case n.Style&yaml.TaggedStyle != 0:
		w.problem(n, path, "a YAML tag ("+n.Tag+")", "leave the tag out; the key says what the value is")
	case n.Kind == yaml.ScalarNode && len(n.Value) > w.options.MaxScalar:
		w.problem(n, path, fmt.Sprintf("a value of %d bytes; the limit is %d", len(n.Value), w.options.MaxScalar), "shorten it")
	default:
		return true
	}
	return false
}

// enter notes where an element stands; key is nil for an item of a list.
func (w *walker) enter(path string, key, value *yaml.Node) {
	e := entry{value: w.extent(value), style: value.Style, scalar: value.Kind == yaml.ScalarNode && !isNull(value)}
	if value.Kind == yaml.ScalarNode {
		e.decoded = value.Value
	} else {
		e.value.to = w.end(value)
	}
	e.key = e.value
	if key != nil {
		e.key = w.extent(key)
		if isNull(value) {
			e.value = e.key
		}
	}
	w.positions.entries[path] = e
}

// end returns the byte behind a node.
func (w *walker) end(n *yaml.Node) int {
	from := w.source.offset(n.Line, n.Column)
	if n.Kind == yaml.ScalarNode || n.Kind == yaml.AliasNode {
		return w.extent(n).to
	}
	end := from
	if len(n.Content) > 0 {
		last := n.Content[len(n.Content)-1]
		if end = w.end(last); isNull(last) && len(n.Content) > 1 && n.Kind == yaml.MappingNode {
			end = max(end, w.end(n.Content[len(n.Content)-2]))
		}
	}
	t := w.source.text
	if n.Style&yaml.FlowStyle == 0 || from >= len(t) || t[from] != '[' && t[from] != '{' {
		return end
	}
	for i := max(end, from+1); i < len(t); i++ {
		switch t[i] {
		case ']', '}':
			return i + 1
		case '#':
			for i < len(t) && t[i] != '\n' && t[i] != '\r' {
				i++
			}
		}
	}
	return len(t)
}

func nodeNoun(n *yaml.Node) string {
	if n.Kind == yaml.SequenceNode {
		return "list"
	}
	return "mapping"
}
