package commission

import (
	"context"
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/catalogue"
	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/fact"
	"github.com/skidrule/skidrule/internal/operate"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

const demo = "hatchery-side-stream"

// design reads one of the designs of the project.
func design(t testing.TB, name string) *skidrulev1.Design {
	t.Helper()
	data, err := os.ReadFile("../../testdata/" + name + "/design.yaml")
	require.NoError(t, err)
	f, err := designfile.Read("design.yaml", data)
	require.NoError(t, err)
	return f.Design
}

// skid prepares a design.
func skid(t testing.TB, d *skidrulev1.Design) *Skid {
	t.Helper()
	p, problems := plant.Resolve(d, plant.Catalogues{catalogue.Parts()})
	require.Empty(t, problems)
	cases, wrong := operate.Cases(p)
	require.Empty(t, wrong)
	s, err := New(context.Background(), fact.NewWorld(p, cases))
	require.NoError(t, err)
	return s
}

// sent makes a reading of a place.
func sent(q place, value float64) *skidrulev1.SiteReading {
	r := &skidrulev1.SiteReading{Place: q.label}
	switch q.dimension.Name() {
	case "pressure_gauge":
		r.Value = &skidrulev1.SiteReading_PressurePaGauge{PressurePaGauge: value}
	case "liquid_flow":
		r.Value = &skidrulev1.SiteReading_LiquidFlowM3PerS{LiquidFlowM3PerS: value}
	default:
		r.Value = &skidrulev1.SiteReading_GasFlowMolPerS{GasFlowMolPerS: value}
	}
	return r
}

func bar(place string, value float64) *skidrulev1.SiteReading {
	return &skidrulev1.SiteReading{Place: place, Value: &skidrulev1.SiteReading_PressurePaGauge{PressurePaGauge: value * 1e5}}
}

// litres is a gas flow in NL/min; the molar volume is that of an ideal gas at 0 degC and 101.325 kPa (CODATA 2018).
func litres(place string, value float64) *skidrulev1.SiteReading {
	return &skidrulev1.SiteReading{Place: place, Value: &skidrulev1.SiteReading_GasFlowMolPerS{GasFlowMolPerS: value / 60 / 22.41396954}}
}

func diagnose(t testing.TB, s *Skid, list ...*skidrulev1.SiteReading) *skidrulev1.Diagnosis {
	t.Helper()
	d, problems, err := s.Diagnose(context.Background(), 0, list)
	require.NoError(t, err)
	require.Empty(t, problems)
	return d
}
