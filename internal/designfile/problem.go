package designfile

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
)

// Problem says what is wrong with a file, where, and what would be right.
type Problem struct {
	// File is the name of the file as the caller gave it.
	File string
	// Line and Column are where the problem begins, from 1, the column in code
	// points. Both are 0 where the spelling has no lines or the place is unknown.
	Line, Column int
	// EndLine and EndColumn are where it ends; the column is that behind the
	// last character.
	EndLine, EndColumn int
	// Path is the element, such as "components.CV-2.max_pressure". It may be empty.
	Path string
	// Message says what is wrong, without a full stop.
	Message string
	// Suggestion says what would be right, without a full stop. It may be empty.
	Suggestion string
}

// Error returns place, message and suggestion in one line, as
// "design.yaml:41:7: message; suggestion".
func (p Problem) Error() string {
	var b strings.Builder
	if p.File != "" {
		b.WriteString(p.File + ":")
	}
	if p.Line > 0 {
		fmt.Fprintf(&b, "%d:%d:", p.Line, p.Column)
	}
	if b.Len() > 0 {
		b.WriteString(" ")
	}
	if p.Line == 0 && p.Path != "" {
		b.WriteString(p.Path + ": ")
	}
	b.WriteString(p.Message)
	if p.Suggestion != "" {
		b.WriteString("; " + p.Suggestion)
	}
	return b.String()
}

// PlaceAt says where the problem begins and ends.
func (p *Problem) PlaceAt(at Position) {
	p.Line, p.Column, p.EndLine, p.EndColumn = at.Line, at.Column, at.EndLine, at.EndColumn
}

// Problems is everything that is wrong with one file, in the order of the file.
type Problems struct {
	// List holds the problems, sorted by position.
	List []Problem
	// More is the number of problems beyond those listed.
	More int
}

// Error returns one line for each problem, and how many more there are.
func (p *Problems) Error() string {
	lines := make([]string, 0, len(p.List)+1)
	for _, one := range p.List {
		lines = append(lines, one.Error())
	}
	if p.More > 0 {
		lines = append(lines, fmt.Sprintf("%d more problems are not listed", p.More))
	}
	return strings.Join(lines, "\n")
}

// collected bounds how many problems are kept for sorting.
const collected = 2000

// full reports whether further problems are only counted, so that hints need
// not be worked out for them.
func (p *Problems) full() bool { return len(p.List) >= collected }

// add keeps a problem, or counts it when there are very many.
func (p *Problems) add(one Problem) {
	if p.full() {
		p.More++
		return
	}
	p.List = append(p.List, one)
}

// finish sorts, removes repetitions and shortens the list to most problems. It
// returns nil when there is none.
func (p *Problems) finish(most int) error {
	if len(p.List) == 0 {
		return nil
	}
	slices.SortStableFunc(p.List, func(a, b Problem) int {
		return cmp.Or(cmp.Compare(a.Line, b.Line), cmp.Compare(a.Column, b.Column),
			cmp.Compare(a.Path, b.Path), cmp.Compare(a.Message, b.Message))
	})
	p.List = slices.Compact(p.List)
	if len(p.List) > most {
		p.More += len(p.List) - most
		p.List = p.List[:most]
	}
	return p
}

// single returns one problem as an error.
func single(one Problem) error { return &Problems{List: []Problem{one}} }
