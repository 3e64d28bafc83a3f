package fact

import (
	"math"
	"slices"

	"github.com/skidrule/skidrule/internal/fluid"
	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/unitop"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// injectorTable is the table of an injector as the model reads it.
type injectorTable struct {
	read   *unitop.Injector
	motive bool  // every row states the motive flow
	id     int64 // tells tables apart that differ
}

// tableAtmosphere is the pressure in Pa that gauge pressures of a table are set upon. Only differences count in the table, so it
// may be any; the suction pressures must stay above zero.
const tableAtmosphere = fluid.NormalPressure

// Temperature in K of the gas while a table was measured, which tables do not state: that of a test room, common practice, no
// source. Ten degrees either way change the flow by 2 %.
const tableGasTemperature = 293.15

// tableKey packs all that the table of an injector is built of, behind what k holds.
func tableKey(k key, spec *skidrulev1.VenturiInjector) key {
	k.optional(spec.PerformanceSuctionPressurePaGauge)
	k.count(int(spec.GetPerformanceGas()))
	k.count(len(spec.GetPerformance()))
	for _, row := range spec.GetPerformance() {
		k.optional(row.InletPressurePaGauge)
		k.optional(row.OutletPressurePaGauge)
		k.optional(row.MotiveFlowM3PerS)
		k.optional(row.SuctionFlowMolPerS)
	}
	for _, point := range spec.GetSuctionCurve() {
		k.optional(point.SuctionPressurePaGauge)
		k.optional(point.RelativeFlowRatio)
	}
	return k
}

// injectorTable builds the table of an injector once for all of one kind; nil, and what is missing, where it cannot be read.
func (w *World) injectorTable(component int32) (*injectorTable, []Ref) {
	found := w.sizing.tableOf.get(w.readInjectorTables).of(component)
	return found.table, found.lacks
}

func (w *World) readInjectorTables() *table[readTable] {
	injectors := w.OfKind(plant.KindVenturiInjector)
	all := newTable[readTable](w, len(injectors))
	var packed key
	for _, j := range injectors {
		*all.at(j), packed = w.readInjectorTable(j, packed[:0])
	}
	return &all
}

// readTable is the table of one injector, or what it lacks.
type readTable struct {
	table *injectorTable
	lacks []Ref
}

// readInjectorTable reads the table of one injector. packed is room for a key, which it hands back.
func (w *World) readInjectorTable(component int32, packed key) (readTable, key) {
	spec := w.data(component).GetVenturiInjector()
	var lacks []string
	if len(spec.GetPerformance()) == 0 {
		lacks = append(lacks, "performance")
	}
	if spec.PerformanceSuctionPressurePaGauge == nil {
		lacks = append(lacks, "performance_suction_pressure")
	}
	if spec.GetPerformanceGas() == skidrulev1.SuctionGas_SUCTION_GAS_UNSPECIFIED {
		lacks = append(lacks, "performance_gas")
	}
	var table *injectorTable
	if len(lacks) == 0 {
		build := func() *injectorTable {
			built := buildInjectorTable(spec)
			if built != nil {
				built.id = w.sizing.tableCount.Add(1)
			}
			return built
		}
		if len(w.OfKind(plant.KindVenturiInjector)) == 1 {
			table = build() // there is no other to share it with
		} else {
			packed = tableKey(packed, spec)
			table = packedAnswer(&w.sizing.tables, packed, build)
		}
		if table == nil {
			lacks = append(lacks, "performance")
		}
	}
	var refs []Ref
	for _, field := range lacks {
		refs = joinRefs(refs, []Ref{specRef(component, field)})
	}
	return readTable{table, refs}, packed
}

// insideTable tells whether the table of an injector holds the state of a case, and which pressure it does not hold.
func (w *World) insideTable(j, at int32) (Truth, string) {
	table, lacks := w.injectorTable(j)
	if table == nil {
		return Open(lacks...), ""
	}
	state := w.operatingAt(j, at)
	if !state.known() {
		return Open(state.inlet.Missing...), ""
	}
	bad, word := 0, ""
	for _, p := range state.points {
		if out := tableSide(table.read, p); out != "" {
			bad++
			word = out
		}
	}
	if gas := w.gasCase(at).injector.of(j); gas != nil && gas.beyond {
		return Truth{}, "suction pressure below the suction curve"
	}
	switch {
	case bad == 0:
		return Truth{Value: True, Assumed: state.inlet.Assumed}, ""
	case bad < len(state.points) && len(state.inlet.Assumed) > 0:
		return Truth{Value: Undecided, Assumed: state.inlet.Assumed}, word
	}
	return Truth{Assumed: state.inlet.Assumed}, word
}

// tableSide says which pressure of a point lies outside a table, and on which side; empty where none does.
func tableSide(table *unitop.Injector, p injectorPoint) string {
	side := func(axis string, x, low, high float64) string {
		switch {
		case x < low:
			return axis + " below the table"
		case x > high:
			return axis + " above the table"
		}
		return ""
	}
	low, high := table.InletSpan()
	if out := side("inlet pressure", p.inlet+tableAtmosphere, low, high); out != "" {
		return out
	}
	low, high, err := table.OutletSpan(p.inlet + tableAtmosphere)
	if err != nil {
		return "inlet pressure outside the table"
	}
	return side("outlet pressure", p.outlet+tableAtmosphere, low, high)
}

// tableEnds gives the lowest and highest inlet pressure of a table, and the highest outlet pressure at the lowest inlet pressure
// of a case, all gauge.
func (w *World) tableEnds(j, at int32) (inletLow, inletHigh, outletHigh Number) {
	table, lacks := w.injectorTable(j)
	if table == nil {
		n := Missing(lacks...)
		return n, n, n
	}
	low, high := table.read.InletSpan()
	inletLow, inletHigh = Exactly(low-tableAtmosphere), Exactly(high-tableAtmosphere)
	state := w.operatingAt(j, at)
	if !state.known() {
		return inletLow, inletHigh, Missing(state.inlet.Missing...)
	}
	_, top, err := table.read.OutletSpan(hold(state.weak.inlet+tableAtmosphere, low, high))
	must(err)
	return inletLow, inletHigh, Exactly(top - tableAtmosphere)
}

// stallRatio is the outlet over inlet pressure, gauge to gauge, up to which an injector draws: what is stated, else where its
// table shows no suction any more.
func (w *World) stallRatio(j, at int32) Number {
	spec := w.data(j).GetVenturiInjector()
	if spec.MaxOutletRatioRatio != nil {
		return Exactly(*spec.MaxOutletRatioRatio)
	}
	ref := specRef(j, "max_outlet_ratio")
	table, _ := w.injectorTable(j)
	state := w.operatingAt(j, at)
	if table == nil || !state.known() || state.weak.inlet <= 0 {
		return w.Unstated(ref)
	}
	limit, err := table.read.Limit(state.weak.inlet + tableAtmosphere)
	if err != nil || !limit.Seen {
		return w.Unstated(ref)
	}
	return Exactly((limit.Outlet - tableAtmosphere) / state.weak.inlet)
}

// outletRatio is the highest outlet over inlet pressure of a case, gauge to gauge.
func (w *World) outletRatio(j, at int32) Number {
	state := w.operatingAt(j, at)
	if !state.known() {
		return Number{Low: 0, High: math.Inf(1), Missing: state.inlet.Missing}
	}
	ratio := func(p injectorPoint) float64 {
		if p.inlet <= 0 {
			return math.Inf(1)
		}
		return p.outlet / p.inlet
	}
	return settle(ratio(state.weak), ratio(state.strong), state.inlet.Assumed)
}

// gasToLiquid is the highest gas over motive water by volume at the injector's outlet.
func (w *World) gasToLiquid(j, at int32) Number {
	x := w.gasNet()
	gas := Exactly(0)
	for _, g := range x.injectors.of(j) {
		gas = gas.Add(w.gasCase(at).generator.of(g).high.Scale(1 / float64(len(x.of.of(g).injectors))))
	}
	state := w.operatingAt(j, at)
	_, warm := w.waterTemperatures(at)
	air := w.media().atmosphere
	refs := lacking(gas, warm, air)
	if !state.known() {
		refs = JoinRefs(refs, state.inlet.Missing)
	}
	if len(refs) > 0 {
		return Number{Low: 0, High: math.Inf(1), Missing: refs}
	}
	volume := func(n, t, gauge, water float64) float64 {
		v, err := fluid.VolumeFlow(n, t, gauge+air.Low)
		if err != nil || water <= 0 {
			return math.Inf(1)
		}
		return v / water
	}
	return settle(volume(gas.High, warm.High, state.outlet.Low, state.motive.Low), volume(max(0, gas.Low), warm.Low, state.outlet.High, state.motive.High),
		JoinRefs(gas.Assumed, warm.Assumed, air.Assumed, state.inlet.Assumed))
}

// atLowest and atHighest give one end of what is solved as a number of its own; where assumed data stand behind it both ends stay.
func atLowest(n Number) Number {
	if len(n.Missing) > 0 || len(n.Assumed) > 0 {
		return n
	}
	return Exactly(n.Low)
}

func atHighest(n Number) Number {
	if len(n.Missing) > 0 || len(n.Assumed) > 0 {
		return n
	}
	return Exactly(n.High)
}

// waterPathOf is the water's way to an injector and on.
func (w *World) waterPathOf(j, at int32) Path {
	walk := w.waterCase(at).walks.of(j)
	arcs := slices.Clone(walk.up)
	if len(arcs) == 0 {
		return nil
	}
	p := w.wayPath(w.Graph().From(arcs[0]), arcs, nil)
	if len(walk.down) > 0 {
		behind := w.wayPath(w.Graph().From(walk.down[0]), walk.down, nil)
		p[len(p)-1].Role = skidrulev1.StepRole_STEP_ROLE_PASSES
		p = append(p, behind[1:]...)
	}
	return p
}

// buildInjectorTable reads a stated table; nil where rows are incomplete or contradict each other.
func buildInjectorTable(spec *skidrulev1.VenturiInjector) *injectorTable {
	t := unitop.InjectorTable{
		MotiveStated:    true,
		SuctionPressure: *spec.PerformanceSuctionPressurePaGauge + tableAtmosphere,
		GasMolarMass:    fluid.MolarMassAir,
		GasTemperature:  tableGasTemperature,
	}
	if spec.GetPerformanceGas() == skidrulev1.SuctionGas_SUCTION_GAS_OXYGEN {
		t.GasMolarMass = fluid.MolarMassO2
	}
	t.Rows = make([]unitop.InjectorRow, 0, len(spec.GetPerformance()))
	for _, row := range spec.GetPerformance() {
		if row.InletPressurePaGauge == nil || row.OutletPressurePaGauge == nil || row.SuctionFlowMolPerS == nil {
			return nil
		}
		if *row.OutletPressurePaGauge >= *row.InletPressurePaGauge {
			// Tables go on to where nothing is drawn any more; the model asks for a pressure drop.
			continue
		}
		r := unitop.InjectorRow{
			InletPressure: *row.InletPressurePaGauge + tableAtmosphere, OutletPressure: *row.OutletPressurePaGauge + tableAtmosphere,
			SuctionFlow: *row.SuctionFlowMolPerS,
		}
		if row.MotiveFlowM3PerS != nil {
			r.MotiveFlow = *row.MotiveFlowM3PerS
		} else {
			t.MotiveStated = false
		}
		t.Rows = append(t.Rows, r)
	}
	for _, point := range spec.GetSuctionCurve() {
		if point.SuctionPressurePaGauge == nil || point.RelativeFlowRatio == nil {
			return nil
		}
		t.SuctionCurve = append(t.SuctionCurve, unitop.SuctionPoint{Pressure: *point.SuctionPressurePaGauge + tableAtmosphere, Flow: *point.RelativeFlowRatio})
	}
	t.Rows = withoutLone(t.Rows)
	read, err := unitop.NewInjector(t)
	if err != nil {
		return nil
	}
	return &injectorTable{read: read, motive: t.MotiveStated}
}

// withoutLone drops the rows of inlet pressures that no other row has: a curve of one row says nothing about its slope.
func withoutLone(rows []unitop.InjectorRow) []unitop.InjectorRow {
	beside := func(i, j int) bool { return j >= 0 && j < len(rows) && rows[i].InletPressure == rows[j].InletPressure }
	alone := false
	for i := range rows {
		alone = alone || !beside(i, i-1) && !beside(i, i+1)
	}
	if !alone {
		return rows // makers list curve by curve
	}
	count := map[float64]int{}
	for _, r := range rows {
		count[r.InletPressure]++
	}
	return slices.DeleteFunc(rows, func(r unitop.InjectorRow) bool { return count[r.InletPressure] < 2 })
}
