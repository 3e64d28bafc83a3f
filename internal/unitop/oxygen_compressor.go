package unitop

import (
	"fmt"
	"math"

	"github.com/skidrule/skidrule/internal/fluid"
)

// CompressorInput describes a compressor or blower and the state in which it
// runs.
type CompressorInput struct {
	Gas        fluid.Gas   // composition (mole fractions)
	Flow       float64     // mol/s, above 0 to 1e4
	Inlet      float64     // temperature in K, 250 to 400
	Suction    float64     // pressure in Pa abs, above 0 to 2 MPa
	Discharge  float64     // pressure in Pa abs, from Suction to 2 MPa
	Efficiency fluid.Range // adiabatic (or polytropic) efficiency, above 0 to 1
	Stages     int         // equal pressure ratios with cooling back to Inlet between, 1 to 5
}

// Compressor is the work and the heat of a compression.
type Compressor struct {
	Adiabatic   fluid.Range // shaft power in W with Efficiency taken as adiabatic
	Polytropic  fluid.Range // shaft power in W with Efficiency taken as polytropic
	Isothermal  float64     // least power in W, at constant temperature
	Temperature fluid.Range // discharge temperature of the last stage in K, adiabatic efficiency
}

// Compress returns the power and discharge temperature of a compression of
// ideal gas with the heat capacity ratio k at the inlet:
// n R T k/(k-1) (r^((k-1)/k) - 1)/eff for each stage.
//
// The polytropic power uses the exponent (k-1)/(k eff) in place of dividing by
// eff. Outside the ranges of [CompressorInput], and where the discharge would
// pass 1000 K: an error.
//
// Source: Couper, Penney and Fair, Chemical Process Equipment, 2nd edition,
// adiabatic and polytropic compression of ideal gas, verified in a
// transcription; held by its closed-form limits.
func Compress(in CompressorInput) (Compressor, error) {
	if err := in.Gas.Check(); err != nil {
		return Compressor{}, err
	}
	if err := above(
		limit{"gas flow", in.Flow, 0, 1e4, "mol/s"},
		limit{"suction pressure (absolute)", in.Suction, 0, fluid.GasPressureHigh, "Pa"},
	); err != nil {
		return Compressor{}, err
	}
	if err := within(
		limit{"inlet temperature", in.Inlet, fluid.GasTemperatureLow, 400, "K"},
		limit{"discharge pressure (absolute)", in.Discharge, in.Suction, fluid.GasPressureHigh, "Pa"},
		limit{"stages", float64(in.Stages), 1, 5, ""},
	); err != nil {
		return Compressor{}, err
	}
	if err := positiveRange("efficiency", in.Efficiency, 1, ""); err != nil {
		return Compressor{}, err
	}
	k, err := in.Gas.HeatCapacityRatio(in.Inlet)
	if err != nil {
		return Compressor{}, err
	}
	stages := float64(in.Stages)
	lnRatio := math.Log(in.Discharge/in.Suction) / stages
	exponent := (k - 1) / k
	work := in.Flow * fluid.GasConstant * in.Inlet * stages
	c := Compressor{
		Isothermal: work * lnRatio,
		Adiabatic: in.Efficiency.Map(func(eff float64) float64 {
			return work / exponent * math.Expm1(exponent*lnRatio) / eff
		}),
		Polytropic: in.Efficiency.Map(func(eff float64) float64 {
			m := exponent / eff
			return work / exponent * math.Expm1(m*lnRatio)
		}),
		Temperature: in.Efficiency.Map(func(eff float64) float64 {
			return in.Inlet * (1 + math.Expm1(exponent*lnRatio)/eff)
		}),
	}
	if c.Temperature.High > fluid.GasTemperatureHigh {
		return Compressor{}, fmt.Errorf("discharge temperature %.5g K: %w: at most %g K",
			c.Temperature.High, fluid.ErrOutOfRange, fluid.GasTemperatureHigh)
	}
	return c, nil
}

// CompressorFlow returns the flow in mol/s of a compressor at a discharge
// pressure from its measured curve, by straight lines.
//
//   - name: tag, used to name what is missing.
//   - curve: X discharge pressure in Pa abs, rising; Y flow in mol/s.
//   - discharge: pressure in Pa abs, within the curve.
//
// Without a curve, or outside it: an error. No extrapolation.
func CompressorFlow(name string, curve []CurvePoint, discharge float64) (float64, error) {
	if len(curve) == 0 {
		return 0, fmt.Errorf("compressor %q: flow against discharge pressure is not stated: %w", name, ErrNoTable)
	}
	return curveAt("discharge pressure of compressor "+name, "Pa", curve, discharge)
}
