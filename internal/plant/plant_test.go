package plant_test

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

func read(t *testing.T, text string) *skidrulev1.Design {
	t.Helper()
	f, err := designfile.Read("design.yaml", []byte("skidrule: v1\n"+text))
	require.NoError(t, err)
	return f.Design
}

// A kind is known by the place of its constant, which is that of its field number: one out of place would take another's ports.
func TestKindsStandInTheOrderOfTheirFields(t *testing.T) {
	source, err := parser.ParseFile(token.NewFileSet(), "kind.go", nil, 0)
	require.NoError(t, err)
	var constants []string
	ast.Inspect(source, func(n ast.Node) bool {
		if spec, ok := n.(*ast.ValueSpec); ok {
			constants = append(constants, strings.ToLower(spec.Names[0].Name))
		}
		return true
	})
	want := []string{"kindnone"}
	for _, k := range plant.Kinds() {
		want = append(want, "kind"+strings.ReplaceAll(k.Info().Name, "_", ""))
	}
	assert.Equal(t, append(want, "numkinds"), constants)
	fields := (&skidrulev1.Component{}).ProtoReflect().Descriptor().Oneofs().ByName("spec").Fields()
	for i := range fields.Len() {
		c := &skidrulev1.Component{}
		c.ProtoReflect().Mutable(fields.Get(i))
		assert.Equal(t, string(fields.Get(i).Name()), plant.KindOf(c).Info().Name)
	}
}

const small = `
components:
  WI: {boundary: {service: process_water}}
  P: {pump: {}}
  PI: {pressure_gauge: {}}
  V: {contact_vessel: {}}
  WO: {boundary: {service: ozonated_water}}
lines:
  A: {route: [WI, P, PI, V.inlet]}
  B: {route: [V.outlet_2, WO]}
`

func TestResolveLaysPortsAndWays(t *testing.T) {
	p, problems := plant.Resolve(read(t, small), nil)
	require.Empty(t, problems)
	a, ok := p.FindLine("A")
	require.True(t, ok)
	require.EqualValues(t, 3, p.Lines[a].NumWays, "a line has a pipe between each two neighbouring stops")
	gauge, ok := p.FindComponent("PI")
	require.True(t, ok)
	tap := p.PortByTrait(gauge, 0)
	assert.EqualValues(t, 2, p.Ports[tap].Joints, "a line that runs past an instrument meets it twice")
	v, _ := p.FindComponent("V")
	second, ok := p.FindPort(v, "outlet_2")
	require.True(t, ok, "a repeatable port exists once a route uses it")
	assert.Equal(t, "V.outlet_2", p.PortLabel(second))
	inlet, _ := p.FindPort(v, "inlet")
	joined := false
	for _, w := range p.WaysAt(second) {
		joined = joined || p.Ways[w].From == inlet
	}
	assert.True(t, joined, "a repeated port is joined as its namesake is")
	for i := range p.Ports {
		for _, w := range p.WaysAt(int32(i)) {
			assert.True(t, p.Ways[w].From == int32(i) || p.Ways[w].To == int32(i))
		}
	}
}

func TestResolveReportsEveryProblem(t *testing.T) {
	for _, row := range []struct{ name, text, path, message string }{
		{"unknown tag", "components: {P: {pump: {}}, Q: {pump: {}}}\nlines: {L: {route: [P, QQ]}}", "lines.L.route[1]", `goes through "QQ"`},
		{"a line as stop", "components: {P: {pump: {}}, Q: {pump: {}}}\nlines: {K: {route: [P, Q]}, L: {route: [P, K]}}", "lines.L.route[1]", "which is a line"},
		{"unknown port", "components: {P: {pump: {}}, Q: {pump: {}}}\nlines: {L: {route: [P.side, Q]}}", "lines.L.route[0]", `a pump has no port "side"`},
		{"no way inside", "components: {A: {junction: {}}, G: {ozone_generator: {}}, B: {junction: {}}}\nlines: {L: {route: [A, G.feed_gas>cooling_inlet, B]}}", "lines.L.route[1]", "no way leads from feed_gas to cooling_inlet"},
		{"unknown part", "components: {P: {part: none/there}, Q: {pump: {}}}\nlines: {L: {route: [P, Q]}}", "components.P.part", `no catalogue has the part "none/there"`},
		{"part of another kind", "catalogue: {own/p: {origin: invented, data: {pump: {}}}}\ncomponents: {V: {part: own/p, check_valve: {}}}", "components.V.part", "is a check valve, but the part \"own/p\" is a pump"},
		{"no kind", "components: {P: {title: something}}", "components.P", "does not say what it is"},
		{"line without way", "components: {P: {pump: {}}}\nlines: {L: {route: [P]}}", "lines.L.route", "leads nowhere"},
		{"tag of line and component", "components: {P: {pump: {}}, Q: {pump: {}}}\nlines: {P: {route: [P, Q]}}", "lines.P", "a component has the tag P already"},
		{"case about nothing", "components: {P: {pump: {}}}\ncases: {normal: {states: {PP: {running: true}}}}", "cases.normal.states.PP", `sets the state of "PP"`},
		{"assumption without reason", "components: {P: {pump: {}}}\nassumptions: [{path: components.P.max_pressure, low: 1 bar(g), high: 2 bar(g)}]", "assumptions[0]", "has no reason"},
		{"two assumptions about one datum", "components: {P: {pump: {}}}\nassumptions: [{path: components.P.max_pressure, low: 1 bar(g), high: 2 bar(g), reason: usual}, {path: components.P.max_pressure, low: 1 bar(g), high: 3 bar(g), reason: usual}]", "assumptions[1]", "two assumptions are about"},
		{"assumption without range", "components: {P: {pump: {}}}\nassumptions: [{path: components.P.max_pressure, low: 3 bar(g), reason: usual}]", "assumptions[0]", "has no range"},
		{"assumption about a line that is not there", "components: {P: {pump: {}}}\nassumptions: [{path: lines.L.length, low: 3 m, high: 4 m, reason: usual}]", "assumptions[0].path", "is about a line that is not there"},
	} {
		t.Run(row.name, func(t *testing.T) {
			p, problems := plant.Resolve(read(t, row.text), nil)
			require.Nil(t, p)
			require.Len(t, problems, 1, problems.Error())
			assert.Equal(t, row.path, problems[0].Path)
			assert.Contains(t, problems[0].Message, row.message)
		})
	}
}

// TestStatedGoesBeforeTheEntry sets every common datum of a component once in the entry alone and once in both.
func TestStatedGoesBeforeTheEntry(t *testing.T) {
	skip := map[string]bool{"tag": true, "part": true, "position": true, "train": true, "ports": true, "pressure_table": true}
	fields := (&skidrulev1.Component{}).ProtoReflect().Descriptor().Fields()
	for i := range fields.Len() {
		f := fields.Get(i)
		if f.ContainingOneof() != nil && !f.ContainingOneof().IsSynthetic() || skip[string(f.Name())] {
			continue
		}
		entry, stated := &skidrulev1.Component{Spec: &skidrulev1.Component_Pump{Pump: &skidrulev1.Pump{}}}, &skidrulev1.Component{Tag: "P", Part: "own/p"}
		one, two := values(f)
		entry.ProtoReflect().Set(f, one)
		merged := func() protoreflect.Value {
			d := &skidrulev1.Design{Components: []*skidrulev1.Component{stated}, Catalogue: []*skidrulev1.CatalogueEntry{{Id: "own/p", Data: entry}}}
			p, problems := plant.Resolve(d, nil)
			require.Empty(t, problems)
			return p.Components[0].Data.ProtoReflect().Get(f)
		}
		assert.True(t, merged().Equal(one), "%s comes from the entry", f.Name())
		stated.ProtoReflect().Set(f, two)
		assert.True(t, merged().Equal(two), "%s as stated goes before the entry's", f.Name())
	}
}

// values gives two different values of a field.
func values(f protoreflect.FieldDescriptor) (one, two protoreflect.Value) {
	scalar := func(n int) protoreflect.Value {
		switch f.Kind() {
		case protoreflect.DoubleKind:
			return protoreflect.ValueOfFloat64(float64(n))
		case protoreflect.BoolKind:
			return protoreflect.ValueOfBool(n == 1)
		case protoreflect.EnumKind:
			return protoreflect.ValueOfEnum(protoreflect.EnumNumber(n))
		}
		return protoreflect.ValueOfString(string(rune('a' + n)))
	}
	if !f.IsList() {
		return scalar(1), scalar(2)
	}
	lists := [2]protoreflect.List{}
	for i := range lists {
		lists[i] = (&skidrulev1.Component{}).ProtoReflect().NewField(f).List()
		lists[i].Append(scalar(i + 1))
	}
	return protoreflect.ValueOfList(lists[0]), protoreflect.ValueOfList(lists[1])
}

// Ports are few: the nearest name is told, and all of them with it.
func TestUnknownPortsAreGuessed(t *testing.T) {
	for port, want := range map[string]string{"outlett": "did you mean outlet? its ports are inlet, outlet", "xyz": "its ports are inlet, outlet"} {
		_, problems := plant.Resolve(read(t, "components: {P: {pump: {}}, Q: {pump: {}}}\nlines: {L: {route: [P."+port+", Q]}}"), nil)
		require.Len(t, problems, 1)
		assert.Equal(t, want, problems[0].Suggestion)
	}
}

// Of a port the design may state what the entry does not, and the other way round.
func TestPortsMergeFieldByField(t *testing.T) {
	const entry = "catalogue: {own/p: {origin: invented, data: {pump: {}, ports: {inlet: {size: DN 40, elevation: 1 m}, outlet: {size: DN 32}}}}}\n"
	p, problems := plant.Resolve(read(t, entry+"components: {P: {part: own/p, ports: {inlet: {elevation: 2 m}, outlet: {size: DN 25, elevation: 3 m}}}}"), nil)
	require.Empty(t, problems)
	got := map[string]string{}
	for _, port := range p.Components[0].Data.GetPorts() {
		got[port.GetName()] = fmt.Sprintf("%s at %g m", port.GetSize().GetDesignation(), port.GetElevationM())
	}
	assert.Equal(t, map[string]string{"inlet": "40 at 2 m", "outlet": "25 at 3 m"}, got)
}

func TestSpecsMergeFieldByField(t *testing.T) {
	d := read(t, `
catalogue: {own/v: {origin: invented, data: {check_valve: {opening_pressure: 30 mbar, flow_coefficient: 1 Kv}, pressure_table: [{temperature: 20 degC, max_pressure: 10 bar(g)}]}}}
components: {V: {part: own/v, check_valve: {opening_pressure: 50 mbar}, max_pressure: 6 bar(g)}}
`)
	before := proto.Clone(d)
	p, problems := plant.Resolve(d, nil)
	require.Empty(t, problems)
	v := p.Components[0].Data
	assert.InDelta(t, 5000, v.GetCheckValve().GetOpeningPressurePa(), 1e-9, "what is stated goes first")
	assert.InDelta(t, 1, v.GetCheckValve().GetFlowCoefficientKvM3PerH(), 1e-9, "what is not stated comes from the entry")
	assert.Empty(t, v.GetPressureTable(), "a stated plain rating goes before the entry's table")
	assert.True(t, proto.Equal(before, d), "the design is not changed")
}
