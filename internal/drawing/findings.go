package drawing

import (
	"fmt"
	"slices"
	"strings"

	"github.com/skidrule/skidrule/internal/designfile"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Mark is a numbered thing with the findings about it.
type Mark struct {
	// Number of the thing, from 1.
	Number int
	// Tag of the component or line; empty for the design as a whole, which has number 0.
	Tag string
	// Findings about it, worst first.
	Findings []*skidrulev1.Finding
}

// Marks numbers the things that findings are about, in the order of the findings. Those about the design as a whole come
// last, under number 0.
func Marks(r *skidrulev1.Report) []Mark {
	var marks []Mark
	var whole Mark
	at := map[string]int{}
	for _, f := range r.GetFindings() {
		tag := TagOf(f.GetSubject())
		if tag == "" {
			whole.Findings = append(whole.Findings, f)
			continue
		}
		i, ok := at[tag]
		if !ok {
			i = len(marks)
			at[tag] = i
			marks = append(marks, Mark{Number: i + 1, Tag: tag})
		}
		marks[i].Findings = append(marks[i].Findings, f)
	}
	if len(whole.Findings) > 0 {
		marks = append(marks, whole)
	}
	return marks
}

// TagOf is the tag of the component or line that an element path leads to or into; empty for the design as a whole.
func TagOf(path string) string {
	rest, ok := strings.CutPrefix(path, "components.")
	if !ok {
		if rest, ok = strings.CutPrefix(path, "lines."); !ok {
			return ""
		}
	}
	if end := strings.IndexAny(rest, ".[ "); end >= 0 {
		rest = rest[:end]
	}
	return rest
}

// PathOf is what the drawing highlights for a finding: the way that it names, or its thing and those that take part where it
// names none.
func PathOf(f *skidrulev1.Finding) Path {
	var p Path
	add := func(path string) {
		tag := TagOf(path)
		switch {
		case tag == "":
		case strings.HasPrefix(path, "lines."):
			if !slices.Contains(p.Lines, tag) {
				p.Lines = append(p.Lines, tag)
			}
		case !slices.Contains(p.Components, tag):
			p.Components = append(p.Components, tag)
		}
	}
	for _, s := range f.GetPath() {
		add(s.GetElement())
	}
	if len(f.GetPath()) == 0 {
		add(f.GetSubject())
		// A line alone is highlighted over its whole length.
		if len(p.Lines) > 0 {
			return p
		}
		for _, s := range f.GetRelated() {
			add(s)
		}
	}
	return p
}

// FindingsOverlay marks the things that the findings of a report are about and highlights the way of one: the finding whose
// fingerprint or rule id is named, or, where chosen is empty, the first that names a way. The error wraps ErrDesign where no
// finding is the chosen one.
func FindingsOverlay(r *skidrulev1.Report, chosen string) (Overlay, error) {
	var o Overlay
	for _, m := range Marks(r) {
		text := make([]string, len(m.Findings))
		for i, f := range m.Findings {
			message := strings.TrimPrefix(firstSentence(f.GetMessage()), m.Tag+": ")
			text[i] = designfile.EnumWord(f.GetSeverity()) + " " + f.GetRuleId() + ": " + message
		}
		if len(o.Markers) == maxMarkers {
			break
		}
		if m.Number > 0 {
			o.Markers = append(o.Markers, Marker{m.Number, m.Tag, strings.Join(text, "\n")})
		} else {
			o.Whole = append(o.Whole, text...)
		}
	}
	for _, f := range r.GetFindings() {
		if chosen == "" && len(f.GetPath()) > 0 || chosen != "" && (f.GetFingerprint() == chosen || f.GetRuleId() == chosen) {
			o.Path = PathOf(f)
			return o, nil
		}
	}
	if chosen != "" {
		return o, fmt.Errorf("%w: no finding is %q", ErrDesign, clip(chosen, 100))
	}
	if len(r.GetFindings()) > 0 {
		o.Path = PathOf(r.GetFindings()[0])
	}
	return o, nil
}

// firstSentence is the part of a message that stands alone.
func firstSentence(s string) string {
	if end := strings.Index(s, ". "); end >= 0 {
		return s[:end+1]
	}
	return s
}
