package unitop

import (
	"fmt"

	"github.com/skidrule/skidrule/internal/fluid"
)

// OffGasInput describes the gas that gathers over the water of a contactor and
// leaves by its vent.
type OffGasInput struct {
	Feed        fluid.Gas   // gas that enters the contactor (mole fractions)
	FeedFlow    float64     // mol/s, above 0 to 1000
	Flow        fluid.Range // gas that leaves in the mean in mol/s, as from [Contact]
	Ozone       fluid.Range // ozone that leaves in the mean in mol/s, as from [Contact]
	Gas         fluid.Gas   // best composition of the gas that leaves; ignored when Flow.Best is 0
	Temperature float64     // of the gas that leaves in K, 273.15 to 373.15
	Pressure    float64     // at which volume flow and dew point are stated in Pa abs, to 2 MPa

	// Burst is the flow in mol/s of the vent when it stands fully open, from
	// its orifice; a float vent discharges in bursts.
	Burst fluid.Range
}

// OffGasStream is the off-gas in one of its states.
type OffGasStream struct {
	Flow          fluid.Range // mol/s, water vapour included
	Volume        fluid.Range // actual m3/s at the stated temperature and pressure
	Mass          fluid.Range // kg/s
	Ozone         fluid.Range // kg/s
	OzoneFraction fluid.Range // mole fraction of ozone in the moist gas
	Water         fluid.Range // water vapour in kg/s
	Gas           fluid.Gas   // best composition, saturated with water
}

// OffGas is the off-gas in the three states that size what follows.
type OffGas struct {
	Mean         OffGasStream // what transfer leaves over, in the mean
	ZeroTransfer OffGasStream // nothing dissolves: the whole feed at full ozone
	Burst        OffGasStream // the vent fully open, with gas of up to feed strength
	DewPoint     float64      // of each of them in K: they are saturated at the stated temperature
	BurstRatio   fluid.Range  // burst over mean flow; zero when there is no mean flow
}

// VentOffGas states the off-gas of a contactor in the mean, with zero transfer,
// and in a burst of its vent, all saturated with water vapour.
//
// The ozone in a burst lies between the mean composition (low and best) and
// the feed with zero transfer (high). Outside the ranges of [OffGasInput]: an
// error.
//
// Source: molar balance; vapour pressure [fluid.WaterSaturationPressure]. No
// published worked case was found: held by conservation.
func VentOffGas(in OffGasInput) (OffGas, error) {
	if err := in.check(); err != nil {
		return OffGas{}, err
	}
	wet, err := fluid.SaturatedWaterFraction(in.Temperature, in.Pressure)
	if err != nil {
		return OffGas{}, err
	}
	feed, err := in.Feed.WithWater(wet)
	if err != nil {
		return OffGas{}, err
	}
	full := in.FeedFlow * (1 - in.Feed.H2O) / (1 - wet)
	out := OffGas{DewPoint: in.Temperature}
	if out.ZeroTransfer, err = in.stream(feed, fluid.Exact(full), fluid.Exact(full*feed.O3)); err != nil {
		return OffGas{}, err
	}
	lean := feed
	if in.Flow.Best > 0 {
		if lean, err = in.Gas.WithWater(wet); err != nil {
			return OffGas{}, err
		}
	}
	if out.Mean, err = in.stream(lean, in.Flow, in.Ozone); err != nil {
		return OffGas{}, err
	}
	share := fluid.Range{Low: min(lean.O3, out.Mean.OzoneFraction.Low), Best: lean.O3, High: max(feed.O3, out.Mean.OzoneFraction.High)}
	if out.Burst, err = in.stream(lean, in.Burst, in.Burst.Mul(share)); err != nil {
		return OffGas{}, err
	}
	out.Burst.OzoneFraction = share
	if in.Flow.Low > 0 {
		out.BurstRatio = fluid.Range{
			Low:  in.Burst.Low / in.Flow.High,
			Best: in.Burst.Best / in.Flow.Best,
			High: in.Burst.High / in.Flow.Low,
		}
	}
	return out, nil
}

// check returns an error that names the input at fault.
func (in OffGasInput) check() error {
	if err := in.Feed.Check(); err != nil {
		return err
	}
	if err := positive("feed gas flow", in.FeedFlow, 1000, "mol/s"); err != nil {
		return err
	}
	if err := checkRange("off-gas flow", in.Flow, 0, 1000, "mol/s"); err != nil {
		return err
	}
	if err := checkRange("ozone in the off-gas", in.Ozone, 0, 1000, "mol/s"); err != nil {
		return err
	}
	if in.Ozone.Best > in.Flow.Best || in.Ozone.High > in.Flow.High {
		return &ContradictionError{Reason: fmt.Sprintf("ozone in the off-gas (best %g, high %g mol/s) passes the flow (best %g, high %g mol/s)",
			in.Ozone.Best, in.Ozone.High, in.Flow.Best, in.Flow.High)}
	}
	if in.Flow.Best > 0 {
		if err := in.Gas.Check(); err != nil {
			return err
		}
	}
	if err := checkRange("burst flow", in.Burst, 0, 1e4, "mol/s"); err != nil {
		return err
	}
	return within(
		limit{"off-gas temperature", in.Temperature, fluid.WaterTemperatureLow, fluid.WaterTemperatureHigh, "K"},
		limit{"off-gas pressure (absolute)", in.Pressure, 0, fluid.GasPressureHigh, "Pa"},
	)
}

// stream states a saturated gas of which flow and ozone in mol/s are known.
func (in OffGasInput) stream(gas fluid.Gas, flow, ozone fluid.Range) (OffGasStream, error) {
	m, err := gas.MolarMass()
	if err != nil {
		return OffGasStream{}, err
	}
	s := OffGasStream{
		Flow:   flow,
		Volume: flow.Scale(fluid.GasConstant * in.Temperature / in.Pressure),
		Mass:   flow.Scale(m),
		Ozone:  ozone.Scale(fluid.MolarMassO3),
		Water:  flow.Scale(gas.H2O * fluid.MolarMassH2O),
		Gas:    gas,
	}
	fraction := func(o, f float64) float64 {
		if f == 0 {
			return 0
		}
		return o / f
	}
	// More transfer leaves less gas and less ozone: the ends go together.
	a, b, c := fraction(ozone.Low, flow.Low), fraction(ozone.Best, flow.Best), fraction(ozone.High, flow.High)
	s.OzoneFraction = fluid.Range{Low: min(a, b, c), Best: b, High: max(a, b, c)}
	return s, nil
}
