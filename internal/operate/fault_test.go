package operate_test

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/operate"
)

// A fault of no size is the design, and each fault moves the pressures as a person at the skid would expect.
func TestFaultsMoveReadings(t *testing.T) {
	p, cases := load(t, demo)
	s, err := operate.NewSolver(p, cases)
	require.NoError(t, err)
	best, ends, err := s.Ends(context.Background(), 0)
	require.NoError(t, err)
	require.NotEmpty(t, ends)
	component := func(tag string) int32 {
		i, ok := p.FindComponent(tag)
		require.True(t, ok, tag)
		return i
	}
	pipe := func(line string) int32 {
		i, ok := p.FindLine(line)
		require.True(t, ok, line)
		return p.Lines[i].FirstWay
	}
	injector := p.Components[component("INJ-1")].FirstPort
	measure := func(st *operate.State) (in, suction, out, gas float64) {
		gas = math.NaN()
		for i := range p.Ways {
			if w := &p.Ways[i]; w.From == injector && w.To == injector+2 {
				gas = st.Ways[i].Carried.Best
			}
		}
		return st.Ports[injector].Pressure.Best, st.Ports[injector+1].Pressure.Best, st.Ports[injector+2].Pressure.Best, gas
	}
	in0, suction0, out0, gas0 := measure(best)
	const up, down, same = 1, -1, 0
	for name, row := range map[string]struct {
		fault                    operate.Fault
		none                     float64 // size that is no fault
		size                     float64
		inlet, suction, out, gas int
	}{
		"fouled throat":    {operate.Fault{Kind: operate.Fouled, Component: component("INJ-1")}, 1, 0.8, up, up, down, down},
		"worn pump":        {operate.Fault{Kind: operate.Worn, Component: component("P-1")}, 1, 0.8, down, up, down, down},
		"return narrowed":  {operate.Fault{Kind: operate.Narrowed, Way: pipe("W-3")}, 1, 0.15, up, up, up, down},
		"return valve":     {operate.Fault{Kind: operate.Restricted, Component: component("HV-2")}, 1, 0.1, up, up, up, down},
		"supply valve":     {operate.Fault{Kind: operate.Restricted, Component: component("HV-1")}, 1, 0.1, down, up, down, down},
		"low supply":       {operate.Fault{Kind: operate.Shifted, Component: component("RM-1")}, 0, -0.5e5, down, up, down, down},
		"check valve":      {operate.Fault{Kind: operate.Restricted, Component: component("CV-1")}, 1, 0.05, same, down, same, down},
		"air leak":         {operate.Fault{Kind: operate.Leaking, Port: injector + 1}, 1e-9, 0.0005, same, up, same, up},
		"weak feed":        {operate.Fault{Kind: operate.Worn, Component: component("OC-1")}, 1, 0.5, same, down, same, down},
		"needle valve far": {operate.Fault{Kind: operate.Restricted, Component: component("NV-1")}, 1, 3, same, up, same, up},
	} {
		states, err := s.Faulted(context.Background(), 0, row.fault, []float64{row.none, row.size})
		require.NoError(t, err, name)
		require.Len(t, states, 2, name)
		in, suction, out, gas := measure(states[0])
		assert.InDelta(t, in0, in, 2, name)
		assert.InDelta(t, suction0, suction, 5, name)
		assert.InDelta(t, out0, out, 2, name)
		assert.InEpsilon(t, gas0, gas, 1e-3, name)
		in, suction, out, gas = measure(states[1])
		for what, d := range map[string][2]float64{"inlet": {in - in0, float64(row.inlet)}, "suction": {suction - suction0, float64(row.suction)}, "outlet": {out - out0, float64(row.out)}} {
			if d[1] != 0 {
				assert.Greater(t, d[0]*d[1], 100., "%s: %s moves by %g Pa", name, what, d[0])
			} else {
				assert.Less(t, math.Abs(d[0]), 5e3, "%s: %s moves by %g Pa", name, what, d[0])
			}
		}
		assert.Greater(t, (gas-gas0)*float64(row.gas), 0., "%s: gas from %g to %g", name, gas0, gas)
	}
}

// A valve that is shut passes nothing, whatever was solved before it, and a way that was shut passes something once it is opened.
func TestFaultsShutAndOpen(t *testing.T) {
	p, cases := load(t, demo)
	s, err := operate.NewSolver(p, cases)
	require.NoError(t, err)
	passage := func(tag string) (component, way int32) {
		c, ok := p.FindComponent(tag)
		require.True(t, ok, tag)
		for i := range p.Ways {
			if w := &p.Ways[i]; !w.IsPipe() && w.Component == c {
				return c, int32(i)
			}
		}
		require.Fail(t, "no passage", tag)
		return 0, 0
	}
	for _, tag := range []string{"CV-1", "NV-1", "XV-1", "HV-1", "HV-2"} {
		c, way := passage(tag)
		states, err := s.Faulted(context.Background(), 0, operate.Fault{Kind: operate.Restricted, Component: c}, []float64{0.5, 0.01, 0})
		require.NoError(t, err, tag)
		require.Len(t, states, 3, tag)
		assert.Greater(t, states[0].Ways[way].Flow.Best, states[1].Ways[way].Flow.Best, tag)
		require.True(t, states[2].Ways[way].Known, "%s: %s", tag, states[2].Ways[way].Why)
		assert.Zero(t, states[2].Ways[way].Flow.Best, tag)
	}
	at := 0
	for i := range cases {
		if cases[i].Standard == operate.GasValveShut {
			at = i
		}
	}
	c, way := passage("XV-1")
	states, err := s.Faulted(context.Background(), at, operate.Fault{Kind: operate.Opened, Component: c}, []float64{0.01, 1})
	require.NoError(t, err)
	require.Len(t, states, 2)
	assert.Greater(t, states[0].Ways[way].Flow.Best, 1e-4)
	assert.Greater(t, states[1].Ways[way].Flow.Best, states[0].Ways[way].Flow.Best)
}

// What cannot be is an error, and what nothing rests on is no state.
func TestFaultsRefused(t *testing.T) {
	p, cases := load(t, demo)
	s, err := operate.NewSolver(p, cases)
	require.NoError(t, err)
	for _, f := range []operate.Fault{
		{}, {Kind: operate.Fouled, Size: 0}, {Kind: operate.Fouled, Size: 1.1}, {Kind: operate.Worn, Size: math.NaN()},
		{Kind: operate.Restricted, Size: math.Inf(1)}, {Kind: operate.Leaking, Size: -1},
	} {
		_, err := s.Faulted(context.Background(), 0, f, []float64{f.Size})
		assert.Error(t, err, "%+v", f)
	}
	none, err := s.Faulted(context.Background(), 0, operate.Fault{Kind: operate.Worn, Component: 0}, []float64{0.5})
	require.NoError(t, err)
	assert.Empty(t, none)
	for i := range cases {
		if cases[i].Standard == operate.BarrierFailed {
			_, err := s.Faulted(context.Background(), i, operate.Fault{Kind: operate.Worn, Component: 0}, []float64{0.5})
			assert.ErrorContains(t, err, "scenarios")
		}
	}
	_, err = s.Faulted(context.Background(), len(cases), operate.Fault{Kind: operate.Worn, Component: 0}, []float64{0.5})
	assert.ErrorContains(t, err, "there is no case")
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	i, _ := p.FindComponent("P-1")
	_, err = s.Faulted(ctx, 0, operate.Fault{Kind: operate.Worn, Component: i}, []float64{0.5})
	assert.ErrorIs(t, err, context.Canceled)
}
