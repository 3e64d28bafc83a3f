package engine_test

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/catalogue"
	"github.com/skidrule/skidrule/internal/engine"
	"github.com/skidrule/skidrule/internal/plant"
)

// TestBuiltInRulesHoldTheirExamples asks every built-in rule of each of its own examples.
func TestBuiltInRulesHoldTheirExamples(t *testing.T) {
	e, err := engine.New()
	require.NoError(t, err)
	for _, rule := range e.Book().Rules() {
		t.Run(rule.Rule.GetId(), func(t *testing.T) {
			t.Parallel()
			for _, r := range rule.TestExamples(context.Background(), plant.Catalogues{catalogue.Parts()}) {
				assert.Empty(t, r.Problem, "example %q", r.Name)
			}
		})
	}
}
