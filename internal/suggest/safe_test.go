package suggest_test

import (
	"context"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/suggest"
)

// A part that was drawn the wrong way is turned round; whatever would decide something is left to people.
func TestSafeEdits(t *testing.T) {
	e := newEngine(t)
	safe := func(data []byte) []suggest.Proposal {
		t.Helper()
		list, err := opened(t, e, "design.yaml", data, nil).Safe(context.Background())
		require.NoError(t, err)
		return list
	}
	data := mistake(t, "check-valve-reversed")
	list := safe(data)
	require.NotEmpty(t, list)
	for _, p := range list {
		assert.Contains(t, p.Words, "turn the ")
		assert.Empty(t, p.Missing)
		assert.Empty(t, p.New)
		text, err := designfile.ApplyEdits(data, p.Edits)
		require.NoError(t, err, "each is a change of the file as it is")
		for _, f := range checked(t, e, text).GetFindings() {
			assert.NotEqual(t, p.Finding.GetFingerprint(), f.GetFingerprint())
		}
	}
	for _, folder := range []string{"blockable-vent", "bypass-around-pot", "purge-bypass-around-barriers", "trap-on-injector-side", "destruct-too-small", "single-check-valve"} {
		assert.Empty(t, safe(mistake(t, folder)), folder)
	}
	for _, form := range []string{`{"skidrule": "v1", "name": "x"}`, "skidrule: v1\r\nname: x\r\n"} {
		assert.Empty(t, safe([]byte(form)))
	}
	clean, err := os.ReadFile(filepath.Join("../../testdata/hatchery-side-stream/design.yaml"))
	require.NoError(t, err)
	assert.Empty(t, safe(clean))
}
