package unitop

import (
	"fmt"
	"math"
)

// Constants of the valve equations in their printed units.
// Source: IEC 60534-2-1 (2011), Table 1, for Kv in m3/h.
const (
	valveN2  = 1.6e-3 // piping geometry, diameters in mm
	valveN5  = 1.8e-3 // piping geometry of the choked gas ratio, diameters in mm
	valveRef = 999.1  // kg/m3, water at 15 degC, the density that Kv refers to
)

// Valve states what the flow equations need to know of a valve at its present
// opening.
type Valve struct {
	Kv       float64       // m3/h at 1 bar of water, 1e-6 to 1e5
	FL       float64       // liquid pressure recovery factor, 0.1 to 1; needed for liquid
	XT       float64       // pressure drop ratio at choked gas flow, 0.05 to 1; needed for gas
	Fittings *ValveReducer // reducers fitted to the valve; nil when pipe and valve are of one size
}

// ValveReducer states the bore of a valve and of the pipes that reducers join
// to it.
type ValveReducer struct {
	Bore   float64 // m, valve nominal size
	Inlet  float64 // m, pipe bore before the valve, not below Bore
	Outlet float64 // m, pipe bore after the valve, not below Bore
}

// LiquidState states what the valve and pump equations need of a liquid.
type LiquidState struct {
	Density          float64 // kg/m3, 300 to 3000
	VapourPressure   float64 // Pa absolute, at the inlet temperature
	CriticalPressure float64 // Pa absolute, above VapourPressure; 22.064e6 for water
}

// ValveFlow is the flow through a valve.
type ValveFlow struct {
	Mass          float64 // kg/s
	Choked        bool    // a lower outlet pressure changes nothing
	ChokeDrop     float64 // Pa, pressure drop at which choking begins
	CriticalRatio float64 // FF for liquid
	Expansion     float64 // Y for gas, 2/3 to 1
	Piping        float64 // FP, piping geometry factor; 1 without reducers
}

func (v Valve) check() error {
	if err := positive("flow coefficient Kv", v.Kv, 1e5, "m3/h"); err != nil {
		return err
	}
	if v.Fittings == nil {
		return nil
	}
	f := *v.Fittings
	if err := positive("valve size", f.Bore, 3, "m"); err != nil {
		return err
	}
	return within(
		limit{"inlet pipe bore", f.Inlet, f.Bore, 5, "m"},
		limit{"outlet pipe bore", f.Outlet, f.Bore, 5, "m"},
	)
}

// geometry returns FP and the sum of the inlet loss coefficients, both from
// the equations for the piping geometry factor with Kv over the square of the
// valve size in mm.
func (v Valve) geometry() (fp, inletLoss, ratio float64, err error) {
	if v.Fittings == nil {
		return 1, 0, 0, nil
	}
	f := *v.Fittings
	mm := f.Bore * 1000
	ratio = v.Kv / (mm * mm)
	b1 := f.Bore / f.Inlet
	b2 := f.Bore / f.Outlet
	inletLoss = 0.5*math.Pow(1-b1*b1, 2) + 1 - math.Pow(b1, 4)
	sum := inletLoss + math.Pow(1-b2*b2, 2) - (1 - math.Pow(b2, 4))
	inner := 1 + sum/valveN2*ratio*ratio
	if inner <= 0.05 {
		return 0, 0, 0, &ContradictionError{Reason: fmt.Sprintf(
			"Kv %.4g m3/h is too large for a valve of %.4g mm between these pipes", v.Kv, mm)}
	}
	return 1 / math.Sqrt(inner), inletLoss, ratio, nil
}

// LiquidFlow returns the turbulent flow of a liquid from p1 to p2 (Pa
// absolute):
//
//	W = Kv/3600 FP sqrt(rho0 rho dp/1e5),  dp = min(p1 - p2, (FLP/FP)^2 (p1 - FF pv))
//	FF = 0.96 - 0.28 sqrt(pv/pc)
//
// Laminar flow (valve Reynolds number below 10000) is outside the range.
//
// Source: IEC 60534-2-1 (2011), liquid equations with and without fittings.
func (v Valve) LiquidFlow(p1, p2 float64, l LiquidState) (ValveFlow, error) {
	if err := v.check(); err != nil {
		return ValveFlow{}, err
	}
	if err := within(limit{"liquid pressure recovery factor FL", v.FL, 0.1, 1, ""}); err != nil {
		return ValveFlow{}, err
	}
	if err := l.check(p1, p2); err != nil {
		return ValveFlow{}, err
	}
	fp, inletLoss, ratio, err := v.geometry()
	if err != nil {
		return ValveFlow{}, err
	}
	flp := v.FL / math.Sqrt(1+v.FL*v.FL/valveN2*inletLoss*ratio*ratio)
	ff := 0.96 - 0.28*math.Sqrt(l.VapourPressure/l.CriticalPressure)
	limitDrop := math.Pow(flp/fp, 2) * (p1 - ff*l.VapourPressure)
	drop := p1 - p2
	choked := drop >= limitDrop
	if choked {
		drop = limitDrop
	}
	mass := v.Kv / 3600 * fp * math.Sqrt(valveRef*l.Density*drop/1e5)
	return ValveFlow{Mass: mass, Choked: choked, ChokeDrop: limitDrop, CriticalRatio: ff, Piping: fp}, nil
}

func (l LiquidState) check(p1, p2 float64) error {
	if err := positive("inlet pressure", p1, 1e8, "Pa absolute"); err != nil {
		return err
	}
	if err := positive("critical pressure", l.CriticalPressure, 1e8, "Pa absolute"); err != nil {
		return err
	}
	if err := within(
		limit{"outlet pressure", p2, 0, p1, "Pa absolute"},
		limit{"liquid density", l.Density, 300, 3000, "kg/m3"},
		limit{"vapour pressure", l.VapourPressure, 0, l.CriticalPressure, "Pa absolute"},
	); err != nil {
		return err
	}
	if p1 <= l.VapourPressure {
		return &ContradictionError{Reason: fmt.Sprintf(
			"inlet pressure %.6g Pa is not above the vapour pressure %.6g Pa, so the inlet is not liquid", p1, l.VapourPressure)}
	}
	return nil
}

// GasFlow returns the turbulent flow of a gas from p1 to p2 (Pa absolute) at
// inlet temperature t (K):
//
//	W = Kv/3600 FP Y sqrt(rho0 rho1 x p1/1e5),  x = min((p1 - p2)/p1, Fk xTP)
//	Y = 1 - x/(3 Fk xTP),  Fk = k/1.4
//
// Source: IEC 60534-2-1 (2011), compressible fluid equations with and without
// fittings.
func (v Valve) GasFlow(p1, p2, t float64, gas Gas) (ValveFlow, error) {
	if err := v.check(); err != nil {
		return ValveFlow{}, err
	}
	if err := gas.check(); err != nil {
		return ValveFlow{}, err
	}
	if err := gasState(p1, t); err != nil {
		return ValveFlow{}, err
	}
	if err := within(
		limit{"pressure drop ratio factor xT", v.XT, 0.05, 1, ""},
		limit{"outlet pressure", p2, 0, p1, "Pa absolute"},
	); err != nil {
		return ValveFlow{}, err
	}
	fp, inletLoss, ratio, err := v.geometry()
	if err != nil {
		return ValveFlow{}, err
	}
	xtp := v.XT / (fp * fp) / (1 + v.XT*inletLoss/valveN5*ratio*ratio)
	limitRatio := gas.HeatRatio / 1.4 * xtp
	x := (p1 - p2) / p1
	choked := x >= limitRatio
	if choked {
		x = limitRatio
	}
	y := 1 - x/(3*limitRatio)
	mass := v.Kv / 3600 * fp * y * math.Sqrt(valveRef*gas.density(p1, t)*x*p1/1e5)
	return ValveFlow{Mass: mass, Choked: choked, ChokeDrop: math.Min(limitRatio, 1) * p1, Expansion: y, Piping: fp}, nil
}

// SizeLiquid returns the Kv in m3/h at which the valve passes the mass flow
// (kg/s); the Kv of the receiver is not used.
func (v Valve) SizeLiquid(mass, p1, p2 float64, l LiquidState) (float64, error) {
	return v.size(mass, func(w Valve) (float64, error) {
		f, err := w.LiquidFlow(p1, p2, l)
		return f.Mass, err
	})
}

// SizeGas returns the Kv in m3/h at which the valve passes the mass flow
// (kg/s) of gas; the Kv of the receiver is not used.
func (v Valve) SizeGas(mass, p1, p2, t float64, gas Gas) (float64, error) {
	return v.size(mass, func(w Valve) (float64, error) {
		f, err := w.GasFlow(p1, p2, t, gas)
		return f.Mass, err
	})
}

// size finds Kv by bisection. Without fittings the flow is proportional to Kv;
// with fittings it rises less than in proportion towards what the fittings
// alone would pass, so a flow beyond that has no solution.
func (v Valve) size(mass float64, flow func(Valve) (float64, error)) (float64, error) {
	if err := positive("mass flow", mass, 1e5, "kg/s"); err != nil {
		return 0, err
	}
	v.Kv = 1
	unit, err := flow(v)
	if err != nil && v.Fittings == nil {
		return 0, err
	}
	if err == nil && unit == 0 {
		return 0, &NoSolutionError{Wanted: fmt.Sprintf("Kv for %.4g kg/s", mass), Reach: "inlet and outlet pressure are the same, so nothing flows"}
	}
	if v.Fittings == nil {
		return mass / unit, nil
	}
	return v.sizeWithFittings(mass, flow)
}

func (v Valve) sizeWithFittings(mass float64, flow func(Valve) (float64, error)) (float64, error) {
	mm := v.Fittings.Bore * 1000
	low, high := 0.0, 0.047*mm*mm // C/d2 above 0.047 is outside the range of the standard's piping factor
	v.Kv = high
	most, err := flow(v)
	if err != nil {
		return 0, err
	}
	if mass > most {
		return 0, &NoSolutionError{
			Wanted: fmt.Sprintf("Kv for %.4g kg/s through a %.4g mm valve", mass, mm),
			Reach:  fmt.Sprintf("at most %.4g kg/s at Kv %.4g m3/h, where Kv over bore squared reaches the limit 0.047", most, high),
		}
	}
	for range 200 {
		v.Kv = low + (high-low)/2
		if v.Kv <= low || v.Kv >= high {
			break
		}
		w, err := flow(v)
		if err != nil {
			return 0, err
		}
		if w < mass {
			low = v.Kv
		} else {
			high = v.Kv
		}
	}
	return low + (high-low)/2, nil
}
