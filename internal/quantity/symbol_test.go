package quantity

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// No name means two units, however it is put together: by a prefix, by a bare
// g or a for gauge and absolute, or by an exponent.
func TestUnitNamesAreUnambiguous(t *testing.T) {
	t.Parallel()
	assert.Empty(t, units.twice)
	require.NotEmpty(t, units.names)
	assert.Len(t, units.byName, len(units.names))
	for _, name := range units.names {
		for _, mark := range []string{"g", "a"} {
			if stem := strings.TrimSuffix(name, mark); stem != name {
				assert.NotContains(t, attached, stem, "%s reads as %s with a mark", name, stem)
			}
		}
		if stem := strings.TrimRight(name, "0123456789"); stem != name {
			assert.NotContains(t, units.byName, stem, "%s reads as a power of %s", name, stem)
		}
		_, is := vague[strings.ToLower(name)]
		assert.False(t, is, "%s is listed as vague", name)
		u, err := units.read(name)
		require.NoError(t, err, name)
		require.NotNil(t, u.solo, name)
		assert.Equal(t, name, u.solo.name)
		_, is = fractions[name]
		assert.False(t, is, "%s is a fraction too", name)
	}
	for _, stem := range attached {
		require.Contains(t, units.byName, stem)
		assert.Equal(t, pressureVector, units.byName[stem].dim)
	}
}

// Names that differ by case alone are deliberate: milli and mega, the two
// symbols of the litre, two spellings of one unit, or two units that no field
// takes both.
func TestCasePairs(t *testing.T) {
	t.Parallel()
	pairs := make(map[string][]string)
	for _, name := range units.names {
		key := strings.ToLower(name)
		pairs[key] = append(pairs[key], name)
	}
	got := make(map[string]bool)
	for key, names := range pairs {
		if len(names) > 1 {
			got[key] = true
		}
	}
	want := map[string]bool{
		"mpa": true, "mw": true, "mn": true,
		"l": true, "ml": true, "ul": true, "nl": true, "nml": true,
		"btu": true,
		"kv":  true, // kilovolt and flow coefficient
	}
	assert.Equal(t, want, got)
}

func TestEveryDefinitionNamesItsSource(t *testing.T) {
	t.Parallel()
	for _, d := range definitions {
		assert.NotEmpty(t, d.source, d.name)
		for i := range len(d.prefixes) {
			assert.Contains(t, prefixes, d.prefixes[i])
		}
		if d.expression == "" {
			assert.Contains(t, bases, d.name)
		}
	}
}
