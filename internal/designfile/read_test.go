package designfile_test

import (
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/designfile"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// hatchery is an invented design with every spelling in it.
func hatchery(t testing.TB) []byte {
	t.Helper()
	data, err := os.ReadFile("testdata/hatchery.yaml")
	require.NoError(t, err)
	return data
}

func TestReadHatchery(t *testing.T) {
	f, err := designfile.Read("hatchery.yaml", hatchery(t))
	require.NoError(t, err)
	assert.Equal(t, designfile.YAML, f.Form)
	assert.Len(t, f.Design.GetComponents(), 29)
	assert.Equal(t, 640.0, f.Design.GetBasis().GetAltitudeM())

	number := func(path string) float64 {
		t.Helper()
		field, err := designfile.FieldAt(f.Design, path)
		require.NoError(t, err)
		v, ok := field.Number()
		require.True(t, ok, path)
		return v
	}
	assert.Equal(t, 10e5, number("components.CV-2.max_pressure"))
	assert.Equal(t, 3000.0, number("components.CV-1.check_valve.opening_pressure"))
	assert.Equal(t, 285.65, number("basis.water_temperature"))
	assert.Equal(t, 5000.0, number("assumptions[0].high"), "in the unit of the datum that the assumption names")
	assert.Equal(t, 3.0, number("assumptions[1].high"))

	line := f.Design.GetLines()[1]
	assert.Equal(t, "ozone_gas", line.GetRoute()[0].GetLeave())
	assert.Equal(t, "suction", line.GetRoute()[6].GetEnter())
	assert.Equal(t, "12 mm", line.GetSize().GetDesignation())
	water := f.Design.GetLines()[2].GetRoute()[4]
	assert.Equal(t, "motive_inlet", water.GetEnter())
	assert.Equal(t, "outlet", water.GetLeave())

	acts := f.Design.GetComponents()[6].GetController().GetTrips()
	assert.Equal(t, []string{"AV-1"}, acts[0].GetCloses(), "a single value stands for a list of one")
	assert.Equal(t, skidrulev1.TripCondition_TRIP_CONDITION_HIGH_TRAP_LEVEL, acts[1].GetCondition())
}

func TestReadPositions(t *testing.T) {
	f, err := designfile.Read("hatchery.yaml", hatchery(t))
	require.NoError(t, err)
	for path, want := range map[string]designfile.Position{
		"components.CV-2.max_pressure":            {Line: 75, Column: 19, EndLine: 75, EndColumn: 28, Text: "10 bar(g)"},
		"lines.G-2.route[2]":                      {Line: 117, Column: 40, EndLine: 117, EndColumn: 44, Text: "AV-1"},
		"components.P-1":                          {Line: 80, Column: 3, EndLine: 80, EndColumn: 6, Text: "P-1"},
		"components.CV-2.ports.outlet.size":       {Line: 76, Column: 73, EndLine: 76, EndColumn: 81, Text: "OD 12 mm"},
		"components.OG-1.shares_cause[0]":         {Line: 39, Column: 19, EndLine: 39, EndColumn: 29, Text: "main power"},
		"basis.water_temperature":                 {Line: 11, Column: 22, EndLine: 11, EndColumn: 29, Text: "12.5 °C"},
		"components.CTL-1.controller.trips[1].on": {Line: 64, Column: 16, EndLine: 64, EndColumn: 21, Text: "LSH-1"},
	} {
		got, ok := f.Positions.Find(path)
		require.True(t, ok)
		want.File, want.Path = "hatchery.yaml", path
		assert.Equal(t, want, got)
		assert.True(t, f.Positions.Has(path))
	}

	missing, ok := f.Positions.Find("components.CV-2.elevation")
	require.True(t, ok)
	assert.Equal(t, "components.CV-2", missing.Path, "the nearest element around a missing one")
	assert.Equal(t, 72, missing.Line)

	whole, ok := f.Positions.Extent("components.P-1")
	require.True(t, ok)
	assert.Equal(t, [4]int{80, 3, 91, 42}, [4]int{whole.Line, whole.Column, whole.EndLine, whole.EndColumn})
}
