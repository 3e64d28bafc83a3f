package unitop

import (
	"fmt"
	"math"

	"github.com/skidrule/skidrule/internal/fluid"
)

// Suction states the suction side of a pump.
type Suction struct {
	SurfacePressure float64 // Pa absolute, on the free surface of the supply, 0 to 1e8
	VapourPressure  float64 // Pa absolute, of the liquid, 0 to 1e7
	Density         float64 // kg/m3, of the liquid, 300 to 3000
	StaticHead      float64 // m, surface above the pump's datum; negative for a lift, -100 to 1000
	FrictionHead    float64 // m, loss of the suction line, 0 to 1000
}

// NPSHAvailable returns the net positive suction head available in m:
//
//	NPSHa = (ps - pv)/(rho g) + z - hf
//
// It may come out negative: then the suction cannot be drawn at all, and the
// number says by how much. Density and head are those of the flowing liquid.
//
// Source: definition; worked examples with published terms are in the tests.
func (s Suction) NPSHAvailable() (float64, error) {
	if err := within(
		limit{"pressure on the surface", s.SurfacePressure, 0, 1e8, "Pa absolute"},
		limit{"vapour pressure", s.VapourPressure, 0, 1e7, "Pa absolute"},
		limit{"liquid density", s.Density, 300, 3000, "kg/m3"},
		limit{"static head", s.StaticHead, -100, 1000, "m"},
		limit{"friction head", s.FrictionHead, 0, 1000, "m"},
	); err != nil {
		return 0, err
	}
	return (s.SurfacePressure-s.VapourPressure)/(s.Density*StandardGravity) + s.StaticHead - s.FrictionHead, nil
}

// PumpPoint is a working point of a pump.
type PumpPoint struct {
	Flow  float64 // m3/s, 0 to 100
	Head  float64 // m, 0 to 1e4
	Power float64 // W, shaft, 0 to 1e8
}

// AtSpeed returns the point that lies where this one does at another speed:
// flow with the speed ratio, head with its square, power with its cube. Ratio
// 0.3 to 1.5; far below rated speed the efficiency falls and the power is
// higher than the cube says.
//
// Source: affinity laws of similar machines, Re and cavitation left out.
func (p PumpPoint) AtSpeed(ratio float64) (PumpPoint, error) {
	if err := p.check(); err != nil {
		return PumpPoint{}, err
	}
	if err := within(limit{"speed ratio", ratio, 0.3, 1.5, ""}); err != nil {
		return PumpPoint{}, err
	}
	return PumpPoint{Flow: p.Flow * ratio, Head: p.Head * ratio * ratio, Power: p.Power * ratio * ratio * ratio}, nil
}

func (p PumpPoint) check() error {
	return within(
		limit{"pump flow", p.Flow, 0, 100, "m3/s"},
		limit{"pump head", p.Head, 0, 1e4, "m"},
		limit{"pump power", p.Power, 0, 1e8, "W"},
	)
}

// SpeedForHead returns the speed ratio at which the point's head becomes the
// wanted one (m): sqrt(H/H0). Outside 0.3 to 1.5 the error wraps
// [ErrNoSolution].
//
// Source: affinity laws.
func (p PumpPoint) SpeedForHead(head float64) (float64, error) {
	if err := p.check(); err != nil {
		return 0, err
	}
	if err := positive("pump head", p.Head, 1e4, "m"); err != nil {
		return 0, err
	}
	if err := positive("wanted head", head, 1e4, "m"); err != nil {
		return 0, err
	}
	ratio := math.Sqrt(head / p.Head)
	if ratio < 0.3 || ratio > 1.5 {
		return 0, &NoSolutionError{
			Wanted: fmt.Sprintf("head of %.4g m", head),
			Reach:  fmt.Sprintf("speed ratios 0.3 to 1.5 give %.4g to %.4g m", 0.09*p.Head, 2.25*p.Head),
		}
	}
	return ratio, nil
}

// ShaftPower returns the shaft power in W that a pump takes: rho g Q H/eta with
// density (300 to 3000 kg/m3) and efficiency (0.01 to 1, as a range); low power
// goes with high efficiency.
//
// Source: energy balance.
func (p PumpPoint) ShaftPower(rho float64, efficiency fluid.Range) (fluid.Range, error) {
	if err := p.check(); err != nil {
		return fluid.Range{}, err
	}
	if err := checkRange("efficiency", efficiency, 0.01, 1, ""); err != nil {
		return fluid.Range{}, err
	}
	if err := within(limit{"liquid density", rho, 300, 3000, "kg/m3"}); err != nil {
		return fluid.Range{}, err
	}
	return efficiency.Map(func(eta float64) float64 { return rho * StandardGravity * p.Flow * p.Head / eta }), nil
}
