package unitop

import (
	"errors"
	"fmt"

	"github.com/skidrule/skidrule/internal/fluid"
)

// AdiabaticRise returns the temperature rise in K of gas of which the ozone
// decomposes without loss of heat.
//
//   - gas: composition at the inlet.
//   - inlet: temperature in K, 250 to 700.
//   - conversion: share of the ozone that decomposes, 0 to 1.
//
// Enthalpy balance with heat capacities that move with temperature: sum of
// the products at T equals that of the reactants at the inlet. About 32 K for
// each wt % in dry oxygen. Outside the range, and where the outlet would pass
// 1000 K: an error.
//
// Source: NIST Chemistry WebBook: 142.67 kJ/mol, Shomate equations.
func AdiabaticRise(gas fluid.Gas, inlet, conversion float64) (float64, error) {
	if err := gas.Check(); err != nil {
		return 0, err
	}
	if err := within(
		limit{"inlet temperature", inlet, fluid.GasTemperatureLow, 700, "K"},
		limit{"conversion of ozone", conversion, 0, 1, ""},
	); err != nil {
		return 0, err
	}
	reacted := gas.O3 * conversion
	start, err := gas.Enthalpy(inlet)
	if err != nil {
		return 0, err
	}
	product, err := fluid.GasFromAmounts(gas.O2+1.5*reacted, gas.N2, gas.Ar, gas.O3-reacted, gas.H2O)
	if err != nil {
		return 0, err
	}
	moles := 1 + reacted/2
	target := (start + reacted*fluid.OzoneFormationEnthalpy) / moles
	hottest, err := product.Enthalpy(fluid.GasTemperatureHigh)
	if err != nil {
		return 0, err
	}
	if target > hottest {
		return 0, fmt.Errorf("ozone of mole fraction %g entering at %g K heats the gas above %g K: %w",
			gas.O3, inlet, fluid.GasTemperatureHigh, fluid.ErrOutOfRange)
	}
	if reacted == 0 {
		return 0, nil
	}
	over := func(t float64) float64 {
		h, errAt := product.Enthalpy(t)
		err = errors.Join(err, errAt)
		return h - target
	}
	outlet := crossing(inlet, fluid.GasTemperatureHigh, over(inlet), hottest-target, 0, over)
	return outlet - inlet, err
}

// DestructInput describes a heated catalytic ozone destruct and its inlet.
type DestructInput struct {
	Gas         fluid.Gas   // composition at the inlet, water vapour included
	Flow        fluid.Range // gas at the inlet in mol/s, above 0 to 1000
	Temperature float64     // gas at the inlet in K, 273.15 to 373.15
	Pressure    float64     // in the bed in Pa abs, above 0 to 2 MPa
	CarryOver   fluid.Range // liquid water that comes with the gas in kg/s, 0 to 1

	BedTemperature float64     // temperature that the heater holds in K, 273.15 to 700
	BedVolume      float64     // catalyst in m3, above 0 to 100
	FaceArea       float64     // bed face in m2, above 0 to 100
	HeatLoss       fluid.Range // loss of the housing in W, 0 to 1e5
}

// Destruct is what the bed sees and what the heater must give.
type Destruct struct {
	AdiabaticRise  float64     // K, all ozone decomposed
	OutletHottest  float64     // bed temperature plus the rise in K
	OzoneHeat      fluid.Range // heat set free by the ozone in W
	SensibleDuty   fluid.Range // to bring gas to bed temperature in W
	EvaporateDuty  fluid.Range // to evaporate the carry-over and heat its vapour in W
	HeaterDuty     fluid.Range // sum of the two and the loss in W: what a cold start needs, no help from the ozone
	DewPoint       fluid.Range // of the gas with its carry-over evaporated in K
	DewPointMargin fluid.Range // bed temperature minus dew point in K; below 0 the bed is wet
	SpaceVelocity  fluid.Range // gas at 0 degC and 101.325 kPa over the bed in 1/s
	FaceVelocity   fluid.Range // actual gas at bed temperature over the face in m/s
	WaterFraction  fluid.Range // mole fraction of water with the carry-over evaporated
}

// HeatedDestruct computes the adiabatic rise, the heater duty, the margin over
// the dew point and the loads of a destruct bed.
//
// The heater brings the gas to bed temperature and evaporates the liquid that
// comes along; the heat of the ozone is shown but not counted on, for it is
// missing at start and at good transfer. Low and high carry flow, carry-over
// and heat loss. Outside the ranges of [DestructInput]: an error; also where
// the evaporated water would be more than the gas can be with (dew point above
// 100 degC).
//
// Source: NIST Shomate heat capacities; latent heat IAPWS SR1-86(1992).
func HeatedDestruct(in DestructInput) (Destruct, error) {
	if err := in.check(); err != nil {
		return Destruct{}, err
	}
	rise, err := AdiabaticRise(in.Gas, in.BedTemperature, 1)
	if err != nil {
		return Destruct{}, err
	}
	cold, err := in.Gas.Enthalpy(in.Temperature)
	if err != nil {
		return Destruct{}, err
	}
	hot, err := in.Gas.Enthalpy(in.BedTemperature)
	if err != nil {
		return Destruct{}, err
	}
	steam := fluid.Gas{H2O: 1}
	vapourCold, err := steam.Enthalpy(in.Temperature)
	if err != nil {
		return Destruct{}, err
	}
	vapourHot, err := steam.Enthalpy(in.BedTemperature)
	if err != nil {
		return Destruct{}, err
	}
	latent, err := fluid.WaterLatentHeat(in.Temperature)
	if err != nil {
		return Destruct{}, err
	}
	ozoneHeat, err := fluid.OzoneDecompositionHeat(in.BedTemperature)
	if err != nil {
		return Destruct{}, err
	}
	d := Destruct{
		AdiabaticRise: rise,
		OutletHottest: in.BedTemperature + rise,
		OzoneHeat:     in.Flow.Scale(in.Gas.O3 * ozoneHeat),
		SensibleDuty:  in.Flow.Scale(hot - cold),
		EvaporateDuty: in.CarryOver.Scale(latent + (vapourHot-vapourCold)/fluid.MolarMassH2O),
		SpaceVelocity: in.Flow.Scale(fluid.NormalMolarVolume / in.BedVolume),
	}
	d.HeaterDuty = d.SensibleDuty.Add(d.EvaporateDuty).Add(in.HeatLoss)
	carried := in.CarryOver.Scale(1 / fluid.MolarMassH2O)
	d.FaceVelocity = in.Flow.Add(carried).Scale(fluid.GasConstant * in.BedTemperature / in.Pressure / in.FaceArea)

	// The wettest gas is the least gas with the most carry-over.
	wet := func(flow, liquid float64) float64 { return (flow*in.Gas.H2O + liquid) / (flow + liquid) }
	d.WaterFraction = fluid.Range{
		Low:  wet(in.Flow.High, carried.Low),
		Best: wet(in.Flow.Best, carried.Best),
		High: wet(in.Flow.Low, carried.High),
	}
	d.DewPoint, err = d.WaterFraction.MapErr(func(y float64) (float64, error) {
		t, _, err := fluid.DewPoint(y * in.Pressure)
		return t, err
	})
	if err != nil {
		return Destruct{}, fmt.Errorf("dew point of the gas with its carry-over evaporated: %w", err)
	}
	d.DewPointMargin = fluid.Exact(in.BedTemperature).Sub(d.DewPoint)
	return d, nil
}

// check returns an error that names the input at fault.
func (in DestructInput) check() error {
	if err := in.Gas.Check(); err != nil {
		return err
	}
	if in.Gas.H2O == 0 && in.CarryOver.Low == 0 {
		return fmt.Errorf("gas without any water has no dew point: %w: give its water content", fluid.ErrOutOfRange)
	}
	if err := positiveRange("gas flow", in.Flow, 1000, "mol/s"); err != nil {
		return err
	}
	if err := checkRange("carry-over", in.CarryOver, 0, 1, "kg/s"); err != nil {
		return err
	}
	if err := checkRange("heat loss", in.HeatLoss, 0, 1e5, "W"); err != nil {
		return err
	}
	if err := above(
		limit{"bed volume", in.BedVolume, 0, 100, "m3"},
		limit{"bed face area", in.FaceArea, 0, 100, "m2"},
		limit{"bed pressure (absolute)", in.Pressure, 0, fluid.GasPressureHigh, "Pa"},
	); err != nil {
		return err
	}
	if err := within(
		limit{"inlet temperature", in.Temperature, fluid.WaterTemperatureLow, fluid.WaterTemperatureHigh, "K"},
		limit{"bed temperature", in.BedTemperature, fluid.WaterTemperatureLow, 700, "K"},
	); err != nil {
		return err
	}
	if in.BedTemperature < in.Temperature {
		return &ContradictionError{Reason: fmt.Sprintf("bed temperature %g K lies below the inlet temperature %g K: the heater cannot cool",
			in.BedTemperature, in.Temperature)}
	}
	return nil
}
