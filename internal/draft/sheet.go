package draft

import (
	"bytes"
	"embed"
	"fmt"
	"io/fs"
	"math"
	"strconv"
	"strings"
	"text/template"

	"google.golang.org/protobuf/reflect/protoreflect"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/quantity"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// sheets are the pieces that drafts are put together from, as design files with places for numbers. A comment before an element
// says why it is there; a comment that begins with ## begins a section.
//
//go:embed sheet
var sheets embed.FS

// pieces are the parsed sheets.
var pieces = func() *template.Template {
	files, err := fs.Sub(sheets, "sheet")
	if err != nil {
		panic(err) // the folder is part of the program
	}
	return template.Must(template.New("").Delims("<<", ">>").Option("missingkey=error").ParseFS(files, "*.yaml"))
}()

// places are what the pieces ask for. Quantities are spelt as in design files.
type places struct {
	Description                                             string
	Tank, FullFlow, Pumped, PressureFed, Throttled          bool
	Concentrator, Stored, FedByAir, WaterCooled             bool
	SupplyForm, RegulatorSet, ReliefSet, ReliefCapacity     string
	Mode, Cooling, BackPressure                             string
	SupplyState, ReturnState, FlowTrip                      string
	InletGauge, OutletGauge                                 string
	Volume, Diameter, Height, Level, GasCap, VesselPressure string
	VesselInlet, VesselTop, VesselOutlet, TankArea          string
	DegasVolume, DegasDiameter, DegasHeight                 string
	DegasInlet, DegasTop                                    string
	VentValve, VentValve2, VentCrest, VentCrest2            string
	PotDiameter, PotHeight, PotInlet, PotHoldUp             string
	PotFoot, PotInletAt, PotTopAt                           string
	DestructAt, BlowerAt, BlowerSwitchAt                    string
	AnalyserAt, AnalyserTop, RoofAt, Crest                  string
	RiserTop, RiserFoot                                     string
	OzoneAlarm, OxygenPlace                                 string
	GasSize, GasTube, Oxygen, Tube8, Tube12                 string
	HotTube8, HotTube12, WaterPipe, MainPipe                string
	OffGasPipe, HotPipe, DrainPipe                          string
	Cases                                                   []caseChange
	Basis                                                   []keyed
	Assumptions                                             []spelt
}

// caseChange is one entry of the cases.
type caseChange struct{ ID, State, Why string }

// spelt is one entry of the assumptions.
type spelt struct{ Path, Low, High, Reason string }

// layout holds the elevations and sizes that change when a part is picked in place of a made one.
type layout struct {
	vesselHeight, vesselLevel, vesselVolume, vesselDiameter float64
	degasHeight                                             float64
	potHeight, potInlet                                     float64
	water, main, drain, gas, offGas                         bore
	reliefCapacity                                          float64 // mol/s; 0 where the relief valve is not known
}

// layout is the plan's own, with everything made to measure.
func (p *plan) layout() layout {
	l := layout{vesselHeight: p.height, vesselVolume: p.volume, vesselDiameter: p.diameter, degasHeight: 1.1, potHeight: p.potHeight, potInlet: up(p.potHeight/3, 0.01),
		water: p.waterBore, main: p.mainBore, drain: p.waterBore, gas: p.gasBore, offGas: p.offGasBore}
	l.vesselLevel = l.vesselHeight - 0.05
	return l
}

// usual are the units in which plants of this kind are spoken of.
var usual = map[quantity.Dimension][]string{
	quantity.LiquidFlow: {"m3/h"}, quantity.MassConcentration: {"mg/L", "ug/L"}, quantity.Rate: {"1/s", "1/h"}, quantity.PressureGauge: {"bar(g)"},
	quantity.PressureAbsolute: {"bar(a)"}, quantity.Temperature: {"degC"}, quantity.Length: {"m"}, quantity.Volume: {"m3"},
}

// spell gives a value without loss: in the first usual unit in which few digits say it, else in the unit that takes the fewest.
func spell(x float64, d quantity.Dimension) string {
	for _, unit := range usual[d] {
		zero, err := quantity.Parse("0 "+unit, d)
		one, err2 := quantity.Parse("1 "+unit, d)
		if err != nil || err2 != nil {
			continue
		}
		text := strconv.FormatFloat((x-zero)/(one-zero), 'g', 8, 64)
		if strings.Contains(text, "e") {
			continue
		}
		text += " " + unit
		if same, err := quantity.Parse(text, d); err == nil && same == x {
			return text
		}
	}
	return quantity.Exact(x, d)
}

// spellBasis spells the numbers of the basis, so that the file speaks of them in the usual units.
func (p *plan) spellBasis() []keyed {
	var out []keyed
	m := p.demand.basis.ProtoReflect()
	fields := m.Descriptor().Fields()
	for i := range fields.Len() {
		fd := fields.Get(i)
		d, ok := designfile.FieldDimension(fd)
		if ok && fd.Kind() == protoreflect.DoubleKind && m.Has(fd) {
			out = append(out, keyed{designfile.Key(fd), spell(m.Get(fd).Float(), d)})
		}
	}
	return out
}

// keyed is a key with its value as a file spells it.
type keyed struct{ Key, Value string }

// metres spells a length in m to the millimetre.
func metres(x float64) string { return trimmed(x, 3) + " m" }

// millimetres spells a length in mm to the tenth.
func millimetres(x float64) string { return trimmed(1000*x, 1) + " mm" }

// bar spells a gauge pressure.
func bar(x float64) string { return trimmed(x/1e5, 3) + " bar(g)" }

// cubicPerHour spells a flow of water.
func cubicPerHour(x float64) string { return trimmed(x*3600, 3) + " m3/h" }

// normalLitres spells a gas flow at 0 degC and 101325 Pa.
func normalLitres(x float64) string {
	// 44.615033 mol of an ideal gas are a cubic metre at 0 degC and 101325 Pa.
	return trimmed(x*60/0.044615033, 1) + " NL/min"
}

// trimmed spells a number with at most so many decimals.
func trimmed(x float64, decimals int) string {
	s := strconv.FormatFloat(x, 'f', decimals, 64)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	if s == "-0" || s == "" {
		return "0"
	}
	return s
}

// significant rounds up to three digits, so that a requirement is not rounded away.
func significant(x float64) float64 {
	if x <= 0 {
		return x
	}
	step := math.Pow(10, math.Floor(math.Log10(x))-2)
	return math.Ceil(x/step-1e-9) * step
}

// gaugeRanges are full scales of pressure gauges in Pa: EN 837-1, from memory.
var gaugeRanges = []float64{0.25e5, 0.4e5, 0.6e5, 1e5, 1.6e5, 2.5e5, 4e5, 6e5, 10e5, 16e5, 25e5}

// gaugeRange is the smallest range in which a pressure stands at two thirds or less, and the highest one below its end.
func gaugeRange(normal, high float64) float64 {
	for _, r := range gaugeRanges {
		if normal <= r*2/3 && high <= r {
			return r
		}
	}
	return gaugeRanges[len(gaugeRanges)-1]
}

// places fills what the pieces ask for.
func (p *plan) places(l layout) *places {
	d := p.demand
	b := d.basis
	v := &places{
		Tank: p.circuit == tank, FullFlow: p.circuit == fullFlow, Pumped: p.pumped,
		PressureFed: p.feed == storedOxygen, WaterCooled: p.feed == storedOxygen, Stored: p.feed == storedOxygen,
		Concentrator: p.feed == concentrator, FedByAir: p.feed == driedAir,
		Mode: "vacuum_drawn", Cooling: "air", RegulatorSet: "0.2 bar(g)", ReliefSet: "1.5 bar(g)", BackPressure: "1 bar(g)",
		OxygenPlace: "generator", VesselPressure: bar(p.vessel),
	}
	v.Throttled = p.circuit == fullFlow && !v.PressureFed
	v.Description = "Drafted from a demand; not a design that anybody has reviewed."
	if v.PressureFed {
		v.Mode, v.Cooling, v.RegulatorSet, v.ReliefSet, v.OxygenPlace = "pressure_fed", "water", "1.8 bar(g)", "3 bar(g)", "regulator"
	}
	if v.Concentrator {
		v.OxygenPlace = "concentrator"
	}
	// Molar volume at 0 degC and 101325 Pa: 22.414 L/mol.
	v.SupplyForm = "cylinder"
	if p.gasFlow*0.022414*86400 > cylinderDay {
		v.SupplyForm = "liquid"
	}
	if l.reliefCapacity > 0 {
		v.ReliefCapacity = normalLitres(l.reliefCapacity)
	}
	v.SupplyState = edge(d.SupplyPressurePaGauge, d.MinSupplyPressurePaGauge, d.MaxSupplyPressurePaGauge, b)
	v.ReturnState = edge(d.ReturnPressurePaGauge, d.MinReturnPressurePaGauge, d.MaxReturnPressurePaGauge, b)
	if d.OpenToPeople != nil {
		v.ReturnState += ", open_to_people: " + strconv.FormatBool(*d.OpenToPeople)
	}
	// How far the flow falls before the switch acts is common practice, no source.
	v.FlowTrip = cubicPerHour(p.flowTrip())
	v.InletGauge, v.OutletGauge = bar(gaugeRange(p.inlet, p.inlet*1.2)), bar(gaugeRange(max(p.outlet, 0.1e5), p.outlet*1.2))
	v.Volume, v.Diameter, v.Height, v.Level = trimmed(1000*l.vesselVolume, 1)+" L", millimetres(l.vesselDiameter), metres(l.vesselHeight), metres(l.vesselLevel)
	v.GasCap = trimmed(1000*math.Pi/4*l.vesselDiameter*l.vesselDiameter*(l.vesselHeight-l.vesselLevel), 1) + " L"
	v.TankArea = trimmed(l.vesselVolume/2, 3) + " m2"
	const foot = 0.2
	top := foot + l.vesselHeight
	v.VesselInlet, v.VesselTop, v.VesselOutlet = metres(foot+0.75*l.vesselHeight), metres(top), metres(top-0.2)
	// The degassing vessel is as high as 1.1 m or as its part is, and as wide as its volume asks.
	degas := 1.5 + l.degasHeight
	v.DegasVolume, v.DegasHeight = trimmed(1000*p.degas, 1)+" L", metres(l.degasHeight)
	v.DegasDiameter = millimetres(math.Sqrt(4 * p.degas / (math.Pi * l.degasHeight)))
	v.DegasInlet, v.DegasTop = metres(1.5+0.7*l.degasHeight), metres(degas)
	v.RiserTop, v.RiserFoot = metres(max(top-0.1, 1.5+0.7*l.degasHeight)), metres(min(top-0.2, 1.5+0.7*l.degasHeight))
	if v.FullFlow {
		v.VentValve, v.VentCrest = metres(degas+0.15), metres(degas+0.25)
		v.VentValve2, v.VentCrest2 = metres(top+0.1), metres(top+0.2)
	} else {
		v.VentValve, v.VentCrest = metres(top+0.15), metres(top+0.25)
	}
	// The gas line runs over the highest water, or as high as a person reaches.
	v.Crest = metres(max(2.6, top+0.2, degas))
	pot := 1.2
	if v.Tank {
		pot = 1.6
	}
	potTop := pot + l.potHeight
	if v.Tank && potTop > 2.3 {
		pot = max(0.7, 2.3-l.potHeight)
		potTop = pot + l.potHeight
	}
	v.PotDiameter, v.PotHeight, v.PotInlet = millimetres(p.pot), millimetres(l.potHeight), millimetres(l.potInlet)
	v.PotHoldUp = trimmed(1000*0.6*math.Pi/4*p.pot*p.pot*l.potInlet, 2) + " L"
	v.PotFoot, v.PotInletAt, v.PotTopAt = metres(pot), metres(pot+l.potInlet), metres(potTop)
	v.DestructAt = metres(potTop + 0.2)
	v.BlowerAt, v.BlowerSwitchAt = metres(potTop+0.4), metres(potTop+0.5)
	v.AnalyserAt, v.AnalyserTop, v.RoofAt = metres(potTop+0.8), metres(potTop+0.9), metres(max(6, potTop+2))
	if b.OzoneExposureLimitMoleFraction != nil {
		v.OzoneAlarm = trimmed(1e6**b.OzoneExposureLimitMoleFraction, 4) + " ppmv"
	}
	const steel = "material: stainless_316, "
	const warm = "min_pressure: -0.95 bar(g), max_temperature: 120 degC, allowable_stress: 115 MPa"
	const hot = "min_pressure: -0.95 bar(g), max_temperature: 450 degC, allowable_stress: 100 MPa"
	tubing := func(b bore, class string) string {
		return fmt.Sprintf("size: %s, wall_thickness: %s, %sconnection: tube_fitting, roughness: 0.0015 mm, max_pressure: 40 bar(g), %s", b.size, millimetres(b.wall), steel, class)
	}
	piping := func(b bore, class string) string {
		return fmt.Sprintf("size: %s, wall_thickness: %s mm, inner_diameter: %s mm, %sconnection: flange, roughness: 0.045 mm, max_pressure: 16 bar(g), %s", b.size, trimmed(1000*b.wall, 2), trimmed(1000*b.inner, 2), steel, class)
	}
	v.GasSize, v.GasTube, v.Oxygen = l.gas.size.String(), tubing(l.gas, warm), "oxygen_cleaned: true"
	v.Tube8, v.Tube12 = tubing(tube(tubes[0]), warm), tubing(tube(tubes[2]), warm)
	v.HotTube8, v.HotTube12 = tubing(tube(tubes[0]), hot), tubing(tube(tubes[2]), hot)
	v.WaterPipe, v.MainPipe, v.OffGasPipe, v.HotPipe = piping(l.water, warm), piping(l.main, warm), piping(l.offGas, warm), piping(l.offGas, hot)
	v.DrainPipe = piping(l.drain, warm)
	v.Cases, v.Basis = p.cases(), p.spellBasis()
	return v
}

// flowTrip is the water flow in m3/s at which the switch acts: a little more than half of the least that passes in operation.
func (p *plan) flowTrip() float64 {
	flow := p.motive
	if p.circuit == fullFlow {
		flow = min(flow, p.demand.least)
	}
	if p.takes > 0 {
		flow = min(flow, p.takes)
	}
	return 0.55 * flow
}

// edge spells pressures and temperatures at an edge of the drawing, as far as the demand states them.
func edge(normal, low, high *float64, b *skidrulev1.Basis) string {
	var parts []string
	put := func(key string, x *float64, spell func(float64) string) {
		if x != nil {
			parts = append(parts, key+": "+spell(*x))
		}
	}
	exact := func(d quantity.Dimension) func(float64) string {
		return func(x float64) string { return spell(x, d) }
	}
	put("pressure", normal, exact(quantity.PressureGauge))
	put("max_pressure", high, exact(quantity.PressureGauge))
	put("min_pressure", low, exact(quantity.PressureGauge))
	put("temperature", b.WaterTemperatureK, exact(quantity.Temperature))
	put("min_temperature", b.MinWaterTemperatureK, exact(quantity.Temperature))
	put("max_temperature", b.MaxWaterTemperatureK, exact(quantity.Temperature))
	return strings.Join(parts, ", ")
}

// cases are the changes of the standard cases.
func (p *plan) cases() []caseChange {
	d := p.demand
	var out []caseChange
	flow := func(id string, x *float64, why string) {
		if x != nil {
			out = append(out, caseChange{id, "{treated_flow: " + spell(*x, quantity.LiquidFlow) + "}", why})
		}
	}
	flow("low_flow", d.basis.MinTreatedFlowM3PerS, "The lowest flow of the demand.")
	flow("high_flow", d.basis.MaxTreatedFlowM3PerS, "The highest flow of the demand.")
	if p.pumped {
		states := "P-1: {running: false}"
		if d.MaxSupplyPressurePaGauge != nil && p.circuit != tank {
			states += ", RM-1: {pressure: " + spell(*d.MaxSupplyPressurePaGauge, quantity.PressureGauge) + "}"
		}
		if d.MaxReturnPressurePaGauge != nil && p.circuit != tank {
			states += ", RM-2: {pressure: " + spell(*d.MaxReturnPressurePaGauge, quantity.PressureGauge) + "}"
		}
		out = append(out, caseChange{"pump_stopped", "{states: {" + states + "}}", "The mains stay under their highest pressure when the pump stops."})
	} else {
		out = append(out, caseChange{"pump_stopped", "{excluded: true, reason: The plant has no pump.}", "There is no pump that could stop."})
	}
	if p.circuit != tank {
		out = append(out, caseChange{"blower_lost", "{excluded: true, reason: The plant has no blower.}", "The off-gas leaves by the pressure in the vessel."})
	}
	return out
}

// sheet writes the draft as a design file with the comments of its pieces.
func (p *plan) sheet(l layout, picked map[string]bool) ([]byte, error) {
	v := p.places(l)
	for _, a := range p.assumed {
		if owner, _, ok := strings.Cut(strings.TrimPrefix(a.path, "components."), "."); ok && picked[owner] {
			continue
		}
		v.Assumptions = append(v.Assumptions, spelt{a.path, spell(a.low, a.dimension), spell(a.high, a.dimension), a.reason})
	}
	var out bytes.Buffer
	for _, name := range []string{"head", "feed-" + designfile.EnumWord(p.feed), "ozone", "circuit-" + designfile.EnumWord(p.circuit), "off-gas", "watch", "lines"} {
		if err := pieces.ExecuteTemplate(&out, name+".yaml", v); err != nil {
			return nil, fmt.Errorf("sheet %s: %w", name, err)
		}
	}
	return out.Bytes(), nil
}
