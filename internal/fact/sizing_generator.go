package fact

import (
	"math"
	"slices"

	"github.com/skidrule/skidrule/internal/fluid"
	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/unitop"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// capacity is the most gas that a source gives.
func (w *World) capacity(source int32) Number {
	data := w.data(source)
	last := 0.0
	switch s := data.GetSpec().(type) {
	case *skidrulev1.Component_OxygenConcentrator:
		for _, point := range s.OxygenConcentrator.GetProduct() {
			last = max(last, point.GetProductFlowMolPerS())
		}
		if last > 0 {
			return Exactly(last)
		}
		return w.number(s.OxygenConcentrator.RatedProductFlowMolPerS, specRef(source, "rated_product_flow"))
	case *skidrulev1.Component_Compressor:
		for _, point := range s.Compressor.GetCurve() {
			last = max(last, point.GetFlowMolPerS())
		}
		if last > 0 {
			return Exactly(last)
		}
		return Missing(specRef(source, "curve"))
	case *skidrulev1.Component_Blower:
		return w.number(s.Blower.RatedFlowMolPerS, specRef(source, "rated_flow"))
	case *skidrulev1.Component_Boundary:
		if s.Boundary.GasFlowMolPerS != nil {
			return Exactly(*s.Boundary.GasFlowMolPerS)
		}
	}
	return between(math.Inf(1), math.Inf(1))
}

// sourcePurity is the oxygen in what a source gives at its design load.
func (w *World) sourcePurity(source int32) Number {
	data := w.data(source)
	switch s := data.GetSpec().(type) {
	case *skidrulev1.Component_OxygenConcentrator:
		return w.concentratorPurity(source, s.OxygenConcentrator, w.load(source))
	case *skidrulev1.Component_Compressor, *skidrulev1.Component_Blower:
		return Exactly(fluid.DryAir().O2)
	case *skidrulev1.Component_GasSupply:
		switch s.GasSupply.GetGas() {
		case skidrulev1.SuppliedGas_SUPPLIED_GAS_OXYGEN:
			return w.number(s.GasSupply.PurityMoleFraction, specRef(source, "purity"))
		case skidrulev1.SuppliedGas_SUPPLIED_GAS_AIR:
			return Exactly(fluid.DryAir().O2)
		case skidrulev1.SuppliedGas_SUPPLIED_GAS_NITROGEN:
			return Exactly(0)
		}
		return Missing(specRef(source, "gas"))
	case *skidrulev1.Component_Boundary:
		switch s.Boundary.GetService() {
		case skidrulev1.Service_SERVICE_AIR, skidrulev1.Service_SERVICE_INSTRUMENT_AIR:
			return Exactly(fluid.DryAir().O2)
		}
	}
	return Missing(elementRef(source))
}

// concentratorPurity reads the purity of a concentrator at a product flow from its curve. Without one the rated purity is the
// least that a smaller flow has.
func (w *World) concentratorPurity(source int32, spec *skidrulev1.OxygenConcentrator, load Number) Number {
	if math.IsInf(load.Low, 0) {
		return Missing(load.Missing...)
	}
	var curve []unitop.CurvePoint
	for _, point := range spec.GetProduct() {
		if point.ProductFlowMolPerS != nil && point.PurityMoleFraction != nil {
			curve = append(curve, unitop.CurvePoint{X: *point.ProductFlowMolPerS, Y: *point.PurityMoleFraction})
		}
	}
	if len(curve) == 0 {
		rated := w.number(spec.RatedPurityMoleFraction, specRef(source, "rated_purity"))
		flow := w.number(spec.RatedProductFlowMolPerS, specRef(source, "rated_product_flow"))
		out := Number{Low: 0, High: 1, Missing: joinRefs(rated.Missing, []Ref{specRef(source, "product")}), Assumed: rated.Assumed}
		if flow.AtLeast(load).Value == True {
			out.Low = max(0, rated.Low)
		}
		return out
	}
	read := func(flow float64) (float64, error) {
		// The balance of air plays no part in the purity, so any ample air flow serves.
		c, err := unitop.RunConcentrator(unitop.ConcentratorInput{Name: w.Plant.Components[source].Tag, Purity: curve, Air: 100 * flow, ProductFlow: flow})
		return c.Purity.Best, err
	}
	a, err1 := read(load.Low)
	b, err2 := read(load.High)
	if err1 != nil || err2 != nil {
		return Number{Low: 0, High: 1, Missing: []Ref{specRef(source, "product")}}
	}
	return Number{Low: min(a, b), High: max(a, b), Assumed: load.Assumed}
}

// cellState is what holds at a generator in every case.
type cellState struct {
	purity, power, coolant Number
	rows                   *unitop.OutputRows // see World.outputRows
}

// cell gives it, worked out once for all generators.
func (w *World) cell(g int32) *cellState {
	return w.sizing.cells.get(func() *table[*cellState] {
		generators := w.OfKind(plant.KindOzoneGenerator)
		all, list := newTable[*cellState](w, len(generators)), make([]cellState, len(generators))
		var tables outputReader
		for i, g := range generators {
			list[i] = cellState{w.findFeedPurity(g), w.findCellPower(g), w.findCoolantTemperature(g), tables.read(w, g)}
			*all.at(g) = &list[i]
		}
		return &all
	}).of(g)
}

// feedPurity is the oxygen in the feed of a generator; of several sources the range of all.
func (w *World) feedPurity(g int32) Number { return w.cell(g).purity }

func (w *World) findFeedPurity(g int32) Number {
	gas := w.gasNet().of.of(g)
	if gas == nil || len(gas.sources) == 0 {
		return Missing(elementRef(g))
	}
	n := w.sourcePurity(gas.sources[0])
	for _, s := range gas.sources[1:] {
		m := w.sourcePurity(s)
		n = n.with(m, min(n.Low, m.Low), max(n.High, m.High))
	}
	return n
}

// coolantTemperature is the highest temperature of what cools a generator: the surroundings, or the water that comes to it.
func (w *World) coolantTemperature(g int32) Number { return w.cell(g).coolant }

func (w *World) findCoolantTemperature(g int32) Number {
	switch w.data(g).GetOzoneGenerator().GetCooling() {
	case skidrulev1.CoolingMethod_COOLING_METHOD_AIR:
		return w.number(w.Plant.Basis.MaxAmbientTemperatureK, basisRef("max_ambient_temperature"))
	case skidrulev1.CoolingMethod_COOLING_METHOD_WATER:
		end := w.coolant(g).source
		if end < 0 {
			return Missing(elementRef(g))
		}
		if b := w.data(end).GetBoundary(); b != nil {
			if b.MaxTemperatureK == nil && b.TemperatureK != nil {
				return Exactly(*b.TemperatureK)
			}
			return w.number(b.MaxTemperatureK, specRef(end, "max_temperature"))
		}
		return w.number(w.Plant.Basis.MaxWaterTemperatureK, basisRef("max_water_temperature"))
	}
	return Missing(specRef(g, "cooling"))
}

// cellPower is the electric power of the cells at full output: their rated power, and no more than their supplies give.
func (w *World) cellPower(g int32) Number { return w.cell(g).power }

func (w *World) findCellPower(g int32) Number {
	rated := w.number(w.data(g).GetOzoneGenerator().RatedPowerW, specRef(g, "rated_power"))
	return rated.Min(w.supplyPower(g))
}

// outputRows gives the output table of a generator; nil, and what is missing, where it cannot be read.
func (w *World) outputRows(g int32) (*unitop.OutputRows, []Ref) {
	c := w.cell(g)
	if c.rows == nil {
		return nil, []Ref{specRef(g, "output")}
	}
	return c.rows, nil
}

// outputReader reads the output tables of generators, one after the other in the same room.
type outputReader struct {
	rows []unitop.OutputRow
	key  key
}

// read builds the table of a generator; nil where it cannot be read. A generator that states its rated point only is known there alone.
func (x *outputReader) read(w *World, g int32) *unitop.OutputRows {
	spec := w.data(g).GetOzoneGenerator()
	rows := slices.Grow(x.rows[:0], len(spec.GetOutput()))
	for _, q := range spec.GetOutput() {
		if q.FlowMolPerS == nil || q.PurityMoleFraction == nil || q.PowerW == nil || q.CoolantTemperatureK == nil || q.OutputKgPerS == nil {
			return nil
		}
		rows = append(rows, unitop.OutputRow{Flow: *q.FlowMolPerS, Purity: *q.PurityMoleFraction, Power: *q.PowerW, Coolant: *q.CoolantTemperatureK, Output: *q.OutputKgPerS})
	}
	if len(rows) == 0 && spec.RatedFlowMolPerS != nil && spec.RatedPurityMoleFraction != nil && spec.RatedPowerW != nil && spec.RatedCoolantTemperatureK != nil && spec.RatedOutputKgPerS != nil {
		rows = append(rows, unitop.OutputRow{Flow: *spec.RatedFlowMolPerS, Purity: *spec.RatedPurityMoleFraction, Power: *spec.RatedPowerW, Coolant: *spec.RatedCoolantTemperatureK, Output: *spec.RatedOutputKgPerS})
	}
	x.rows = rows
	build := func() *unitop.OutputRows {
		out, err := unitop.NewOutputRows(rows, 0)
		if err != nil {
			return nil
		}
		return out
	}
	if len(w.OfKind(plant.KindOzoneGenerator)) == 1 {
		return build() // there is no other to share it with
	}
	k := x.key[:0]
	for i := range rows {
		k.floats(rows[i].Flow, rows[i].Purity, rows[i].Power, rows[i].Coolant, rows[i].Output)
	}
	x.key = k
	return packedAnswer(&w.sizing.rows, k, build)
}

// purityStep is the step in which oxygen is stated, a tenth of a per cent: air of 20.946 vol % is that of a table for 20.9.
const purityStep = 1e-3

// outputPoint is the state at which a generator's output is read.
type outputPoint struct{ flow, purity, power, coolant Number }

// lowestPoint is that of the lowest output in a case: least flow, least oxygen, warmest coolant, full power.
func (w *World) lowestPoint(g, at int32) outputPoint {
	return outputPoint{flow: w.gasCase(at).generator.of(g).low, purity: w.feedPurity(g), power: w.cellPower(g), coolant: w.coolantTemperature(g)}
}

// insideOutput tells whether the output table bounds the point from below, and which condition lies outside it. Coolant colder
// than the table makes no less ozone than its coldest row unless the table says otherwise, and purer oxygen no less than its
// purest where the table rises with purity; those count as inside.
func (w *World) insideOutput(g, at int32) (Truth, string) {
	at = w.stateCase(at)
	x := w.caseMemo().inside[at].get(func() *table[insideOutput] {
		all := newTable[insideOutput](w, len(w.gasNet().generators))
		for _, g := range w.gasNet().generators {
			*all.at(g) = w.findInsideOutput(g, at)
		}
		return &all
	}).of(g)
	return x.inside, x.outside
}

// insideOutput is the answer of World.insideOutput for one generator.
type insideOutput struct {
	inside  Truth
	outside string // the condition that lies outside
}

func (w *World) findInsideOutput(g, at int32) insideOutput {
	rows, missing := w.outputRows(g)
	if rows == nil {
		return insideOutput{inside: Open(missing...)}
	}
	p := w.lowestPoint(g, at)
	all := Truth{Value: True}
	for _, c := range [...]struct {
		condition    unitop.OutputCondition
		name         string
		n            Number
		under, above bool // beyond the lowest or highest row the table still bounds the output
	}{
		{unitop.ConditionFlow, "feed flow", p.flow, false, false},
		{unitop.ConditionPurity, "oxygen in the feed", p.purity, false, rows.Trend(unitop.ConditionPurity) > 0},
		{unitop.ConditionPower, "power", p.power, false, false},
		{unitop.ConditionCoolant, "coolant temperature", p.coolant, rows.Trend(unitop.ConditionCoolant) <= 0, false},
	} {
		low, high := rows.Span(c.condition)
		slack := 1e-9 * high
		if c.condition == unitop.ConditionPurity {
			slack = purityStep
		}
		inside := Truth{Value: True}
		if !c.above {
			inside = inside.And(Exactly(high + slack).AtLeast(c.n))
		}
		if !c.under {
			inside = inside.And(c.n.AtLeast(Exactly(low - slack)))
		}
		if inside.Value == False {
			return insideOutput{inside, c.name}
		}
		all = all.And(inside)
	}
	return insideOutput{inside: all}
}

// lowestOutput is the ozone in kg/s that a generator makes in a case at the adverse end of everything.
func (w *World) lowestOutput(g, at int32) Number {
	at = w.stateCase(at)
	return w.caseMemo().out[at].get(func() *table[Number] {
		all := newTable[Number](w, len(w.gasNet().generators))
		for _, g := range w.gasNet().generators {
			*all.at(g) = w.findLowestOutput(g, at)
		}
		return &all
	}).of(g)
}

func (w *World) findLowestOutput(g, at int32) Number {
	rows, missing := w.outputRows(g)
	p := w.lowestPoint(g, at)
	if rows == nil {
		return Number{Low: 0, High: math.Inf(1), Missing: missing}
	}
	if refs := lacking(p.flow, p.purity, p.power, p.coolant); len(refs) > 0 {
		return Number{Low: 0, High: math.Inf(1), Missing: refs}
	}
	coldest, _ := rows.Span(unitop.ConditionCoolant)
	leanest, purest := rows.Span(unitop.ConditionPurity)
	read := func(flow, purity, coolant float64) (fluid.Range, error) {
		if rows.Trend(unitop.ConditionPurity) > 0 || purity <= purest+purityStep {
			purity = min(purity, purest)
			if purity >= leanest-purityStep {
				purity = max(purity, leanest)
			}
		}
		if rows.Trend(unitop.ConditionCoolant) <= 0 {
			coolant = max(coolant, coldest)
		}
		return rows.At(flow, purity, p.power.Low, coolant)
	}
	low, err := read(p.flow.Low, p.purity.Low, p.coolant.High)
	if err != nil {
		return Number{Low: 0, High: math.Inf(1), Missing: []Ref{specRef(g, "output")}}
	}
	assumed := JoinRefs(p.flow.Assumed, p.purity.Assumed, p.power.Assumed, p.coolant.Assumed)
	open := JoinRefs(p.flow.Missing, p.purity.Missing)
	high := low.High
	if r, err := read(p.flow.High, p.purity.High, p.coolant.Low); err == nil {
		high = max(high, r.High)
	}
	if len(open) > 0 && p.flow.Low < p.flow.High {
		return Number{Low: low.Low, High: high, Missing: open, Assumed: assumed}
	}
	return settle(low.Low, high, assumed)
}

// coolant is what cools a generator with water: where the water comes from and goes to, and what lies between.
type coolant struct {
	source, sink int32 // components; -1 where none is drawn
	arcs         []int32
}

func (w *World) coolant(g int32) coolant {
	return w.sizing.coolantOf.of(g, func() coolant { return w.followCoolant(g, nil) })
}

// followCoolant follows the cooling water to its nearest source and sink, not past what is shut.
func (w *World) followCoolant(g int32, shut func(component int32) bool) coolant {
	c := coolant{source: -1, sink: -1}
	end := func(port int32, _ bool) (found, stop bool) {
		component := w.Plant.Ports[port].Component
		k := w.Plant.Components[component].Kind
		found = k == plant.KindBoundary || k == plant.KindOpenTank
		return found, found || isGasVessel(k) || k == plant.KindOzoneGenerator || shut != nil && shut(component)
	}
	ends := func(port string, forward bool) (int32, []int32) {
		at, ok := w.Plant.FindPort(g, port)
		if !ok {
			return -1, nil
		}
		found, paths := w.pathsTo(at, forward, end)
		if len(found) == 0 {
			return -1, nil
		}
		return found[0], paths[0]
	}
	var in, out []int32
	c.source, in = ends("cooling_inlet", false)
	c.sink, out = ends("cooling_outlet", true)
	c.arcs = append(append(c.arcs, in...), out...)
	return c
}
