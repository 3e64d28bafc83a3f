package quantity_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/quantity"
)

// The suffixes are part of the wire format: a change here breaks clients.
func TestDimensionNames(t *testing.T) {
	t.Parallel()
	want := map[string]string{
		"pressure_gauge": "pa_gauge", "pressure_absolute": "pa_abs", "pressure_difference": "pa",
		"temperature": "k", "temperature_difference": "delta_k", "length": "m", "area": "m2", "volume": "m3",
		"duration": "s", "liquid_flow": "m3_per_s", "gas_flow": "mol_per_s", "mass_flow": "kg_per_s", "mass": "kg",
		"power": "w", "energy": "j", "specific_energy": "j_per_kg", "molar_energy": "j_per_mol",
		"mass_fraction": "mass_fraction", "mole_fraction": "mole_fraction", "mass_concentration": "kg_per_m3",
		"exposure": "kg_s_per_m3", "flow_coefficient": "kv_m3_per_h", "velocity": "m_per_s",
		"density": "density_kg_per_m3", "frequency": "hz", "rotational_speed": "rev_per_s", "voltage": "v",
		"current": "a", "rate": "per_s", "ratio": "ratio", "angle": "rad", "dynamic_viscosity": "pa_s",
		"surface_tension": "n_per_m", "molar_mass": "kg_per_mol", "molar_heat_capacity": "j_per_mol_k",
		"diffusivity": "m2_per_s", "henry_solubility": "mol_per_m3_pa", "force": "n",
		"heat_transfer_coefficient": "w_per_m2_k",
	}
	got := make(map[string]string)
	suffixes := make(map[string]bool)
	for _, d := range quantity.Dimensions() {
		got[d.Name()] = d.FieldSuffix()
		assert.False(t, suffixes[d.FieldSuffix()], "suffix %s of two dimensions", d.FieldSuffix())
		suffixes[d.FieldSuffix()] = true
		found, ok := quantity.DimensionByName(d.Name())
		assert.True(t, ok)
		assert.Equal(t, d, found)
		assert.Equal(t, d.Name(), d.String())
		assert.True(t, d.Valid())
		assert.NotEmpty(t, d.Noun())
	}
	assert.Equal(t, want, got)
	_, ok := quantity.DimensionByName("pressure")
	assert.False(t, ok)
	_, ok = quantity.DimensionByName("")
	assert.False(t, ok)
}

func TestNoDimension(t *testing.T) {
	t.Parallel()
	for _, d := range []quantity.Dimension{0, 200} {
		assert.False(t, d.Valid())
		assert.Empty(t, d.Name())
		assert.Empty(t, d.SI())
		assert.Empty(t, d.Preferred(quantity.Metric))
		assert.Empty(t, d.Units())
		assert.Equal(t, "no dimension", d.String())
		assert.Equal(t, "1.5", quantity.Format(1.5, d, quantity.Metric))
		assert.Equal(t, "1.5", quantity.Exact(1.5, d))
	}
}

// amount is a number that is in range in every unit of every dimension.
const amount = "0.5"

func TestEveryListedUnitIsRead(t *testing.T) {
	t.Parallel()
	for _, d := range quantity.Dimensions() {
		for _, u := range append(d.Units(), d.SI(), d.Preferred(quantity.Metric), d.Preferred(quantity.US)) {
			_, err := quantity.Parse(amount+" "+u, d)
			assert.NoError(t, err, "%s in %s", u, d)
		}
		v, err := quantity.Parse(amount+" "+d.SI(), d)
		require.NoError(t, err)
		assert.Equal(t, 0.5, v, "the SI unit of %s has the factor 1", d)
	}
}

// A unit that is named for one dimension is refused in every other, except
// where the two really share it.
func TestDimensionsDoNotMix(t *testing.T) {
	t.Parallel()
	shared := func(a, b quantity.Dimension) bool {
		group := map[quantity.Dimension]int{
			quantity.MassConcentration: 1, quantity.Density: 1,
			quantity.Temperature: 2, quantity.TemperatureDifference: 2,
		}
		return group[a] != 0 && group[a] == group[b]
	}
	for _, from := range quantity.Dimensions() {
		for _, to := range quantity.Dimensions() {
			if from == to || shared(from, to) {
				continue
			}
			for _, u := range from.Units() {
				_, err := quantity.Parse(amount+" "+u, to)
				assert.Error(t, err, "%s of %s in %s", u, from, to)
			}
		}
	}
}
