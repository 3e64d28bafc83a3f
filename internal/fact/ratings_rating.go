package fact

import (
	"math"
	"sort"
	"strconv"
	"strings"

	"github.com/skidrule/skidrule/internal/flowpath"
	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/unitop"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// componentRating is the highest working pressure that a component bears at its highest temperature: of its table, else as
// stated, rigid plastic less with heat; and of its pressure class. Where several are stated the least holds.
func (w *World) componentRating(component int32, temperature Number) Number {
	data := w.data(component)
	class := data.GetPressureClass() != ""
	if class && data.MaxPressurePaGauge == nil && len(data.GetPressureTable()) == 0 {
		return w.classRating(component, temperature)
	}
	rating := w.statedRating(data.GetPressureTable(), data.MaxPressurePaGauge, data.GetBodyMaterial(), temperature,
		componentRef(component, "pressure_table"), componentRef(component, "max_pressure"), componentRef(component, "body_material"))
	if class {
		rating = rating.Min(w.classRating(component, temperature))
	}
	return rating
}

// statedRating reads a table at a temperature, or takes the plain rating.
func (w *World) statedRating(table []*skidrulev1.TemperaturePressure, plain *float64, m skidrulev1.Material, t Number, tableRef, plainRef, materialRef Ref) Number {
	if rows := ratingRows(table); len(rows) > 0 {
		return tableRating(rows, t, tableRef)
	}
	rating := w.number(plain, plainRef)
	if plastic := rigidPlastic(m); plastic != "" {
		return rating.Max(Exactly(0)).Mul(derating(plastic, t))
	}
	if m == skidrulev1.Material_MATERIAL_UNSPECIFIED && t.High > ratedTemperature {
		// It may be a plastic that loses its rating with heat, or one that does not.
		factor := derating("pvc", t).Min(derating("cpvc", t))
		factor.High = 1
		factor.Missing = joinRefs(factor.Missing, []Ref{materialRef})
		return rating.Max(Exactly(0)).Mul(factor)
	}
	return rating
}

// ratingRow is a complete row of a rating table.
type ratingRow struct{ temperature, pressure float64 }

func ratingRows(table []*skidrulev1.TemperaturePressure) []ratingRow {
	var rows []ratingRow
	for _, r := range table {
		if r.TemperatureK != nil && r.MaxPressurePaGauge != nil {
			rows = append(rows, ratingRow{*r.TemperatureK, *r.MaxPressurePaGauge})
		}
	}
	sort.Slice(rows, func(i, j int) bool { return rows[i].temperature < rows[j].temperature })
	return rows
}

// tableRating reads a table over a range of temperatures, linear between rows. Below the first row its rating holds and is
// not raised; above the last row nothing is stated.
func tableRating(rows []ratingRow, t Number, ref Ref) Number {
	n := Number{Low: math.Inf(1), High: math.Inf(-1), Missing: t.Missing, Assumed: t.Assumed}
	last := rows[len(rows)-1]
	take := func(x float64) { n.Low, n.High = min(n.Low, x), max(n.High, x) }
	take(readRating(rows, t.Low))
	take(readRating(rows, t.High))
	for _, r := range rows {
		if r.temperature > t.Low && r.temperature < t.High {
			take(r.pressure)
		}
	}
	if t.High > last.temperature {
		n.Low = math.Inf(-1)
		if t.Known() {
			n.Missing = joinRefs(n.Missing, []Ref{ref})
		}
	}
	return n
}

func readRating(rows []ratingRow, t float64) float64 {
	i := sort.Search(len(rows), func(i int) bool { return rows[i].temperature >= t })
	switch {
	case i == 0:
		return rows[0].pressure
	case i == len(rows):
		return rows[i-1].pressure
	}
	a, b := rows[i-1], rows[i]
	return a.pressure + (b.pressure-a.pressure)*(t-a.temperature)/(b.temperature-a.temperature)
}

// rigidPlastic names the plastics whose rating is that at 23 degC and falls with heat as a published table says.
func rigidPlastic(m skidrulev1.Material) string {
	switch m {
	case skidrulev1.Material_MATERIAL_PVC_U:
		return "pvc"
	case skidrulev1.Material_MATERIAL_CPVC:
		return "cpvc"
	}
	return ""
}

// ratedTemperature is that at which plastic pipe is rated, 73 degF.
const ratedTemperature = (73-32)/1.8 + 273.15

// derating is the factor by which rigid plastic loses its rating over a range of temperatures: 1 up to that of the rating,
// nothing beyond the end of the published table.
func derating(plastic string, t Number) Number {
	at := func(t float64) (low, high float64) {
		if t <= ratedTemperature {
			return 1, 1
		}
		r, _, err := unitop.PlasticDerating(plastic, t)
		if err != nil {
			return 0, 0
		}
		return r.Low, r.High
	}
	low, _ := at(t.High)
	_, high := at(t.Low)
	return Number{Low: low, High: high, Missing: t.Missing, Assumed: t.Assumed}
}

// classRating is that of a flange class of ASME B16.5 at a temperature. 316 stands for 316 and 316L, so the lower one holds.
func (w *World) classRating(component int32, t Number) Number {
	data := w.data(component)
	missing := Missing(componentRef(component, "max_pressure"))
	class, ok := pressureClass(data.GetPressureClass())
	if !ok {
		return missing
	}
	var names []string
	switch data.GetBodyMaterial() {
	case skidrulev1.Material_MATERIAL_CARBON_STEEL:
		names = []string{"carbon-steel"}
	case skidrulev1.Material_MATERIAL_STAINLESS_316:
		names = []string{"stainless-316", "stainless-316l"}
	case skidrulev1.Material_MATERIAL_UNSPECIFIED:
		return Missing(componentRef(component, "body_material"))
	default:
		return missing
	}
	n := Number{Low: math.Inf(-1), High: math.Inf(1), Missing: t.Missing, Assumed: t.Assumed}
	if !t.Known() {
		return n
	}
	n = Exactly(math.Inf(1))
	for _, name := range names {
		// The tables begin at -29 degC; below 38 degC the rating does not change.
		x, _, err := unitop.FlangeRating(name, class, max(t.Low, 273.15))
		if err != nil {
			return missing
		}
		n = n.Min(Exactly(x))
	}
	n.Assumed = t.Assumed
	return n
}

// pressureClass reads a class such as `class 150`.
func pressureClass(text string) (int, bool) {
	digits := strings.TrimSpace(strings.TrimPrefix(strings.ToLower(strings.TrimSpace(text)), "class"))
	class, err := strconv.Atoi(digits)
	return class, err == nil
}

// lineRating is the highest working pressure of a line as stated. What the wall bears is its upper bound where none is stated: joints,
// fittings and seals of the line may bear less.
func (w *World) lineRating(line int32, t Number) Number {
	data := w.Plant.Lines[line].Data
	rating := w.statedRating(data.GetPressureTable(), data.MaxPressurePaGauge, data.GetMaterial(), t,
		lineRef(line, "pressure_table"), lineRef(line, "max_pressure"), lineRef(line, "material"))
	if data.MaxPressurePaGauge != nil || len(data.GetPressureTable()) > 0 || rating.Assumed != nil {
		return rating
	}
	unstated := Missing(lineRef(line, "max_pressure"))
	if wall := w.wallRating(line); len(wall.Missing) == 0 {
		unstated.Low, unstated.High, unstated.Assumed = 0, wall.High, wall.Assumed
	}
	return unstated
}

// wallIsPipe tells whether a line is a pipe or tube whose wall the equations judge, not a hose of rubber or a tube of glass.
func (w *World) wallIsPipe(line int32) Truth {
	m := w.Plant.Lines[line].Data.GetMaterial()
	if m == skidrulev1.Material_MATERIAL_UNSPECIFIED {
		return Open(lineRef(line, "material"))
	}
	return Is(metal(m) || plasticPipe(m))
}

// Allowances of ASME B31.3 where the line does not state its make: the quality factor of pipe that is electric-fusion-welded with a
// single butt, or furnace-butt-welded, which only carbon steel is, to that of seamless pipe (Table 302.3.4, verified in
// transcriptions), and the mill tolerance of seamless pipe.
const (
	fusedQuality    = 0.8
	furnaceQuality  = 0.6
	seamlessQuality = 1.0
	millTolerance   = 0.125
)

// wallRating is the pressure that a line's wall bears: ASME B31.3 304.1.2 for metal, the hydrostatic design basis of ASTM D1785
// for plastic. The stress is stated for the highest temperature.
func (w *World) wallRating(line int32) Number {
	data := w.Plant.Lines[line].Data
	if data.GetMaterial() == skidrulev1.Material_MATERIAL_UNSPECIFIED {
		return Missing(lineRef(line, "material"))
	}
	stress := w.number(data.AllowableStressPa, lineRef(line, "allowable_stress"))
	wall := w.number(data.WallThicknessM, lineRef(line, "wall_thickness"))
	outer := w.outerDiameter(line)
	n := restingOn(math.Inf(-1), math.Inf(1), stress, wall, outer)
	bears := func(stress, wall, outer, quality float64) (float64, error) {
		if plasticPipe(data.GetMaterial()) {
			return unitop.PlasticPressure(stress, outer/wall)
		}
		p := unitop.PipeWall{OuterDiameter: outer, Stress: stress, Quality: quality, WeldStrength: 1, Y: 0.4, MillTolerance: millTolerance}
		return p.AllowedPressure(wall)
	}
	if len(n.Missing) > 0 {
		return n
	}
	welded := fusedQuality
	if data.GetMaterial() == skidrulev1.Material_MATERIAL_CARBON_STEEL {
		welded = furnaceQuality
	}
	low, err := bears(stress.Low, wall.Low, outer.High, welded)
	if err == nil {
		n.Low = low
	}
	high, err := bears(stress.High, wall.High, outer.Low, seamlessQuality)
	if err == nil {
		n.High = high
	}
	if math.IsInf(n.Low, 0) || math.IsInf(n.High, 0) {
		// A wall outside the range of the equations is not judged by them.
		return Missing(lineRef(line, "wall_thickness"))
	}
	return n
}

// plasticPipe tells materials whose pipe is rated by its dimension ratio.
func plasticPipe(m skidrulev1.Material) bool {
	switch m {
	case skidrulev1.Material_MATERIAL_PVC_U, skidrulev1.Material_MATERIAL_CPVC, skidrulev1.Material_MATERIAL_POLYPROPYLENE,
		skidrulev1.Material_MATERIAL_POLYETHYLENE, skidrulev1.Material_MATERIAL_ABS, skidrulev1.Material_MATERIAL_PVDF,
		skidrulev1.Material_MATERIAL_POLYAMIDE, skidrulev1.Material_MATERIAL_PFA, skidrulev1.Material_MATERIAL_PTFE, skidrulev1.Material_MATERIAL_ECTFE:
		return true
	}
	return false
}

// outerDiameter is that of a line: stated, that of its size, or that of its bore and wall.
func (w *World) outerDiameter(line int32) Number {
	data := w.Plant.Lines[line].Data
	if data.OuterDiameterM != nil {
		return Exactly(*data.OuterDiameterM)
	}
	if size := w.lineSize(line); size.stated {
		if d, known := size.OutsideDiameter(); known {
			return Exactly(d)
		}
	}
	if data.InnerDiameterM != nil && data.WallThicknessM != nil {
		return Exactly(*data.InnerDiameterM + 2**data.WallThicknessM)
	}
	return w.number(nil, lineRef(line, "outer_diameter"))
}

// bearsPressure tells whether a component is a part that pressure can burst: not one that stands open or carries no fluid,
// nor the edge of the drawing.
func (w *World) bearsPressure(component int32) bool {
	return w.ratings.bearing.get(w.findBearing).Has(component)
}

func (w *World) findBearing() *flowpath.Set {
	bearing := flowpath.NewSet(len(w.Plant.Components))
	for i := range w.Plant.Ports {
		if q := &w.Plant.Ports[i]; q.Joints > 0 && !standsOpen(w.Plant.Components[q.Component].Kind) {
			bearing.Add(q.Component)
		}
	}
	return bearing
}

// standsOpen tells kinds that pressure cannot burst.
func standsOpen(k plant.Kind) bool {
	switch k {
	case plant.KindBoundary, plant.KindGasSupply, plant.KindOpenTank, plant.KindAtmosphereVent, plant.KindDrainPoint, plant.KindJunction:
		return true
	}
	return false
}

// bearsVacuum tells whether vacuum can crush a component: what pressure can burst, and a tank that is closed against the room
// while something draws off its air.
func (w *World) bearsVacuum(component int32) Truth {
	if w.Plant.Components[component].Kind != plant.KindOpenTank {
		return Is(w.bearsPressure(component))
	}
	if w.componentVacuum(component).Low >= 0 {
		return Truth{}
	}
	return w.truth(w.data(component).GetOpenTank().Covered, specRef(component, "covered"))
}

// jacketPort tells ports of cooling and service sides, which have ratings of their own.
func (w *World) jacketPort(port int32) bool {
	q := &w.Plant.Ports[port]
	switch w.Plant.Components[q.Component].Kind {
	case plant.KindOzoneGenerator, plant.KindHeatExchanger:
		return q.Trait >= 2
	}
	return false
}
