package main

import (
	"encoding/json"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestSchema(t *testing.T) {
	t.Parallel()
	for _, name := range []string{"design", "catalogue"} {
		r := command(t, nil, "schema", name)
		require.Equal(t, exitPassed, r.code, r.stderr)
		var doc map[string]any
		require.NoError(t, json.Unmarshal([]byte(r.stdout), &doc))
		assert.Equal(t, "https://json-schema.org/draft/2020-12/schema", doc["$schema"])
		assert.Contains(t, r.stdout, `"pump"`)
	}
	r := command(t, nil, "schema", "openapi")
	require.Equal(t, exitPassed, r.code, r.stderr)
	var doc map[string]any
	require.NoError(t, json.Unmarshal([]byte(r.stdout), &doc))
	assert.Equal(t, "3.1.0", doc["openapi"])
	assert.Contains(t, doc["paths"], "/skidrule.v1.CheckService/CheckDesign")
	file := filepath.Join(t.TempDir(), "design.schema.json")
	assert.Equal(t, exitPassed, command(t, nil, "schema", "--output", file).code)
	assert.Equal(t, command(t, nil, "schema").stdout, read(t, file))
	assert.Equal(t, exitUnusable, command(t, nil, "schema", "rules").code)
}
