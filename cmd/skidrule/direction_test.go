package main

import (
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Data goes one way: no package knows those behind it.
func TestDirectionOfKnowledge(t *testing.T) {
	t.Parallel()
	const module = "github.com/skidrule/skidrule/"
	for pkg, forbidden := range map[string][]string{
		"clients/go/skidrule": {"internal/", "cmd/", "rules"},
		"internal/crew":       {"internal/", "proto/"},
		"internal/misspelt":   {"internal/", "proto/"},
		"internal/quantity":   {"internal/", "proto/"},
		"internal/fluid":      {"internal/plant", "internal/fact", "internal/designfile", "proto/"},
		"internal/unitop":     {"internal/plant", "internal/fact", "internal/designfile", "proto/"},
		"internal/network":    {"internal/plant", "internal/fact", "internal/designfile", "proto/"},
		"internal/flowpath":   {"internal/fact", "internal/fluid", "internal/unitop", "internal/network", "internal/rulebook"},
		"internal/designfile": {"internal/plant", "internal/operate", "internal/fact", "internal/rulebook", "internal/engine"},
		"internal/tablefile":  {"internal/operate", "internal/fact", "internal/rulebook", "internal/engine"},
		"internal/plant":      {"internal/operate", "internal/fact", "internal/rulebook", "internal/engine"},
		"internal/operate":    {"internal/fact", "internal/rulebook", "internal/engine"},
		"internal/commission": {"internal/rulebook", "internal/engine", "internal/report", "internal/service"},
		"internal/fact":       {"internal/rulebook", "internal/engine", "internal/report"},
		"internal/rulebook":   {"internal/engine", "internal/report", "internal/service"},
		"internal/upkeep":     {"internal/rulebook", "internal/engine", "internal/report", "internal/service"},
		"internal/schedule":   {"internal/rulebook", "internal/engine", "internal/report", "internal/service"},
		"internal/engine":     {"internal/report", "internal/answer", "internal/service", "internal/drawing", "cmd/"},
		"internal/answer":     {"internal/report", "internal/service", "cmd/"},
		"internal/report":     {"internal/plant", "internal/operate", "internal/fact", "internal/rulebook", "internal/engine", "internal/answer", "internal/service"},
		"internal/openapi":    {"internal/plant", "internal/operate", "internal/fact", "internal/rulebook", "internal/engine", "internal/report", "internal/service"},
		"internal/service":    {"internal/report", "cmd/"},
		"internal/drawing":    {"internal/rulebook", "internal/engine", "internal/service"},
	} {
		out, err := exec.Command("go", "list", "-deps", module+pkg).Output()
		require.NoError(t, err, pkg)
		for line := range strings.Lines(string(out)) {
			path, own := strings.CutPrefix(strings.TrimSpace(line), module)
			if !own || path == pkg || path == "internal/misspelt" {
				continue
			}
			for _, f := range forbidden {
				assert.DirExists(t, filepath.Join(root, f), "%s may not know it, and it is not there", pkg)
				assert.False(t, strings.HasPrefix(path, f), "%s knows %s", pkg, path)
			}
		}
	}
}

// The door holds no engineering: it knows what answers, and neither the plant nor the physics.
func TestTheDoorHoldsNoEngineering(t *testing.T) {
	t.Parallel()
	const internal = "github.com/skidrule/skidrule/internal/"
	out, err := exec.Command("go", "list", "-f", "{{join .Imports \"\\n\"}}", internal+"service").Output()
	require.NoError(t, err)
	var known []string
	for line := range strings.Lines(string(out)) {
		if own, ok := strings.CutPrefix(strings.TrimSpace(line), internal); ok {
			known = append(known, own)
		}
	}
	assert.Subset(t, []string{"answer", "calc", "engine", "misspelt", "openapi", "session"}, known)
	assert.Contains(t, known, "answer")
}
