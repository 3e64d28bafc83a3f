package operate_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/operate"
)

// The extremes of every port are reached by the case they name and passed by none; a case that is not known is named by what it lacks, and
// one that lies beyond a curve or table by that.
func TestExtremes(t *testing.T) {
	for _, name := range []string{demo, "cylinder-pressure-fed", "twin-generator-manifold"} {
		a := solveAll(t, read(t, name))
		for k := range a.Plant.Ports {
			port := int32(k)
			label := a.Plant.PortLabel(port)
			for _, c := range []struct {
				extreme operate.Extreme
				sign    float64
				read    func(*operate.State) (float64, bool)
			}{
				{a.HighestPressure(port), 1, func(s *operate.State) (float64, bool) {
					q := &s.Ports[k]
					return q.Pressure.High - s.Atmosphere, q.Known
				}},
				{a.LowestPressure(port), -1, func(s *operate.State) (float64, bool) {
					q := &s.Ports[k]
					return q.Pressure.Low - s.Atmosphere, q.Known
				}},
				{a.HighestTemperature(port), 1, func(s *operate.State) (float64, bool) {
					q := &s.Ports[k]
					return q.Temperature.High, q.Temperature.Low <= q.Temperature.High
				}},
				{a.LowestTemperature(port), -1, func(s *operate.State) (float64, bool) {
					q := &s.Ports[k]
					return q.Temperature.Low, q.Temperature.Low <= q.Temperature.High
				}},
			} {
				open := false
				for i, st := range a.States.States {
					if st == nil {
						continue
					}
					v, ok := c.read(st)
					if !ok {
						open = true
						continue
					}
					require.LessOrEqual(t, c.sign*v, c.sign*c.extreme.Value, "%s in %s of %s", label, a.Cases[i].ID, name)
				}
				if !open {
					require.Empty(t, c.extreme.Open, label)
				}
				if c.extreme.Case < 0 {
					continue
				}
				v, ok := c.read(a.States.States[c.extreme.Case])
				require.True(t, ok, label)
				require.InDelta(t, c.extreme.Value, v, 0, label)
				require.Equal(t, a.States.States[c.extreme.Case].Ports[k].Beyond, c.extreme.Beyond, label)
			}
		}
	}
	// By hand: the cell is deepest when the feed is shut and the injector pulls; the catalyst is hottest at its set point, not at a
	// cold start.
	a := solveAll(t, read(t, demo))
	assert.Equal(t, "feed_shut", a.Cases[a.LowestPressure(a.port("OG-1.ozone_gas")).Case].ID)
	assert.Equal(t, "outlet_blocked", a.Cases[a.HighestPressure(a.port("INJ-1.motive_inlet")).Case].ID)
	hot := a.HighestTemperature(a.port("OD-1.outlet"))
	assert.NotEqual(t, "cold_destruct", a.Cases[hot.Case].ID)

	d := read(t, demo)
	d.Basis.MaxAmbientTemperatureK = nil
	b := solveAll(t, d)
	e := b.HighestTemperature(b.port("OG-1.ozone_gas"))
	require.Equal(t, -1, e.Case)
	require.Equal(t, "basis.max_ambient_temperature", e.Open[0].Path(b.Plant))
}
