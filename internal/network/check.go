package network

import (
	"fmt"
	"math"
)

// waterDensity is ρ0 of IEC 60534 flow coefficients: water at 15 °C, kg/m³.
const waterDensity = 999.1

func (f *Fluid) check(want Phase) error {
	if f.Phase != want {
		return &BadInputError{What: "phase of the fluid", Value: float64(f.Phase),
			Want: fmt.Sprintf("%d (%s)", want, want)}
	}
	if !(f.Viscosity > 0) || !finite(f.Viscosity) {
		return &BadInputError{What: "viscosity", Value: f.Viscosity, Want: "above 0 Pa s"}
	}
	if want == Liquid {
		if !(f.Density > 0) || !finite(f.Density) {
			return &BadInputError{What: "density", Value: f.Density, Want: "above 0 kg/m³"}
		}
		if !(f.VapourPressure >= 0) || !finite(f.VapourPressure) {
			return &BadInputError{What: "vapour pressure", Value: f.VapourPressure, Want: "not negative, Pa absolute"}
		}
		return nil
	}
	for _, v := range [...]struct {
		name  string
		value float64
	}{{"molar mass", f.MolarMass}, {"temperature", f.Temperature}, {"compressibility", f.Compressibility}} {
		if !(v.value > 0) || !finite(v.value) {
			return &BadInputError{What: v.name, Value: v.value, Want: "above 0"}
		}
	}
	if f.MolarMass > 1 {
		return &BadInputError{What: "molar mass", Value: f.MolarMass, Want: "kg/mol, at most 1 (oxygen 0.032)"}
	}
	return nil
}

// at names the place of an error that does not name one.
func at(err error, where func() string) error {
	if b, ok := err.(*BadInputError); ok && b.Where == "" {
		b.Where = where()
	}
	return err
}

func (p *Problem) nodeName(i int) string {
	if p.Nodes[i].ID != "" {
		return p.Nodes[i].ID
	}
	return fmt.Sprintf("number %d", i)
}

func (p *Problem) elementName(i int) string {
	if p.Elements[i].ID != "" {
		return p.Elements[i].ID
	}
	return fmt.Sprintf("number %d", i)
}

// check validates everything but the topology.
func (p *Problem) check() error {
	if len(p.Nodes) == 0 || len(p.Nodes) > MaxElements || len(p.Elements) > MaxElements || len(p.Fluids) > MaxElements {
		return &BadInputError{What: "number of nodes, elements or fluids",
			Value: math.Max(float64(len(p.Nodes)), math.Max(float64(len(p.Elements)), float64(len(p.Fluids)))),
			Want:  fmt.Sprintf("at least one node, none of the three above %d", MaxElements)}
	}
	if f := p.TwoPhaseFactor; f != 0 && !(f >= 0.1 && f <= 10) {
		return &BadInputError{What: "two-phase factor", Value: f, Want: "0.1 to 10, or 0 for 1"}
	}
	for i := range p.Fluids {
		if err := p.Fluids[i].check(p.Fluids[i].Phase); err != nil {
			return at(err, func() string { return fmt.Sprintf("fluid %d", i) })
		}
		if ph := p.Fluids[i].Phase; ph != Liquid && ph != Gas {
			return &BadInputError{Where: fmt.Sprintf("fluid %d", i), What: "phase", Value: float64(ph), Want: "Liquid or Gas"}
		}
	}
	for i := range p.Nodes {
		n := &p.Nodes[i]
		bad := func(what string, v float64, want string) error {
			return &BadInputError{Where: "node " + p.nodeName(i), What: what, Value: v, Want: want}
		}
		if n.Phase != Liquid && n.Phase != Gas {
			return bad("phase", float64(n.Phase), "Liquid or Gas")
		}
		if !finite(n.Elevation) || math.Abs(n.Elevation) > 1e5 {
			return bad("elevation", n.Elevation, "finite, metre")
		}
		if !finite(n.Inflow) || math.Abs(n.Inflow) > 1e6 {
			return bad("fixed inflow", n.Inflow, "finite, kg/s or mol/s")
		}
		if n.Pressure == nil {
			continue
		}
		if v := *n.Pressure; !(v > 0) || v > 1e10 {
			return bad("fixed pressure", v, "above 0 Pa absolute, at most 1e10")
		}
		if n.Inflow != 0 {
			return bad("fixed inflow", n.Inflow, "0 where the pressure is fixed: the two contradict each other")
		}
	}
	return nil
}

func inRange(what string, v, lo, hi float64, want string) error {
	if !(v >= lo && v <= hi) || !finite(v) {
		return &BadInputError{What: what, Value: v, Want: want}
	}
	return nil
}

func positive(what string, v float64, want string) error {
	if !(v > 0) || !finite(v) {
		return &BadInputError{What: what, Value: v, Want: want}
	}
	return nil
}

func firstError(errs ...error) error {
	for _, e := range errs {
		if e != nil {
			return e
		}
	}
	return nil
}

func (l Pipe) check() error {
	err := firstError(
		positive("diameter", l.Diameter, "above 0 m"),
		inRange("length", l.Length, 0, 1e6, "0 to 1e6 m"),
		inRange("sum of loss coefficients K", l.K, 0, 1e8, "0 to 1e8"))
	if err != nil {
		return err
	}
	if l.Length == 0 && l.K == 0 {
		return &BadInputError{What: "length", Value: 0, Want: "above 0 where K is 0: a line without resistance is one node"}
	}
	return inRange("roughness", l.Roughness, 0, maxRelativeRoughness*l.Diameter, "0 to 0.05 of the diameter, m")
}

func (l Valve) check(f *Fluid) error {
	err := firstError(
		positive("flow coefficient Kv", l.Kv, "above 0 m³/h at 1 bar"),
		inRange("port diameter", l.Diameter, 0, 100, "0 (not known) to 100 m"))
	if err != nil {
		return err
	}
	if f.Phase == Gas {
		return firstError(
			inRange("pressure ratio factor xT", l.PressureRatioFactor, 0.01, 1, "0.01 to 1 for a gas valve"),
			f.checkHeatRatio())
	}
	if l.RecoveryFactor == 0 {
		return nil
	}
	return firstError(
		inRange("liquid recovery factor FL", l.RecoveryFactor, 0.01, 1, "0.01 to 1, or 0 if choking is not modelled"),
		inRange("critical pressure of the fluid", f.CriticalPressure, math.Max(f.VapourPressure, 1), 1e9,
			"at least the vapour pressure, for a valve with a recovery factor"))
}

func (f *Fluid) checkHeatRatio() error {
	return inRange("heat ratio of the fluid", f.HeatRatio, 1.01, 2, "1.01 to 2")
}

func (l Orifice) check(f *Fluid) error {
	err := firstError(
		positive("bore", l.Diameter, "above 0 m"),
		inRange("discharge coefficient", l.Coefficient, 0.01, 1, "0.01 to 1"))
	if err == nil && f.Phase == Gas {
		err = f.checkHeatRatio()
	}
	return err
}
