package draft_test

import (
	"context"
	"maps"
	"math"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
	"pgregory.net/rapid"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/draft"
	"github.com/skidrule/skidrule/internal/engine"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

var oneEngine = sync.OnceValues(engine.New)

func testEngine(t require.TestingT) *engine.Engine {
	e, err := oneEngine()
	require.NoError(t, err)
	return e
}

// hatchery is a demand that states everything a rule may ask of a site.
const hatchery = `
name: Brook Hollow, loop A
basis: {altitude: 340 m, min_water_temperature: 5 degC, water_temperature: 12 degC, max_water_temperature: 17 degC,
  min_ambient_temperature: 5 degC, max_ambient_temperature: 30 degC, treated_flow: 90 m3/h, min_treated_flow: 70 m3/h,
  max_treated_flow: 100 m3/h, transferred_dose: 0.2 mg/L, ozone_demand: 0.15 mg/L, ozone_decay: 0.02 1/s, target_residual: 0.2 mg/L,
  max_residual: 1 mg/L, target_log_giardia: 0, target_log_virus: 0, target_log_cryptosporidium: 0, bromide: 20 ug/L,
  water_use: aquaculture, max_gas_saturation: 108 %, max_gas_to_liquid: 0.25, joined_to_drinking_water: false, room_volume: 120 m3,
  room_air_changes: 6 1/h, ozone_exposure_limit: 0.1 ppmv, letter_scheme: isa}
supply_pressure: 1.1 bar(g)
min_supply_pressure: 0.9 bar(g)
max_supply_pressure: 2 bar(g)
return_pressure: 1 bar(g)
min_return_pressure: 0.8 bar(g)
max_return_pressure: 2 bar(g)
open_to_people: false
`

func demandOf(t require.TestingT, text string) *skidrulev1.DraftDemand {
	m := &skidrulev1.DraftDemand{}
	_, err := designfile.Decode([]byte(text), "demand", m, designfile.Options{})
	require.NoError(t, err)
	return m
}

// changed is the hatchery with a change.
func changed(t require.TestingT, change func(*skidrulev1.DraftDemand)) *skidrulev1.DraftDesignRequest {
	m := demandOf(t, hatchery)
	change(m)
	return &skidrulev1.DraftDesignRequest{Demand: m}
}

func target(m *skidrulev1.DraftDemand) {
	b := m.Basis
	b.TreatedFlowM3PerS, b.MinTreatedFlowM3PerS, b.MaxTreatedFlowM3PerS = ptr(12/3600.0), ptr(11/3600.0), ptr(13/3600.0)
	b.TransferredDoseKgPerM3, b.OzoneDemandKgPerM3, b.OzoneDecayPerS = nil, ptr(6e-4), ptr(0.002)
	b.TargetResidualKgPerM3, b.MaxResidualKgPerM3 = ptr(3e-4), ptr(1.5e-3)
	b.TargetLogGiardiaRatio, b.TargetLogVirusRatio = ptr(1), ptr(2)
	b.MaxGasSaturationRatio, b.WaterUse = ptr(1.3), skidrulev1.WaterUse_WATER_USE_PROCESS
}

func gravity(m *skidrulev1.DraftDemand) {
	b := m.Basis
	b.TreatedFlowM3PerS, b.MinTreatedFlowM3PerS, b.MaxTreatedFlowM3PerS = ptr(20/3600.0), ptr(15/3600.0), ptr(24/3600.0)
	b.TransferredDoseKgPerM3, b.OzoneDemandKgPerM3, b.OzoneDecayPerS = ptr(8e-4), ptr(5e-4), ptr(0.002)
	b.TargetResidualKgPerM3, b.MaxGasSaturationRatio, b.WaterUse = ptr(1e-4), ptr(1.3), skidrulev1.WaterUse_WATER_USE_PROCESS
	m.SupplyPressurePaGauge, m.MinSupplyPressurePaGauge, m.MaxSupplyPressurePaGauge = ptr(1e4), ptr(5e3), ptr(1.5e4)
	m.ReturnPressurePaGauge, m.MinReturnPressurePaGauge, m.MaxReturnPressurePaGauge = ptr(1e4), ptr(5e3), ptr(1.5e4)
}

func little(m *skidrulev1.DraftDemand) {
	m.Basis.TreatedFlowM3PerS, m.Basis.MinTreatedFlowM3PerS, m.Basis.MaxTreatedFlowM3PerS = ptr(20/3600.0), ptr(16/3600.0), ptr(24/3600.0)
	m.Basis.OzoneDecayPerS, m.Basis.TargetResidualKgPerM3 = ptr(0.01), ptr(1e-4)
}

func much(m *skidrulev1.DraftDemand) {
	m.Basis.TreatedFlowM3PerS, m.Basis.MinTreatedFlowM3PerS, m.Basis.MaxTreatedFlowM3PerS = ptr(110/3600.0), ptr(90/3600.0), ptr(120/3600.0)
	m.Basis.TransferredDoseKgPerM3 = ptr(3.5e-4)
}

// The demand chooses the shape by what it asks for, and says why. Parts of the demo catalogue, all invented, that fit the drafted
// places leave nothing broken.
func TestShapes(t *testing.T) {
	t.Parallel()
	e := testEngine(t)
	for _, c := range []struct {
		name    string
		change  func(*skidrulev1.DraftDemand)
		circuit skidrulev1.DraftCircuit
		feed    skidrulev1.DraftFeed
		reason  string
		tags    []string
		open    []string // of what something is asked with demo parts; nil where that is not tried
	}{
		{"a dose into a main", func(*skidrulev1.DraftDemand) {}, 1, 1, "a part of the water takes the ozone under pressure", []string{"CT-1", "OC-1", "VV-1", "P-1"}, []string{}},
		{"an inactivation", target, 2, 1, "every litre has to get the contact time", []string{"RV-1", "DV-1", "AE-1", "VV-2"}, []string{"DV-1", "KO-1"}},
		{"gravity", gravity, 3, 1, "flows by gravity", []string{"T-1", "BL-1", "PS-2", "VB-1", "WS-3"}, []string{"PI-2"}},
		{"little ozone", little, 1, 3, "a concentrator is spared", []string{"AC-1", "DY-1", "PSV-1"}, []string{"FD-1"}},
		{"much ozone", much, 1, 2, "water-cooled cells", []string{"OS-1", "PRV-1", "BPV-1", "PSV-1", "CW-1"}, []string{"CT-1", "CW-1", "CW-2"}},
		{"a feed that is asked for", func(m *skidrulev1.DraftDemand) { m.Feed = 2 }, 1, 2, "asks for this feed gas", []string{"OS-1"}, nil},
		{"a circuit that is asked for", func(m *skidrulev1.DraftDemand) { little(m); m.Circuit = 3 }, 3, 3, "asks for this way of the water", []string{"T-1", "AC-1"}, nil},
		{"a supply that needs no pump", func(m *skidrulev1.DraftDemand) {
			m.SupplyPressurePaGauge, m.MinSupplyPressurePaGauge, m.MaxSupplyPressurePaGauge = ptr(5e5), ptr(4.5e5), ptr(6e5)
		}, 1, 1, "is enough for the injector", []string{"CT-1"}, nil},
	} {
		request := changed(t, c.change)
		d, err := draft.Draft(context.Background(), e, request)
		require.NoError(t, err, c.name)
		assert.Equal(t, c.circuit, d.Circuit, c.name)
		assert.Equal(t, c.feed, d.Feed, c.name)
		assert.Contains(t, strings.Join(d.Reasons, " "), c.reason, c.name)
		assert.Contains(t, strings.Join(strings.Fields(strings.ReplaceAll(d.Text, "#", "")), " "), c.reason, "%s: the head of the file says why", c.name)
		tags := map[string]bool{}
		for _, x := range d.Design.Components {
			tags[x.Tag] = true
			assert.Empty(t, x.Part, c.name)
			assert.Nil(t, x.MaxPressurePaGauge, "%s: %s states a rating that only its maker knows", c.name, x.Tag)
			assert.Zero(t, x.BodyMaterial, "%s: %s states a material that only its maker knows", c.name, x.Tag)
		}
		for _, tag := range c.tags {
			assert.True(t, tags[tag], "%s: no %s", c.name, tag)
		}
		assert.Equal(t, strings.Contains(c.name, "no pump"), !tags["P-1"], c.name)
		headed := slices.ContainsFunc(d.Sizes, func(s *skidrulev1.DraftSize) bool { return s.Label == "head of the pump" })
		assert.Equal(t, tags["P-1"], headed, "%s: a pump is sized where there is one", c.name)
		assertVentsStandHigh(t, d.Design, c.name)
		assert.Empty(t, d.Findings, c.name)
		assert.Empty(t, d.Picks, c.name)
		assert.NotEmpty(t, d.Cautions, c.name)
		if c.open == nil {
			continue
		}
		request.Parts = skidrulev1.DraftParts_DRAFT_PARTS_DEMO
		d, err = draft.Draft(context.Background(), e, request)
		require.NoError(t, err, c.name)
		assert.Empty(t, d.Findings, c.name)
		asked := map[string]bool{}
		for _, q := range d.Questions {
			asked[strings.Split(q.Path, ".")[1]] = true
		}
		assert.ElementsMatch(t, c.open, slices.Collect(maps.Keys(asked)), c.name)
	}
}

// assertVentsStandHigh demands that each float vent stands above the port that it vents: gas rises to it, and water runs back.
func assertVentsStandHigh(t *testing.T, d *skidrulev1.Design, name string) {
	t.Helper()
	part, port := map[string]float64{}, map[string]float64{}
	vented := 0
	for _, c := range d.Components {
		part[c.Tag] = c.GetElevationM()
		for _, p := range c.Ports {
			if p.ElevationM != nil {
				port[c.Tag+"."+p.Name] = p.GetElevationM()
			}
		}
		if c.GetFloatVentValve() != nil {
			vented++
		}
	}
	for _, l := range d.Lines {
		from := l.Route[0].GetTag() + "." + l.Route[0].GetLeave()
		for _, stop := range l.Route[1:] {
			if strings.HasPrefix(stop.GetTag(), "VV-") && strings.HasSuffix(from, ".vent") {
				require.Contains(t, port, from, name)
				assert.Greater(t, part[stop.GetTag()], port[from], "%s: %s over %s", name, stop.GetTag(), from)
				vented--
			}
		}
	}
	assert.Zero(t, vented, "%s: a float vent that vents nothing", name)
}

// A demand of middle size that states its whole site checks clean with demo parts: every outcome that applies is met.
func TestDemoPartsCheckClean(t *testing.T) {
	t.Parallel()
	e := testEngine(t)
	request := changed(t, func(*skidrulev1.DraftDemand) {})
	request.Parts = skidrulev1.DraftParts_DRAFT_PARTS_DEMO
	d, err := draft.Draft(context.Background(), e, request)
	require.NoError(t, err)
	file, err := designfile.Read("draft.yaml", []byte(d.Text))
	require.NoError(t, err)
	require.True(t, proto.Equal(d.Design, file.Design))
	report, err := e.Check(context.Background(), &skidrulev1.CheckDesignRequest{Design: file.Design})
	require.NoError(t, err)
	assert.Empty(t, report.Findings)
	assert.Zero(t, report.Coverage.NotVerifiable)
	assert.Zero(t, report.Coverage.Failed)
	assert.Greater(t, report.Coverage.Met, int32(800))
	assert.Empty(t, d.Questions)
	assert.Empty(t, d.Design.Assumptions, "the picked vessel states what was assumed of a made one")
	for _, c := range d.Design.Components {
		if c.GetBoundary() == nil {
			assert.NotEmpty(t, c.Part, c.Tag)
		}
	}
}

// What the caller's own catalogue has goes before the demo entry of the same size.
func TestOwnPartsGoFirst(t *testing.T) {
	t.Parallel()
	own := &skidrulev1.Catalogue{Name: "own", Origin: "invented"}
	own.Entries = append(own.Entries, &skidrulev1.CatalogueEntry{Id: "own/stop", Data: &skidrulev1.Component{Spec: &skidrulev1.Component_EmergencyStop{EmergencyStop: &skidrulev1.EmergencyStop{}}}})
	request := changed(t, func(*skidrulev1.DraftDemand) {})
	request.Catalogue = own
	for parts, picks := range map[skidrulev1.DraftParts]int{skidrulev1.DraftParts_DRAFT_PARTS_OWN: 1, skidrulev1.DraftParts_DRAFT_PARTS_DEMO: 46} {
		request.Parts = parts
		d, err := draft.Draft(context.Background(), testEngine(t), request)
		require.NoError(t, err)
		assert.Len(t, d.Picks, picks)
		found := false
		for _, p := range d.Picks {
			assert.NotEmpty(t, p.Why)
			found = found || p.Tag == "ES-1" && p.Part == "own/stop"
		}
		assert.True(t, found)
	}
	request.Parts, request.Catalogue = skidrulev1.DraftParts_DRAFT_PARTS_OWN, nil
	_, err := draft.Draft(context.Background(), testEngine(t), request)
	assert.ErrorContains(t, err, "there is none")
	request.Parts = 77
	_, err = draft.Draft(context.Background(), testEngine(t), request)
	assert.ErrorContains(t, err, "no source of parts 77")
}

// Each refusal names the datum, says what is wrong and what would be right.
func TestRefusals(t *testing.T) {
	t.Parallel()
	e := testEngine(t)
	for _, c := range []struct {
		name                string
		change              func(*skidrulev1.DraftDemand)
		path, message, mend string
	}{
		{"no flow", func(m *skidrulev1.DraftDemand) { m.Basis.TreatedFlowM3PerS = nil }, "basis.treated_flow", "not stated", "every draft needs it"},
		{"no basis", func(m *skidrulev1.DraftDemand) { m.Basis = nil }, "basis.altitude", "neither the altitude", "needs one"},
		{"no pressure", func(m *skidrulev1.DraftDemand) { m.ReturnPressurePaGauge = nil }, "return_pressure", "not stated", "every draft"},
		{"no dose", func(m *skidrulev1.DraftDemand) { m.Basis.TransferredDoseKgPerM3 = nil }, "basis.transferred_dose", "neither a dose nor a target", "state the ozone"},
		{"a target without a residual", func(m *skidrulev1.DraftDemand) { target(m); m.Basis.TargetResidualKgPerM3 = nil }, "basis.target_residual", "needs the residual", "0.3 mg/L"},
		{"a target without a real residual", func(m *skidrulev1.DraftDemand) { target(m); m.Basis.TargetResidualKgPerM3 = ptr(0) }, "basis.target_residual", "inactivates nothing", "0.3 mg/L"},
		{"boiling", func(m *skidrulev1.DraftDemand) { m.Basis.MaxWaterTemperatureK = ptr(350) }, "basis.max_water_temperature", "76.85 degC is outside", "0 degC to 30 degC"},
		{"ice", func(m *skidrulev1.DraftDemand) { m.Basis.MinWaterTemperatureK = ptr(270) }, "basis.min_water_temperature", "outside", "0 degC"},
		{"turned about", func(m *skidrulev1.DraftDemand) { m.Basis.MinWaterTemperatureK = ptr(290) }, "basis.min_water_temperature", "is above", "exchange"},
		{"too high up", func(m *skidrulev1.DraftDemand) { m.Basis.AltitudeM = ptr(9000) }, "basis.altitude", "outside", "4000 m"},
		{"not a number", func(m *skidrulev1.DraftDemand) { m.Basis.TreatedFlowM3PerS = ptr(math.NaN()) }, "basis.treated_flow", "outside", "state"},
		{"too much pressure", func(m *skidrulev1.DraftDemand) { m.MaxSupplyPressurePaGauge = ptr(20e5) }, "max_supply_pressure", "outside", "8 bar(g)"},
		{"more than dissolves", func(m *skidrulev1.DraftDemand) { m.Basis.TransferredDoseKgPerM3 = ptr(0.04) }, "basis.transferred_dose", "above what dissolves", "at most"},
		{"air for much ozone in much water", func(m *skidrulev1.DraftDemand) {
			proto.Reset(m)
			m.Basis = &skidrulev1.Basis{AltitudeM: ptr(0), TreatedFlowM3PerS: ptr(400 / 3600.), MaxTreatedFlowM3PerS: ptr(480 / 3600.), WaterTemperatureK: ptr(278), TransferredDoseKgPerM3: ptr(4e-3)}
			m.SupplyPressurePaGauge, m.ReturnPressurePaGauge, m.Feed = ptr(0.5e5), ptr(0.5e5), skidrulev1.DraftFeed_DRAFT_FEED_AIR
		}, "basis.transferred_dose", "volumes of gas to one of water", "oxygen in place of air"},
		{"uphill without a pump", func(m *skidrulev1.DraftDemand) { m.NoPump = proto.Bool(true); m.ReturnPressurePaGauge = ptr(1.5e5) }, "no_pump", "does not flow from a lower to a higher pressure", "raise the supply to"},
		{"too little without a pump", func(m *skidrulev1.DraftDemand) { m.NoPump = proto.Bool(true) }, "no_pump", "the injector needs", "leave it out"},
		{"a tank without a pump", func(m *skidrulev1.DraftDemand) { m.NoPump = proto.Bool(true); m.Circuit = 3 }, "no_pump", "the loop round a tank needs a pump", "leave it out"},
		{"a dose that the water eats", func(m *skidrulev1.DraftDemand) { target(m); m.Basis.TransferredDoseKgPerM3 = ptr(6.1e-4) }, "basis.transferred_dose", "0.61 mg/L", "raise it"},
		{"a residual out of reach", func(m *skidrulev1.DraftDemand) { target(m); m.Basis.TransferredDoseKgPerM3 = ptr(1.1e-3) }, "basis.transferred_dose", "is wanted", "raise it to"},
		{"fast decay", func(m *skidrulev1.DraftDemand) {
			target(m)
			m.Basis.TransferredDoseKgPerM3, m.Basis.OzoneDecayPerS = ptr(1e-3), ptr(0.1)
		}, "basis.transferred_dose", "however long the water stays", "raise it above"},
		{"a side stream that stays strong", func(m *skidrulev1.DraftDemand) {
			m.Basis.MaxResidualKgPerM3, m.Basis.OzoneDecayPerS = ptr(1e-6), ptr(1e-5)
		}, "basis.max_residual", "no side stream lets its ozone decay", "dilutes"},
		{"a sea", func(m *skidrulev1.DraftDemand) {
			gravity(m)
			m.Basis.TreatedFlowM3PerS, m.Basis.MaxTreatedFlowM3PerS = ptr(0.27), ptr(0.27)
		}, "basis.treated_flow", "more than", "divide the flow"},
		{"no such circuit", func(m *skidrulev1.DraftDemand) { m.Circuit = 9 }, "circuit", "no circuit 9", "leave it out"},
		{"no such feed", func(m *skidrulev1.DraftDemand) { m.Feed = 9 }, "feed", "no feed 9", "leave it out"},
	} {
		_, err := draft.Draft(context.Background(), e, changed(t, c.change))
		var refused *engine.RequestError
		if !assert.ErrorAs(t, err, &refused, c.name) {
			continue
		}
		found := false
		for _, v := range refused.Violations {
			if v.Path == "demand."+c.path && strings.Contains(v.Message, c.message) && strings.Contains(v.Suggestion, c.mend) {
				found = true
			}
		}
		assert.True(t, found, "%s: %v", c.name, err)
	}
	_, err := draft.Draft(context.Background(), e, &skidrulev1.DraftDesignRequest{})
	assert.ErrorContains(t, err, "no demand")
}

// Every wrong datum is told at once.
func TestRefusalsComeTogether(t *testing.T) {
	t.Parallel()
	_, err := draft.Draft(context.Background(), testEngine(t), &skidrulev1.DraftDesignRequest{Demand: &skidrulev1.DraftDemand{}})
	var refused *engine.RequestError
	require.ErrorAs(t, err, &refused)
	assert.Len(t, refused.Violations, 6)
}

// Whatever numbers a demand holds, it is refused by its form or for what it asks, or the answer is a draft that reads back.
func TestHostileDemands(t *testing.T) {
	t.Parallel()
	e := testEngine(t)
	odd := []float64{math.NaN(), math.Inf(1), math.Inf(-1), 0, -1, 1e-300, 1e300, math.MaxFloat64, 0.5, 1, 1e5, 280}
	rapid.Check(t, func(t *rapid.T) {
		m := demandOf(t, hatchery)
		for range rapid.IntRange(1, 4).Draw(t, "changes") {
			owner := m.ProtoReflect()
			if rapid.Bool().Draw(t, "basis") {
				owner = m.Basis.ProtoReflect()
			}
			fields := owner.Descriptor().Fields()
			fd := fields.Get(rapid.IntRange(0, fields.Len()-1).Draw(t, "field"))
			if fd.Kind() == protoreflect.DoubleKind {
				owner.Set(fd, protoreflect.ValueOfFloat64(rapid.SampledFrom(odd).Draw(t, "value")))
			}
		}
		request := &skidrulev1.DraftDesignRequest{Demand: m}
		if rapid.Bool().Draw(t, "parts") {
			request.Parts = skidrulev1.DraftParts_DRAFT_PARTS_DEMO
		}
		if err := designfile.Check(m, nil, designfile.Options{}); err != nil {
			var problems *designfile.Problems
			require.ErrorAs(t, err, &problems)
			return
		}
		d, err := draft.Draft(context.Background(), e, request)
		if err != nil {
			var refused *engine.RequestError
			require.ErrorAs(t, err, &refused)
			require.NotEmpty(t, refused.Violations)
			return
		}
		file, err := designfile.Read("draft.yaml", []byte(d.Text))
		require.NoError(t, err)
		require.True(t, proto.Equal(d.Design, file.Design), "the file is not the design")
	})
}

// A draft stops when its caller goes away.
func TestDraftEndsWithTheContext(t *testing.T) {
	t.Parallel()
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	_, err := draft.Draft(ctx, testEngine(t), changed(t, func(*skidrulev1.DraftDemand) {}))
	assert.ErrorIs(t, err, context.Canceled)
}
