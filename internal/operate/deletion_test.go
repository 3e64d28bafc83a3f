package operate_test

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	"github.com/skidrule/skidrule/internal/catalogue"
	"github.com/skidrule/skidrule/internal/operate"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// numbers lists every stated number below a message, as a way to delete it, with its name.
func numbers(m protoreflect.Message, name string, visit func(name string, clear func())) {
	m.Range(func(f protoreflect.FieldDescriptor, v protoreflect.Value) bool {
		inner := name + "." + string(f.Name())
		switch {
		case f.IsList() || f.IsMap():
		case f.Kind() == protoreflect.MessageKind:
			numbers(v.Message(), inner, visit)
		case f.Kind() == protoreflect.DoubleKind && f.HasOptionalKeyword():
			visit(inner, func() { m.Clear(f) })
		}
		return true
	})
}

// whole gives a design whose parts are written out, so that each of their data can be deleted.
func whole(t *testing.T, name string) *skidrulev1.Design {
	d := read(t, name)
	p, problems := plant.Resolve(d, plant.Catalogues{catalogue.Parts()})
	require.Empty(t, problems)
	for i, c := range d.Components {
		at, ok := p.FindComponent(c.Tag)
		require.True(t, ok)
		full := proto.CloneOf(p.Components[at].Data)
		full.Part = ""
		d.Components[i] = full
	}
	return d
}

// A deleted number leaves every result either as it was, to the last bit, or unknown with that number named; or else the number has a
// stated stand-in, listed here.
func TestDeletedNumbers(t *testing.T) {
	standIns := []string{
		"basis.atmospheric_pressure_pa_abs",                // the altitude
		"basis.water_temperature_k",                        // its range
		"boundary.pressure_pa_gauge",                       // its range
		"flow_meter.flow_coefficient_kv_m3_per_h",          // the pressure drop at the end of its range
		".max_pressure_pa_gauge", ".min_pressure_pa_gauge", // of a boundary: its normal pressure stands in
		"basis.min_water_temperature_k", "basis.max_water_temperature_k", // the normal temperature
		".set_temperature_k", ".outlet_temperature_k", // of what heats: the gas stays as warm as the room
		".rated_output_kg_per_s", ".rated_concentration_mass_fraction", // no ozone is claimed
		"hand_valve.opening_ratio", // of a gas valve that is set on site
	}
	d := whole(t, demo)
	cases := []string{"normal", "pump_stopped", "feed_shut"}
	solve := func(d *skidrulev1.Design) (*plant.Plant, []*operate.State, bool) {
		p, problems := plant.Resolve(d, plant.Catalogues{catalogue.Parts()})
		if len(problems) > 0 {
			return nil, nil, false
		}
		all, wrong := operate.Cases(p)
		require.Empty(t, wrong)
		all = slices.DeleteFunc(all, func(c operate.Case) bool { return !slices.Contains(cases, c.ID) })
		out, err := operate.SolveAll(context.Background(), p, all)
		require.NoError(t, err)
		return p, out.States, true
	}
	base, was, ok := solve(d)
	require.True(t, ok)
	tried, unknown := 0, 0
	try := func(name string, clear func(*skidrulev1.Design)) {
		if slices.ContainsFunc(standIns, func(s string) bool { return strings.HasSuffix(name, s) }) {
			return
		}
		e := proto.CloneOf(d)
		clear(e)
		p, now, ok := solve(e)
		if !ok {
			return
		}
		tried++
		require.Len(t, p.Ports, len(base.Ports), name)
		for i := range was {
			for k := range was[i].Ports {
				a, b := &was[i].Ports[k], &now[i].Ports[k]
				label := fmt.Sprintf("%s: %s in %s", name, p.PortLabel(int32(k)), cases[i])
				switch {
				case !a.Known || len(a.Beyond) > 0:
				case b.Known && len(b.Beyond) == 0:
					require.Equal(t, a.Pressure, b.Pressure, label)
				default:
					unknown++
					named := append(slices.Clone(b.Missing), b.Beyond...)
					require.NotEmpty(t, named, "%s: %s", label, b.Why)
				}
			}
		}
	}
	for i, c := range d.Components {
		numbers(c.ProtoReflect(), c.Tag, func(name string, _ func()) {
			try(name, func(e *skidrulev1.Design) {
				numbers(e.Components[i].ProtoReflect(), c.Tag, func(n string, clear func()) {
					if n == name {
						clear()
					}
				})
			})
		})
	}
	for i, l := range d.Lines {
		numbers(l.ProtoReflect(), l.Tag, func(name string, _ func()) {
			try(name, func(e *skidrulev1.Design) {
				numbers(e.Lines[i].ProtoReflect(), l.Tag, func(n string, clear func()) {
					if n == name {
						clear()
					}
				})
			})
		})
	}
	numbers(d.Basis.ProtoReflect(), "basis", func(name string, _ func()) {
		try(name, func(e *skidrulev1.Design) {
			numbers(e.Basis.ProtoReflect(), "basis", func(n string, clear func()) {
				if n == name {
					clear()
				}
			})
		})
	})
	require.Greater(t, tried, 150)
	require.Greater(t, unknown, 1000)
	t.Logf("%d numbers deleted, %d results became unknown", tried, unknown)
}
