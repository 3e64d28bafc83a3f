package unitop

import (
	"math"

	"github.com/skidrule/skidrule/internal/fluid"
)

// Anchorage says how a pipe is held against stretching along its axis, which
// changes the speed of a pressure wave by a few per cent.
type Anchorage string

// The ways to hold a pipe.
const (
	ExpansionJoints Anchorage = "expansion joints"  // no axial stress: factor 1
	AnchoredOneEnd  Anchorage = "anchored upstream" // free to stretch: factor 1 - nu/2
	AnchoredAlong   Anchorage = "anchored"          // no axial strain: factor 1 - nu^2
)

// SurgePipe states a liquid-filled thin-walled elastic pipe.
type SurgePipe struct {
	Bore        float64   // m, above 0 to 5
	Wall        float64   // m, above 0 to Bore
	Modulus     float64   // Pa, Young's modulus of the wall, 1e6 to 1e12
	Poisson     float64   // Poisson's ratio of the wall, 0 to 0.5
	Anchorage   Anchorage // how it is held
	BulkModulus float64   // Pa, of the liquid, 1e8 to 1e10
	Density     float64   // kg/m3, of the liquid, 300 to 3000
}

// WaveSpeed returns the speed of a pressure wave in m/s:
//
//	a = sqrt(K/rho / (1 + c K D/(E t)))
//
// Free gas in the liquid lowers it strongly: one part in a thousand by volume
// can halve it, so the result is a high end for water that carries bubbles.
//
// Source: D. J. Korteweg (1878); E. B. Wylie, V. L. Streeter, Fluid Transients
// in Systems, thin-wall form with the three constraint factors.
func (p SurgePipe) WaveSpeed() (float64, error) {
	if err := positive("pipe bore", p.Bore, 5, "m"); err != nil {
		return 0, err
	}
	if err := positive("pipe wall", p.Wall, p.Bore, "m"); err != nil {
		return 0, err
	}
	if err := within(
		limit{"Young's modulus", p.Modulus, 1e6, 1e12, "Pa"},
		limit{"Poisson's ratio", p.Poisson, 0, 0.5, ""},
		limit{"bulk modulus", p.BulkModulus, 1e8, 1e10, "Pa"},
		limit{"liquid density", p.Density, 300, 3000, "kg/m3"},
	); err != nil {
		return 0, err
	}
	var c float64
	switch p.Anchorage {
	case ExpansionJoints:
		c = 1
	case AnchoredOneEnd:
		c = 1 - p.Poisson/2
	case AnchoredAlong:
		c = 1 - p.Poisson*p.Poisson
	default:
		return 0, &ContradictionError{Reason: "anchorage " + string(p.Anchorage) + " is none of expansion joints, anchored upstream, anchored"}
	}
	return math.Sqrt(p.BulkModulus / p.Density / (1 + c*p.BulkModulus*p.Bore/(p.Modulus*p.Wall))), nil
}

// Surge is the pressure rise when a flow is stopped.
type Surge struct {
	Rise         fluid.Range // Pa, above the pressure before
	CriticalTime float64     // s, 2 L/a; a valve that closes faster makes the full rise
	Fast         bool        // the valve closes within the critical time
}

// PressureRise returns the surge when the velocity of a liquid of density rho
// (300 to 3000 kg/m3) in a pipe of length (m, above 0 to 1e5) falls by change
// (m/s, 0 to 50) during closing (s, 0 to 1e5) with wave speed a (10 to 2000
// m/s). Within the critical time 2 L/a the rise is rho a dv, exact as far as
// friction is nothing. Slower, the best value is 2 rho L dv/tc, low is the
// rigid column slowed evenly, rho L dv/tc, and high is rho a dv, which no
// closing law passes.
//
// Source: N. Joukowsky (1898) for the fast closure; J. Michaud for the slow one,
// read in a public calculation sheet.
func PressureRise(rho, a, change, length, closing float64) (Surge, error) {
	if err := positive("pipe length", length, 1e5, "m"); err != nil {
		return Surge{}, err
	}
	if err := within(
		limit{"liquid density", rho, 300, 3000, "kg/m3"},
		limit{"wave speed", a, 10, 2000, "m/s"},
		limit{"velocity change", change, 0, 50, "m/s"},
		limit{"closing time", closing, 0, 1e5, "s"},
	); err != nil {
		return Surge{}, err
	}
	full := rho * a * change
	critical := 2 * length / a
	if closing <= critical {
		return Surge{Rise: fluid.Exact(full), CriticalTime: critical, Fast: true}, nil
	}
	return Surge{
		Rise:         fluid.Range{Low: rho * length * change / closing, Best: 2 * rho * length * change / closing, High: full},
		CriticalTime: critical,
	}, nil
}
