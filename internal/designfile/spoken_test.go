package designfile_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/plant"
)

func TestSpokenWritesTheHyphensOfTheTrade(t *testing.T) {
	for word, want := range map[string]string{
		"off_gas": "off-gas", "tube_fitting": "tube fitting", "air": "air", "": "",
		"reverse_shut_off_pressure": "reverse shut-off pressure", "max_back_pressure": "max back pressure",
	} {
		assert.Equal(t, want, designfile.Spoken(word))
	}
	for _, k := range []plant.Kind{plant.KindKnockOutPot, plant.KindBackPressureValve, plant.KindThreeWayValve} {
		assert.Equal(t, k.Info().Title, designfile.Spoken(k.String()), "a kind is written as its title is")
	}
}
