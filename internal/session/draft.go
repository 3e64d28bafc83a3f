package session

import (
	"fmt"
	"slices"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// EditError tells why an edit cannot be made.
type EditError struct {
	// Index is the place of the edit in its list.
	Index int
	// Field is the field of the edit that is wrong, as "set.path".
	Field string
	// Message says what is wrong, Suggestion what would be right; the latter may be empty.
	Message, Suggestion string
}

// Error says which edit and what is wrong.
func (e *EditError) Error() string {
	s := fmt.Sprintf("edits[%d].%s: %s", e.Index, e.Field, e.Message)
	if e.Suggestion != "" {
		s += "; " + e.Suggestion
	}
	return s
}

func (e *EditError) in(i int) *EditError {
	e.Index = i
	return e
}

// draft is a design under edits. It shares all elements with the design that it came of except those that were edited, which
// it copies first.
type draft struct {
	design *skidrulev1.Design
	own    map[proto.Message]bool
}

func newDraft(d *skidrulev1.Design) *draft {
	c := &skidrulev1.Design{}
	from, to := d.ProtoReflect(), c.ProtoReflect()
	from.Range(func(f protoreflect.FieldDescriptor, v protoreflect.Value) bool {
		if !f.IsList() {
			to.Set(f, v)
			return true
		}
		l, n := to.Mutable(f).List(), v.List().Len()
		for i := range n {
			l.Append(v.List().Get(i))
		}
		return true
	})
	return &draft{design: c, own: map[proto.Message]bool{}}
}

// edit makes one edit.
func (d *draft) edit(e *skidrulev1.Edit) *EditError {
	switch c := e.GetChange().(type) {
	case *skidrulev1.Edit_PutComponent:
		d.design.Components = put(d.design.Components, c.PutComponent, (*skidrulev1.Component).GetTag)
	case *skidrulev1.Edit_PutLine:
		d.design.Lines = put(d.design.Lines, c.PutLine, (*skidrulev1.Line).GetTag)
	case *skidrulev1.Edit_PutCase:
		d.design.Cases = put(d.design.Cases, c.PutCase, (*skidrulev1.OperatingCase).GetId)
	case *skidrulev1.Edit_PutAssumption:
		d.design.Assumptions = put(d.design.Assumptions, c.PutAssumption, (*skidrulev1.Assumption).GetPath)
	case *skidrulev1.Edit_PutBasis:
		d.design.Basis = c.PutBasis
	case *skidrulev1.Edit_Set:
		return d.set(c.Set)
	case *skidrulev1.Edit_Remove:
		return d.remove(c.Remove)
	case *skidrulev1.Edit_RemoveAssumption:
		return d.removeAssumption(c.RemoveAssumption)
	default:
		return &EditError{Field: "change", Message: "the edit changes nothing", Suggestion: "state one of its fields"}
	}
	return nil
}

// put takes the place of the element of the same key, or goes to the end.
func put[T any](list []T, item T, key func(T) string) []T {
	if i := slices.IndexFunc(list, func(x T) bool { return key(x) == key(item) }); i >= 0 {
		list[i] = item
		return list
	}
	return append(list, item)
}

func (d *draft) removeAssumption(path string) *EditError {
	i := slices.IndexFunc(d.design.Assumptions, func(a *skidrulev1.Assumption) bool { return a.GetPath() == path })
	if i < 0 {
		return &EditError{Field: "remove_assumption", Message: fmt.Sprintf("nothing is assumed about %q", path)}
	}
	d.design.Assumptions = slices.Delete(d.design.Assumptions, i, i+1)
	return nil
}

// touched gives the part of the draft that is not the same as in the design before, with the lines of changed components and
// the components of those lines: whether a stop is well formed depends on the kind of its component.
func (d *draft) touched(before *skidrulev1.Design) *skidrulev1.Design {
	out := &skidrulev1.Design{
		Name: d.design.GetName(), Revision: d.design.GetRevision(), Description: d.design.GetDescription(), Basis: d.design.GetBasis(),
		Cases: d.design.GetCases(), Assumptions: d.design.GetAssumptions(),
	}
	same := map[proto.Message]bool{}
	for _, c := range before.GetComponents() {
		same[c] = true
	}
	for _, l := range before.GetLines() {
		same[l] = true
	}
	wanted := map[string]bool{}
	for _, c := range d.design.GetComponents() {
		if !same[c] {
			wanted[c.GetTag()] = true
		}
	}
	named := map[string]bool{}
	for _, l := range d.design.GetLines() {
		if same[l] && !slices.ContainsFunc(l.GetRoute(), func(r *skidrulev1.RouteStop) bool { return wanted[r.GetTag()] }) {
			continue
		}
		out.Lines = append(out.Lines, l)
		for _, r := range l.GetRoute() {
			named[r.GetTag()] = true
		}
	}
	for _, c := range d.design.GetComponents() {
		if wanted[c.GetTag()] || named[c.GetTag()] {
			out.Components = append(out.Components, c)
		}
	}
	return out
}
