package fact

import (
	"cmp"
	"math"
	"slices"

	"github.com/skidrule/skidrule/internal/fluid"
	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/unitop"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// suppliesOf lists the power supplies that a generator names and that are drawn, each once.
func (w *World) suppliesOf(g int32) []int32 {
	var out []int32
	for _, tag := range w.data(g).GetOzoneGenerator().GetPowerSupplies() {
		if c, ok := w.Plant.FindComponent(tag); ok && w.Plant.Components[c].Kind == plant.KindPowerSupply && !slices.Contains(out, c) {
			out = append(out, c)
		}
	}
	return out
}

// supplyUsers lists, for each power supply, the generators that name it.
func (w *World) supplyUsers() map[int32][]int32 {
	return *w.sizing.users.get(func() *map[int32][]int32 {
		users := map[int32][]int32{}
		for _, g := range w.OfKind(plant.KindOzoneGenerator) {
			for _, s := range w.suppliesOf(g) {
				users[s] = append(users[s], g)
			}
		}
		return &users
	})
}

// supplyShare sums a number of the power supplies of a generator; what serves several generators is shared by their weight.
func (w *World) supplyShare(g int32, of, weight func(component int32) Number) Number {
	supplies := w.suppliesOf(g)
	if len(supplies) == 0 {
		return Missing(specRef(g, "power_supplies"))
	}
	sum := Exactly(0)
	for _, s := range supplies {
		n := of(s)
		if users := w.supplyUsers()[s]; len(users) > 1 {
			all := Exactly(0)
			for _, h := range users {
				all = all.Add(weight(h))
			}
			n = n.Mul(weight(g).Div(all))
		}
		sum = sum.Add(n)
	}
	return sum
}

// supplyPower is the electric power that the power supplies have for a generator.
func (w *World) supplyPower(g int32) Number {
	return w.supplyShare(g, func(s int32) Number {
		return w.number(w.data(s).GetPowerSupply().RatedPowerW, specRef(s, "rated_power"))
	}, func(h int32) Number {
		return w.number(w.data(h).GetOzoneGenerator().RatedPowerW, specRef(h, "rated_power"))
	})
}

// count reads an optional whole number.
func count(x *int32, ref Ref) Number {
	if x == nil {
		return Missing(ref)
	}
	return Exactly(float64(*x))
}

// supplyCells is the number of cells that the power supplies can drive for a generator.
func (w *World) supplyCells(g int32) Number {
	return w.supplyShare(g, func(s int32) Number { return count(w.data(s).GetPowerSupply().MaxCells, specRef(s, "max_cells")) },
		func(h int32) Number { return count(w.data(h).GetOzoneGenerator().Cells, specRef(h, "cells")) })
}

// suppliesFit tells whether every power supply of a generator may drive its type of cell.
func (w *World) suppliesFit(g int32) Truth {
	supplies := w.suppliesOf(g)
	if len(supplies) == 0 {
		return Open(specRef(g, "power_supplies"))
	}
	cell := w.data(g).GetOzoneGenerator().GetCellType()
	fit := Truth{Value: True}
	for _, s := range supplies {
		may := w.data(s).GetPowerSupply().GetDrivesCellTypes()
		switch {
		case len(may) == 0:
			fit = fit.And(Open(specRef(s, "drives_cell_types")))
		case cell == "":
			fit = fit.And(Open(specRef(g, "cell_type")))
		default:
			fit = fit.And(Is(slices.Contains(may, cell)))
		}
	}
	return fit
}

// supplyTag names the first power supply of a generator that does not fit, else the first.
func (w *World) supplyTag(g int32) Text {
	cell := w.data(g).GetOzoneGenerator().GetCellType()
	supplies := w.suppliesOf(g)
	for _, s := range supplies {
		if !slices.Contains(w.data(s).GetPowerSupply().GetDrivesCellTypes(), cell) {
			return Text{Value: w.Plant.Components[s].Tag}
		}
	}
	if len(supplies) > 0 {
		return Text{Value: w.Plant.Components[supplies[0]].Tag}
	}
	return Text{Missing: []Ref{specRef(g, "power_supplies")}}
}

// heat is what must be cooled away from a generator at the most: its power less what goes into the least ozone.
func (w *World) heat(g, at int32) Number {
	power := w.number(w.data(g).GetOzoneGenerator().RatedPowerW, specRef(g, "rated_power"))
	const formation = fluid.OzoneFormationEnthalpy / fluid.MolarMassO3 // J/kg
	output := w.lowestOutput(g, at)
	n := power.with(output, power.Low-formation*min(output.High, power.High/formation), power.High-formation*output.Low)
	n.Missing, n.Assumed = power.Missing, power.Assumed
	if math.IsInf(power.Low, 0) {
		return n
	}
	return settle(n.High, n.High, n.Assumed)
}

// coolingCapacity is the heat capacity in J/(kg K) of cooling water at 20 degC.
var coolingCapacity = func() float64 {
	capacity, err := fluid.WaterHeatCapacity(293.15, 2e5)
	must(err)
	return capacity
}()

// coolingRise is by how much the cooling water warms up while it takes that heat at the stated cooling flow.
func (w *World) coolingRise(g, at int32) Number {
	flow := w.number(w.data(g).GetOzoneGenerator().CoolingFlowM3PerS, specRef(g, "cooling_flow"))
	heat := w.heat(g, at)
	if math.IsInf(flow.Low, 0) || math.IsInf(heat.Low, 0) {
		return Missing(lacking(flow, heat)...)
	}
	return heat.Div(flow.Scale(coldWaterDensity * coolingCapacity))
}

// coolingLeft is the pressure difference that is left for a generator's jacket at the stated cooling flow: between the ends of
// the cooling water, less lines and fittings.
func (w *World) coolingLeft(g int32) Number {
	c := w.coolant(g)
	if c.source < 0 || c.sink < 0 {
		return Missing(elementRef(g))
	}
	p := w.Plant
	from, ok1 := w.waterEnd(p.Components[c.source].FirstPort, 0)
	to, ok2 := w.waterEnd(p.Components[c.sink].FirstPort, 0)
	if !ok1 || !ok2 {
		return Missing(elementRef(g))
	}
	flow := w.number(w.data(g).GetOzoneGenerator().CoolingFlowM3PerS, specRef(g, "cooling_flow"))
	list, known := w.resistances(c.arcs, false)
	head := from.pressure.Sub(to.pressure).Add(from.height.Sub(to.height).Scale(waterWeight))
	known.Missing = JoinRefs(known.Missing, lacking(head, flow))
	if len(known.Missing) > 0 {
		return Missing(known.Missing...)
	}
	// Another consumer on the same line takes flow too; the lines are taken to carry this generator's alone.
	adverse := w.waterStream(true)
	drop := 0.0
	for i := range list {
		if q := &p.Ways[list[i].arc/2]; !q.IsPipe() && q.Component == g {
			continue
		}
		drop += list[i].liquidDrop(flow.High, &adverse)
	}
	return settle(head.Low-drop, head.High-drop, JoinRefs(known.Assumed, head.Assumed, flow.Assumed))
}

// coolingJoined tells whether cooling water comes to a generator and leaves it while valves stand as in normal operation.
func (w *World) coolingJoined(g int32) Truth {
	c := w.coolant(g)
	if c.source < 0 || c.sink < 0 {
		return Truth{}
	}
	position := func(component int32) (skidrulev1.ValvePosition, bool) {
		if component < 0 {
			return 0, false
		}
		k := w.Plant.Components[component].Kind
		return w.data(component).GetNormalPosition(), k == plant.KindHandValve || k == plant.KindActuatedValve
	}
	closed := func(component int32) bool {
		at, valve := position(component)
		return valve && at == skidrulev1.ValvePosition_VALVE_POSITION_CLOSED
	}
	mayBeClosed := func(component int32) bool {
		at, valve := position(component)
		return valve && (at == skidrulev1.ValvePosition_VALVE_POSITION_CLOSED || at == skidrulev1.ValvePosition_VALVE_POSITION_UNSPECIFIED)
	}
	through := func(arc int32) int32 { return w.Plant.Ways[arc/2].Component }
	if !slices.ContainsFunc(c.arcs, func(arc int32) bool { return mayBeClosed(through(arc)) }) {
		return Truth{Value: True}
	}
	// Another way may stand open.
	if open := w.followCoolant(g, mayBeClosed); open.source >= 0 && open.sink >= 0 {
		return Truth{Value: True}
	}
	if c = w.followCoolant(g, closed); c.source < 0 || c.sink < 0 {
		return Truth{}
	}
	var missing []Ref
	for _, arc := range c.arcs {
		if mayBeClosed(through(arc)) {
			missing = JoinRefs(missing, []Ref{componentRef(through(arc), "normal_position")})
		}
	}
	return Open(missing...)
}

// airSupply is the compressed air of a concentrator.
type airSupply struct {
	needed    Number // of all that the same sources feed
	available Number
	pressure  Number // discharge pressure that the way asks for
	connected bool
}

// airSources lists what feeds compressed air to a concentrator, with the ways.
func (w *World) airSources(concentrator int32) ([]int32, [][]int32) {
	return w.gasPaths(w.Plant.PortByTrait(concentrator, 0), false)
}

// airUsers lists, for each source of compressed air, the concentrators that it feeds.
func (w *World) airUsers() map[int32][]int32 {
	return *w.sizing.airUsers.get(func() *map[int32][]int32 {
		users := map[int32][]int32{}
		for _, c := range w.OfKind(plant.KindOxygenConcentrator) {
			if w.data(c).GetOutOfUse() {
				continue
			}
			sources, _ := w.airSources(c)
			for _, s := range sources {
				users[s] = append(users[s], c)
			}
		}
		return &users
	})
}

// airOf computes the compressed air of a concentrator.
func (w *World) airOf(concentrator int32) airSupply {
	sources, paths := w.airSources(concentrator)
	a := airSupply{connected: len(sources) > 0, needed: Exactly(0), available: Exactly(0), pressure: Exactly(0)}
	var fed []int32
	for _, s := range sources {
		fed = append(fed, w.airUsers()[s]...)
		for _, g := range w.gasNet().feedOf.of(s) {
			a.needed = a.needed.Add(w.gasNet().of.of(g).design)
		}
	}
	slices.Sort(fed)
	for _, c := range slices.Compact(fed) {
		a.needed = a.needed.Add(w.number(w.data(c).GetOxygenConcentrator().FeedAirFlowMolPerS, specRef(c, "feed_air_flow")))
	}
	if len(sources) == 0 {
		a.needed = w.number(w.data(concentrator).GetOxygenConcentrator().FeedAirFlowMolPerS, specRef(concentrator, "feed_air_flow"))
		return a
	}
	inlet := w.number(w.data(concentrator).GetOxygenConcentrator().FeedAirPressurePaGauge, specRef(concentrator, "feed_air_pressure"))
	for k, s := range sources {
		need := w.dischargeFor(inlet, paths[k], a.needed)
		a.pressure = a.pressure.Max(need)
		a.available = a.available.Add(w.airAt(s, need))
	}
	return a
}

// dischargeFor is the gauge pressure at the beginning of a way at which a pressure is left at its end, with a flow of air.
func (w *World) dischargeFor(end Number, arcs []int32, flow Number) Number {
	air := w.media().atmosphere
	list, known := w.resistances(arcs, true)
	// A regulator between must be set to at least what is needed behind it, which its own rule asks for.
	drops := slices.DeleteFunc(list, func(d drop) bool { return d.law == lossHolds })
	missing := JoinRefs(known.Missing, lacking(end, air, flow), w.ambientOpen())
	if len(missing) > 0 {
		return Missing(missing...)
	}
	adverse := w.gasStream(true)
	adverse.molarMass = fluid.MolarMassAir
	p := end.High + air.High
	for range 30 {
		out := p
		for i := range drops {
			out = drops[i].gasOutlet(out, flow.High, &adverse, air.High)
		}
		if out <= 0 {
			p *= 2
			continue
		}
		next := p + (end.High + air.High - out)
		if next == p {
			break // all rounds from here on find the same
		}
		p = next
	}
	return settle(p-air.High, p-air.High, JoinRefs(known.Assumed, end.Assumed, air.Assumed, flow.Assumed))
}

// airAt is the flow that a source of compressed air gives at a gauge discharge pressure. Above its curve it gives nothing, below
// it what it gives at the lowest pressure of the curve.
func (w *World) airAt(source int32, pressure Number) Number {
	if refs := lacking(pressure); len(refs) > 0 {
		return Number{Low: 0, High: w.capacity(source).High, Missing: refs}
	}
	switch s := w.data(source).GetSpec().(type) {
	case *skidrulev1.Component_Compressor:
		var curve []unitop.CurvePoint
		for _, point := range s.Compressor.GetCurve() {
			if point.FlowMolPerS != nil && point.PressurePaGauge != nil {
				curve = append(curve, unitop.CurvePoint{X: *point.PressurePaGauge, Y: *point.FlowMolPerS})
			}
		}
		slices.SortFunc(curve, func(a, b unitop.CurvePoint) int { return cmp.Compare(a.X, b.X) })
		if len(curve) < 2 {
			return Missing(specRef(source, "curve"))
		}
		if pressure.High > curve[len(curve)-1].X {
			return Exactly(0)
		}
		flow, err := unitop.CompressorFlow(w.Plant.Components[source].Tag, curve, max(pressure.High, curve[0].X))
		if err != nil {
			return Missing(specRef(source, "curve"))
		}
		return settle(flow, flow, pressure.Assumed)
	case *skidrulev1.Component_Boundary:
		enough := w.sourcePressure(source, Exactly(0)).AtLeast(pressure)
		switch enough.Value {
		case True:
			return w.capacity(source)
		case False:
			return Exactly(0)
		}
		return Number{Low: 0, High: math.Inf(1), Missing: enough.Missing}
	case *skidrulev1.Component_GasSupply:
		return w.capacity(source)
	}
	return Missing(elementRef(source))
}

// receiverBefore tells whether a receiver stands between a concentrator and everything that compresses its air.
func (w *World) receiverBefore(concentrator int32) Truth {
	_, paths := w.airSources(concentrator)
	if len(paths) == 0 {
		return Truth{}
	}
	for _, arcs := range paths {
		if !slices.ContainsFunc(arcs, func(arc int32) bool {
			q := &w.Plant.Ways[arc/2]
			return !q.IsPipe() && w.Plant.Components[q.Component].Kind == plant.KindGasReceiver
		}) {
			return Truth{}
		}
	}
	return Truth{Value: True}
}
