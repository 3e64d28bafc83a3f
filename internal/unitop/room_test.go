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

// Purge times of CDC MMWR 43(RR-13), 28 October 1994, Table S3-1, verified;
// the table rounds to the minute.
func TestPurgeTimeTable(t *testing.T) {
	for _, c := range []struct {
		ach  float64
		want [3]float64 // minutes for 90, 99 and 99.9 %
	}{
		{1, [3]float64{138, 276, 414}}, {2, [3]float64{69, 138, 207}}, {4, [3]float64{35, 69, 104}},
		{6, [3]float64{23, 46, 69}}, {10, [3]float64{14, 28, 41}}, {12, [3]float64{12, 23, 35}},
	} {
		for i, removed := range [3]float64{0.9, 0.99, 0.999} {
			got, err := unitop.PurgeTime(removed, fluid.Exact(c.ach/3600))
			require.NoError(t, err)
			assert.InDelta(t, c.want[i], got.Best/60, 1, "%g changes, %g", c.ach, removed)
		}
	}
}

// 1 g/h of ozone needs 5097 m3/h of fresh air to stay at 0.1 ppm (derived).
func TestVentilationForOzone(t *testing.T) {
	q, err := unitop.VentilationForOzone(fluid.Exact(1e-3/3600), 0.1e-6, 298.15, 101325)
	require.NoError(t, err)
	assert.InEpsilon(t, 5097, q.Best*3600, 0.001)
}

// room leaks 10 wt % ozone in oxygen into 50 m3.
func room(t require.TestingT) unitop.RoomInput {
	gas, err := fluid.Gas{O2: 1}.WithOzone(0.1)
	require.NoError(t, err)
	return unitop.RoomInput{
		Volume: 50, AirChanges: fluid.Range{Low: 0.5 / 3600, Best: 1.0 / 3600, High: 6.0 / 3600},
		Temperature: 293.15, Pressure: 101325, Leak: gas, LeakFlow: fluid.Spread(1e-3, 0.5),
		OzoneDecay: fluid.Range{Low: 0, Best: 0, High: 3e-4}, Oxygen: 0.209, Time: 1800,
	}
}

// The room balances against a step-by-step integration, ends are ordered, and
// the two ways of asking (value at a time, time to a value) agree.
func TestLeakIntoRoomAgainstIntegration(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := room(t)
		ach := rapid.Float64Range(0, 10.0/3600).Draw(t, "air changes")
		leak := rapid.Float64Range(1e-6, 0.1).Draw(t, "leak")
		decay := rapid.Float64Range(0, 1e-3).Draw(t, "decay")
		in.AirChanges, in.LeakFlow, in.OzoneDecay = fluid.Exact(ach), fluid.Exact(leak), fluid.Exact(decay)
		r, err := unitop.LeakIntoRoom(in)
		require.NoError(t, err)
		content := in.Volume * in.Pressure / (fluid.GasConstant * in.Temperature)
		q := leak / content
		ozone, oxygen := 0.0, in.Oxygen
		const steps = 4000
		dt := in.Time / steps
		for range steps {
			// Midpoint rule.
			half := ozone + dt/2*(q*in.Leak.O3-(ach+q+decay)*ozone)
			ozone += dt * (q*in.Leak.O3 - (ach+q+decay)*half)
			mid := oxygen + dt/2*(ach*in.Oxygen+q*in.Leak.O2-(ach+q)*oxygen)
			oxygen += dt * (ach*in.Oxygen + q*in.Leak.O2 - (ach+q)*mid)
		}
		if math.Abs(r.Ozone.AtTime.Best-ozone) > 1e-6*ozone || math.Abs(r.Oxygen.AtTime.Best-oxygen) > 1e-6 {
			t.Fatalf("closed form %g %g, integration %g %g", r.Ozone.AtTime.Best, r.Oxygen.AtTime.Best, ozone, oxygen)
		}
		if ozone > 0 {
			reach, err := unitop.TimeToOzone(in, r.Ozone.AtTime.Best)
			require.NoError(t, err)
			if !reach.Reached || math.Abs(reach.Time.Best-in.Time) > 1e-3*in.Time {
				t.Fatalf("time to the value at %g s: %+v", in.Time, reach)
			}
		}
	})
}

func TestLeakIntoRoomRanges(t *testing.T) {
	in := room(t)
	r, err := unitop.LeakIntoRoom(in)
	require.NoError(t, err)
	for _, x := range []fluid.Range{r.Ozone.AtTime, r.Ozone.Steady, r.Oxygen.AtTime, r.Oxygen.Steady, r.NearLeakOzone, r.NearLeakOxygen, r.Displacement} {
		require.NoError(t, x.Check("room"))
	}
	assert.Greater(t, r.Ozone.Steady.Low, unitop.OzoneLimit8h, "a gram an hour is far above the limit")
	assert.Equal(t, r.Ozone.AtTime.Low, r.NearLeakOzone.Low, "the mixed room is the lower bound near the leak")
	assert.InDelta(t, in.Leak.O3, r.NearLeakOzone.High, 1e-15)
	assert.Greater(t, r.Oxygen.AtTime.Low, in.Oxygen)
	reach, err := unitop.TimeToOzone(in, unitop.OzoneLimit8h)
	require.NoError(t, err)
	assert.True(t, reach.Reached)
	assert.Less(t, reach.Time.High, 60.0)
	// Enrichment to 23.5 % is not reached by such a leak; a limit below start
	// is not reached by enrichment at all.
	reach, err = unitop.TimeToOxygen(in, unitop.OxygenDeficient)
	require.NoError(t, err)
	assert.False(t, reach.May)
}

// Oxygen-poor exhaust depletes a closed room; with no air and no leak nothing
// moves.
func TestOxygenDepletion(t *testing.T) {
	in := room(t)
	in.Leak, in.LeakFlow = fluid.Gas{O2: 0.16, N2: 0.83, Ar: 0.01}, fluid.Exact(0.1)
	in.AirChanges = fluid.Exact(0)
	reach, err := unitop.TimeToOxygen(in, unitop.OxygenDeficient)
	require.NoError(t, err)
	content := in.Volume * in.Pressure / (fluid.GasConstant * in.Temperature)
	assert.InEpsilon(t, content/0.1*math.Log((0.209-0.16)/(0.195-0.16)), reach.Time.Best, 1e-9)
	in.LeakFlow = fluid.Exact(0)
	r, err := unitop.LeakIntoRoom(in)
	require.NoError(t, err)
	assert.InDelta(t, 0.209, r.Oxygen.Steady.Best, 1e-15)
	assert.Zero(t, r.Ozone.Steady.Best)
	reach, err = unitop.TimeToOxygen(in, unitop.OxygenDeficient)
	require.NoError(t, err)
	assert.False(t, reach.May)
	reach, err = unitop.TimeToOzone(in, 1e-6)
	require.NoError(t, err)
	assert.False(t, reach.May)
}

func TestRoomRefuses(t *testing.T) {
	for name, change := range map[string]func(*unitop.RoomInput){
		"volume": func(in *unitop.RoomInput) { in.Volume = 0 },
		"air":    func(in *unitop.RoomInput) { in.AirChanges = fluid.Exact(-1) },
		"leak":   func(in *unitop.RoomInput) { in.LeakFlow = fluid.Exact(math.NaN()) },
		"gas":    func(in *unitop.RoomInput) { in.Leak = fluid.Gas{} },
		"time":   func(in *unitop.RoomInput) { in.Time = math.Inf(1) },
		"oxygen": func(in *unitop.RoomInput) { in.Oxygen = 2 },
		"decay":  func(in *unitop.RoomInput) { in.OzoneDecay = fluid.Range{Low: 1, Best: 0.5, High: 0} },
	} {
		in := room(t)
		change(&in)
		_, err := unitop.LeakIntoRoom(in)
		assert.Error(t, err, name)
		_, err = unitop.TimeToOzone(in, 1e-6)
		assert.Error(t, err, name)
	}
	_, err := unitop.TimeToOzone(room(t), 0)
	require.ErrorIs(t, err, fluid.ErrOutOfRange)
	_, err = unitop.PurgeTime(1, fluid.Exact(0.001))
	require.ErrorIs(t, err, fluid.ErrOutOfRange)
	_, err = unitop.PurgeTime(0.9, fluid.Exact(0))
	require.ErrorIs(t, err, fluid.ErrOutOfRange)
}

// The ends of each input move the steady ozone by the balance of a stirred room, leak over (air + leak + decay).
func TestLeakIntoRoomTakesEachEnd(t *testing.T) {
	steady := func(in unitop.RoomInput, air, leak, decay float64) float64 {
		q := leak * fluid.GasConstant * in.Temperature / (in.Volume * in.Pressure)
		return q * in.Leak.O3 / (air + q + decay)
	}
	const air, leak, decay = 1.0 / 3600, 1e-3, 2e-4
	for _, c := range []struct {
		name             string
		air, leak, decay fluid.Range
	}{
		{"air", fluid.Range{Low: air / 2, Best: air, High: 3 * air}, fluid.Exact(leak), fluid.Exact(decay)},
		{"leak", fluid.Exact(air), fluid.Range{Low: leak / 2, Best: leak, High: 3 * leak}, fluid.Exact(decay)},
		{"decay", fluid.Exact(air), fluid.Exact(leak), fluid.Range{Low: 0, Best: decay, High: 3 * decay}},
		{"all", fluid.Range{Low: air / 2, Best: air, High: 3 * air}, fluid.Range{Low: leak / 2, Best: leak, High: 3 * leak}, fluid.Range{Low: 0, Best: decay, High: 3 * decay}},
	} {
		in := room(t)
		in.AirChanges, in.LeakFlow, in.OzoneDecay = c.air, c.leak, c.decay
		r, err := unitop.LeakIntoRoom(in)
		require.NoError(t, err, c.name)
		assert.InEpsilon(t, steady(in, air, leak, decay), r.Ozone.Steady.Best, 1e-12, c.name)
		assert.InEpsilon(t, steady(in, c.air.High, c.leak.Low, c.decay.High), r.Ozone.Steady.Low, 1e-12, c.name)
		assert.InEpsilon(t, steady(in, c.air.Low, c.leak.High, c.decay.Low), r.Ozone.Steady.High, 1e-12, c.name)
	}
}
