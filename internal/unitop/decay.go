package unitop

import (
	"math"

	"github.com/skidrule/skidrule/internal/fluid"
)

// OzoneLoss is what becomes of a transferred ozone dose in water that flows
// through a vessel in plug flow without more ozone being added.
type OzoneLoss struct {
	Start     fluid.Range // ozone left after the instantaneous demand in kg/m3
	Residual  fluid.Range // ozone at the end in kg/m3
	Mean      fluid.Range // mean ozone over the time in kg/m3
	CT        fluid.Range // integral of ozone over the time in kg s/m3
	Exhausted bool        // true when the demand may take all of the dose (at the low end)
}

// OzoneLossInPlugFlow returns the ozone in water after an instantaneous demand
// D and first-order decay: C = (dose - D) exp(-k t), CT = (dose - D)
// (1 - exp(-k t))/k.
//
//   - dose: transferred ozone in kg/m3, 0 to 50 (1 mg/L is 0.001).
//   - demand: instantaneous demand in kg/m3, 0 to 50.
//   - rate: decay rate k in 1/s, 0 to 10.
//   - time: time in s, 0 to 1e9.
//
// Low takes the least dose with the most demand and decay, high the reverse.
// Where the demand takes the whole dose the ozone is zero, which is said in
// Exhausted. Outside the range: an error.
//
// Source: first-order decay; integrated CT after the log-integration method
// (Coffey 1994, as in IOA-PAG proceedings, Windsor 2004, equation 6).
func OzoneLossInPlugFlow(dose, demand, rate fluid.Range, time float64) (OzoneLoss, error) {
	if err := checkRange("ozone dose", dose, 0, maxOzone, "kg/m3"); err != nil {
		return OzoneLoss{}, err
	}
	if err := checkRange("ozone demand", demand, 0, maxOzone, "kg/m3"); err != nil {
		return OzoneLoss{}, err
	}
	if err := checkRange("decay rate", rate, 0, 10, "1/s"); err != nil {
		return OzoneLoss{}, err
	}
	if err := within(limit{"time", time, 0, 1e9, "s"}); err != nil {
		return OzoneLoss{}, err
	}
	start := dose.Sub(demand).Map(func(c float64) float64 { return max(0, c) })
	// More decay leaves less: the ends of the rate swap.
	left := rate.Map(func(k float64) float64 { return math.Exp(-k * time) })
	span := rate.Map(func(k float64) float64 { return decaySpan(k, time) })
	loss := OzoneLoss{
		Start:     start,
		Residual:  start.Mul(left),
		CT:        start.Mul(span),
		Exhausted: demand.High > 0 && demand.High >= dose.Low,
	}
	loss.Mean = start
	if time > 0 {
		loss.Mean = loss.CT.Scale(1 / time)
	}
	return loss, nil
}

// decaySpan returns (1 - exp(-k t))/k in s, which tends to t for small k.
func decaySpan(k, t float64) float64 {
	if k == 0 {
		return t
	}
	return -math.Expm1(-k*t) / k
}
