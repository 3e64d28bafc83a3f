package unitop

import (
	"math"

	"github.com/skidrule/skidrule/internal/fluid"
)

// ozone is the place of ozone among the gases of a contactor.
const ozone = 3

// stageInput is what enters one well-stirred stage.
type stageInput struct {
	gas    [4]float64 // mol/s, dry gases in the order of Dissolved
	liquid [4]float64 // mol/m3
	demand float64    // demand still to be met in mol/m3
	water  float64    // m3/s
	uptake [4]float64 // kLa V in m3/s; +Inf for equilibrium
	henryP [4]float64 // H P in mol/m3
	dry    float64    // mole fraction of the gas that is not water vapour
	decayV float64    // decay rate times volume in m3/s
}

// stageOutput is what leaves it.
type stageOutput struct {
	gas     [4]float64 // mol/s
	liquid  [4]float64 // mol/m3
	demand  float64    // mol/m3 left to be met
	total   float64    // wet gas flow in mol/s
	decayed float64    // mol/s
	met     float64    // demand met here in mol/s
}

// run passes gas and water through the stages of a contactor.
func (c contactCase) run(in ContactInput, kind ContactKind, vapour float64) ContactState {
	stages := 1
	if kind == LineContact {
		stages = lineStages
	}
	volume := in.Volume / float64(stages)
	s := stageInput{
		gas:    [4]float64{in.Gas.O2 * in.GasFlow, in.Gas.N2 * in.GasFlow, in.Gas.Ar * in.GasFlow, in.Gas.O3 * in.GasFlow},
		liquid: in.Dissolved.array(),
		demand: c.demand,
		water:  in.WaterFlow,
		dry:    1 - vapour/in.Pressure,
		decayV: c.decay * volume,
	}
	for i := range s.henryP {
		s.henryP[i] = c.henry[i] * in.Pressure
		s.uptake[i] = math.Inf(1)
		if kind != EquilibriumContact {
			s.uptake[i] = c.kla * c.ratio[i] * volume
		}
	}
	var out stageOutput
	decayed, met := 0.0, 0.0
	for range stages {
		out = s.solve()
		decayed += out.decayed
		met += out.met
		s.gas, s.liquid, s.demand = out.gas, out.liquid, out.demand
	}
	state := ContactState{
		GasFlow:     out.total,
		Dissolved:   Dissolved{O2: out.liquid[0], N2: out.liquid[1], Ar: out.liquid[2], O3: out.liquid[3]},
		Transferred: in.Gas.O3*in.GasFlow - out.gas[ozone],
		Demanded:    met,
		Decayed:     decayed,
		Evaporated:  out.total*(1-s.dry) - in.Gas.H2O*in.GasFlow,
	}
	if out.total > 0 {
		g := out.gas
		if gas, err := fluid.GasFromAmounts(g[0], g[1], g[2], g[3], out.total*(1-s.dry)); err == nil {
			state.Gas = gas
		}
	}
	return state
}

// solve finds the wet gas flow at which the mole fractions of what leaves add
// up to one. The sum falls steadily with the flow, so there is one root, or
// none when everything dissolves.
func (s *stageInput) solve() stageOutput {
	var out stageOutput
	// excess is what the mole fractions have above one.
	excess := func(total float64) float64 {
		s.at(total, &out)
		return out.gas[0] + out.gas[1] + out.gas[2] + out.gas[3] - s.dry
	}
	above := excess(0)
	if above <= 0 {
		return s.allDissolved()
	}
	// Every mole that enters could leave as gas: that bounds the flow.
	high := s.demand*s.water + 1e-300
	for i := range s.gas {
		high += s.gas[i] + s.liquid[i]*s.water
	}
	high *= 3 / s.dry
	low := (s.gas[0] + s.gas[1] + s.gas[2] + s.gas[3]) / s.dry // what leaves where nothing dissolves is a first guess
	for low > 0 && excess(low) <= 0 {
		high, low = low, low/8
	}
	// Each fraction is a constant over the flow plus another constant, so that the excess times the flow is nearly straight. It goes
	// on to the last bit, since the balance is exact only in what at() hands back there.
	missing := func(total float64) float64 { return -excess(total) * total }
	below := missing(low)
	if low == 0 {
		below = -above
	}
	high = crossing(low, high, below, missing(high), 0, missing)
	s.at(high, &out)
	for i := range out.gas {
		out.gas[i] *= high
	}
	out.total = high
	return out
}

// at gives the outlet for a wet gas flow; gas holds mole fractions here.
func (s *stageInput) at(total float64, out *stageOutput) {
	l := s.water

	// Ozone first: its products add to the oxygen.
	lk := l + s.decayV
	share := ratioToOne(s.uptake[ozone], lk)
	y := (s.gas[ozone] + share*l*(s.liquid[ozone]-s.demand)) / (total + share*s.henryP[ozone]*lk)
	c := share*s.henryP[ozone]*y + l*(s.liquid[ozone]-s.demand)/(lk+s.uptake[ozone])
	if y >= 0 && c >= 0 {
		out.met = l * s.demand
	} else {
		// The demand takes all that comes: nothing stays dissolved.
		c = 0
		y = 0
		if !math.IsInf(s.uptake[ozone], 1) {
			y = s.gas[ozone] / (total + s.uptake[ozone]*s.henryP[ozone])
		}
		out.met = s.gas[ozone] - y*total + l*s.liquid[ozone]
	}
	out.gas[ozone], out.liquid[ozone] = y, c
	out.decayed = s.decayV * c
	out.demand = max(0, s.demand-out.met/l)

	for i := range ozone {
		source := s.liquid[i] * l
		if i == 0 {
			source += out.met + 1.5*out.decayed
		}
		share := ratioToOne(s.uptake[i], l)
		y := (s.gas[i] + share*source) / (total + share*s.henryP[i]*l)
		out.gas[i] = y
		out.liquid[i] = share*s.henryP[i]*y + source/(l+s.uptake[i])
	}
}

// allDissolved returns the outlet when no gas is left.
func (s *stageInput) allDissolved() stageOutput {
	var out stageOutput
	l := s.water
	supply := s.gas[ozone] + l*s.liquid[ozone]
	out.met = min(supply, l*s.demand)
	out.demand = max(0, s.demand-out.met/l)
	out.liquid[ozone] = (supply - out.met) / (l + s.decayV)
	out.decayed = s.decayV * out.liquid[ozone]
	for i := range ozone {
		out.liquid[i] = s.gas[i]/l + s.liquid[i]
	}
	out.liquid[0] += (out.met + 1.5*out.decayed) / l
	return out
}

// ratioToOne returns a/(a+b), which is 1 for infinite a.
func ratioToOne(a, b float64) float64 {
	if math.IsInf(a, 1) {
		return 1
	}
	return a / (a + b)
}
