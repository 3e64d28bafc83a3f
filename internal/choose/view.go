package choose

import (
	"maps"
	"slices"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// view shows a part of the data of the parts of a kind. What a rule finds broken with a datum left out it finds broken whatever
// the datum is, so that parts which look alike in a view are rejected together.
type view struct {
	kind plant.Kind
	// out are the fields that are left out, those of the spec by their number and a million.
	out  map[int]bool
	seen map[*part]*look
	like map[string]int // number of a look by its bytes
}

// look is a part as a view shows it.
type look struct {
	entry  *skidrulev1.CatalogueEntry
	number int
}

// inSpec moves the numbers of a spec's fields away from those of a component.
const inSpec = 1_000_000

func wholeView(kind plant.Kind) *view { return &view{kind: kind, out: map[int]bool{}} }

// fields lists what a part states, as the view counts it.
func (v *view) fields(p *part) []int {
	var out []int
	m := p.entry.GetData().ProtoReflect()
	m.Range(func(f protoreflect.FieldDescriptor, _ protoreflect.Value) bool {
		if f.ContainingOneof() == nil || f.ContainingOneof().IsSynthetic() {
			out = append(out, int(f.Number()))
		}
		return true
	})
	if spec := plant.SpecOf(p.entry.GetData()); spec != nil {
		spec.Range(func(f protoreflect.FieldDescriptor, _ protoreflect.Value) bool {
			out = append(out, inSpec+int(f.Number()))
			return true
		})
	}
	slices.Sort(out)
	return out
}

func (v *view) leaveOut(fields ...int) {
	for _, f := range fields {
		v.out[f] = true
	}
	v.forget()
}

func (v *view) takeIn(fields ...int) {
	for _, f := range fields {
		delete(v.out, f)
	}
	v.forget()
}

func (v *view) forget() { v.seen, v.like = map[*part]*look{}, map[string]int{} }

// same tells views that leave out the same.
func (v *view) same(w *view) bool { return maps.Equal(v.out, w.out) }

// of gives a part as the view shows it, and a number that parts which look alike share.
func (v *view) of(p *part) (*skidrulev1.CatalogueEntry, int) {
	if l := v.seen[p]; l != nil {
		return l.entry, l.number
	}
	if v.seen == nil {
		v.forget()
	}
	data := proto.CloneOf(p.entry.GetData())
	m := data.ProtoReflect()
	for f := range v.out {
		if f < inSpec {
			if d := m.Descriptor().Fields().ByNumber(protoreflect.FieldNumber(f)); d != nil {
				m.Clear(d)
			}
		} else if spec := plant.SpecOf(data); spec != nil {
			if d := spec.Descriptor().Fields().ByNumber(protoreflect.FieldNumber(f - inSpec)); d != nil {
				spec.Clear(d)
			}
		}
	}
	// What the design states of the component beside the part counts as well.
	beside := proto.CloneOf(p.component)
	beside.Part = ""
	bytes, err := proto.MarshalOptions{Deterministic: true}.Marshal(&skidrulev1.Catalogue{Entries: []*skidrulev1.CatalogueEntry{{Data: data}, {Data: beside}}})
	if err != nil {
		// Only invalid texts cannot be written, and those were refused before.
		panic(err)
	}
	number, ok := v.like[string(bytes)]
	if !ok {
		number = len(v.like)
		v.like[string(bytes)] = number
	}
	l := &look{&skidrulev1.CatalogueEntry{Id: p.id, Title: p.title, Data: data}, number}
	v.seen[p] = l
	return l.entry, l.number
}
