package draft

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"

	"google.golang.org/protobuf/reflect/protoreflect"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/rulebook"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// questions are all data that some outcome of the check lacks, and those that are only assumed: what it is, why it is needed, and what
// it has to be.
func (p *plan) questions(book *rulebook.Book, report *skidrulev1.Report, design *skidrulev1.Design) []*skidrulev1.DraftQuestion {
	byPath := map[string]*skidrulev1.DraftQuestion{}
	rules := map[string]map[string]bool{}
	for _, o := range report.GetOutcomes() {
		if o.GetStatus() != skidrulev1.OutcomeStatus_OUTCOME_STATUS_NOT_VERIFIABLE {
			continue
		}
		for _, path := range o.GetMissing() {
			if byPath[path] == nil {
				byPath[path] = &skidrulev1.DraftQuestion{Path: path}
				rules[path] = map[string]bool{}
			}
			rules[path][o.GetRuleId()] = true
		}
	}
	wanted := map[string]string{}
	for _, w := range p.wants() {
		if s := w.say(); s != "" {
			wanted["components."+w.tag+"."+w.key] = s
		}
	}
	titles := map[string]string{}
	for _, r := range book.Rules() {
		titles[r.Rule.GetId()] = r.Rule.GetTitle()
	}
	out := make([]*skidrulev1.DraftQuestion, 0, len(byPath))
	for path, q := range byPath {
		q.RuleIds = slices.Sorted(maps.Keys(rules[path]))
		q.Ask = ask(path)
		q.Why = titles[q.RuleIds[0]]
		if n := len(q.RuleIds) - 1; n > 0 {
			q.Why += fmt.Sprintf("; and %d more", n)
		}
		q.Wanted = wanted[path]
		out = append(out, q)
	}
	for _, a := range design.Assumptions {
		if byPath[a.Path] != nil {
			continue
		}
		q := &skidrulev1.DraftQuestion{Path: a.Path, Ask: ask(a.Path), Why: "it is only assumed: " + a.Reason}
		if fd := fieldAt(a.Path); fd != nil && a.Low != nil && a.High != nil {
			if d, ok := designfile.FieldDimension(fd); ok {
				q.Wanted = say(*a.Low, d) + " to " + say(*a.High, d)
			}
		}
		out = append(out, q)
	}
	place := orderOf(design)
	slices.SortFunc(out, func(a, b *skidrulev1.DraftQuestion) int {
		x, y := elementOf(a.Path), elementOf(b.Path)
		return cmp.Or(cmp.Compare(place[x], place[y]), cmp.Compare(x, y), cmp.Compare(a.Path, b.Path))
	})
	return out
}

// orderOf numbers the elements of a design in the order of the file.
func orderOf(design *skidrulev1.Design) map[string]int {
	at := map[string]int{"basis": 0}
	for _, c := range design.Components {
		at["components."+c.Tag] = len(at)
	}
	for _, l := range design.Lines {
		at["lines."+l.Tag] = len(at)
	}
	return at
}

// elementOf is the element that a path leads into: components.CV-1 of components.CV-1.max_pressure.
func elementOf(path string) string {
	first, rest, ok := strings.Cut(path, ".")
	if !ok {
		return path
	}
	if first != "components" && first != "lines" && first != "cases" {
		return first
	}
	tag, _, _ := strings.Cut(rest, ".")
	return first + "." + tag
}

// ask says what a datum is, in the words of the interface, with an example where there is one.
func ask(path string) string {
	fd := fieldAt(path)
	if fd == nil {
		return "State " + path + "."
	}
	s := designfile.Comment(fd.FullName())
	if example := designfile.Example(fd); example != "" {
		s = strings.TrimSuffix(s, ".") + "; for example " + example + "."
	}
	return s
}

// fieldAt is the field that a path of a design ends at, a table included; nil where there is none.
func fieldAt(path string) protoreflect.FieldDescriptor {
	steps := strings.Split(path, ".")
	m := (&skidrulev1.Design{}).ProtoReflect().Descriptor()
	for i := 0; i < len(steps); i++ {
		fd := designfile.FieldByKey(m, steps[i])
		if fd == nil || i == len(steps)-1 {
			return fd
		}
		if fd.IsList() {
			// The next step is the key of an item.
			i++
		}
		if m = fd.Message(); m == nil || i == len(steps)-1 {
			return nil
		}
	}
	return nil
}
