package draft_test

import (
	"context"
	"os"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/draft"
	"github.com/skidrule/skidrule/internal/quantity"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

var demandBlock = regexp.MustCompile("(?s)```yaml\n(.*?)```")

// What the notes compute by hand is what the draft computes. The sources of the equations stand in the notes.
func TestWorkedByHand(t *testing.T) {
	t.Parallel()
	e := testEngine(t)
	for name, rows := range map[string]int{"new-side-stream": 19, "new-full-flow": 11} {
		data, err := os.ReadFile("../../testdata/worked/" + name + ".md")
		require.NoError(t, err)
		block := demandBlock.FindStringSubmatch(string(data))
		require.NotNil(t, block, name)
		m := &skidrulev1.DraftDemand{}
		_, err = designfile.Decode([]byte(block[1]), name, m, designfile.Options{})
		require.NoError(t, err)
		d, err := draft.Draft(context.Background(), e, &skidrulev1.DraftDesignRequest{Demand: m})
		require.NoError(t, err)
		sizes := map[string]*skidrulev1.DraftSize{}
		for _, s := range d.Sizes {
			sizes[s.Label] = s
		}
		seen := 0
		for line := range strings.Lines(string(data)) {
			cells := strings.Split(line, "|")
			if len(cells) != 6 || strings.Contains(line, "---") || strings.TrimSpace(cells[1]) == "what" {
				continue
			}
			seen++
			label, value, tolerance := strings.TrimSpace(cells[1]), strings.TrimSpace(cells[3]), strings.TrimSpace(cells[4])
			s := sizes[label]
			require.NotNil(t, s, "%s: the draft has no %q", name, label)
			dimension, ok := quantity.DimensionByName(s.Dimension)
			require.True(t, ok)
			if low, high, ok := strings.Cut(value, " to "); ok {
				_, unit, _ := strings.Cut(high, " ")
				from, err := quantity.Parse(strings.TrimSpace(low+" "+unit), dimension)
				require.NoError(t, err)
				to, err := quantity.Parse(high, dimension)
				require.NoError(t, err)
				assert.GreaterOrEqual(t, s.Value, from, "%s: %s", name, label)
				assert.LessOrEqual(t, s.Value, to, "%s: %s", name, label)
				continue
			}
			want, err := quantity.Parse(value, dimension)
			require.NoError(t, err)
			percent, err := strconv.ParseFloat(strings.TrimSuffix(tolerance, " %"), 64)
			require.NoError(t, err)
			assert.InEpsilon(t, want, s.Value, percent/100, "%s: %s", name, label)
		}
		assert.Equal(t, rows, seen, "%s: rows of the table", name)
	}
}
