package fact_test

import (
	"math"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/catalogue"
	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/fact"
	"github.com/skidrule/skidrule/internal/operate"
	"github.com/skidrule/skidrule/internal/plant"
)

// A solved case may find more flow before a closing valve than is stated. Without a datum that the case needs this is a question, up to
// the velocity of free discharge by Bernoulli's equation, and not the stated flow.
func TestVelocityBeforeAValveIsOpenWhereNoCaseIsSolved(t *testing.T) {
	const whole = `
basis: {atmospheric_pressure: 1 bar(a), water_temperature: 12 degC, min_water_temperature: 12 degC, max_water_temperature: 12 degC, min_ambient_temperature: 12 degC, max_ambient_temperature: 12 degC}
components:
  WI: {boundary: {service: process_water, role: source, pressure: 2 bar(g), max_pressure: 2 bar(g), liquid_flow: 1 m3/h}}
  XV: {actuated_valve: {actuator: motor, response_time: 10 s, flow_coefficient: 20 Kv}, normal_position: open, fail_position: closed}
  WO: {boundary: {service: process_water, role: sink, pressure: 1 bar(g), max_pressure: 1 bar(g)}}
lines:
`
	const line = "  W-1: {route: [WI, XV], service: process_water, length: 10 m, inner_diameter: 40 mm, loss_coefficient: 1, roughness: 0.05 mm}\n" +
		"  W-2: {route: [XV, WO], service: process_water, length: 10 m, inner_diameter: 40 mm, loss_coefficient: 1"
	stated := 1.0 / 3600 / (3.14159265 / 4 * 0.04 * 0.04)
	d := drawn(t, whole+line+", roughness: 0.05 mm}\n")
	solved := d.number("stopped_velocity", "XV")
	assert.True(t, solved.Known())
	assert.Empty(t, solved.Missing)
	assert.Greater(t, solved.Low, 3*stated, "the pressures drive more than the stated flow")

	d = drawn(t, whole+line+"}\n")
	open := d.number("stopped_velocity", "XV")
	assert.InDelta(t, stated, open.Low, 1e-3)
	assert.Greater(t, open.High, solved.High)
	// 2 bar(g) and at most 1.044 bar of air drive water of 995.7 kg/m3: sqrt(2 * 304364 / 995.7).
	assert.InDelta(t, 24.73, open.High, 0.01)
	assert.Equal(t, []string{"lines.W-2.roughness"}, d.missing(open.Missing))
}

// The same of the gas that comes to a destruct: without a datum of the line before it no case with ozone is solved, and up to what the float
// vents let through may come. Where a blower pulls nothing bounds it.
func TestGasToADestructIsOpenWhereNoCaseIsSolved(t *testing.T) {
	for _, c := range []struct {
		design, without string
		bounded         bool
	}{
		{"hatchery-side-stream", "V-2", true},
		{"atmospheric-tank", "V-2", false},
	} {
		t.Run(c.design, func(t *testing.T) {
			ask := func(without string) (full, generated, burst fact.Number) {
				path := "../../testdata/" + c.design + "/design.yaml"
				data, err := os.ReadFile(path)
				require.NoError(t, err)
				file, err := designfile.Read(path, data)
				require.NoError(t, err)
				for _, l := range file.Design.GetLines() {
					if l.GetTag() == without {
						require.NotNil(t, l.LengthM)
						l.LengthM = nil
					}
				}
				p, _ := plant.Resolve(file.Design, plant.Catalogues{catalogue.Parts()})
				cases, _ := operate.Cases(p)
				w := fact.NewWorld(p, cases)
				d := asked{t, w}
				bare := fact.NewWorld(p, cases)
				bare.StatedOnly = true
				return d.number("full_gas_flow", "OD-1"), asked{t, bare}.number("full_gas_flow", "OD-1"), d.number("burst_flow", "OD-1")
			}
			full, _, _ := ask("")
			assert.True(t, full.Known())
			open, stated, burst := ask(c.without)
			assert.GreaterOrEqual(t, open.Low, stated.Low)
			assert.Greater(t, open.High, full.High)
			assert.NotEmpty(t, open.Missing)
			if c.bounded {
				assert.Equal(t, burst.High, open.High)
			} else {
				assert.Positive(t, open.High)
			}
		})
	}
}

// A solved state outside the injector's table is neither believed nor passed over: the gauge may read that, or what the drawing states
// along the water's way.
func TestGaugeReadsBetweenBothWhereAStateLiesOutsideATable(t *testing.T) {
	path := "../../testdata/mistakes/open-pipe-for-vent/design.yaml"
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	file, err := designfile.Read(path, data)
	require.NoError(t, err)
	ask := func(change func(p *plant.Plant)) asked {
		p, _ := plant.Resolve(file.Design, plant.Catalogues{catalogue.Parts()})
		change(p)
		cases, _ := operate.Cases(p)
		return asked{t, fact.NewWorld(p, cases)}
	}
	whole := ask(func(*plant.Plant) {})
	solved, high := whole.number("lowest_reading", "PI-2"), whole.number("highest_reading", "PI-2")
	assert.Less(t, solved.Low, high.High)
	without := ask(func(p *plant.Plant) {
		c, ok := p.FindComponent("INJ-1")
		require.True(t, ok)
		p.Components[c].Data.GetVenturiInjector().SuctionCurve = nil
	})
	n := without.number("lowest_reading", "PI-2")
	assert.Less(t, n.Low, 2*high.High, "what comes about stays possible")
	assert.Greater(t, n.High, 2*high.High, "and so does what is stated")
	assert.Contains(t, without.missing(n.Missing), "components.INJ-1.venturi_injector.performance")
}

// A point of a generator's table that states no concentration still bears ozone: its output over the mass of the feed, 10 g/h in 10 mol/h
// of air (28.96 g/mol) or oxygen (32.00 g/mol); one that states neither leaves open how strong it is.
func TestStrengthOfAPointWithoutConcentration(t *testing.T) {
	const text = `
components:
  OG: {ozone_generator: {rated_concentration: 1 wt %, output: [{flow: 3.7357 NL/min, OUTPUT}]}}
  OD: {ozone_destruct: {}}
lines:
  G: {route: [OG.ozone_gas, OD], service: ozone_gas}
`
	ask := func(point string) (fact.Number, []string) {
		d := drawn(t, strings.ReplaceAll(text, "OUTPUT", point))
		n := d.number("full_concentration", "OD")
		return n, d.missing(n.Missing)
	}
	n, _ := ask("concentration: 5 wt %")
	assert.Equal(t, fact.Exactly(0.05), n)
	n, missing := ask("output: 10 g/h")
	assert.InDelta(t, 10/320.0, n.Low, 1e-4)
	assert.InDelta(t, 10/289.6, n.High, 1e-4)
	assert.Equal(t, []string{"components.OG.ozone_generator.output"}, missing)
	n, missing = ask("coolant_temperature: 20 degC")
	assert.Equal(t, 0.01, n.Low)
	assert.True(t, math.IsInf(n.High, 1))
	assert.Equal(t, []string{"components.OG.ozone_generator.output"}, missing)
}
