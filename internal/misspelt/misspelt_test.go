package misspelt_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"github.com/skidrule/skidrule/internal/misspelt"
)

func TestNearest(t *testing.T) {
	t.Parallel()
	known := []string{"check_valve", "venturi_injector", "atmosphere_vent", "contact_vessel", "hand_valve", "relief_valve", "pump", "P-1", "P-2", "backflow/two-independent-barriers"}
	for _, c := range []struct{ word, want string }{
		{"Check-Valve", "check_valve"},
		{"chekc_valve", "check_valve"},
		{"relif_valve", "relief_valve"},
		{"pmup", "pump"},
		{"P-3", ""}, // every letter of a short tag tells
		{"p2", "P-2"},
		{"backflow/two-indepedent-barrier", "backflow/two-independent-barriers"},
		{"independent", "backflow/two-independent-barriers"},
		{"vent", "atmosphere_vent"}, // a word of it, not letters of another
		{"injector", "venturi_injector"},
		{"contact_column", "contact_vessel"},
		{"solenoid_valve", ""}, // which of the valves is not known
		{"zeppelin", ""},
		{"", ""},
	} {
		assert.Equal(t, c.want, misspelt.Nearest(c.word, known), c.word)
	}
}

// The distance is that of the shortest way of edits: none to itself, the same both ways, and never more than edits that were made.
func TestDistance(t *testing.T) {
	t.Parallel()
	letters := rapid.StringMatching(`[a-dé]{0,8}`)
	rapid.Check(t, func(t *rapid.T) {
		a, b := letters.Draw(t, "a"), letters.Draw(t, "b")
		const most = 20
		d := misspelt.Distance(a, b, most)
		assert.Equal(t, d, misspelt.Distance(b, a, most))
		assert.Equal(t, a == b, d == 0)
		assert.LessOrEqual(t, d, max(len([]rune(a)), len([]rune(b))))
		limit := rapid.IntRange(0, 5).Draw(t, "limit")
		assert.Equal(t, min(d, limit+1), misspelt.Distance(a, b, limit))
	})
	for _, c := range []struct {
		a, b string
		want int
	}{{"", "", 0}, {"a", "", 1}, {"bar", "bra", 1}, {"kpa", "kpa", 0}, {"gpm", "gpmm", 1}, {"mol", "mil", 1}, {"pmup", "pump", 1}} {
		assert.Equal(t, c.want, misspelt.Distance(c.a, c.b, 3), "%s %s", c.a, c.b)
	}
}

// How many letters may be wrong grows with the word: none in two letters, one in three and four, two from five on, three from twelve.
func TestNearestAllowsMoreInLongerWords(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ word, known string }{
		{"xypq", ""}, {"abcx", "abcd"}, {"abxy", ""}, {"abcxy", "abcde"}, {"abxyz", ""},
		{"abcdefgxyz", ""}, {"abcdefghixyz", "abcdefghijkl"}, {"abcdefghwxyz", ""},
	} {
		assert.Equal(t, c.known, misspelt.Nearest(c.word, []string{"abcd", "abcde", "abcdefghij", "abcdefghijkl"}), c.word)
	}
	assert.Equal(t, 1, misspelt.Distance("ab", "ba", 3), "the first two letters swapped")
}
