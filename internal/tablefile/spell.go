package tablefile

import (
	"encoding/json"
	"fmt"
	"regexp"
	"strings"

	"github.com/skidrule/skidrule/internal/designfile"
)

// Places leads from the element paths of the catalogue to the cells of a file.
type Places struct {
	file  string
	cells map[string]designfile.Position
}

// File is the name of the file.
func (p *Places) File() string { return p.file }

// Find gives the cell of an element, or of the nearest element around it.
func (p *Places) Find(path string) (designfile.Position, bool) {
	for path != "" {
		if at, ok := p.cells[path]; ok {
			return at, true
		}
		path = path[:max(0, strings.LastIndexAny(path, ".["))]
	}
	return designfile.Position{File: p.file, Line: 1, Column: 1, EndLine: 1, EndColumn: 1}, true
}

func (p *Places) add(path string, c cell) {
	p.cells[path] = designfile.Position{File: p.file, Line: c.line, Column: c.column, EndLine: c.line, EndColumn: c.column + len([]rune(c.text)), Path: path, Text: c.text}
}

// moved gives problems the places of the cells in the table.
func (p *Places) moved(ps *designfile.Problems) *designfile.Problems {
	out := &designfile.Problems{More: ps.More}
	for _, q := range ps.List {
		at, _ := p.Find(q.Path)
		q.PlaceAt(at)
		out.List = append(out.List, q)
	}
	return out
}

// spell writes the part as a catalogue file, so that the reader of those judges every key, unit and value, and notes
// where each element comes from.
func (t *table) spell() []byte {
	var b strings.Builder
	fmt.Fprintf(&b, "%s: %s\n", designfile.CatalogueHeader, designfile.Version)
	if t.origin != nil {
		fmt.Fprintf(&b, "origin: %s\n", scalar(t.origin.text))
		t.places.add("origin", *t.origin)
	}
	fmt.Fprintf(&b, "entries:\n  %s:\n", scalar(t.id.text))
	entry := "entries." + t.id.text
	t.places.add(entry, *t.id)
	for _, d := range []struct {
		key string
		c   *cell
	}{{"title", t.title}, {"origin", t.origin}} {
		if d.c != nil {
			fmt.Fprintf(&b, "    %s: %s\n", d.key, scalar(d.c.text))
			t.places.add(entry+"."+d.key, *d.c)
		}
	}
	b.WriteString("    data:\n")
	for _, d := range t.component {
		t.write(&b, "      ", entry+".data.", d)
	}
	fmt.Fprintf(&b, "      %s:\n", t.kind.text)
	spec := entry + ".data." + t.kind.text
	t.places.add(spec, *t.kind)
	for _, d := range t.spec {
		t.write(&b, "        ", spec+".", d)
	}
	for _, p := range t.points {
		fmt.Fprintf(&b, "        %s:\n", p.field)
		for i, row := range p.rows {
			lead := "          - "
			for _, d := range row {
				t.write(&b, lead, fmt.Sprintf("%s.%s[%d].", spec, p.field, i), d)
				lead = "            "
			}
		}
	}
	return []byte(b.String())
}

func (t *table) write(b *strings.Builder, lead, path string, d datum) {
	fmt.Fprintf(b, "%s%s: %s\n", lead, scalar(d.key), scalar(d.value.text))
	t.places.add(path+d.key, d.value)
}

var plainScalar = regexp.MustCompile(`^[A-Za-z0-9][A-Za-z0-9 ._/()%*-]*$`)

// scalar spells a text so that the reader gets it back whatever is in it.
func scalar(s string) string {
	if plainScalar.MatchString(s) {
		return s
	}
	quoted, err := json.Marshal(s)
	if err != nil {
		// A text in UTF-8 always has a JSON spelling, and the file was checked to be one.
		return `""`
	}
	return string(quoted)
}
