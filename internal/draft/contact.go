package draft

import (
	"math"

	"github.com/skidrule/skidrule/internal/fluid"
	"github.com/skidrule/skidrule/internal/unitop"
)

// feedGas is the dry gas that comes to the cells.
func feedGas(purity float64) (fluid.Gas, error) {
	dry := fluid.DryAir()
	return fluid.DryOxygen(purity, min(1-purity, dry.Ar/dry.O2*purity))
}

// contactPoint is one stream that meets its gas, SI, pressure absolute.
type contactPoint struct {
	gas                        fluid.Gas
	wanted                     float64 // kg/s that have to dissolve
	water, volume              float64 // m3/s, m3
	temperature, pressure, air float64
	demand, decay              float64
}

// contactAnswer is what a contact takes and leaves.
type contactAnswer struct {
	share    float64 // transferred over applied, low end
	output   float64 // kg/s of ozone that has to come with the gas
	gasFlow  float64 // mol/s
	residual fluid.Range
	full     fluid.Range // saturation with the entering gas, kg/m3
}

// mostContactGas is the most gas that is tried, in mol/s: less than the model of the contact takes, and more than any stream dissolves.
const mostContactGas = 900

// contact finds the ozone that has to be applied so that the wanted mass dissolves, by the stirred model at the low end of the
// transfer coefficient. The more gas comes, the smaller the share that dissolves, so the answer is iterated; a stream that cannot
// take the mass ends with the share that it takes.
func contact(p contactPoint) (contactAnswer, error) {
	molar, err := p.gas.MolarMass()
	if err != nil {
		return contactAnswer{}, err
	}
	strength, err := p.gas.OzoneMassFraction()
	if err != nil {
		return contactAnswer{}, err
	}
	dissolved, err := unitop.AirSaturated(p.temperature, p.air)
	if err != nil {
		return contactAnswer{}, err
	}
	a := contactAnswer{share: 0.9}
	for range 40 {
		a.output = p.wanted / a.share
		a.gasFlow = a.output / strength / molar
		r, err := unitop.Contact(unitop.ContactInput{
			Kind: unitop.StirredContact, Gas: p.gas, GasFlow: a.gasFlow, WaterFlow: p.water, Temperature: p.temperature, Pressure: p.pressure,
			Dissolved: dissolved, Volume: p.volume, KLa: fluid.Range{Low: transferRate.low, Best: transferRate.best, High: transferRate.high},
			Demand: fluid.Exact(p.demand), Decay: fluid.Exact(p.decay),
		})
		if err != nil {
			return contactAnswer{}, err
		}
		a.residual, a.full = r.Residual, r.Saturation
		share := r.Efficiency.Low
		if math.Abs(share-a.share) < 1e-6 {
			break
		}
		// Half a step keeps the iteration from swinging; a share near nothing stays above it, and the gas within what the model holds for.
		a.share = max(1e-3, p.wanted/strength/molar/mostContactGas, (share+a.share)/2)
	}
	return a, nil
}

// decayAt moves a decay rate that holds at one temperature to another, with the range of the energy by which it moves.
func decayAt(rate, from, to float64) (fluid.Range, error) {
	return fluid.OzoneDecay{Rate: fluid.Exact(rate), Reference: from, ActivationEnergy: fluid.DemandFreeDecay().ActivationEnergy}.At(to)
}

// needed is the exposure in kg s/m3 that the hardest target asks for at a temperature, and its name.
func needed(targets []target, t float64) (ct float64, name string, err error) {
	for _, g := range targets {
		// The published figures do not depend on pH between 6 and 9; 7 is inside.
		r, err := unitop.CTForLog(g.organism, t, 7, g.log)
		if err != nil {
			return 0, "", err
		}
		if r.Binding.High > ct {
			ct, name = r.Binding.High, g.name
		}
	}
	return ct, name, nil
}
