package main

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// With --stated-only no case is solved, and the report says so in every format; without it, it does not.
func TestStatedOnlyIsToldInEveryFormat(t *testing.T) {
	t.Parallel()
	const why = "rules on stated data alone were asked for"
	for _, format := range reportFormats {
		args := []string{"check", mainDemo, "--format", format, "--only", "backflow", "--allow-unverified"}
		r := command(t, nil, append(args, "--stated-only")...)
		assert.NotEqual(t, exitUnusable, r.code, "%s: %s", format, r.stderr)
		assert.Contains(t, r.stdout, why, format)
		assert.NotContains(t, command(t, nil, args...).stdout, why, format)
	}
	r := command(t, nil, "compare", mainDemo, mainDemo, "--stated-only", "--only", "backflow")
	assert.Contains(t, r.stdout, why)
}
