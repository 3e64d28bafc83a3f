package draft

import (
	"fmt"
	"math"

	"github.com/skidrule/skidrule/internal/fluid"
	"github.com/skidrule/skidrule/internal/quantity"
	"github.com/skidrule/skidrule/internal/unitop"
)

// bore is a size of pipe or tube.
type bore struct {
	size  quantity.NominalSize
	wall  float64 // m
	inner float64 // m
}

// wall is a size, its outside diameter and its wall thickness in mm.
type wall struct{ size, outside, wall float64 }

// pipes are stainless pipes by DN. Outside diameters: ASME B36.10M-2018, table 1, for the NPS beside each DN; walls of schedule 10S:
// ASME B36.19M, table 1, verified in a transcription.
var pipes = []wall{
	{25, 33.4, 2.77}, {32, 42.2, 2.77}, {40, 48.3, 2.77}, {50, 60.3, 2.77}, {65, 73.0, 3.05}, {80, 88.9, 3.05}, {100, 114.3, 3.05},
	{125, 141.3, 3.40}, {150, 168.3, 3.40}, {200, 219.1, 3.76}, {250, 273.0, 4.19}, {300, 323.8, 4.57},
}

// tubes are stainless tubes by outside diameter in mm: common practice, no source.
var tubes = []wall{{8, 8, 1}, {10, 10, 1}, {12, 12, 1}, {16, 16, 1.5}, {20, 20, 1.5}, {25, 25, 1.5}, {30, 30, 2}, {38, 38, 2}}

// pipe gives the bore of a DN.
func pipe(w wall) bore {
	return bore{quantity.NominalSize{System: quantity.DN, Value: w.size}, w.wall / 1000, (w.outside - 2*w.wall) / 1000}
}

// tube gives the bore of a tube.
func tube(w wall) bore {
	return bore{quantity.NominalSize{System: quantity.TubeOD, Value: w.size / 1000}, w.wall / 1000, (w.outside - 2*w.wall) / 1000}
}

// wide finds the smallest size that keeps a volume flow in m3/s below a velocity; false where none does.
func wide(list []wall, of func(wall) bore, flow, velocity float64) (bore, bool) {
	for _, w := range list {
		if b := of(w); flow/(math.Pi/4*b.inner*b.inner) <= velocity {
			return b, true
		}
	}
	return bore{}, false
}

// findLines sizes the lines by their velocity.
func (p *plan) findLines() error {
	d := p.demand
	velocity := p.assume("highest velocity of water", waterVelocity, quantity.Velocity)
	var ok bool
	// Gauge tees, flow switches and injectors are made from DN 40 on.
	if p.waterBore, ok = wide(pipes[2:], pipe, p.motive, velocity); !ok {
		return p.tooMuch("water", p.motive, quantity.LiquidFlow)
	}
	if p.mainBore, ok = wide(pipes[3:], pipe, d.most, velocity); !ok && p.circuit == tank {
		return p.tooMuch("water", d.most, quantity.LiquidFlow)
	}
	// The suction may be down to 0.3 bar below atmosphere; gas at the highest ambient temperature.
	gas, err := fluid.VolumeFlow(p.gasFlow, 303.15, max(0.3e5, d.air-0.3e5))
	if err != nil {
		return err
	}
	if p.gasBore, ok = wide(tubes, tube, gas, p.assume("highest velocity of gas", gasVelocity, quantity.Velocity)); !ok {
		return p.tooMuch("gas", p.gasFlow, quantity.GasFlow)
	}
	off, err := fluid.VolumeFlow(p.bursts()*p.burst, d.warm, d.air)
	if err != nil {
		return err
	}
	if p.offGasBore, ok = wide(pipes, pipe, off, gasVelocity.best); !ok {
		return p.tooMuch("off-gas", p.burst, quantity.GasFlow)
	}
	speed, err := unitop.GasVelocity(p.gasFlow, p.gasBore.inner, max(0.3e5, d.air-0.3e5), 303.15, 1)
	if err != nil {
		return err
	}
	p.size("velocity in the ozone line", speed, quantity.Velocity, "gas at 30 degC and 0.3 bar below atmosphere in "+p.gasBore.size.String(), "continuity, ideal gas")
	p.size("velocity in the water line", p.motive/(math.Pi/4*p.waterBore.inner*p.waterBore.inner), quantity.Velocity, "water in "+p.waterBore.size.String(), "continuity")
	return nil
}

// tooMuch refuses a flow that no single line of a draft carries.
func (p *plan) tooMuch(what string, x float64, d quantity.Dimension) error {
	p.refusals.add("basis.treated_flow", fmt.Sprintf("one line would carry %s of %s, more than the largest size of a draft", say(x, d), what), "divide the flow among several plants and draft one of them")
	return nil
}
