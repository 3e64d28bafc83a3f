package fact_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/fact"
)

// A module is shut off where every main and supply meets a valve on its way to it. Check valves keep out what they point
// away from; open tanks stand under the pressure of the atmosphere.
func TestIsolation(t *testing.T) {
	const frame = `
components:
  WI-1: {boundary: {service: process_water, role: source}}
  %FIRST%
  CT-1: {contact_vessel: {}}
  T-1: {open_tank: {}}
  OD-1: {ozone_destruct: {}}
  AV-1: {atmosphere_vent: {}}
lines:
  W-1: {route: [WI-1, %WAY%]}
  V-1: {route: [%VESSEL%.vent, OD-1]}
  V-2: {route: [OD-1.outlet, AV-1]}
`
	for _, c := range []struct {
		name, first, way, vessel string
		want                     fact.Verdict
	}{
		{"no valve", "XX-1: {strainer: {}}", "XX-1, CT-1.inlet", "CT-1", fact.False},
		{"hand valve", "XX-1: {hand_valve: {}}", "XX-1, CT-1.inlet", "CT-1", fact.True},
		{"check valve that lets pass", "XX-1: {check_valve: {}}", "XX-1, CT-1.inlet", "CT-1", fact.False},
		{"check valve turned round", "XX-1: {check_valve: {}}", "XX-1.outlet>inlet, CT-1.inlet", "CT-1", fact.True},
		{"valve that closes without power", "XX-1: {actuated_valve: {}, fail_position: closed}", "XX-1, CT-1.inlet", "CT-1", fact.True},
		{"valve that opens without power", "XX-1: {actuated_valve: {}, fail_position: open}", "XX-1, CT-1.inlet", "CT-1", fact.False},
		{"valve of unknown kind", "XX-1: {actuated_valve: {}}", "XX-1, CT-1.inlet", "CT-1", fact.Undecided},
		{"open tank", "XX-1: {strainer: {}}", "XX-1, T-1.inlet", "T-1", fact.True},
	} {
		a := drawn(t, replace(replace(replace(frame, "%FIRST%", c.first), "%WAY%", c.way), "%VESSEL%", c.vessel))
		assert.Equal(t, c.want, a.truth("can_be_isolated", "OD-1").Value, c.name)
		if c.want == fact.False {
			assert.Equal(t, []string{"WI-1", "XX-1", "CT-1", "OD-1"}, a.way("live_path", "OD-1"), c.name)
			assert.Equal(t, "inlet", a.text("not_isolated_at", "OD-1"), c.name)
		}
	}
}

func TestJointsThatComeApart(t *testing.T) {
	const frame = `
components:
  OC-1: {oxygen_concentrator: {}}
  UN-1: {union: {}}
  OG-1: {ozone_generator: {}%PORT%}
lines:
  O-1: {route: [OC-1.outlet, %UNION%OG-1.feed_gas], connection: %LINE%}
`
	for _, c := range []struct {
		port, union, line string
		want              fact.Verdict
	}{
		{"", "", "flange", fact.True},
		{"", "", "welded", fact.False},
		{", ports: {feed_gas: {connection: sanitary_clamp}}", "", "welded", fact.True},
		{"", "", "threaded", fact.False},
		{"", "UN-1, ", "threaded", fact.True},
		{", ports: {feed_gas: {connection: solvent_socket}}", "", "flange", fact.False},
		{"", "", "hose", fact.True},
	} {
		a := drawn(t, replace(replace(replace(frame, "%PORT%", c.port), "%UNION%", c.union), "%LINE%", c.line))
		assert.Equal(t, c.want, a.truth("comes_apart", "OG-1").Value, "%+v", c)
	}
}

// Gas of a module leaves by its normal way, a vent or a vented valve; what a shut and locked valve, a check valve turned
// round or a relief valve alone lets out does not count.
func TestLettingDown(t *testing.T) {
	const frame = `
components:
  OG-1: {ozone_generator: {}}
  XX-1: %PART%
  AV-1: {atmosphere_vent: {}}
lines:
  G-1: {route: [OG-1.ozone_gas, %WAY%, AV-1]}
`
	for _, c := range []struct {
		part, way string
		want      fact.Verdict
	}{
		{"{hand_valve: {}}", "XX-1", fact.True},
		{"{hand_valve: {}, normal_position: closed, locked: true}", "XX-1", fact.False},
		{"{check_valve: {}}", "XX-1.outlet>inlet", fact.False},
		{"{relief_valve: {}}", "XX-1", fact.False},
		{"{back_pressure_valve: {}}", "XX-1", fact.True},
	} {
		a := drawn(t, replace(replace(frame, "%PART%", c.part), "%WAY%", c.way))
		assert.Equal(t, c.want, a.truth("can_be_let_down", "OG-1").Value, "%+v", c)
	}
}

// A pump is parted from a vessel where every way of its water meets a valve; gas above the water does not run out. The vessel here
// stays full: it is open to a main.
func TestPartedFromVessels(t *testing.T) {
	const frame = `
components:
  T-1: {contact_vessel: {}}
  XX-1: %PART%
  P-1: {pump: {}}
  VV-1: {float_vent_valve: {}}
  WI-1: {boundary: {service: process_water, role: source}}
lines:
  W-1: {route: [T-1.%PORT%, XX-1, P-1]}
  W-2: {route: [WI-1, T-1.inlet]}
`
	for _, c := range []struct {
		part, port string
		want       fact.Verdict
	}{
		{"{hand_valve: {}}", "outlet", fact.True},
		{"{strainer: {}}", "outlet", fact.False},
		{"{strainer: {}}", "drain", fact.False},
		{"{strainer: {}}", "vent", fact.True},
		{"{check_valve: {}}", "outlet", fact.False},
		{"{actuated_valve: {}, fail_position: closed}", "outlet", fact.True},
		{"{actuated_valve: {}}", "outlet", fact.Undecided},
		{"{actuated_valve: {}, fail_position: open}", "outlet", fact.False},
	} {
		a := drawn(t, replace(replace(frame, "%PART%", c.part), "%PORT%", c.port))
		truth := a.truth("parted_from_full_vessels", "P-1")
		assert.Equal(t, c.want, truth.Value, "%+v", c)
		pump, _ := a.world.Plant.FindComponent("P-1")
		assert.Equal(t, c.want, a.world.PartedFromVessels(pump).Value, "%+v", c)
		if c.want == fact.False {
			assert.Equal(t, "T-1", a.text("vessel_not_parted", "P-1"))
			assert.Equal(t, "inlet", a.text("not_parted_at", "P-1"))
			assert.Equal(t, []string{"T-1", "XX-1", "P-1"}, a.way("vessel_path", "P-1"))
		}
		if c.want == fact.Undecided {
			assert.Equal(t, "components.XX-1.fail_position", truth.Missing[0].Path(a.world.Plant))
		}
	}
}

// A vessel without a valve before the pump stays full where mains come to it past every valve and no drain of its own empties it.
// Its water stands at the pump in every row.
func TestVesselsThatStayFull(t *testing.T) {
	const frame = `
components:
  T-1: {open_tank: {}}
  T-2: {open_tank: {}}
  P-1: {pump: {}}
  WI-1: {boundary: {service: process_water, role: source}}
  HV-1: {hand_valve: {}}
  XV-1: {actuated_valve: {}}
  HV-2: {hand_valve: {}, normal_position: closed, locked: true}
  CV-1: {check_valve: {}}
  TE-1: {tee: {}}
  CP-1: {cap: {}}
  SP-1: {sample_point: {}}
  DR-1: {drain_point: {}}
  WO-1: {boundary: {service: drain_water, role: sink}}
lines:
  W-1: {route: [T-1.outlet, P-1]}
  W-2: {route: [%FEED%T-1.inlet]}
  D-1: {route: [%DRAIN%]}
`
	for _, c := range []struct {
		name, feed, drain string
		want              fact.Verdict
		missing           string
	}{
		{"open main", "WI-1, ", "T-2.drain, DR-1", fact.False, ""},
		{"main behind a valve", "WI-1, HV-1, ", "T-2.drain, DR-1", fact.True, ""},
		{"main behind a valve that may close", "WI-1, XV-1, ", "T-2.drain, DR-1", fact.Undecided, "components.XV-1.fail_position"},
		{"main behind a check valve", "WI-1, CV-1, ", "T-2.drain, DR-1", fact.False, ""},
		{"drain", "WI-1, ", "T-1.drain, DR-1", fact.True, ""},
		{"drain behind a locked valve", "WI-1, ", "T-1.drain, HV-2, DR-1", fact.True, ""},
		{"drain by a tee", "WI-1, ", "T-1.drain, TE-1, DR-1", fact.True, ""},
		{"drain that leaves the drawing", "WI-1, ", "T-1.drain, WO-1", fact.True, ""},
		{"check valve the wrong way", "WI-1, ", "T-1.drain, CV-1.outlet>inlet, DR-1", fact.False, ""},
		{"capped drain", "WI-1, ", "T-1.drain, CP-1", fact.False, ""},
		{"sample point on the drain", "WI-1, ", "T-1.drain, SP-1", fact.False, ""},
		{"overflow is no drain", "WI-1, ", "T-1.overflow, DR-1", fact.False, ""},
		{"through another tank", "WI-1, ", "T-1.drain, T-2.inlet", fact.False, ""},
	} {
		a := drawn(t, replace(replace(frame, "%FEED%", c.feed), "%DRAIN%", c.drain))
		truth := a.truth("parted_from_full_vessels", "P-1")
		assert.Equal(t, c.want, truth.Value, c.name)
		pump, _ := a.world.Plant.FindComponent("P-1")
		assert.Equal(t, fact.False, a.world.PartedFromVessels(pump).Value, c.name)
		if c.want == fact.True {
			assert.Empty(t, a.text("vessel_not_parted", "P-1"), c.name)
			assert.Empty(t, a.way("vessel_path", "P-1"), c.name)
		} else {
			assert.Equal(t, "T-1", a.text("vessel_not_parted", "P-1"), c.name)
			assert.Equal(t, []string{"T-1", "P-1"}, a.way("vessel_path", "P-1"), c.name)
		}
		if c.missing != "" {
			require.Len(t, truth.Missing, 1, c.name)
			assert.Equal(t, c.missing, truth.Missing[0].Path(a.world.Plant), c.name)
		}
	}
}

// The fewest valves are shut, those that can be locked before others, the nearest of equals; a check valve stands in only where no
// valve does, and what cannot be shut off is shut in.
func TestValvesToShut(t *testing.T) {
	const frame = `
components:
  WI-1: {boundary: {service: process_water, role: source}}
  HV-1: {hand_valve: {}}
  HV-2: {hand_valve: {%LOCK%}}
  HV-3: {hand_valve: {%LOCK3%}}
  CV-1: {check_valve: {}}
  P-1: {pump: {}}
  GF-1: {liquid_filter: {}}
lines:
  W-1: {route: [WI-1, %WAY%GF-1]}
`
	for _, c := range []struct {
		name, way, lock2, lock3 string
		valves, checks, with    []string
		shut                    fact.Verdict
	}{
		{"nearest", "HV-1, HV-2, HV-3, ", "", "", []string{"HV-3"}, nil, nil, fact.True},
		{"lockable", "HV-1, HV-2, HV-3, ", "lockable: true", "", []string{"HV-2"}, nil, []string{"HV-3"}, fact.True},
		{"pump shut off as well", "HV-1, P-1, HV-3, ", "", "", []string{"HV-3"}, nil, nil, fact.True},
		{"pump shut in", "HV-1, P-1, ", "", "", []string{"HV-1"}, nil, []string{"P-1"}, fact.True},
		{"valve before check valve", "HV-1, CV-1.outlet>inlet, ", "", "", []string{"HV-1"}, nil, []string{"CV-1"}, fact.True},
		{"check valve alone", "CV-1.outlet>inlet, ", "", "", nil, []string{"CV-1"}, nil, fact.True},
		{"check valve that lets pass", "CV-1, ", "", "", nil, nil, []string{"CV-1"}, fact.False},
		{"nothing", "", "", "", nil, nil, nil, fact.False},
	} {
		a := drawn(t, replace(replace(replace(frame, "%WAY%", c.way), "%LOCK%", c.lock2), "%LOCK3%", c.lock3))
		p := a.world.Plant
		filter, ok := p.FindComponent("GF-1")
		require.True(t, ok)
		iso := a.world.Isolation(filter)
		tags := func(list []int32) []string {
			var out []string
			for _, i := range list {
				out = append(out, p.Components[i].Tag)
			}
			return out
		}
		assert.Equal(t, c.shut, iso.Shut.Value, c.name)
		assert.Equal(t, c.valves, tags(iso.Valves), c.name)
		assert.Equal(t, c.checks, tags(iso.Checks), c.name)
		assert.Equal(t, c.with, tags(iso.With), c.name)
		if c.shut == fact.False {
			assert.Equal(t, []string{"WI-1"}, tags(iso.Open), c.name)
		}
	}
}

// A second row stands behind the first where two valves in a row part a module from ozone; a check valve is no second row.
func TestSecondRowAgainstOzone(t *testing.T) {
	const frame = `
components:
  OG-1: {ozone_generator: {}}
  HV-1: {hand_valve: {}}
  HV-2: {hand_valve: {}}
  CV-1: {check_valve: {}}
  GF-1: {gas_filter: {}}
  CT-1: {contact_vessel: {}}
lines:
  V-1: {route: [CT-1.vent, %WAY%GF-1], service: off_gas}
`
	for _, c := range []struct {
		way    string
		second []string
	}{
		{"HV-1, HV-2, ", []string{"HV-1"}},
		{"HV-1, ", nil},
		{"CV-1, HV-1, ", nil},
	} {
		a := drawn(t, replace(frame, "%WAY%", c.way))
		p := a.world.Plant
		filter, _ := p.FindComponent("GF-1")
		iso := a.world.Isolation(filter)
		require.Len(t, iso.OzoneAt, 1, c.way)
		var second []string
		for _, i := range iso.Second {
			second = append(second, p.Components[i].Tag)
		}
		assert.Equal(t, c.second, second, c.way)
	}
}
