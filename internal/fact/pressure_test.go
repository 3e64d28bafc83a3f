package fact_test

import (
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	"github.com/skidrule/skidrule/internal/catalogue"
	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/fact"
	"github.com/skidrule/skidrule/internal/operate"
	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/plantgen"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// bar is what the highest pressures of these designs are stated in, in Pa.
const bar = 1e5

// highest asks for the highest pressure at a component or in a line.
func (a asked) highest(tag string) fact.Number {
	a.t.Helper()
	return a.number("highest_pressure", tag)
}

// isAt demands a known highest pressure.
func (a asked) isAt(tag string, pressure float64) {
	a.t.Helper()
	n := a.highest(tag)
	assert.InDelta(a.t, pressure, n.Low, 1, "low end at %s", tag)
	assert.InDelta(a.t, pressure, n.High, 1, "high end at %s", tag)
}

func TestPumpsAddUpInSeriesAndNotSideBySide(t *testing.T) {
	t.Run("series", func(t *testing.T) {
		a := drawn(t, `
components:
  WI: {boundary: {service: process_water, role: source, max_pressure: 1 bar(g)}}
  P-1: {pump: {shut_off_head: 2 bar}}
  P-2: {pump: {shut_off_head: 3 bar}}
  P-3: {pump: {shut_off_head: 4 bar}}
  F-1: {strainer: {}}
  WO: {boundary: {service: process_water, role: sink, max_pressure: 0 bar(g)}}
lines:
  W-2: {route: [P-2, P-3, F-1, WO], service: process_water}
  W-1: {route: [WI, P-1, P-2], service: process_water}
`)
		a.isAt("F-1", 10*bar)
		a.isAt("P-2", 6*bar)
	})
	t.Run("closed loop with a standby pump", func(t *testing.T) {
		a := drawn(t, `
components:
  WI: {boundary: {service: process_water, role: source, max_pressure: 1 bar(g)}}
  CT: {contact_vessel: {pressurised: true}}
  T-1: {tee: {}}
  T-2: {tee: {}}
  P-1: {pump: {shut_off_head: 3 bar}}
  P-2: {pump: {shut_off_head: 3 bar}}
lines:
  W-1: {route: [WI, CT.inlet], service: process_water}
  W-2: {route: [CT.outlet, T-1, P-1, T-2, CT.inlet_2], service: process_water}
  W-3: {route: [T-1.branch, P-2, T-2.branch], service: process_water}
`)
		a.isAt("T-2", 4*bar)
		a.isAt("CT", 4*bar)
	})
	t.Run("closed loop with a booster", func(t *testing.T) {
		a := drawn(t, `
components:
  WI: {boundary: {service: process_water, role: source, max_pressure: 1 bar(g)}}
  CT: {contact_vessel: {pressurised: true}}
  P-1: {pump: {shut_off_head: 3 bar}}
  P-2: {pump: {shut_off_head: 2 bar}}
  F-1: {strainer: {}}
lines:
  W-1: {route: [WI, CT.inlet], service: process_water}
  W-2: {route: [CT.outlet, P-1, P-2, F-1, CT.inlet_2], service: process_water}
`)
		a.isAt("F-1", 6*bar)
	})
	t.Run("a pump does not feed itself, and stands in the pressure of its main", func(t *testing.T) {
		a := drawn(t, `
components:
  WI: {boundary: {service: process_water, role: source, max_pressure: 1 bar(g)}}
  P-1: {pump: {shut_off_head: 3 bar}}
  F-1: {strainer: {}}
  F-2: {strainer: {}}
  WO: {boundary: {service: process_water, role: sink, max_pressure: 2 bar(g)}}
lines:
  W-1: {route: [WI, F-1, P-1, F-2, WO], service: process_water}
`)
		a.isAt("F-1", 2*bar) // the return main pushes back through the pump at rest
		a.isAt("F-2", 4*bar)
	})
}

func TestRestrictionsEndAZoneThatStaysOpen(t *testing.T) {
	const text = `
components:
  NS: {gas_supply: {gas: nitrogen, pressure: 10 bar(g)}}
  RO: {restriction_orifice: {bore: 1 mm}}
  FI: {flow_meter: {}}
  HV: {hand_valve: {type: ball}, normal_position: open%s}
  FF: {flow_meter: {}}
  AV: {atmosphere_vent: {location: outdoors}}
lines:
  N-1: {route: [NS, RO, FI, HV, FF, AV], service: nitrogen}
`
	locked := drawn(t, fmt.Sprintf(text, ", locked: true"))
	locked.isAt("FI", 0)
	shut := drawn(t, fmt.Sprintf(text, ""))
	shut.isAt("FI", 10*bar)
	shut.isAt("HV", 10*bar)
	shut.isAt("FF", 0) // behind the valve the way stays open
}

func TestUnknownPartsLeaveThePressureOpen(t *testing.T) {
	const text = `
components:
  NS: {gas_supply: {gas: nitrogen, pressure: 3 bar(g)}}
  X: {other: {description: a box%s}, ports: {a: {}, b: {}}}
  FI: {flow_meter: {}}
lines:
  N-1: {route: [NS, X.a], service: nitrogen}
  N-2: {route: [X.b, FI], service: nitrogen}
`
	through := drawn(t, fmt.Sprintf(text, ", passes_fluid: true"))
	through.isAt("FI", 3*bar)
	tight := drawn(t, fmt.Sprintf(text, ", passes_fluid: false"))
	tight.isAt("FI", 0)
	unknown := drawn(t, fmt.Sprintf(text, ""))
	n := unknown.highest("FI")
	assert.Greater(t, n.High, 3*bar)
	require.NotEmpty(t, n.Missing)
	assert.Equal(t, "components.X", n.Missing[0].Path(unknown.world.Plant))
}

func TestPipesMeetAtJunctions(t *testing.T) {
	a := drawn(t, `
components:
  WI: {boundary: {service: process_water, role: source, max_pressure: 4 bar(g)}}
  J: {junction: {}, ports: {port_2: {}, port_3: {}}}
  F-1: {strainer: {}}
  F-2: {strainer: {}}
lines:
  W-1: {route: [WI, J], service: process_water}
  W-2: {route: [J.port_2, F-1], service: process_water}
  W-3: {route: [J.port_3, F-2], service: process_water}
`)
	a.isAt("F-1", 4*bar)
	a.isAt("F-2", 4*bar)
}

func TestGasOverWaterPassesTheVent(t *testing.T) {
	a := drawn(t, `
components:
  WI: {boundary: {service: process_water, role: source, max_pressure: 4 bar(g)}}
  CT: {contact_vessel: {pressurised: true}}
  AV: {float_vent_valve: {}}
  KP: {knock_out_pot: {}}
  HV: {hand_valve: {type: ball}, normal_position: open}
  VA: {atmosphere_vent: {location: outdoors}}
lines:
  W-1: {route: [WI, CT.inlet], service: process_water}
  V-1: {route: [CT.vent, AV, KP.inlet], service: off_gas}
  V-2: {route: [KP.gas_outlet, HV, VA], service: off_gas}
`)
	a.isAt("KP", 4*bar)
	gas := a.number("highest_gas_pressure", "V-1")
	assert.InDelta(t, 4*bar, gas.High, 1)
}

func TestCasesMoveValvesAndBoundaries(t *testing.T) {
	const text = `
components:
  NS: {gas_supply: {gas: nitrogen, pressure: 5 bar(g)}}
  HV: {hand_valve: {type: ball}, normal_position: closed, locked: true}
  FI: {flow_meter: {}}
  AU: {boundary: {service: nitrogen, role: sink, pressure: 0.5 bar(g), max_pressure: 1 bar(g)}}
lines:
  N-1: {route: [NS, HV, FI, AU], service: nitrogen}
`
	drawn(t, text).isAt("FI", 1*bar)
	drawn(t, text+`
cases:
  purge: {states: {HV: {position: open}}}
`).isAt("FI", 5*bar)
	drawn(t, text+`
cases:
  purge: {states: {AU: {pressure: 2 bar(g)}}}
`).isAt("FI", 2*bar)
	drawn(t, text+`
cases:
  purge: {excluded: true, reason: there is none, states: {HV: {position: open}}}
`).isAt("FI", 1*bar)
}

// TestDeletedDataOnlyWidenPressures takes every datum out of a whole design in turn: the highest and lowest pressures of every part
// are then at most less well known, never others. Only a lock that is not stated counts as none, which lets more pass.
func TestDeletedDataOnlyWidenPressures(t *testing.T) {
	for _, folder := range []string{"hatchery-side-stream", "cylinder-pressure-fed", "wall-unit-air-fed"} {
		t.Run(folder, func(t *testing.T) {
			t.Parallel()
			design := wholeDesign(t, folder)
			before := pressuresOf(t, design)
			require.NotEmpty(t, before)
			deletions := 0
			eachDatum(design.ProtoReflect(), "design", func(name string, clear func(), restore func()) {
				clear()
				after := pressuresOf(t, design)
				restore()
				deletions++
				for tag, n := range before {
					m := after[tag]
					raised := m.Low > n.Low+1e-6 && !strings.HasSuffix(name, ".locked")
					if raised || m.High < n.High-1e-6 {
						assert.Fail(t, "the pressure changed", "without %s the %s goes from %g..%g to %g..%g", name, tag, n.Low, n.High, m.Low, m.High)
					}
				}
			})
			assert.Greater(t, deletions, 500)
		})
	}
}

// wholeDesign reads a demo design with the data of its catalogue parts written out.
func wholeDesign(t *testing.T, folder string) *skidrulev1.Design {
	t.Helper()
	data, err := os.ReadFile("../../testdata/" + folder + "/design.yaml")
	require.NoError(t, err)
	file, err := designfile.Read("design.yaml", data)
	require.NoError(t, err)
	whole, err := plantgen.Whole(file.Design, plant.Catalogues{catalogue.Parts()})
	require.NoError(t, err)
	return proto.Clone(whole).(*skidrulev1.Design)
}

// pressuresOf asks for the highest and lowest pressure of every component and line.
func pressuresOf(t *testing.T, design *skidrulev1.Design) map[string]fact.Number {
	t.Helper()
	p, problems := plant.Resolve(design, nil)
	if len(problems) > 0 {
		return map[string]fact.Number{}
	}
	cases, _ := operate.Cases(p)
	w := fact.NewWorld(p, cases)
	w.StatedOnly = true
	out := map[string]fact.Number{}
	for _, d := range fact.Definitions() {
		switch {
		case d.Name != "highest_pressure" && d.Name != "lowest_pressure":
		case d.On == fact.OnComponent:
			for i := range p.Components {
				out[d.Name+" of "+p.Components[i].Tag] = d.Number(w, fact.At{Index: int32(i), Case: -1})
			}
		case d.On == fact.OnLine:
			for i := range p.Lines {
				out[d.Name+" of "+p.Lines[i].Tag] = d.Number(w, fact.At{Index: int32(i), Case: -1})
			}
		}
	}
	return out
}

// eachDatum visits every stated datum below a message, except what says which thing it is and how things are joined.
func eachDatum(m protoreflect.Message, name string, visit func(name string, clear, restore func())) {
	var fields []protoreflect.FieldDescriptor
	m.Range(func(f protoreflect.FieldDescriptor, _ protoreflect.Value) bool {
		fields = append(fields, f)
		return true
	})
	for _, f := range fields {
		path := name + "." + string(f.Name())
		v := m.Get(f)
		switch {
		case f.Name() == "tag", f.Name() == "route", f.Name() == "id", f.Name() == "name":
		case f.IsList() && f.Message() != nil:
			for i := range v.List().Len() {
				eachDatum(v.List().Get(i).Message(), fmt.Sprintf("%s[%d]", path, i), visit)
			}
		case f.Message() != nil:
			eachDatum(v.Message(), path, visit)
		default:
			visit(path, func() { m.Clear(f) }, func() { m.Set(f, v) })
		}
	}
}
