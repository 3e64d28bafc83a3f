package operate

import (
	"math"

	"github.com/skidrule/skidrule/internal/fluid"
	"github.com/skidrule/skidrule/internal/network"
	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/unitop"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// tableAtmosphere is the pressure in Pa that gauge pressures of an injector table are set upon; only differences count in it.
const tableAtmosphere = fluid.NormalPressure

// tableGasTemperature in K of the gas while a table was measured, which tables do not state: that of a test room, common
// practice, no source. Ten degrees either way change the flow by 2 %.
const tableGasTemperature = 293.15

// injectorTables reads the tables of all injectors that state one.
func injectorTables(p *plant.Plant) map[int32]*unitop.Injector {
	out := map[int32]*unitop.Injector{}
	for i := range p.Components {
		if t := InjectorTable(p.Components[i].Data.GetVenturiInjector()); t != nil {
			out[int32(i)] = t
		}
	}
	return out
}

// InjectorTable reads the performance table of an injector, its gauge pressures set upon the normal atmosphere of
// [fluid.NormalPressure], since only differences count in a table. It is nil where the table lacks anything. Rows in which the outlet
// is not below the inlet draw nothing and are left out; so are inlet pressures of one row, which say nothing about a slope.
func InjectorTable(spec *skidrulev1.VenturiInjector) *unitop.Injector {
	if spec == nil || spec.PerformanceSuctionPressurePaGauge == nil || spec.GetPerformanceGas() == skidrulev1.SuctionGas_SUCTION_GAS_UNSPECIFIED {
		return nil
	}
	t := unitop.InjectorTable{MotiveStated: true, SuctionPressure: *spec.PerformanceSuctionPressurePaGauge + tableAtmosphere, GasMolarMass: tableGas(spec), GasTemperature: tableGasTemperature}
	rows := map[float64]int{}
	for _, r := range spec.GetPerformance() {
		if r.InletPressurePaGauge == nil || r.OutletPressurePaGauge == nil || r.SuctionFlowMolPerS == nil || r.MotiveFlowM3PerS == nil {
			return nil
		}
		if *r.OutletPressurePaGauge < *r.InletPressurePaGauge {
			rows[*r.InletPressurePaGauge]++
		}
	}
	for _, r := range spec.GetPerformance() {
		if *r.OutletPressurePaGauge < *r.InletPressurePaGauge && rows[*r.InletPressurePaGauge] > 1 {
			t.Rows = append(t.Rows, unitop.InjectorRow{InletPressure: *r.InletPressurePaGauge + tableAtmosphere, OutletPressure: *r.OutletPressurePaGauge + tableAtmosphere,
				MotiveFlow: *r.MotiveFlowM3PerS, SuctionFlow: *r.SuctionFlowMolPerS})
		}
	}
	for _, q := range spec.GetSuctionCurve() {
		if q.SuctionPressurePaGauge == nil || q.RelativeFlowRatio == nil {
			return nil
		}
		t.SuctionCurve = append(t.SuctionCurve, unitop.SuctionPoint{Pressure: *q.SuctionPressurePaGauge + tableAtmosphere, Flow: *q.RelativeFlowRatio})
	}
	read, err := unitop.NewInjector(t)
	if err != nil {
		return nil
	}
	return read
}

// injector ties water to gas by the table. The solver passes pressures outside the table on its way; a solution there is
// marked, see outside.
func (w *wiring) injector(at int32) {
	c := &w.p.Components[at]
	spec := c.Data.GetVenturiInjector()
	l := w.between(at, c.FirstPort, c.FirstPort+2)
	l.suction = w.knotOf[c.FirstPort+1]
	l.law = placeholder
	for _, k := range []int32{l.from, l.to} {
		w.knots[k].needsZ = true
	}
	j := w.jetOf(at)
	if j == nil {
		switch {
		case spec.PerformanceSuctionPressurePaGauge == nil:
			w.lack(ref(at, "performance_suction_pressure"))
		case spec.GetPerformanceGas() == skidrulev1.SuctionGas_SUCTION_GAS_UNSPECIFIED:
			w.lack(ref(at, "performance_gas"))
		default:
			w.lack(ref(at, "performance"))
		}
		w.add(l)
		return
	}
	j.density, j.factor = w.fluids[fluidWater].Density, 1
	if f := &w.fluids[fluidGas]; f.MolarMass > 0 {
		restrict, volume := math.Sqrt(tableGas(spec)*tableGasTemperature/(f.MolarMass*f.Temperature)), tableGasTemperature/f.Temperature
		e := w.m.share[at]
		j.factor = w.spread(math.Min(restrict, volume)*(1-e), restrict, math.Max(restrict, volume)*(1+e), Datum{DatumModel, at, "reading of the injector table"})
	}
	l.law = network.Injector{SuctionNode: 0, GasFluid: fluidGas, Motive: j.motive, Suction: j.suction, ReverseLeak: !(spec.IntegralCheckValve != nil && *spec.IntegralCheckValve)}
	w.add(l)
}

// tableGas is the molar mass in kg/mol of the gas that a table was measured with.
func tableGas(spec *skidrulev1.VenturiInjector) float64 {
	if spec.GetPerformanceGas() == skidrulev1.SuctionGas_SUCTION_GAS_OXYGEN {
		return fluid.MolarMassO2
	}
	return fluid.MolarMassAir
}

// jet reads an injector table for the solver.
type jet struct {
	table   *unitop.Injector
	shift   float64 // from absolute pressures to those of the table
	density float64
	factor  float64 // gas drawn over gas of the table
	scale   float64 // largest suction flow of the table
}

// jetOf reads the table of an injector; nil where it has none.
func (w *wiring) jetOf(injector int32) *jet {
	table := w.m.tables[injector]
	if table == nil {
		return nil
	}
	j := &jet{table: table, shift: tableAtmosphere - w.atmosphere, scale: 1e-6}
	for _, r := range w.p.Components[injector].Data.GetVenturiInjector().GetPerformance() {
		j.scale = math.Max(j.scale, r.GetSuctionFlowMolPerS())
	}
	return j
}

// hold brings the water pressures to the nearest ones of the table.
func (j *jet) hold(pIn, pOut float64) (in, out float64) {
	low, high := j.table.InletSpan()
	in = math.Min(math.Max(pIn, low), high)
	low, high, err := j.table.OutletSpan(in)
	if err != nil {
		return in, pOut
	}
	return in, math.Min(math.Max(pOut, low), high)
}

// motive is the motive flow in kg/s; outside the table it goes with the root of the pressure difference.
func (j *jet) motive(pIn, pOut, _ float64) float64 {
	pIn, pOut = pIn+j.shift, pOut+j.shift
	if pIn <= pOut {
		return 0
	}
	in, out := j.hold(pIn, pOut)
	q, err := j.table.Motive(in, out)
	if err != nil {
		return 0
	}
	if in != pIn || out != pOut {
		q *= math.Sqrt((pIn - pOut) / (in - out))
	}
	return q * j.density
}

// suction is the gas drawn in mol/s. Below the lowest suction pressure of the table it goes on falling, so that a shut line comes
// to the pressure at which nothing more is drawn. Where the table draws nothing any more, and where no water drives the jet, the
// suction port stands at the outlet pressure: that is what pushes water back.
func (j *jet) suction(pIn, pOut, pSuction float64) float64 {
	pIn, pOut, pSuction = pIn+j.shift, pOut+j.shift, pSuction+j.shift
	in, out := j.hold(pIn, pOut)
	low, high := j.table.SuctionSpan()
	held := math.Min(math.Max(pSuction, low), high)
	s, _, err := j.table.SuctionHeld(in, out, held)
	base, _, err2 := j.table.SuctionHeld(in, out, high)
	if err != nil || err2 != nil {
		return 0
	}
	flow := s.Flow
	switch {
	case pSuction > high:
		flow *= math.Max(pSuction, 1) / high
	case pSuction < low:
		flow -= base.Flow * (low - pSuction) / 1e5
	}
	driven := 0.0
	if pIn > pOut {
		lowest, _ := j.table.InletSpan()
		_, top, _ := j.table.OutletSpan(lowest)
		driven = math.Min(1, (pIn-pOut)/(lowest-top))
	}
	drawing := driven * math.Min(1, base.Flow/(0.02*j.scale))
	still := j.scale * (pSuction - pOut) / 1e5
	return j.factor * (drawing*flow + (1-drawing)*still)
}

// outside says which pressure of a solved state the table does not hold; empty where all are inside, where no water drives the
// injector, or where it has stalled.
func (j *jet) outside(pIn, pOut, pSuction float64) string {
	pIn, pOut, pSuction = pIn+j.shift, pOut+j.shift, pSuction+j.shift
	if pIn <= pOut+1e3 {
		return ""
	}
	const slack = 1
	if low, high := j.table.InletSpan(); pIn < low-slack {
		return "inlet pressure below the table"
	} else if pIn > high+slack {
		return "inlet pressure above the table"
	}
	lowest, highest := j.table.SuctionSpan()
	low, high, err := j.table.OutletSpan(pIn)
	switch {
	case err != nil:
		return ""
	case pOut < low-slack:
		return "outlet pressure below the table"
	case pOut > high+slack:
		if s, err := j.table.Suction(pIn, high, highest); err == nil && s.Flow > 0 {
			return "outlet pressure above the table"
		}
		return ""
	}
	if s, err := j.table.Suction(pIn, pOut, highest); err == nil && s.Flow <= 0.02*j.scale {
		return ""
	}
	if pSuction < lowest-1e3 {
		return "suction pressure below the table"
	} else if pSuction > highest+slack {
		return "suction pressure above the table"
	}
	return ""
}
