package plant

import (
	"strings"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/misspelt"
)

// Problem is a reference in the design that leads nowhere or a thing that cannot be read: the drawing cannot be resolved
// with it. Path names the element.
type Problem struct {
	Path       string
	Message    string
	Suggestion string // what would be right; may be empty
}

// Problems is every problem of a design, in order of the design.
type Problems []Problem

// Error joins the problems, one a line.
func (ps Problems) Error() string {
	lines := make([]string, len(ps))
	for i, p := range ps {
		lines[i] = p.String()
	}
	return strings.Join(lines, "\n")
}

// String is the problem with its element path.
func (p Problem) String() string {
	s := p.Path + ": " + p.Message
	if p.Suggestion != "" {
		s += "; " + p.Suggestion
	}
	return s
}

// maxCompared bounds the words that misspelt ones are compared with in one design, so that a large design in which every tag is
// wrong takes no longer than a good one.
const maxCompared = 100_000

// guess is nearest for the first mistakes of a design; later ones get no suggestion.
func (r *resolver) guess(word string, known func() []string) string {
	if r.compared > maxCompared {
		return ""
	}
	list := known()
	r.compared += len(list)
	return nearest(word, list)
}

// portGuess suggests ports: there are few, and the nearest name is often that of another side, so all are listed.
func portGuess(word string, info *KindInfo) string {
	names := info.PortNames()
	if len(names) == 0 {
		return ""
	}
	list := "its ports are " + strings.Join(names, ", ")
	if near := misspelt.DidYouMean(word, names); near != "" {
		return near + " " + list
	}
	return list
}

// nearest gives a "did you mean" for a misspelt word, or the list where it is short.
func nearest(word string, known []string) string {
	if near := misspelt.DidYouMean(word, known); near != "" {
		return near
	}
	if len(known) > 0 && len(known) <= 12 {
		return "known are " + strings.Join(known, ", ")
	}
	return ""
}

// aKind is a kind with its article.
func aKind(k Kind) string { return designfile.WithArticle(k.Info().Title) }
