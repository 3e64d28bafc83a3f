package rulebook

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/fact"
	"github.com/skidrule/skidrule/internal/operate"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// ExampleResult tells how one example of a rule came out.
type ExampleResult struct {
	Name string
	// Problem says in what the outcome differs from what is expected; empty where it does not.
	Problem string
}

// TestExamples asks the rule of each of its examples. catalogues are the parts that examples may name.
func (c *Compiled) TestExamples(ctx context.Context, catalogues plant.Catalogues) []ExampleResult {
	var out []ExampleResult
	for _, e := range c.Rule.GetExamples() {
		out = append(out, ExampleResult{Name: e.GetName(), Problem: c.testExample(ctx, e, catalogues)})
	}
	return out
}

func (c *Compiled) testExample(ctx context.Context, e *skidrulev1.RuleExample, catalogues plant.Catalogues) string {
	design, err := exampleDesign(c.Rule, e.GetName(), 0)
	if err != nil {
		return err.Error()
	}
	p, problems := plant.Resolve(design, catalogues)
	if len(problems) > 0 {
		return "its design does not resolve: " + problems.Error()
	}
	cases, wrong := operate.Cases(p)
	if len(wrong) > 0 {
		return wrong[0].String()
	}
	w := fact.NewWorld(p, cases)
	var asked []int32
	for i := range cases {
		if cases[i].Excluded == "" && (e.GetCaseId() == "" || cases[i].ID == e.GetCaseId()) {
			asked = append(asked, int32(i))
		}
	}
	answer, err := c.Evaluate(ctx, w, asked, true)
	if err != nil {
		return err.Error()
	}
	return c.judge(w, e, answer.Outcomes)
}

// judge compares the worst outcome with the expected one.
func (c *Compiled) judge(w *fact.World, e *skidrulev1.RuleExample, outcomes []Outcome) string {
	var worst *Outcome
	for i := range outcomes {
		o := &outcomes[i]
		if e.GetSubject() != "" && !c.isSubject(w, o.Subject, e.GetSubject()) {
			continue
		}
		if worst == nil || StatusRank[o.Status] > StatusRank[worst.Status] {
			worst = o
		}
	}
	if worst == nil {
		if e.GetExpect() == skidrulev1.OutcomeStatus_OUTCOME_STATUS_NOT_APPLICABLE && e.GetSubject() == "" {
			return ""
		}
		return "the rule was asked of nothing in it"
	}
	got, want := designfile.EnumWord(worst.Status), designfile.EnumWord(e.GetExpect())
	switch {
	case got != want && worst.Status == skidrulev1.OutcomeStatus_OUTCOME_STATUS_NOT_VERIFIABLE:
		return fmt.Sprintf("expected %s, got %s for %s: missing %s", want, got, c.SubjectPath(w, worst.Subject), strings.Join(Paths(worst.Missing, w.Plant), ", "))
	case got != want && worst.Status == skidrulev1.OutcomeStatus_OUTCOME_STATUS_FAILED:
		return fmt.Sprintf("expected %s, but the rule failed for %s: %s", want, c.SubjectPath(w, worst.Subject), worst.Failure)
	case got != want:
		return fmt.Sprintf("expected %s, got %s for %s: %s", want, got, c.SubjectPath(w, worst.Subject), worst.Message)
	case !strings.Contains(worst.Message, e.GetMessageContains()):
		return fmt.Sprintf("the message does not contain %q: %s", e.GetMessageContains(), worst.Message)
	case e.GetMissing() != "" && !slices.Contains(Paths(worst.Missing, w.Plant), e.GetMissing()):
		return fmt.Sprintf("expected %s among the missing data, got %s", e.GetMissing(), strings.Join(Paths(worst.Missing, w.Plant), ", "))
	}
	return ""
}

// isSubject matches a tag or a whole element path.
func (c *Compiled) isSubject(w *fact.World, subject int32, wanted string) bool {
	path := c.SubjectPath(w, subject)
	return path == wanted || path == "components."+wanted || path == "lines."+wanted
}

// exampleDesign builds the design of an example from those that it is based on. depth counts those that are based on it.
func exampleDesign(rule *skidrulev1.Rule, name string, depth int) (*skidrulev1.Design, error) {
	i := slices.IndexFunc(rule.GetExamples(), func(e *skidrulev1.RuleExample) bool { return e.GetName() == name })
	if i < 0 {
		return nil, fmt.Errorf("there is no example %q to base another on", name)
	}
	if depth > 8 {
		return nil, fmt.Errorf("the examples are based on each other in a circle or too deep")
	}
	e := rule.GetExamples()[i]
	if e.GetBasedOn() == "" {
		if e.GetDesign() == nil {
			return &skidrulev1.Design{}, nil
		}
		return proto.Clone(e.GetDesign()).(*skidrulev1.Design), nil
	}
	design, err := exampleDesign(rule, e.GetBasedOn(), depth+1)
	if err != nil {
		return nil, err
	}
	for _, path := range e.GetWithout() {
		if !remove(design.ProtoReflect(), strings.Split(path, ".")) {
			return nil, fmt.Errorf("there is no %s to take out", path)
		}
	}
	overlayDesign(design, e.GetDesign())
	return design, nil
}

// overlayDesign replaces elements of the same key and adds the others.
func overlayDesign(into, from *skidrulev1.Design) {
	if from == nil {
		return
	}
	if from.GetBasis() != nil {
		if into.Basis == nil {
			into.Basis = &skidrulev1.Basis{}
		}
		proto.Merge(into.Basis, from.GetBasis())
	}
	into.Components = replace(into.Components, from.GetComponents(), (*skidrulev1.Component).GetTag)
	into.Lines = replace(into.Lines, from.GetLines(), (*skidrulev1.Line).GetTag)
	into.Cases = replace(into.Cases, from.GetCases(), (*skidrulev1.OperatingCase).GetId)
	into.Catalogue = replace(into.Catalogue, from.GetCatalogue(), (*skidrulev1.CatalogueEntry).GetId)
	into.Assumptions = append(into.Assumptions, from.GetAssumptions()...)
}

func replace[T any](into, from []*T, key func(*T) string) []*T {
	for _, f := range from {
		i := slices.IndexFunc(into, func(t *T) bool { return key(t) == key(f) })
		if i < 0 {
			into = append(into, f)
		} else {
			into[i] = f
		}
	}
	return into
}

// remove takes an element of a list or one datum out of a message by its path, in parts; false where it is not there.
func remove(m protoreflect.Message, parts []string) bool {
	field := designfile.FieldByKey(m.Descriptor(), parts[0])
	switch {
	case field == nil || !m.Has(field):
		return false
	case len(parts) == 1:
		m.Clear(field)
		return true
	case field.IsList():
		return removeFromList(m, field, parts[1:])
	case field.Kind() != protoreflect.MessageKind:
		return false
	}
	return remove(m.Mutable(field).Message(), parts[1:])
}

// removeFromList goes on inside the item whose key is the first part, or takes the item out.
func removeFromList(m protoreflect.Message, field protoreflect.FieldDescriptor, parts []string) bool {
	key := designfile.KeyedBy(field)
	if key == nil {
		return false
	}
	list := m.Mutable(field).List()
	for i := 0; i < list.Len(); i++ {
		item := list.Get(i).Message()
		if item.Get(key).String() != parts[0] {
			continue
		}
		if len(parts) > 1 {
			return remove(item, parts[1:])
		}
		for j := i; j < list.Len()-1; j++ {
			list.Set(j, list.Get(j+1))
		}
		list.Truncate(list.Len() - 1)
		return true
	}
	return false
}
