package draft

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/quantity"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// width is the longest line of a comment, as that of elements in design files.
const width = 120

// notes are the comments of a drawn design in order of the file.
func (p *plan) notes(m *drawn) []*skidrulev1.DraftNote {
	var out []*skidrulev1.DraftNote
	if p.doseFound {
		out = append(out, &skidrulev1.DraftNote{Path: "basis.transferred_dose", Text: "Computed from the target inactivation, the residual and the water."})
	}
	for _, path := range m.order {
		out = append(out, &skidrulev1.DraftNote{Path: path, Text: m.notes[path]})
	}
	return out
}

// text writes the design as a file, with its comments and the data that is asked of each element.
func text(m *drawn, d *skidrulev1.Draft) (string, error) {
	plain, err := designfile.WriteHeaded(d.Design, designfile.YAML, designfile.DesignHeader, designfile.Version, m.sheet)
	if err != nil {
		return "", err
	}
	file, err := designfile.Read("draft.yaml", plain)
	if err != nil {
		return "", err
	}
	asked := map[string][]string{}
	for _, q := range d.Questions {
		e := elementOf(q.Path)
		key := strings.TrimPrefix(q.Path, e+".")
		if q.Wanted != "" {
			key += " (" + q.Wanted + ")"
		}
		asked[e] = append(asked[e], key)
	}
	above := map[int][]string{}
	put := func(path, comment string) {
		if at, ok := file.Positions.Find(path); ok {
			above[at.Line] = append(above[at.Line], comment)
		}
	}
	for path, head := range m.heads {
		put(path, "\n"+head)
	}
	for _, n := range d.Notes {
		put(n.Path, n.Text)
	}
	if keys := asked["basis"]; len(keys) > 0 {
		put("basis", "asked: "+strings.Join(keys, "; "))
	}
	for _, c := range d.Design.Components {
		if keys := asked["components."+c.Tag]; len(keys) > 0 {
			put("components."+c.Tag, "asked: "+strings.Join(keys, "; "))
		}
	}
	for _, l := range d.Design.Lines {
		if keys := asked["lines."+l.Tag]; len(keys) > 0 {
			put("lines."+l.Tag, "asked: "+strings.Join(keys, "; "))
		}
	}
	var out strings.Builder
	for _, line := range headOf(d) {
		comment(&out, 0, line)
	}
	first := true
	for i, line := range strings.Split(strings.TrimSuffix(string(plain), "\n"), "\n") {
		indent := len(line) - len(strings.TrimLeft(line, " "))
		for _, c := range above[i+1] {
			if head, ok := strings.CutPrefix(c, "\n"); ok {
				if !first {
					out.WriteByte('\n')
				}
				first = false
				c = "---- " + head + " ----"
			}
			comment(&out, indent, c)
		}
		out.WriteString(line + "\n")
	}
	return out.String(), nil
}

// headOf is the comment at the top of a draft: what it is, why it has its shape, and the numbers it was sized by.
func headOf(d *skidrulev1.Draft) []string {
	out := []string{"A draft, made from a demand by rules and equations. Nobody has reviewed it, and it is not to be built from as it stands.", "", "Why it has this shape:"}
	for _, r := range d.Reasons {
		out = append(out, "- "+r)
	}
	out = append(out, "", "Sizes, in order of the computation:")
	for _, s := range d.Sizes {
		dimension, _ := quantity.DimensionByName(s.Dimension)
		line := "- " + s.Label + ": " + say(s.Value, dimension)
		if s.Low != nil && s.High != nil {
			line += ", assumed between " + say(*s.Low, dimension) + " and " + say(*s.High, dimension)
		} else {
			line += ", " + s.How
		}
		line += " (" + s.Source + ")"
		out = append(out, line)
	}
	out = append(out, "", "Elevations, lengths and bends are the layout that the draft proposes; write your own. Elevations are above the floor of the skid.")
	if n := len(d.Questions); n > 0 {
		out = append(out, fmt.Sprintf("%d data are asked for: the comment of each element names them, and the check says what waits for them.", n))
	}
	if n := len(d.Findings); n > 0 {
		out = append(out, fmt.Sprintf("The check has %d findings about this draft; run it to see them.", n))
	}
	return append(out, "Local codes and licensed practice go before anything that is drawn here.")
}

// comment writes a comment, broken where it is too long for a line.
func comment(out *strings.Builder, indent int, text string) {
	lead := strings.Repeat(" ", indent) + "#"
	if text == "" {
		out.WriteString(lead + "\n")
		return
	}
	hang := ""
	if strings.HasPrefix(text, "- ") {
		hang = "  "
	}
	line := lead
	for _, word := range strings.Fields(text) {
		if line != lead && utf8.RuneCountInString(line)+1+utf8.RuneCountInString(word) > width {
			out.WriteString(line + "\n")
			line = lead + " " + hang + word
			continue
		}
		line += " " + word
	}
	out.WriteString(line + "\n")
}
