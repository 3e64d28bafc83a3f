package unitop_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/skidrule/skidrule/internal/fluid"
	"github.com/skidrule/skidrule/internal/unitop"
)

func steelMain() unitop.SurgePipe {
	return unitop.SurgePipe{Bore: 52.5e-3, Wall: 3.91e-3, Modulus: 200e9, Poisson: 0.3, Anchorage: unitop.ExpansionJoints, BulkModulus: 2.17e9, Density: 998.2}
}

func TestWaveSpeed(t *testing.T) {
	a, err := steelMain().WaveSpeed()
	require.NoError(t, err)
	assert.InEpsilon(t, 1377.5, a, 1e-3) // steel NPS 2 schedule 40, computed independently
	pvc := steelMain()
	pvc.Bore, pvc.Wall, pvc.Modulus = 49.25e-3, 5.54e-3, 2.76e9
	b, err := pvc.WaveSpeed()
	require.NoError(t, err)
	assert.InEpsilon(t, 521.6, b, 1e-3) // PVC NPS 2 schedule 80, computed independently
	stiff := steelMain()
	stiff.Modulus = 1e12
	stiff.Wall = stiff.Bore
	c, err := stiff.WaveSpeed()
	require.NoError(t, err)
	assert.InEpsilon(t, math.Sqrt(2.17e9/998.2), c, 2e-3) // rigid pipe: speed of sound
}

func TestAnchorageStiffensThePipe(t *testing.T) {
	speed := func(a unitop.Anchorage) float64 {
		p := steelMain()
		p.Anchorage = a
		v, err := p.WaveSpeed()
		require.NoError(t, err)
		return v
	}
	assert.Greater(t, speed(unitop.AnchoredAlong), speed(unitop.ExpansionJoints))
	assert.Greater(t, speed(unitop.AnchoredOneEnd), speed(unitop.AnchoredAlong)) // 1 - nu/2 < 1 - nu^2 for nu below 0.5
	p := steelMain()
	p.Anchorage = "floating"
	_, err := p.WaveSpeed()
	require.ErrorIs(t, err, unitop.ErrContradiction)
}

func TestPressureRise(t *testing.T) {
	s, err := unitop.PressureRise(998.2, 1200, 2, 500, 0.5)
	require.NoError(t, err)
	assert.True(t, s.Fast)
	assert.InEpsilon(t, 0.8333, s.CriticalTime, 1e-4) // 2 L/a, L 500 m, a 1200 m/s
	assert.InEpsilon(t, 998.2*1200*2, s.Rise.Best, 1e-12)
	// The slow estimate meets the fast one at the critical time.
	s, err = unitop.PressureRise(998.2, 1200, 2, 500, math.Nextafter(2*500/1200.0, 1))
	require.NoError(t, err)
	assert.False(t, s.Fast)
	assert.InEpsilon(t, 998.2*1200*2, s.Rise.Best, 1e-9)
	require.NoError(t, s.Rise.Check("rise"))
	// A very slow valve decelerates a rigid column.
	s, err = unitop.PressureRise(998.2, 1200, 2, 500, 1000)
	require.NoError(t, err)
	assert.InEpsilon(t, 998.2*500*2/1000, s.Rise.Low, 1e-12)
}

// What leaves the pot stands in the tube, and both columns hold the difference.
func TestWaterSealConservesVolume(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := unitop.WaterSeal{
			Submergence: rapid.Float64Range(0.01, 3).Draw(t, "submergence"), TubeBore: rapid.Float64Range(0.005, 0.2).Draw(t, "bore"),
			PotArea: rapid.Float64Range(1e-3, 1).Draw(t, "pot"), Density: water,
		}
		l, err := s.Limits()
		require.NoError(t, err)
		tube := math.Pi / 4 * s.TubeBore * s.TubeBore
		// Under vacuum the pot has sunk by the submergence, so the tube holds that
		// volume above its own resting level.
		assert.InEpsilon(t, s.Submergence*s.PotArea, (l.Rise-s.Submergence)*tube, 1e-9)
		assert.InEpsilon(t, l.Vacuum, water*unitop.StandardGravity*l.Rise, 1e-9)
		assert.GreaterOrEqual(t, l.Pressure, water*unitop.StandardGravity*s.Submergence)
	})
	s := unitop.WaterSeal{Submergence: 0.5, TubeBore: 0.02, PotArea: 0.1, Density: water, LevelLoss: 0.5}
	l, err := s.Limits()
	require.NoError(t, err)
	assert.Zero(t, l.Pressure, "a dry seal holds nothing")
	s.LevelLoss = 0.6
	_, err = s.Limits()
	require.ErrorIs(t, err, fluid.ErrOutOfRange)
}

func TestSealDepth(t *testing.T) {
	d, err := unitop.SealDepth(3000, water, 0.1)
	require.NoError(t, err)
	assert.InEpsilon(t, 3000/(water*unitop.StandardGravity)+0.1, d, 1e-12)
}

func TestStandingLevel(t *testing.T) {
	s, err := unitop.StandingLevel(2, 1.5e5, fluid.Range{Low: 0.6e5, Best: 1e5, High: 1e5}, water, 7)
	require.NoError(t, err)
	assert.InEpsilon(t, 2+0.5e5/(water*unitop.StandardGravity), s.Level.Best, 1e-12)
	assert.InEpsilon(t, 2+0.9e5/(water*unitop.StandardGravity), s.Level.High, 1e-12, "the deepest vacuum pulls highest")
	assert.Negative(t, s.Margin.Low)
	assert.InEpsilon(t, 7-s.Level.High, s.Margin.Low, 1e-12)
	level, err := unitop.StandingLevel(2, 1e5, fluid.Exact(1e5), water, 7)
	require.NoError(t, err)
	assert.Equal(t, 2.0, level.Level.Best)
	_, err = unitop.StandingLevel(2, 1e5, fluid.Range{Low: 2, Best: 1, High: 3}, water, 7)
	require.Error(t, err)
}

func TestColumnsAndAtmosphere(t *testing.T) {
	for _, c := range []struct{ dp, rho, want, tolerance float64 }{
		{101325, 1000, 10.332, 1e-4},         // one atmosphere of water, computed independently
		{101325 - 2339, 998.2, 10.112, 5e-4}, // theoretical lift at 20 degC, computed independently
	} {
		h, err := unitop.ColumnHeight(c.dp, c.rho)
		require.NoError(t, err)
		assert.InEpsilon(t, c.want, h, c.tolerance)
	}
	for _, c := range []struct{ altitude, want float64 }{{0, 101325}, {500, 95461}, {1000, 89875}} { // standard atmosphere, computed independently
		p, err := unitop.StandardAtmosphere(c.altitude)
		require.NoError(t, err)
		assert.InEpsilon(t, c.want, p.Best, 1e-4)
	}
	_, err := unitop.StandardAtmosphere(12000)
	require.ErrorIs(t, err, fluid.ErrOutOfRange)
}

func TestNPSHAvailablePublished(t *testing.T) {
	const foot = 0.3048
	for _, c := range []struct {
		source                                 string
		surface, vapour, static, friction, rho float64 // heads in ft of the pumped liquid
		want                                   float64 // ft
	}{
		{"The Practical Pumping Handbook, 4.4.2.5", 34.474, 6.775, 45, 0.378, 985, 72.321},
		{"published worked example, tank draining", 33.9, 0.839, 6, 4, 1000, 35.061},
		{"published worked example, lift at 7000 ft", 26.2, 0.411, -8, 3, 1000, 14.789},
	} {
		t.Run(c.source, func(t *testing.T) {
			head := c.rho * unitop.StandardGravity * foot
			h, err := unitop.Suction{SurfacePressure: c.surface * head, VapourPressure: c.vapour * head, Density: c.rho,
				StaticHead: c.static * foot, FrictionHead: c.friction * foot}.NPSHAvailable()
			require.NoError(t, err)
			assert.InEpsilon(t, c.want*foot, h, 1e-3)
		})
	}
}

func TestPumpAffinity(t *testing.T) {
	p := unitop.PumpPoint{Flow: 0.01, Head: 40, Power: 6000}
	rapid.Check(t, func(t *rapid.T) {
		ratio := rapid.Float64Range(0.3, 1.5).Draw(t, "ratio")
		q, err := p.AtSpeed(ratio)
		require.NoError(t, err)
		// Efficiency, flow times head over power, is kept.
		assert.InEpsilon(t, p.Flow*p.Head/p.Power, q.Flow*q.Head/q.Power, 1e-12)
		back, err := p.SpeedForHead(q.Head)
		require.NoError(t, err)
		assert.InEpsilon(t, ratio, back, 1e-9)
	})
	_, err := p.SpeedForHead(200)
	require.ErrorIs(t, err, unitop.ErrNoSolution)
	power, err := p.ShaftPower(1000, fluid.Range{Low: 0.5, Best: 0.6, High: 0.7})
	require.NoError(t, err)
	assert.InEpsilon(t, 1000*unitop.StandardGravity*0.01*40/0.6, power.Best, 1e-12)
	assert.Less(t, power.Low, power.High)
}

func TestOxygenVelocityLimitPublished(t *testing.T) {
	for _, c := range []struct {
		pressure, impingement, free float64
	}{{1e6, 30, 60}, {5e6, 9, 16}} { // EIGA Doc 13/20, clauses 4.4.2 and 4.4.3, in a transcription
		v, err := unitop.OxygenVelocityLimit(c.pressure, unitop.Impingement)
		require.NoError(t, err)
		assert.InEpsilon(t, c.impingement, v, 1e-12)
		v, err = unitop.OxygenVelocityLimit(c.pressure, unitop.NonImpingement)
		require.NoError(t, err)
		assert.InEpsilon(t, c.free, v, 1e-12)
	}
	_, err := unitop.OxygenVelocityLimit(0.2e6, unitop.Impingement)
	require.ErrorIs(t, err, fluid.ErrOutOfRange)
	_, err = unitop.OxygenVelocityLimit(1e6, "somewhere")
	require.ErrorIs(t, err, unitop.ErrContradiction)
}

func TestGasVelocity(t *testing.T) {
	// 10 m3/h (0 degC, 1 atm) of oxygen at 20 degC and 1 atm in 27.86 mm, computed independently.
	v, err := unitop.GasVelocity(10.0/3600/fluid.NormalMolarVolume, 27.86e-3, 101325, 293.15, 1)
	require.NoError(t, err)
	assert.InEpsilon(t, 4.890, v, 5e-4)
}
