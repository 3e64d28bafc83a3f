package rulebook

import (
	"errors"
	"fmt"
	"io/fs"
	"path"
	"slices"
	"sort"
	"strings"

	"github.com/skidrule/skidrule/internal/crew"
	"github.com/skidrule/skidrule/internal/designfile"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// First key of a rule file and its value.
const (
	RuleHeader  = "skidrule_rule"
	ruleVersion = "v1"
)

// RuleFile is one rule with the places of its parts.
type RuleFile struct {
	Name      string
	Rule      *skidrulev1.Rule
	Positions *designfile.Positions
}

// ReadRule reads one rule file. The error is a *designfile.Problems.
func ReadRule(name string, data []byte) (*RuleFile, error) {
	f := &RuleFile{Name: name, Rule: &skidrulev1.Rule{}}
	var err error
	f.Positions, err = designfile.Decode(data, name, f.Rule, designfile.Options{Header: RuleHeader, Version: ruleVersion, MaxScalar: 64 << 10, MaxBytes: 1 << 20})
	if err != nil {
		return nil, err
	}
	return f, nil
}

// LoadFolder reads every .yaml file below the root of a file system, in order of name. A file's place must be
// topic/slug.yaml, as its id says. All errors come together.
func LoadFolder(files fs.FS) ([]*RuleFile, error) {
	var out []*RuleFile
	var problems designfile.Problems
	err := fs.WalkDir(files, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || path.Ext(name) != ".yaml" {
			return err
		}
		data, err := fs.ReadFile(files, name)
		if err != nil {
			return err
		}
		f, err := ReadRule(name, data)
		var ps *designfile.Problems
		if errors.As(err, &ps) {
			problems.List = append(problems.List, ps.List...)
			problems.More += ps.More
			return nil
		}
		if err != nil {
			return err
		}
		if want := strings.TrimSuffix(name, ".yaml"); !strings.HasSuffix("/"+want, "/"+f.Rule.GetId()) {
			problems.List = append(problems.List, f.Problem("id", 0, 0, fmt.Sprintf("the id %s does not fit the file name %s", f.Rule.GetId(), name)))
		}
		out = append(out, f)
		return nil
	})
	if err != nil {
		return nil, err
	}
	seen := map[string]string{}
	for _, f := range out {
		if other, twice := seen[f.Rule.GetId()]; twice {
			problems.List = append(problems.List, f.Problem("id", 0, 0, "the rule stands in "+other+" too"))
		}
		seen[f.Rule.GetId()] = f.Name
	}
	if len(problems.List) > 0 {
		return nil, &problems
	}
	return out, nil
}

// Problem places something wrong with the rule in its file. Line and column count from the beginning of the text of the
// field; zero means the field as a whole.
func (f *RuleFile) Problem(field string, line, column int, message string) designfile.Problem {
	p := designfile.Problem{File: f.Name, Path: field, Message: message}
	if line > 0 {
		if at, ok := f.Positions.Within(field, offsetOf(f.text(field), line, column)); ok {
			p.Line, p.Column, p.EndLine, p.EndColumn = at.Line, at.Column, at.EndLine, at.EndColumn
			return p
		}
	}
	if at, ok := f.Positions.Find(field); ok {
		p.Line, p.Column, p.EndLine, p.EndColumn = at.Line, at.Column, at.EndLine, at.EndColumn
	}
	return p
}

// offsetOf turns line and column inside a text, both from 1 and the column in code points, into a byte offset.
func offsetOf(text string, line, column int) int {
	offset := 0
	for ; line > 1; line-- {
		next := strings.IndexByte(text[offset:], '\n')
		if next < 0 {
			break
		}
		offset += next + 1
	}
	for i := range text[offset:] {
		if column--; column == 0 {
			return offset + i
		}
	}
	return len(text)
}

// text gives the text of a field that can hold an expression.
func (f *RuleFile) text(field string) string {
	r := f.Rule
	switch field {
	case "condition":
		return r.GetCondition()
	case "applies_when":
		return r.GetAppliesWhen()
	case "path":
		return r.GetPath()
	case "message":
		return r.GetMessage()
	}
	var i int
	var part string
	if n, _ := fmt.Sscanf(field, "evidence[%d].%s", &i, &part); n == 2 && i < len(r.GetEvidence()) {
		if part == "limit" {
			return r.GetEvidence()[i].GetLimit()
		}
		return r.GetEvidence()[i].GetValue()
	}
	return ""
}

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

// CompileFiles compiles rule files into a book. The error is a *designfile.Problems with positions.
func CompileFiles(files []*RuleFile, site bool) (*Book, error) {
	results, faults := make([]*Compiled, len(files)), make([]Faults, len(files))
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

// Len counts the rules.
func (b *Book) Len() int { return len(b.rules) }
