// Package plantgen makes designs of any size for benchmarks and property tests: copies of a design, with defects seeded into
// some of them.
// The command does not use it: a first design for a demand is draft's, and the designs that it copies are testdata's.
package plantgen

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Whole gives a design in which every component states all of its data itself, with no part of a catalogue behind it: what a
// design tool sends that holds the data of its parts. The error names what does not resolve.
func Whole(design *skidrulev1.Design, catalogues plant.Catalogues) (*skidrulev1.Design, error) {
	p, problems := plant.Resolve(design, catalogues)
	if len(problems) > 0 {
		return nil, problems
	}
	out := proto.CloneOf(design)
	out.Catalogue = nil
	for i := range p.Components {
		c := proto.CloneOf(p.Components[i].Data)
		c.Part = ""
		out.Components[i] = c
	}
	return out, nil
}

// Copies makes a plant of at least n components out of whole copies of a design, each with tags of its own; one copy in
// eight has a defect. The same design, n and seed give the same plant.
func Copies(design *skidrulev1.Design, n int, seed uint64) *skidrulev1.Design {
	random := rand.New(rand.NewPCG(seed, 1))
	out := &skidrulev1.Design{Name: fmt.Sprintf("%s, copied to %d components", design.GetName(), n), Description: design.GetDescription(), Basis: design.GetBasis()}
	// Which cases are left out is kept; states of single components would need a case for each copy.
	out.Cases = slices.DeleteFunc(slices.Clone(design.GetCases()), func(c *skidrulev1.OperatingCase) bool { return len(c.GetStates()) > 0 })
	r := newRenamer(design)
	for k := 0; len(out.Components) < n; k++ {
		c := r.copy(design, fmt.Sprintf("-%d", k))
		if random.IntN(8) == 0 {
			defects[random.IntN(len(defects))](c)
		}
		out.Components, out.Lines = append(out.Components, c.Components...), append(out.Lines, c.Lines...)
	}
	return out
}

// Beside makes one design of two that have nothing to do with each other: the tags of the second, and whatever names them, end in -b.
// The basis, and a case or catalogue entry that both have, are those of the first, with the states of both.
func Beside(a, b *skidrulev1.Design) *skidrulev1.Design {
	const suffix = "-b"
	out := proto.CloneOf(a)
	r := newRenamer(b)
	c := r.copy(b, suffix)
	out.Components, out.Lines = append(out.Components, c.Components...), append(out.Lines, c.Lines...)
	for _, own := range b.GetCases() {
		own = proto.CloneOf(own)
		r.rename(own.ProtoReflect(), suffix)
		i := slices.IndexFunc(out.Cases, func(c *skidrulev1.OperatingCase) bool { return c.GetId() == own.GetId() })
		if i < 0 {
			out.Cases = append(out.Cases, own)
		} else {
			out.Cases[i].States = append(out.Cases[i].States, own.GetStates()...)
		}
	}
	for _, own := range b.GetCatalogue() {
		if !slices.ContainsFunc(out.Catalogue, func(e *skidrulev1.CatalogueEntry) bool { return e.GetId() == own.GetId() }) {
			out.Catalogue = append(out.Catalogue, own)
		}
	}
	for _, own := range b.GetAssumptions() {
		own = proto.CloneOf(own)
		if parts := strings.SplitN(own.GetPath(), ".", 3); len(parts) == 3 && r.names[parts[1]] {
			own.Path = parts[0] + "." + parts[1] + suffix + "." + parts[2]
			out.Assumptions = append(out.Assumptions, own)
		}
	}
	return out
}

// renamer gives copies tags of their own, wherever a text names a tag or a common cause.
type renamer struct{ names map[string]bool }

func newRenamer(design *skidrulev1.Design) *renamer {
	r := &renamer{names: map[string]bool{}}
	for _, c := range design.GetComponents() {
		r.names[c.GetTag()] = true
		for _, cause := range append([]string{c.GetPowerFeed(), c.GetAirFeed()}, c.GetSharesCause()...) {
			if cause != "" {
				r.names[cause] = true
			}
		}
	}
	for _, l := range design.GetLines() {
		r.names[l.GetTag()] = true
	}
	return r
}

func (r *renamer) copy(design *skidrulev1.Design, suffix string) *skidrulev1.Design {
	c := proto.CloneOf(&skidrulev1.Design{Components: design.GetComponents(), Lines: design.GetLines()})
	r.rename(c.ProtoReflect(), suffix)
	return c
}

func (r *renamer) rename(m protoreflect.Message, suffix string) {
	m.Range(func(f protoreflect.FieldDescriptor, v protoreflect.Value) bool {
		switch {
		case f.IsList() && f.Kind() == protoreflect.MessageKind:
			for i := range v.List().Len() {
				r.rename(v.List().Get(i).Message(), suffix)
			}
		case f.IsList() && f.Kind() == protoreflect.StringKind:
			for i := range v.List().Len() {
				if s := v.List().Get(i).String(); r.names[s] {
					v.List().Set(i, protoreflect.ValueOfString(s+suffix))
				}
			}
		case f.Kind() == protoreflect.MessageKind:
			r.rename(v.Message(), suffix)
		case f.Kind() == protoreflect.StringKind && r.names[v.String()]:
			m.Set(f, protoreflect.ValueOfString(v.String()+suffix))
		}
		return true
	})
}

// defects are what a seeded copy may suffer; each leaves alone what it does not find.
var defects = []func(*skidrulev1.Design){
	func(d *skidrulev1.Design) { changeOne(d, plant.KindCheckValve, leaveOut) },
	func(d *skidrulev1.Design) { changeOne(d, plant.KindKnockOutPot, leaveOut) },
	func(d *skidrulev1.Design) { changeOne(d, plant.KindCheckValve, turnRound) },
	func(d *skidrulev1.Design) {
		for _, c := range d.GetComponents() {
			if c.GetActuatedValve() != nil {
				c.FailPosition = skidrulev1.FailPosition_FAIL_POSITION_OPEN
			}
		}
	},
	func(d *skidrulev1.Design) {
		for _, c := range d.GetComponents() {
			if c.GetLiquidTrap() != nil {
				c.MaxPressurePaGauge, c.PressureTable = proto.Float64(0.5e5), nil
			}
		}
	},
}

// changeOne changes the first part of the kind that stands in the middle of a line.
func changeOne(d *skidrulev1.Design, kind plant.Kind, change func(l *skidrulev1.Line, stop int)) {
	for _, l := range d.GetLines() {
		for i := 1; i < len(l.GetRoute())-1; i++ {
			if kindAt(d, l.Route[i].GetTag()) == kind {
				change(l, i)
				return
			}
		}
	}
}

func leaveOut(l *skidrulev1.Line, stop int) { l.Route = slices.Delete(l.Route, stop, stop+1) }

func turnRound(l *skidrulev1.Line, stop int) {
	l.Route[stop].Enter, l.Route[stop].Leave = "outlet", "inlet"
}

func kindAt(d *skidrulev1.Design, tag string) plant.Kind {
	for _, c := range d.GetComponents() {
		if c.GetTag() == tag {
			return plant.KindOf(c)
		}
	}
	return plant.KindNone
}
