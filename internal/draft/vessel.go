package draft

import (
	"math"

	"github.com/skidrule/skidrule/internal/fluid"
	"github.com/skidrule/skidrule/internal/quantity"
	"github.com/skidrule/skidrule/internal/unitop"
)

// up rounds a length, a volume or a pressure up to the next step.
func up(x, step float64) float64 { return math.Ceil(x/step-1e-9) * step }

// findMotive finds what the pump has to do.
func (p *plan) findMotive() error {
	if !p.pumped {
		return nil
	}
	d := p.demand
	rho, err := fluid.WaterDensity(d.warm, d.air)
	if err != nil {
		return err
	}
	vapour, err := fluid.WaterSaturationPressure(d.warm)
	if err != nil {
		return err
	}
	p.size("head of the pump", p.head, quantity.PressureDifference, "injector inlet - lowest supply + rise (0.4 m) + lines (0.1 bar)", "hydrostatics; loss: "+practice)
	supply := d.supply.low
	if p.circuit == tank {
		supply = rho * unitop.StandardGravity * 1.5
	}
	// The line to the pump takes about 0.05 bar.
	p.npsh = (d.air + supply - vapour - 0.05e5) / (rho * unitop.StandardGravity)
	p.size("net positive suction head available", p.npsh, quantity.Length, "(atmosphere + lowest supply - vapour pressure of the warmest water - 0.05 bar)/(rho g)", "definition; line loss: "+practice)
	if p.npsh < 1.5 {
		p.refusals.add("min_supply_pressure", "the pump would stand under "+say(p.npsh, quantity.Length)+" of suction head, and pumps need 1.5 m and more", "raise the supply pressure")
	}
	return nil
}

// findVessels sizes the contact volume and what stands behind it.
func (p *plan) findVessels() error {
	p.volume = p.motive * p.time
	if p.circuit == tank {
		// The treated water passes the tank as a whole, the loop stirs it.
		p.volume = max(p.volume, p.demand.most*p.time)
	}
	step := 0.02
	if p.volume > 1 {
		step = 0.1
	}
	p.volume = up(p.volume, step)
	switch {
	case p.circuit == tank:
		p.height = 2.4
	case p.volume <= 1.5:
		p.height = 2.2
	case p.volume <= 10:
		p.height = 3
	default:
		p.height = 4.5
	}
	full := p.height - 0.05
	if p.circuit == tank {
		full = 2
	}
	p.diameter = math.Round(1000*math.Sqrt(4*p.volume/(math.Pi*full))) / 1000
	p.size("contact volume", p.volume, quantity.Volume, "water x mean residence time, rounded up", "definition of the mean residence time")
	if p.volume > 200 {
		p.refusals.add("basis.treated_flow", "the contact volume would be "+say(p.volume, quantity.Volume)+", more than one vessel holds", "divide the flow among several plants and draft one of them")
		return nil
	}
	beta := p.baffling()
	p.stand(assumption{p.vesselPath() + ".short_circuit", beta.low, beta.high, quantity.Ratio, beta.source})
	p.stand(assumption{p.vesselPath() + ".mass_transfer_coefficient", transferRate.low, transferRate.high, quantity.Rate, "stirred by the jet behind injector and mixer; " + transferRate.source + "; measure it at commissioning"})
	if p.circuit == fullFlow {
		p.degas = up(p.motive*p.assume("mean residence time for degassing", degasTime, quantity.Duration), 0.05)
		p.size("volume of the degassing vessel", p.degas, quantity.Volume, "water x time, rounded up", practice)
		p.stand(assumption{"components.DV-1.degassing_vessel.mass_transfer_coefficient", transferRate.low, transferRate.high, quantity.Rate, "as in the reaction vessel; " + transferRate.source})
	}
	return nil
}

// vesselPath is the path of the contact volume's own data.
func (p *plan) vesselPath() string {
	switch p.circuit {
	case fullFlow:
		return "components.RV-1.reaction_vessel"
	case tank:
		return "components.T-1.open_tank"
	}
	return "components.CT-1.contact_vessel"
}

// moist is the off-gas at its wettest: what the generator made, saturated with the warmest water at a pressure in Pa absolute.
func (p *plan) moist(pressure float64) (fluid.Gas, error) {
	y, err := fluid.SaturatedWaterFraction(p.demand.warm, pressure)
	if err != nil {
		return fluid.Gas{}, err
	}
	return p.gas.WithWater(y)
}

// findOffGas sizes float vent, pot and destruct: the vent for the whole gas while nothing dissolves, the pot for its burst.
func (p *plan) findOffGas() error {
	d := p.demand
	t := d.warm
	gas, err := p.moist(d.air)
	if err != nil {
		return err
	}
	molar, err := gas.MolarMass()
	if err != nil {
		return err
	}
	k, err := gas.HeatCapacityRatio(t)
	if err != nil {
		return err
	}
	g := unitop.Gas{MolarMass: molar, HeatRatio: k, Compressibility: 1}
	p.burst = p.gasFlow
	if p.circuit == tank {
		// The blower draws air along, so that what leaks, leaks inward; a picked one says how much.
		p.burst = max(p.blows, p.assume("gas that the blower draws over the gas that comes", blowerSpare, quantity.Ratio)*p.gasFlow)
		p.size("gas that the blower draws", p.burst, quantity.GasFlow, "the whole gas and the air that leaks in", practice)
	} else {
		p.assume("discharge coefficient of the float vent", dischargeCoefficient, quantity.Ratio)
		cd := fluid.Range{Low: dischargeCoefficient.low, Best: dischargeCoefficient.best, High: dischargeCoefficient.high}
		// Where the vessel stands hardly above atmosphere, water in the vent line still brings about 0.1 bar.
		area, err := unitop.OrificeGasArea(p.assume("float vent over gas", ventSpare, quantity.Ratio)*p.gasFlow*molar, cd.Low, max(p.vessel, 0.1e5)+d.air, d.air, t, g)
		if err != nil {
			return err
		}
		p.ventBore = max(2e-3, up(2*math.Sqrt(area/math.Pi), 0.5e-3))
		p.size("orifice of the float vent", p.ventBore, quantity.Length, "passes the whole gas with a spare at the pressure in the gas space, rounded up to 0.5 mm, not below 2 mm", "isentropic flow of an ideal gas; coefficient: "+practice)
		burst, err := unitop.BurstFlow(p.ventBore, cd, max(p.vesselHigh, 0.1e5)+d.air, d.air, t, g)
		if err != nil {
			return err
		}
		p.burst = max(burst.High/molar, p.gasFlow)
		p.size("burst of the float vent", p.burst, quantity.GasFlow, "orifice fully open at the highest pressure in the gas space", "isentropic flow of an ideal gas; coefficient: "+practice)
	}
	density, err := gas.Density(t, d.air)
	if err != nil {
		return err
	}
	viscosity, err := gas.Viscosity(t)
	if err != nil {
		return err
	}
	water, err := fluid.WaterDensity(t, d.air)
	if err != nil {
		return err
	}
	drop, err := unitop.DropletVelocity(p.assume("droplet that the pot takes out", designDroplet, quantity.Length), water, density.Low, viscosity.High)
	if err != nil {
		return err
	}
	volume, err := fluid.VolumeFlow(p.bursts()*p.burst, t, d.air)
	if err != nil {
		return err
	}
	// A tenth more diameter keeps a margin over the velocity at which the droplet just stands still.
	p.pot = max(0.15, up(1.1*math.Sqrt(4*volume/(math.Pi*drop.Low)), 0.05))
	p.potHeight = max(0.6, up(3*p.pot, 0.1))
	p.size("drop-out velocity", drop.Low, quantity.Velocity, "terminal velocity of the droplet", "balance of weight, buoyancy and drag of a sphere")
	p.size("diameter of the pot", p.pot, quantity.Length, "1.1 sqrt(4 Q/(pi v)) at the burst, rounded up to 50 mm, not below 150 mm", "continuity; margin: "+practice)
	if p.heater, err = p.heaterDuty(); err != nil {
		return err
	}
	p.size("heater of the destruct", p.heater, quantity.Power, "1.3 times what warms the whole gas from the coldest water to 70 degC and evaporates a carry-over of 5 % of its mass", "NIST Shomate heat capacities, IAPWS SR1-86(1992); reserve and carry-over: "+practice)
	p.size("gas to the destruct while nothing dissolves", p.bursts()*p.burst, quantity.GasFlow, "the burst, or the whole gas without a float vent", "balance")
	return nil
}

// heldBed is the temperature in K that a heated bed is held at: common practice, no source.
const heldBed = 343.15

// heaterDuty is the power in W that keeps a bed dry and warm at a cold start, while the ozone does not help.
func (p *plan) heaterDuty() (float64, error) {
	d := p.demand
	y, err := fluid.SaturatedWaterFraction(d.cold, d.air)
	if err != nil {
		return 0, err
	}
	gas, err := p.gas.WithWater(y)
	if err != nil {
		return 0, err
	}
	molar, err := gas.MolarMass()
	if err != nil {
		return 0, err
	}
	// The duty does not depend on the size of the bed.
	flow := p.gasFlow
	if p.circuit == tank {
		flow = p.burst
	}
	r, err := unitop.HeatedDestruct(unitop.DestructInput{
		Gas: gas, Flow: fluid.Exact(flow), Temperature: d.cold, Pressure: d.air, CarryOver: fluid.Exact(0.05 * flow * molar),
		BedTemperature: heldBed, BedVolume: 1, FaceArea: 1, HeatLoss: fluid.Exact(0),
	})
	if err != nil {
		return 0, err
	}
	return 1.3 * r.HeaterDuty.High, nil
}

// bursts is the number of float vents that can stand open at once.
func (p *plan) bursts() float64 {
	if p.circuit == fullFlow {
		return 2
	}
	return 1
}
