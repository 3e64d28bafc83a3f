package quantity_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"github.com/skidrule/skidrule/internal/quantity"
)

func TestFreezingPointPrintsAsZero(t *testing.T) {
	assert.Equal(t, "0 degC", quantity.Format(273.15, quantity.Temperature, quantity.Metric))
	assert.Equal(t, "32 degF", quantity.Format(273.15, quantity.Temperature, quantity.US))
}
