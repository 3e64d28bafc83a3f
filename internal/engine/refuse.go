package engine

import (
	"fmt"
	"strings"

	"github.com/skidrule/skidrule/internal/plant"
)

// Violation is one thing wrong with a request. Path is the field of the request, or, for the design, the element path.
type Violation struct {
	plant.Problem
	// InDesign tells that Path is an element path of the design.
	InDesign bool
}

// RequestError is everything wrong with a request.
type RequestError struct {
	Violations []Violation
	// More is how many there are beside those listed.
	More int
}

// Error joins the violations, one a line.
func (e *RequestError) Error() string {
	lines := make([]string, len(e.Violations), len(e.Violations)+1)
	for i, v := range e.Violations {
		lines[i] = v.String()
	}
	if e.More > 0 {
		lines = append(lines, fmt.Sprintf("and %d more", e.More))
	}
	return strings.Join(lines, "\n")
}

// Add says one thing more that is wrong with a field of the request. The suggestion may be empty.
func (e *RequestError) Add(path, suggestion, format string, args ...any) {
	e.Violations = append(e.Violations, Violation{Problem: plant.Problem{Path: path, Message: fmt.Sprintf(format, args...), Suggestion: suggestion}})
}

// Err is what is wrong so far; nil for nothing.
func (e *RequestError) Err() error {
	if len(e.Violations) == 0 {
		return nil
	}
	so := *e
	return &so
}

// Refuse is the error of a request with one thing wrong, as Add says it.
func Refuse(path, suggestion, format string, args ...any) error {
	e := &RequestError{}
	e.Add(path, suggestion, format, args...)
	return e
}

// refuse is the error of a request whose design or parts have problems; field is that of the parts, with a point, and empty for
// the design.
func refuse(field string, problems plant.Problems) error {
	e := &RequestError{}
	for _, p := range problems {
		p.Path = field + p.Path
		e.Violations = append(e.Violations, Violation{p, field == ""})
	}
	return e
}
