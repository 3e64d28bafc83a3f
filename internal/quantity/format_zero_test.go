package quantity_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"github.com/skidrule/skidrule/internal/quantity"
)

func TestNoTimeIsCountedInSeconds(t *testing.T) {
	assert.Equal(t, "0 s", quantity.Format(0, quantity.Duration, quantity.Metric))
	assert.Equal(t, "0 s", quantity.Format(0, quantity.Duration, quantity.US))
	assert.Equal(t, "0 s", quantity.Exact(0, quantity.Duration))
}

func TestFreezingPointPrintsAsZero(t *testing.T) {
	assert.Equal(t, "0 degC", quantity.Format(273.15, quantity.Temperature, quantity.Metric))
	assert.Equal(t, "32 degF", quantity.Format(273.15, quantity.Temperature, quantity.US))
}
