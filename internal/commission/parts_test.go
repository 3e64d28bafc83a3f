package commission

import (
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/proto"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/operate"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// componentOf is the place of a component in the resolved design.
func componentOf(t testing.TB, s *Skid, tag string) int32 {
	t.Helper()
	c, ok := s.plant.FindComponent(tag)
	require.True(t, ok, tag)
	return c
}

// A float under vacuum has the vacuum of its trap across it, and what the check valve in its drain holds before it opens.
func TestFloatIsJudgedByThePressureAcrossIt(t *testing.T) {
	s := skid(t, design(t, demo))
	r := rowsOf(t, s, "normal")["LT-1"]
	require.Less(t, r.GetHigh(), 0.)
	held := s.plant.Components[componentOf(t, s, "CV-3")].Data.GetCheckValve().GetOpeningPressurePa()
	require.Positive(t, held)
	across := held - r.GetLow()
	assert.Contains(t, strings.Join(r.Notes, "\n"), "its float can open: at most "+difference(across)+" across it")
	weak := bare(t, "LT-1", func(c *skidrulev1.Component) { c.GetLiquidTrap().MaxFloatDifferencePa = proto.Float64(across / 2) })
	r = rowsOf(t, skid(t, weak), "normal")["LT-1"]
	assert.Contains(t, strings.Join(r.Notes, "\n"), "its float may be held shut: "+difference(across)+" across it")
}

// What an instrument is told of lies before it: neither of the water behind the injector nor of the gas behind the destruct.
func TestUpstreamGoesAgainstTheFlow(t *testing.T) {
	s := skid(t, design(t, demo))
	before := func(tag string, kinds ...plant.Kind) string {
		c, ok := s.upstream(s.plant.Components[componentOf(t, s, tag)].FirstPort, kinds...)
		if !ok {
			return ""
		}
		return s.plant.Components[c].Tag
	}
	assert.Equal(t, "P-1", before("PI-1", plant.KindPump))
	assert.Equal(t, "INJ-1", before("PI-2", plant.KindVenturiInjector))
	assert.Equal(t, "OD-1", before("GA-1", plant.KindOzoneDestruct))
	assert.Empty(t, before("PI-1", plant.KindVenturiInjector), "the injector lies behind the gauge")
	assert.Empty(t, before("PI-2", plant.KindContactVessel), "the vessel lies behind the gauge")
	assert.Empty(t, before("GA-1", plant.KindAtmosphereVent))

	// At a junction the lines that lead away from it share its port with the one that comes.
	f, err := designfile.Read("junction.yaml", []byte(`skidrule: v1
name: a probe at a junction before a vessel
basis: {atmospheric_pressure: 1.013 bar(a), water_temperature: 15 degC}
components:
  WI-1: {boundary: {service: process_water, role: source, pressure: 1 bar(g)}, elevation: 0 m}
  J-1: {junction: {}, elevation: 0 m}
  AE-1: {ozone_probe: {}, elevation: 0 m}
  T-1: {open_tank: {}, elevation: 0 m}
lines:
  W-1: {route: [WI-1, J-1], service: process_water}
  W-2: {route: [J-1, T-1.inlet], service: process_water}
  W-3: {route: [J-1, AE-1], service: process_water}
`))
	require.NoError(t, err)
	s = skid(t, f.Design)
	assert.Equal(t, "WI-1", before("AE-1", plant.KindBoundary))
	assert.Empty(t, before("AE-1", plant.KindOpenTank), "the tank lies behind the junction")
}

// A gas supply between full and nearly empty is solved in the middle, and may lose all of that and no more.
func TestGasSupplyMayLoseWhatItIsSolvedAt(t *testing.T) {
	s := skid(t, design(t, "cylinder-pressure-fed"))
	x := caseAt(t, s, "normal")
	st, err := s.solver.Case(t.Context(), x)
	require.NoError(t, err)
	tried := 0
	for c := range s.plant.Components {
		comp := &s.plant.Components[c]
		if comp.Kind != plant.KindGasSupply {
			continue
		}
		tried++
		d := comp.Data.GetGasSupply()
		require.NotNil(t, d.PressurePaGauge, comp.Tag)
		solvedAt := d.GetPressurePaGauge()
		if d.MinPressurePaGauge != nil {
			solvedAt = (d.GetPressurePaGauge() + d.GetMinPressurePaGauge()) / 2
		}
		list := s.componentCauses(int32(c), st)
		require.Len(t, list, 1, comp.Tag)
		assert.Equal(t, "weak_gas_supply", list[0].id)
		assert.InEpsilon(t, -solvedAt, list[0].sizes[len(list[0].sizes)-1], 1e-12)
		assert.True(t, slices.IsSortedFunc(list[0].sizes, func(a, b float64) int { return int(math.Copysign(1, b-a)) }))
	}
	require.Positive(t, tried)
}

// A meter of which no range is stated says which datum that is; one of which it is stated lacks none.
func TestMeterNamesItsMissingRange(t *testing.T) {
	s := skid(t, design(t, demo))
	q := s.meter(componentOf(t, s, "FM-1"))
	require.NotNil(t, q.rangeHigh)
	assert.Empty(t, q.rangeMissing)
	assert.Equal(t, "gas flow", q.shows)
	s = skid(t, bare(t, "FM-1", func(c *skidrulev1.Component) { c.GetFlowMeter().GasRangeHighMolPerS = nil }))
	q = s.meter(componentOf(t, s, "FM-1"))
	assert.Nil(t, q.rangeHigh)
	assert.Equal(t, []string{"components.FM-1.flow_meter.gas_range_high"}, q.rangeMissing)
}

// Causes that no instrument of the design tells apart name each other, and only those that lead; a gauge that shows wrong is
// told from the others by reading it again.
func TestCausesThatLookAlikeNameEachOther(t *testing.T) {
	b := newBench(t)
	list := []*skidrulev1.SiteReading{}
	for k, at := range b.read {
		v := b.x.places[at].exact(b.x.best)
		if k == 3 { // less suction than designed
			v += 10 * b.limit[k]
		}
		list = append(list, sent(b.x.places[at], v))
	}
	d := diagnose(t, b.Skid, list...)
	titles, named := map[string][]string{}, 0
	for _, c := range d.Causes {
		titles[c.Title] = c.Alike
		named += len(c.Alike)
		assert.True(t, c.Leads || len(c.Alike) == 0, c.Title)
	}
	require.Positive(t, named)
	for title, alike := range titles {
		if strings.HasSuffix(title, ": shows wrong") {
			assert.Empty(t, alike, title)
		}
		for _, other := range alike {
			assert.Contains(t, titles[other], title)
			assert.NotContains(t, other, ": shows wrong")
		}
	}
	assert.Contains(t, titles["G-2: air leaks in between TE-3 and INJ-1"], "G-2: air leaks in between OG-1 and TE-3")
}

// What is lost between two places is as uncertain as a rectangular distribution of its own size, variance a²/3 (JCGM 100:2008,
// 4.3.7), and what moves it adds to that.
func TestUncertaintyBetweenTwoPlaces(t *testing.T) {
	b := newBench(t)
	gauge := &b.x.places[b.read[0]]
	require.Equal(t, "PI-1", gauge.label)
	inlet := b.tapped(b.plant.Components[b.x.injectors[0]].FirstPort)
	drop := gauge.exact(b.x.best) - inlet.exact(b.x.best)
	low, ok := operate.Height(b.plant, gauge.port)
	require.True(t, ok)
	high, ok := operate.Height(b.plant, inlet.port)
	require.True(t, ok)
	drop -= b.x.best.Density * 9.80665 * (high - low)
	require.Greater(t, math.Abs(drop), 1.)
	alone := *b.x
	alone.ends = nil
	bare := (&diagnosis{skid: b.Skid, x: &alone}).between(gauge, &inlet)
	assert.InEpsilon(t, math.Abs(drop)/math.Sqrt(3), bare, 1e-9)
	whole := (&diagnosis{skid: b.Skid, x: b.x}).between(gauge, &inlet)
	require.NotEmpty(t, b.x.ends)
	assert.Greater(t, whole, bare)
}
