package operate_test

import (
	"context"
	"fmt"
	"go/ast"
	"go/parser"
	"go/printer"
	"go/token"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	"github.com/skidrule/skidrule/internal/catalogue"
	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/operate"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Nothing in the package reads what its keys leave out. Some names are those of data of cases and of kinds as well; those places are
// listed.
func TestNothingReadsWhatKeysLeaveOut(t *testing.T) {
	others := map[string]bool{
		"b.MinPressurePaGauge": true, "b.MaxPressurePaGauge": true, "s.GasSupply.MinPressurePaGauge": true, // of boundaries and supplies
		"st.GetPosition": true, "v.GetPosition": true, // of valves in a case, of three-way valves
		"d.GetTitle": true, "c.Title": true, // of cases
	}
	names := map[string]bool{}
	for _, field := range operate.Unsolved {
		var name strings.Builder
		for _, word := range strings.Split(field, "_") {
			name.WriteString(strings.ToUpper(word[:1]) + word[1:])
		}
		names[name.String()], names["Get"+name.String()] = true, true
	}
	files, err := filepath.Glob("*.go")
	require.NoError(t, err)
	looked := 0
	for _, file := range files {
		if strings.HasSuffix(file, "_test.go") {
			continue
		}
		set := token.NewFileSet()
		tree, err := parser.ParseFile(set, file, nil, 0)
		require.NoError(t, err)
		ast.Inspect(tree, func(n ast.Node) bool {
			if s, ok := n.(*ast.SelectorExpr); ok {
				looked++
				var text strings.Builder
				require.NoError(t, printer.Fprint(&text, set, s))
				assert.False(t, names[s.Sel.Name] && !others[text.String()], "%s reads %s", set.Position(s.Pos()), text.String())
			}
			return true
		})
	}
	assert.Greater(t, looked, 500)
}

func resolved(t *testing.T, d *skidrulev1.Design) (*plant.Plant, []operate.Case) {
	t.Helper()
	p, problems := plant.Resolve(d, plant.Catalogues{catalogue.Parts()})
	require.Empty(t, problems)
	cases, wrong := operate.Cases(p)
	require.Empty(t, wrong)
	return p, cases
}

// Changing what keys leave out changes neither keys nor states; changing anything else changes keys.
func TestKeysOfCases(t *testing.T) {
	data, err := os.ReadFile("../../testdata/hatchery-side-stream/design.yaml")
	require.NoError(t, err)
	f, err := designfile.Read("design.yaml", data)
	require.NoError(t, err)
	p, cases := resolved(t, f.Design)
	keys, err := operate.Keys(p, cases)
	require.NoError(t, err)
	ctx := context.Background()
	states, err := operate.SolveAll(ctx, p, cases)
	require.NoError(t, err)

	other := proto.CloneOf(f.Design)
	for i, c := range other.GetComponents() {
		m := c.ProtoReflect()
		for _, name := range operate.Unsolved {
			field := m.Descriptor().Fields().ByName(protoreflect.Name(name))
			switch {
			case field.IsList() || field.Message() != nil:
				m.Clear(field)
			case field.Kind() == protoreflect.DoubleKind:
				m.Set(field, protoreflect.ValueOfFloat64(float64(3e5+1000*float64(i))))
			case field.Kind() == protoreflect.StringKind:
				m.Set(field, protoreflect.ValueOfString("another"))
			case field.Kind() == protoreflect.EnumKind:
				m.Set(field, protoreflect.ValueOfEnum(1))
			case field.Kind() == protoreflect.BoolKind:
				m.Set(field, protoreflect.ValueOfBool(i%2 == 0))
			}
		}
	}
	q, others := resolved(t, other)
	same, err := operate.Keys(q, others)
	require.NoError(t, err)
	assert.Equal(t, keys, same)
	again, err := operate.SolveAll(ctx, q, others)
	require.NoError(t, err)
	for i, st := range states.States {
		if st == nil {
			assert.Nil(t, again.States[i])
			continue
		}
		was, is := *st, *again.States[i]
		was.Case, is.Case = nil, nil
		// As texts, since what is not known is no number and equals nothing.
		assert.Equal(t, fmt.Sprintf("%+v", was), fmt.Sprintf("%+v", is), cases[i].ID)
	}

	for name, change := range map[string]func(*skidrulev1.Design){
		"an elevation": func(d *skidrulev1.Design) { d.Components[3].ElevationM = proto.Float64(17) },
		"a tag":        func(d *skidrulev1.Design) { d.Components[3].Spec = &skidrulev1.Component_Cap{Cap: &skidrulev1.Cap{}} },
		"a length":     func(d *skidrulev1.Design) { d.Lines[1].LengthM = proto.Float64(321) },
		"a way":        func(d *skidrulev1.Design) { d.Lines = d.Lines[:len(d.Lines)-1] },
		"the water":    func(d *skidrulev1.Design) { d.Basis.WaterTemperatureK = proto.Float64(301) },
		"a normal position": func(d *skidrulev1.Design) {
			d.Components[2].NormalPosition = skidrulev1.ValvePosition_VALVE_POSITION_CLOSED
		},
		"an assumption": func(d *skidrulev1.Design) {
			d.Assumptions = append(d.Assumptions, &skidrulev1.Assumption{Path: "components." + d.Components[0].Tag + ".elevation", Low: proto.Float64(1), High: proto.Float64(2), Reason: "x"})
		},
	} {
		d := proto.CloneOf(f.Design)
		change(d)
		p, problems := plant.Resolve(d, plant.Catalogues{catalogue.Parts()})
		if len(problems) > 0 {
			continue // that nobody could solve
		}
		cases, _ := operate.Cases(p)
		changed, err := operate.Keys(p, cases)
		require.NoError(t, err)
		for i := range keys {
			assert.NotEqual(t, keys[i], changed[i], name)
		}
	}
	d := proto.CloneOf(f.Design)
	for _, c := range d.Cases {
		if c.GetId() == "pump_stopped" {
			c.WaterTemperatureK = proto.Float64(277)
		}
	}
	q, others = resolved(t, d)
	changed, err := operate.Keys(q, others)
	require.NoError(t, err)
	for i := range keys {
		assert.Equal(t, cases[i].ID == "pump_stopped", keys[i] != changed[i], "a case is changed by itself: %s", cases[i].ID)
	}
}
