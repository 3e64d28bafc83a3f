package unitop

import (
	"fmt"
	"math"

	"github.com/skidrule/skidrule/internal/fluid"
)

// OxygenSite tells whether gas can strike a wall at the place looked at.
type OxygenSite string

// The two kinds of site.
const (
	Impingement    OxygenSite = "impingement"     // tees, short-radius elbows, reducers, valves, orifices
	NonImpingement OxygenSite = "non-impingement" // straight pipe, long-radius bends
)

// OxygenVelocityLimit returns the highest velocity in m/s of oxygen-rich gas in
// metal pipe at a pressure of 0.21e6 to 10e6 Pa absolute:
//
//	impingement      30 m/s up to 1.5 MPa, then P v = 45 MPa m/s
//	non-impingement  60 m/s up to 1.5 MPa, then P v = 80 MPa m/s
//
// The second curve steps down from 60 to 53.3 m/s just above 1.5 MPa; that step
// is in the source. Below 0.21 MPa the source sets no limit but asks for a risk
// assessment, and below 35 % oxygen by volume it does not apply: the first is
// out of range here, the second is for the caller to decide.
//
// Source: EIGA Doc 13/20, clauses 4.4.2 and 4.4.3, read in a transcription.
func OxygenVelocityLimit(pressure float64, site OxygenSite) (float64, error) {
	if err := within(limit{"oxygen pressure", pressure, 0.21e6, 10e6, "Pa absolute"}); err != nil {
		return 0, err
	}
	switch site {
	case Impingement:
		return math.Min(30, 45e6/pressure), nil
	case NonImpingement:
		if pressure <= 1.5e6 {
			return 60, nil
		}
		return 80e6 / pressure, nil
	default:
		return 0, &ContradictionError{Reason: fmt.Sprintf("site %q is neither impingement nor non-impingement", string(site))}
	}
}

// GasVelocity returns the mean velocity in m/s of a gas flow (mol/s, 0 to 1e5)
// in a bore (m, above 0 to 5) at pressure (Pa absolute) and temperature (K):
// v = n Z R T/(p A).
//
// Source: equation of state, continuity.
func GasVelocity(flow, bore, pressure, temperature, compressibility float64) (float64, error) {
	if err := positive("bore", bore, 5, "m"); err != nil {
		return 0, err
	}
	if err := gasState(pressure, temperature); err != nil {
		return 0, err
	}
	if err := within(
		limit{"gas flow", flow, 0, 1e5, "mol/s"},
		limit{"compressibility factor", compressibility, 0.2, 1.5, ""},
	); err != nil {
		return 0, err
	}
	return flow * compressibility * fluid.GasConstant * temperature / (pressure * circle(bore)), nil
}
