package fact_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

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
