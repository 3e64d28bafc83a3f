package operate

import (
	"github.com/skidrule/skidrule/internal/fluid"
	"github.com/skidrule/skidrule/internal/network"
	"github.com/skidrule/skidrule/internal/unitop"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// site reads what holds everywhere.
func (w *wiring) site() {
	b := w.p.Basis
	if b.AtmosphericPressurePaAbs == nil && b.AltitudeM != nil {
		if r, err := unitop.StandardAtmosphere(*b.AltitudeM); err == nil {
			w.atmosphere = w.spread(r.Low, r.Best, r.High, Datum{DatumBasis, 0, "atmospheric_pressure"})
		}
	} else {
		w.atmosphere = w.number(b.AtmosphericPressurePaAbs, Datum{DatumBasis, 0, "atmospheric_pressure"})
	}
	w.airLacks, w.airUsed = w.take(), w.takeUsed()
	switch t := w.s.c.Design; {
	case t != nil && t.WaterTemperatureK != nil:
		w.water = *t.WaterTemperatureK
	case b.WaterTemperatureK == nil && b.MinWaterTemperatureK != nil && b.MaxWaterTemperatureK != nil:
		low, high := *b.MinWaterTemperatureK, *b.MaxWaterTemperatureK
		w.water = w.spread(low, (low+high)/2, high, Datum{DatumBasis, 0, "water_temperature"})
	default:
		w.water = w.number(b.WaterTemperatureK, Datum{DatumBasis, 0, "water_temperature"})
	}
	w.fluidLacks[fluidWater] = joinData(w.airLacks, w.take())
	w.fluidUsed[fluidWater] = joinData(w.airUsed, w.takeUsed())
	if f, ok := waterFluid(w.water); ok {
		w.fluids[fluidWater] = f
	} else {
		w.fluidLacks[fluidWater] = joinData(w.fluidLacks[fluidWater], []Datum{{DatumBasis, 0, "water_temperature"}})
	}
	low, high := w.number(b.MinAmbientTemperatureK, Datum{DatumBasis, 0, "min_ambient_temperature"}), w.number(b.MaxAmbientTemperatureK, Datum{DatumBasis, 0, "max_ambient_temperature"})
	w.gasT = w.spread(low, (low+high)/2, high, Datum{DatumModel, 0, "gas temperature between the ambient ends"})
	lacks := joinData(w.airLacks, w.take())
	w.gas = w.feedGas()
	w.fluidLacks[fluidGas], w.fluidLacks[fluidAir] = joinData(lacks, w.take()), lacks
	w.fluidUsed[fluidGas] = joinData(w.airUsed, w.takeUsed())
	for i, g := range []fluid.Gas{fluidGas: w.gas, fluidAir: fluid.DryAir()} {
		if i == fluidWater {
			continue
		}
		if f, ok := gasFluid(g, w.gasT); ok {
			w.fluids[i] = f
		} else if len(w.fluidLacks[i]) == 0 {
			w.fluidLacks[i] = []Datum{{DatumBasis, 0, "max_ambient_temperature"}}
		}
	}
	w.twoPhase = w.spread(0.6, 1, 1.7, Datum{DatumModel, 0, "friction of water that carries gas"})
	w.take()
	w.twoPhaseUsed = w.takeUsed()
}

// waterFluid gives the properties of water; false outside their range.
func waterFluid(t float64) (network.Fluid, bool) {
	rho, err1 := fluid.WaterDensity(t, 2e5)
	mu, err2 := fluid.WaterViscosity(t, 2e5)
	pv, err3 := fluid.WaterSaturationPressure(t)
	return network.Fluid{Phase: network.Liquid, Density: rho, Viscosity: mu, VapourPressure: pv, CriticalPressure: 22.064e6}, err1 == nil && err2 == nil && err3 == nil
}

// gasFluid gives the properties of a gas; false outside their range.
func gasFluid(g fluid.Gas, t float64) (network.Fluid, bool) {
	m, err1 := g.MolarMass()
	mu, err2 := g.Viscosity(t)
	k, err3 := g.HeatCapacityRatio(t)
	return network.Fluid{Phase: network.Gas, MolarMass: m, Temperature: t, Viscosity: mu.Best, Compressibility: 1, HeatRatio: k}, err1 == nil && err2 == nil && err3 == nil
}

// feedGas is what generators are fed with: of the concentrator or supply, else air. Argon goes with nitrogen.
func (w *wiring) feedGas() fluid.Gas {
	for i := range w.p.Components {
		c := &w.p.Components[i]
		purity := 0.0
		switch s := c.Data.GetSpec().(type) {
		case *skidrulev1.Component_OxygenConcentrator:
			purity = w.number(s.OxygenConcentrator.RatedPurityMoleFraction, Datum{DatumSpec, int32(i), "rated_purity"})
		case *skidrulev1.Component_GasSupply:
			switch s.GasSupply.GetGas() {
			case skidrulev1.SuppliedGas_SUPPLIED_GAS_AIR:
				return fluid.DryAir()
			case skidrulev1.SuppliedGas_SUPPLIED_GAS_OXYGEN:
				purity = w.number(s.GasSupply.PurityMoleFraction, Datum{DatumSpec, int32(i), "purity"})
			default:
				continue
			}
		default:
			continue
		}
		if g, err := fluid.DryOxygen(purity, 0); err == nil {
			return g
		}
		w.lack(Datum{DatumSpec, int32(i), "rated_purity"})
		return fluid.DryAir()
	}
	return fluid.DryAir()
}
