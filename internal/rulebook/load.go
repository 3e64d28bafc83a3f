package rulebook

import (
	"errors"
	"fmt"
	"io/fs"
	"path"
	"strings"

	"github.com/skidrule/skidrule/internal/designfile"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// First key of a rule file and its value.
const (
	ruleHeader  = "skidrule_rule"
	ruleVersion = "v1"
)

// RuleFile is one rule with the places of its parts.
type RuleFile struct {
	Name      string
	Rule      *skidrulev1.Rule
	positions *designfile.Positions
}

// ReadRule reads one rule file. The error is a *designfile.Problems.
func ReadRule(name string, data []byte) (*RuleFile, error) {
	f := &RuleFile{Name: name, Rule: &skidrulev1.Rule{}}
	var err error
	f.positions, err = designfile.Decode(data, name, f.Rule, designfile.Options{Header: ruleHeader, Version: ruleVersion, MaxScalar: 64 << 10, MaxBytes: 1 << 20})
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
		if at, ok := f.positions.Within(field, offsetOf(f.text(field), line, column)); ok {
			p.PlaceAt(at)
			return p
		}
	}
	if at, ok := f.positions.Find(field); ok {
		p.PlaceAt(at)
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
