package rulebook

import (
	"fmt"
	"slices"
	"sort"

	"github.com/skidrule/skidrule/internal/crew"
	"github.com/skidrule/skidrule/internal/designfile"
)

// Book is a set of compiled rules in order of id.
type Book struct {
	rules []*Compiled
	byID  map[string]*Compiled
}

// NewBook orders compiled rules. Two of one id are an error.
func NewBook(rules []*Compiled) (*Book, error) {
	b := &Book{rules: slices.Clone(rules), byID: make(map[string]*Compiled, len(rules))}
	sort.Slice(b.rules, func(i, j int) bool { return b.rules[i].Rule.GetId() < b.rules[j].Rule.GetId() })
	for _, r := range b.rules {
		if b.byID[r.Rule.GetId()] != nil {
			return nil, fmt.Errorf("two rules have the id %s", r.Rule.GetId())
		}
		b.byID[r.Rule.GetId()] = r
	}
	return b, nil
}

// Rules lists the rules in order of id.
func (b *Book) Rules() []*Compiled { return b.rules }

// Find gives the rule of an id.
func (b *Book) Find(id string) (*Compiled, bool) {
	r, ok := b.byID[id]
	return r, ok
}

// IDs lists the ids in order.
func (b *Book) IDs() []string {
	out := make([]string, len(b.rules))
	for i, r := range b.rules {
		out[i] = r.Rule.GetId()
	}
	return out
}

// Topics lists the topics in the order of the ids.
func (b *Book) Topics() []string {
	out := b.IDs()
	for i, id := range out {
		out[i] = Topic(id)
	}
	return slices.Compact(out)
}

// CompileFiles compiles rule files into a book. The error is a *designfile.Problems with positions.
func CompileFiles(files []*RuleFile, site bool) (*Book, error) {
	results, faults := make([]*Compiled, len(files)), make([][]Fault, len(files))
	_ = crew.Each(len(files), func(i int) error {
		results[i], faults[i] = Compile(files[i].Rule, nil, site)
		return nil
	})
	var problems designfile.Problems
	var compiled []*Compiled
	for i, f := range files {
		c := results[i]
		for _, fault := range faults[i] {
			problems.List = append(problems.List, f.Problem(fault.Field, fault.Line, fault.Column, fault.Message))
		}
		if c != nil {
			compiled = append(compiled, c)
		}
	}
	if len(problems.List) > 0 {
		return nil, &problems
	}
	return NewBook(compiled)
}
