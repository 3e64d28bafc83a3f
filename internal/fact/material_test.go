package fact_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/fact"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

func replace(text, old, with string) string { return strings.ReplaceAll(text, old, with) }

const ozoneLine = `
components:
  OG-1: {ozone_generator: {}}
  CV-1: {check_valve: {}, body_material: %M%}
  INJ-1: {venturi_injector: {}}
  MX-1: {static_mixer: {}, body_material: %M%}
  WO-1: {boundary: {service: ozonated_water, role: sink}}
lines:
  G-1: {route: [OG-1.ozone_gas, CV-1, INJ-1.suction]}
  W-1: {route: [INJ-1.outlet, MX-1, WO-1]}
`

// Letters of a widely reproduced chemical-resistance table for ozone, read in a public copy.
var tableLetters = map[string]string{
	"stainless_316": "A", "stainless_304": "B", "ptfe": "A", "pvdf": "A", "fkm": "A", "epdm": "A", "silicone": "A", "polycarbonate": "A",
	"cpvc": "A", "pvc_u": "B", "polypropylene": "B", "polyethylene": "C", "chloroprene": "C", "carbon_steel": "C", "aluminium": "B",
	"bronze": "B", "copper": "A", "nbr": "D", "natural_rubber": "D", "polyamide": "D", "acetal": "C", "abs": "B",
}

// Every material is judged; gas is never kinder than water; a good letter alone never counts as resisting strong gas of what
// is not fluorinated or steel; a bad letter never counts as resisting at all.
func TestOzoneRatings(t *testing.T) {
	values := skidrulev1.Material_MATERIAL_UNSPECIFIED.Descriptor().Values()
	trusted := map[string]bool{"stainless_316": true, "stainless_304": true, "ptfe": true, "pvdf": true}
	for i := 1; i < values.Len(); i++ {
		word := designfile.EnumWord(skidrulev1.Material(values.Get(i).Number()))
		t.Run(word, func(t *testing.T) {
			a := drawn(t, replace(ozoneLine, "%M%", word))
			gas, water := a.truth("body_resists", "CV-1").Value, a.truth("body_resists", "MX-1").Value
			assert.Equal(t, "gas", a.text("ozone_service", "CV-1"))
			assert.Equal(t, "water", a.text("ozone_service", "MX-1"))
			if gas == fact.True {
				assert.Equal(t, fact.True, water)
			}
			if water == fact.False {
				assert.Equal(t, fact.False, gas)
			}
			letter, rated := tableLetters[word]
			if !rated {
				letter = "no row"
			}
			assert.Equal(t, letter, a.text("body_rating", "CV-1"))
			switch {
			case letter == "C" || letter == "D":
				assert.Equal(t, fact.False, water)
			case rated:
				assert.Equal(t, fact.True, water)
				assert.Equal(t, trusted[word], gas == fact.True)
			}
		})
	}
}

// Ozone gas stands in dead legs and behind valves that are shut but not locked; not behind a check valve that points away
// from it, a destruct or what is locked shut.
func TestWhereOzoneComes(t *testing.T) {
	a := drawn(t, `
components:
  OG-1: {ozone_generator: {}}
  TE-1: {tee: {}}
  HV-1: {hand_valve: {}, normal_position: closed}
  PG-1: {pressure_gauge: {}}
  TE-2: {tee: {}}
  CV-1: {check_valve: {}}
  PG-2: {pressure_gauge: {}}
  NS-1: {gas_supply: {gas: nitrogen}}
  TE-3: {tee: {}}
  HV-2: {hand_valve: {}, normal_position: closed, locked: true}
  PG-3: {pressure_gauge: {}}
  INJ-1: {venturi_injector: {}}
  CT-1: {contact_vessel: {}}
  KO-1: {knock_out_pot: {}}
  FD-1: {float_drain: {}}
  DR-1: {drain_point: {}}
  OD-1: {ozone_destruct: {}}
  BL-1: {blower: {}}
  AV-1: {atmosphere_vent: {}}
lines:
  G-1: {route: [OG-1.ozone_gas, TE-1.inlet>outlet, TE-2.inlet>outlet, TE-3.inlet>outlet, INJ-1.suction]}
  G-2: {route: [TE-1.branch, HV-1, PG-1]}
  G-3: {route: [NS-1, PG-2, CV-1, TE-2.branch]}
  G-4: {route: [TE-3.branch, HV-2, PG-3]}
  W-1: {route: [INJ-1.outlet, CT-1.inlet]}
  V-1: {route: [CT-1.vent, KO-1.inlet]}
  V-2: {route: [KO-1.gas_outlet, OD-1]}
  V-3: {route: [OD-1.outlet, BL-1, AV-1]}
  D-1: {route: [KO-1.drain, FD-1, DR-1]}
`)
	for tag, want := range map[string]bool{
		"PG-1": true, "HV-1": true, "PG-2": false, "CV-1": true, "PG-3": false, "HV-2": true, "CT-1": true, "KO-1": true, "FD-1": true,
		"OD-1": true, "BL-1": false, "G-3": true, "V-2": true, "V-3": false,
	} {
		assert.Equal(t, want, a.truth("bears_ozone", tag).Value == fact.True, tag)
	}
	assert.Equal(t, "water", a.text("ozone_service", "FD-1"))
	assert.Equal(t, "gas", a.text("ozone_service", "KO-1"))
}

// Many spellings of one plant give one answer.
func TestExposureDoesNotDependOnOrder(t *testing.T) {
	parts := []string{"  OG-1: {ozone_generator: {}}\n", "  CV-1: {check_valve: {}}\n", "  INJ-1: {venturi_injector: {}}\n", "  OC-1: {oxygen_concentrator: {}}\n"}
	lines := []string{"  G-1: {route: [OG-1.ozone_gas, CV-1, INJ-1.suction]}\n", "  O-1: {route: [OC-1.outlet, OG-1.feed_gas]}\n"}
	for shift := range parts {
		text := "components:\n"
		for i := range parts {
			text += parts[(i+shift)%len(parts)]
		}
		text += "lines:\n"
		for i := range lines {
			text += lines[(i+shift)%len(lines)]
		}
		a := drawn(t, text)
		assert.Equal(t, fact.True, a.truth("bears_ozone", "CV-1").Value, fmt.Sprint(shift))
		assert.Equal(t, fact.True, a.truth("in_oxygen", "CV-1").Value, fmt.Sprint(shift))
		assert.Equal(t, fact.True, a.truth("oxygen_fed", "OG-1").Value, fmt.Sprint(shift))
	}
}
