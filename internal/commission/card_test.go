package commission

import (
	"context"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/proto"

	"github.com/skidrule/skidrule/internal/operate"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

func caseAt(t testing.TB, s *Skid, id string) int {
	t.Helper()
	i := slices.IndexFunc(s.world.Cases, func(c operate.Case) bool { return c.ID == id })
	require.GreaterOrEqual(t, i, 0, id)
	return i
}

// rowsOf gives the rows of a case by tag.
func rowsOf(t testing.TB, s *Skid, id string) map[string]*skidrulev1.ExpectedReading {
	t.Helper()
	card, err := s.Card(context.Background(), []int{caseAt(t, s, id)})
	require.NoError(t, err)
	require.Len(t, card.Cases, 1)
	out := map[string]*skidrulev1.ExpectedReading{}
	for _, r := range card.Cases[0].Readings {
		require.NotContains(t, out, r.Tag, id)
		out[r.Tag] = r
	}
	return out
}

// Every instrument, trap, pot, vent and destruct that is joined has its row in every case that can occur, and each row says a value
// between its ends, or why there is none, or how the part behaves.
func TestEveryInstrumentHasItsRow(t *testing.T) {
	wanted := []plant.Kind{plant.KindPressureGauge, plant.KindPressureSwitch, plant.KindFlowMeter, plant.KindFlowSwitch, plant.KindLevelSwitch, plant.KindTemperatureSwitch, plant.KindLiquidTrap,
		plant.KindKnockOutPot, plant.KindFloatVentValve, plant.KindOzoneDestruct, plant.KindOzoneProbe, plant.KindGasAnalyser, plant.KindAmbientOzoneMonitor, plant.KindAmbientOxygenMonitor}
	for _, name := range []string{demo, "cylinder-pressure-fed", "inline-degassing", "twin-generator-manifold", "wall-unit-air-fed", "atmospheric-tank"} {
		s := skid(t, design(t, name))
		var all []int
		for i := range s.world.Cases {
			all = append(all, i)
		}
		card, err := s.Card(context.Background(), all)
		require.NoError(t, err)
		require.Len(t, card.Cases, len(all))
		for i, c := range card.Cases {
			if s.world.Cases[i].Excluded != "" {
				assert.Equal(t, s.world.Cases[i].Excluded, c.ExcludedBecause)
				assert.Empty(t, c.Readings)
				continue
			}
			for k := range s.plant.Components {
				comp := &s.plant.Components[k]
				if !slices.Contains(wanted, comp.Kind) {
					continue
				}
				found := slices.ContainsFunc(c.Readings, func(r *skidrulev1.ExpectedReading) bool { return r.Tag == comp.Tag })
				assert.True(t, found, "%s, %s: %s", name, c.Id, comp.Tag)
			}
			for _, r := range c.Readings {
				at := name + " " + c.Id + " " + r.Tag
				require.NotEmpty(t, r.Shows, at)
				require.True(t, r.Best != nil || r.Low != nil || r.UnknownBecause != "" || r.Expected != "", at)
				if r.UnknownBecause != "" {
					require.Nil(t, r.Best, at)
					require.True(t, strings.HasPrefix(r.UnknownBecause, "unknown, because "), "%s: %s", at, r.UnknownBecause)
				}
				for _, x := range []*float64{r.Low, r.Best, r.High, r.SpanLowRatio, r.SpanHighRatio} {
					require.False(t, x != nil && (math.IsNaN(*x) || math.IsInf(*x, 0)), at)
				}
				if r.Low != nil && r.Best != nil && r.High != nil {
					require.LessOrEqual(t, *r.Low, *r.Best, at)
					require.LessOrEqual(t, *r.Best, *r.High, at)
				}
			}
		}
	}
}

// What the main demo shows in the cases that matter: numbers of the hand calculation stand in the note; here it is how they move.
func TestCasesOfTheDemo(t *testing.T) {
	s := skid(t, design(t, demo))
	normal, stopped, feed, cold, failed := rowsOf(t, s, "normal"), rowsOf(t, s, "pump_stopped"), rowsOf(t, s, "feed_shut"), rowsOf(t, s, "cold_destruct"), rowsOf(t, s, "barrier_failed")
	assert.Equal(t, "does not act", normal["PS-1"].Expected)
	assert.Equal(t, "does not act", normal["FS-1"].Expected)
	assert.Equal(t, "acts", stopped["PS-1"].Expected, "no suction without water")
	assert.Equal(t, "acts", stopped["FS-1"].Expected)
	assert.Zero(t, stopped["INJ-1"].GetBest(), "the pump stands")
	assert.InDelta(t, normal["PI-1"].GetBest(), feed["PI-1"].GetBest(), 100)
	assert.InDelta(t, -0.7e5, feed["INJ-1.suction"].GetBest(), 100, "the suction curve ends at -0.7 bar(g)")
	assert.InDelta(t, 343.15, normal["OD-1"].GetBest(), 1e-9, "the set temperature is 70 degC")
	assert.Greater(t, normal["OD-1"].GetHigh(), 600., "ozone heats the bed")
	assert.Less(t, cold["OD-1"].GetLow(), 279.)
	assert.Equal(t, "acts", rowsOf(t, s, "loss_of_power")["TSL-1"].Expected, "the bed is cold")
	assert.Contains(t, failed["LSH-1"].Expected, "acts once water")
	assert.InDelta(t, 0.584, normal["PI-1"].GetSpanLowRatio(), 0.002)
	assert.True(t, normal["INJ-1.suction"].NoInstrument)
	assert.Contains(t, normal["PI-1"].IfBelow, "P-1: pump worn, or turning slower")
	assert.Contains(t, normal["PI-1"].IfAbove, "INJ-1: throat fouled")
	assert.Contains(t, normal["PI-2"].IfBelow, "INJ-1: throat fouled")
	assert.Contains(t, normal["INJ-1.suction"].IfBelow, "CV-1: check valve stuck shut or nearly so")
	assert.Contains(t, normal["INJ-1.suction"].IfAbove, "G-2: air leaks in between TE-3 and INJ-1")
	assert.Empty(t, stopped["PI-1"].IfBelow)
}

// Each datum that a row rests on makes that row unknown by name when it is taken away, and says nothing that was not stated.
func TestCardNamesWhatIsMissing(t *testing.T) {
	for _, row := range []struct {
		tag, missing string
		take         func(c *skidrulev1.Component)
	}{
		{"PS-1", "components.PS-1.pressure_switch.set_point", func(c *skidrulev1.Component) { c.GetPressureSwitch().SetPointPaGauge = nil }},
		{"PS-1", "components.PS-1.pressure_switch.acts_on", func(c *skidrulev1.Component) { c.GetPressureSwitch().ActsOn = 0 }},
		{"FS-1", "components.FS-1.flow_switch.liquid_set_point", func(c *skidrulev1.Component) { c.GetFlowSwitch().LiquidSetPointM3PerS = nil }},
		{"LT-1", "components.LT-1.liquid_trap.max_float_difference", func(c *skidrulev1.Component) { c.GetLiquidTrap().MaxFloatDifferencePa = nil }},
		{"LT-1", "components.LT-1.liquid_trap.gas_seal", func(c *skidrulev1.Component) { c.GetLiquidTrap().GasSeal = nil }},
		{"OD-1", "components.OD-1.ozone_destruct.heated", func(c *skidrulev1.Component) { c.GetOzoneDestruct().Heated = nil }},
		{"OD-1", "components.OD-1.ozone_destruct.set_temperature", func(c *skidrulev1.Component) { c.GetOzoneDestruct().SetTemperatureK = nil }},
		{"TSL-1", "components.TSL-1.temperature_switch.set_point", func(c *skidrulev1.Component) { c.GetTemperatureSwitch().SetPointK = nil }},
		{"TSL-1", "components.TSL-1.temperature_switch.watches", func(c *skidrulev1.Component) { c.GetTemperatureSwitch().Watches = "" }},
		{"LSH-1", "components.LSH-1.level_switch.watches", func(c *skidrulev1.Component) { c.GetLevelSwitch().Watches = "" }},
		{"LSH-1", "components.LSH-1.level_switch.acts_on", func(c *skidrulev1.Component) { c.GetLevelSwitch().ActsOn = 0 }},
		{"AOZ-1", "components.AOZ-1.ambient_ozone_monitor.detection_limit", func(c *skidrulev1.Component) { c.GetAmbientOzoneMonitor().DetectionLimitMoleFraction = nil }},
	} {
		own := bare(t, row.tag, row.take)
		r := rowsOf(t, skid(t, own), "normal")[row.tag]
		require.NotNil(t, r, row.tag)
		assert.Contains(t, r.Missing, row.missing)
		said := strings.Join(append(append([]string{r.UnknownBecause, r.Expected}, r.Notes...), ""), "\n")
		assert.Contains(t, said, row.missing)
	}
	gauge := rowsOf(t, skid(t, bare(t, "PI-1", func(c *skidrulev1.Component) { c.GetPressureGauge().RangeHighPaGauge = nil })), "normal")["PI-1"]
	assert.NotNil(t, gauge.Best, "the pressure is known")
	assert.Nil(t, gauge.SpanLowRatio)
	assert.Contains(t, strings.Join(gauge.Notes, "\n"), "components.PI-1.pressure_gauge.range_high is not stated")
}

// bare is the main demo with one component that states all of its part's data itself but for what is taken away.
func bare(t testing.TB, tag string, take func(*skidrulev1.Component)) *skidrulev1.Design {
	t.Helper()
	own := proto.CloneOf(design(t, demo))
	full := skid(t, own)
	i, ok := full.plant.FindComponent(tag)
	require.True(t, ok, tag)
	for k, c := range own.Components {
		if c.GetTag() == tag {
			whole := proto.CloneOf(full.plant.Components[i].Data)
			whole.Tag, whole.Part = tag, ""
			take(whole)
			own.Components[k] = whole
		}
	}
	return own
}

// A gauge that is too small says so.
func TestGaugeBeyondItsRange(t *testing.T) {
	own := bare(t, "PI-1", func(c *skidrulev1.Component) { c.GetPressureGauge().RangeHighPaGauge = proto.Float64(2.5e5) })
	r := rowsOf(t, skid(t, own), "normal")["PI-1"]
	assert.Greater(t, r.GetSpanLowRatio(), 1.)
	assert.Contains(t, r.Notes, "above its range: the pointer stands at the upper stop or beyond")
}
