package commission

import (
	"math"
	"slices"
	"strings"

	"github.com/skidrule/skidrule/internal/fact"
	"github.com/skidrule/skidrule/internal/fluid"
	"github.com/skidrule/skidrule/internal/network"
	"github.com/skidrule/skidrule/internal/operate"
	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/quantity"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// lacking makes a value unknown for data that is not stated.
func lacking(r *skidrulev1.ExpectedReading, paths ...string) *skidrulev1.ExpectedReading {
	r.UnknownBecause = "unknown, because " + join(paths) + " " + isNot(paths) + " stated"
	r.Missing = paths
	return r
}

func join(list []string) string {
	if len(list) < 2 {
		return strings.Join(list, "")
	}
	return strings.Join(list[:len(list)-1], ", ") + " and " + list[len(list)-1]
}

// spec is the path of a datum of a component's spec.
func (s *Skid) spec(c int32, field string) string {
	comp := &s.plant.Components[c]
	return "components." + comp.Tag + "." + comp.Kind.Info().Name + "." + field
}

// fact asks for a number that is computed of a component; false where its kind has no such fact.
func (s *Skid) fact(name string, c int32, at int) (fact.Number, bool) {
	for _, d := range fact.Definitions() {
		if d.Name == name && d.Number != nil && slices.Contains(d.Kinds, s.plant.Components[c].Kind) {
			return d.Number(s.world, fact.At{Index: c, Case: int32(at)}), true
		}
	}
	return fact.Number{}, false
}

// acts says whether a switch stands made at a value between two ends.
func acts(on skidrulev1.SwitchDirection, low, high, set float64) string {
	switch on {
	case skidrulev1.SwitchDirection_SWITCH_DIRECTION_RISING:
		low, high, set = -high, -low, -set
	case skidrulev1.SwitchDirection_SWITCH_DIRECTION_FALLING:
	default:
		return ""
	}
	switch {
	case low >= set:
		return "does not act"
	case high < set:
		return "acts"
	}
	return "may act: its set point lies between the ends"
}

// switched makes the row of a switch on a place.
func (s *Skid) switched(at int, st *operate.State, q place, set *float64, setField string, on skidrulev1.SwitchDirection) *skidrulev1.ExpectedReading {
	r := s.row(at, &q, st)
	r.NoInstrument, r.SetPoint = false, set
	s.expectActs(r, q.component, setField, on)
	return r
}

// expectActs says in the row of a switch whether it acts, or why that is not known.
func (s *Skid) expectActs(r *skidrulev1.ExpectedReading, c int32, setField string, on skidrulev1.SwitchDirection) {
	lacks := ""
	switch {
	case r.SetPoint == nil:
		lacks = s.spec(c, setField)
	case on == skidrulev1.SwitchDirection_SWITCH_DIRECTION_UNSPECIFIED:
		lacks = s.spec(c, "acts_on")
	case r.Low != nil && r.High != nil:
		r.Expected = acts(on, *r.Low, *r.High, *r.SetPoint)
	}
	if lacks != "" {
		r.Expected = "not known whether it acts, because " + lacks + " is not stated"
		r.Missing = append(r.Missing, lacks)
	}
}

func (s *Skid) pressureSwitch(at int, st *operate.State, c int32) *skidrulev1.ExpectedReading {
	comp := &s.plant.Components[c]
	if s.plant.Ports[comp.FirstPort].Joints == 0 {
		return nil
	}
	q := s.tapped(comp.FirstPort)
	q.shows = "pressure at the switch"
	d := comp.Data.GetPressureSwitch()
	return s.switched(at, st, q, d.SetPointPaGauge, "set_point", d.GetActsOn())
}

func (s *Skid) flowSwitch(at int, st *operate.State, c int32) *skidrulev1.ExpectedReading {
	comp := &s.plant.Components[c]
	d := comp.Data.GetFlowSwitch()
	q := place{label: comp.Tag, component: c, dimension: quantity.LiquidFlow, way: s.passage(comp.FirstPort, comp.FirstPort+1), shows: "water flow through the switch"}
	set, field := d.LiquidSetPointM3PerS, "liquid_set_point"
	if s.phaseAt(comp.FirstPort) == network.Gas {
		q.dimension, q.shows, set, field = quantity.GasFlow, "gas flow through the switch", d.GasSetPointMolPerS, "gas_set_point"
	}
	if q.way < 0 || s.plant.Ports[comp.FirstPort].Joints == 0 {
		return nil
	}
	return s.switched(at, st, q, set, field, d.GetActsOn())
}

// drained makes the row of a trap or pot: the pressure in it, whether its drain holds the gas, and whether its float can open.
func (s *Skid) drained(at int, st *operate.State, c int32, seal *bool, principle skidrulev1.DrainPrinciple, floats *float64) *skidrulev1.ExpectedReading {
	comp := &s.plant.Components[c]
	q := s.tapped(comp.FirstPort)
	q.shows = "gas pressure in it, and its drain"
	r := s.row(at, &q, st)
	r.NoInstrument = false
	switch {
	case seal == nil:
		r.Expected = "not known whether gas passes its drain, because " + s.spec(c, "gas_seal") + " is not stated"
		r.Missing = append(r.Missing, s.spec(c, "gas_seal"))
		return r
	case !*seal:
		r.Expected = "gas passes its drain: the drain has no seal"
		return r
	}
	r.Expected = "dry; the drain is shut and passes no gas"
	if s.world.Cases[at].Standard == operate.BarrierFailed && comp.Kind == plant.KindLiquidTrap {
		r.Expected = "water may come through the barrier that failed; the drain passes no gas"
	}
	if principle == skidrulev1.DrainPrinciple_DRAIN_PRINCIPLE_MANUAL {
		r.Expected += "; it is opened by hand"
	}
	if r.Best != nil && r.GetHigh() < 0 {
		r.Notes = append(r.Notes, "under vacuum: air that hisses in at the drain is a leak")
		if st.Density > 0 {
			// Hydrostatics.
			leg := -r.GetLow() / (st.Density * network.Gravity)
			r.Notes = append(r.Notes, "what gathers runs off against it only by a leg of water of "+quantity.Format(leg, quantity.Length, quantity.Metric)+", or once the vacuum is gone")
		}
	}
	if principle != skidrulev1.DrainPrinciple_DRAIN_PRINCIPLE_FLOAT {
		return r
	}
	if floats == nil {
		r.Notes = append(r.Notes, "not known whether its float can open, because "+s.spec(c, "max_float_difference")+" is not stated")
		r.Missing = append(r.Missing, s.spec(c, "max_float_difference"))
		return r
	}
	behind := &st.Ports[comp.FirstPort+2]
	inside := &st.Ports[comp.FirstPort]
	switch {
	case !inside.Known:
	case !behind.Known:
		r.Notes = append(r.Notes, "its float can open against up to "+difference(*floats)+"; the pressure behind the drain is not known")
	default:
		most := math.Max(math.Abs(inside.Pressure.High-behind.Pressure.Low), math.Abs(behind.Pressure.High-inside.Pressure.Low))
		if most <= *floats {
			r.Notes = append(r.Notes, "its float can open: at most "+difference(most)+" across it, up to "+difference(*floats)+" allowed")
		} else {
			r.Notes = append(r.Notes, "its float may be held shut: "+difference(most)+" across it, up to "+difference(*floats)+" allowed")
		}
	}
	return r
}

func (s *Skid) trap(at int, st *operate.State, c int32) *skidrulev1.ExpectedReading {
	d := s.plant.Components[c].Data.GetLiquidTrap()
	r := s.drained(at, st, c, d.GasSeal, d.GetDrainPrinciple(), d.MaxFloatDifferencePa)
	r.IfAbove = []string{"water in it: a check valve towards the injector leaks, or the drain is blocked"}
	return r
}

func (s *Skid) pot(at int, st *operate.State, c int32) *skidrulev1.ExpectedReading {
	d := s.plant.Components[c].Data.GetKnockOutPot()
	r := s.drained(at, st, c, d.GasSeal, d.GetDrainPrinciple(), d.MaxFloatDifferencePa)
	r.IfAbove = []string{"a pressure that stays: the way through the destruct to the vent is blocked", "much water in it: the float of the vent before it does not shut"}
	return r
}

func (s *Skid) vent(at int, st *operate.State, c int32) *skidrulev1.ExpectedReading {
	comp := &s.plant.Components[c]
	q := place{label: comp.Tag, component: c, dimension: quantity.GasFlow, way: s.passage(comp.FirstPort, comp.FirstPort+1), shows: "gas that it lets off, on average"}
	if q.way < 0 || s.plant.Ports[comp.FirstPort].Joints == 0 {
		return nil
	}
	r := s.row(at, &q, st)
	r.NoInstrument = false
	r.Expected = "lets gas off in bursts and shuts on water"
	if r.Best != nil && r.GetHigh() == 0 {
		r.Expected = "shut: no gas arrives"
	}
	r.IfAbove = []string{"water behind it: its float or seat leaks"}
	return r
}

func (s *Skid) levelSwitch(at int, _ *operate.State, c int32) *skidrulev1.ExpectedReading {
	comp := &s.plant.Components[c]
	watches := comp.Data.GetLevelSwitch().GetWatches()
	r := &skidrulev1.ExpectedReading{Shows: "level", Expected: "does not act: no liquid gathers in steady operation", IfAbove: []string{"it acts: liquid has come, or the drain is blocked"}}
	if watches == "" {
		return lacking(&skidrulev1.ExpectedReading{Shows: "level"}, s.spec(c, "watches"))
	}
	r.Shows = "level in " + watches
	on := comp.Data.GetLevelSwitch().GetActsOn()
	j, ok := s.plant.FindComponent(watches)
	if !ok {
		return r
	}
	switch s.plant.Components[j].Kind {
	case plant.KindLiquidTrap, plant.KindKnockOutPot:
		if on == skidrulev1.SwitchDirection_SWITCH_DIRECTION_UNSPECIFIED {
			return lacking(&skidrulev1.ExpectedReading{Shows: r.Shows}, s.spec(c, "acts_on"))
		}
		if on == skidrulev1.SwitchDirection_SWITCH_DIRECTION_FALLING {
			r.Expected, r.IfAbove = "acts: it stands dry, and the switch acts on a falling level", nil
		}
		if s.world.Cases[at].Standard == operate.BarrierFailed && s.plant.Components[j].Kind == plant.KindLiquidTrap && on == skidrulev1.SwitchDirection_SWITCH_DIRECTION_RISING {
			r.Expected = "acts once water that came through the failed barrier stands at its height"
		}
	default:
		r.Expected, r.IfAbove = "", nil
		r.UnknownBecause = "unknown, because no level is computed of a " + s.plant.Components[j].Kind.Info().Title
	}
	return r
}

// heated tells whether a destruct's heater and the generators run in a case.
func (s *Skid) heated(at int) (heater, ozone bool) {
	switch s.world.Cases[at].Standard {
	case operate.LossOfPower, operate.ColdDestruct:
		return false, s.world.Cases[at].Standard == operate.ColdDestruct
	case operate.PumpStopped, operate.BarrierFailed, operate.Isolated, operate.GeneratorOff, operate.Purge:
		return true, false
	}
	return true, true
}

// bed makes the row of a destruct's bed temperature.
func (s *Skid) bed(at int, _ *operate.State, c int32) *skidrulev1.ExpectedReading {
	comp := &s.plant.Components[c]
	d := comp.Data.GetOzoneDestruct()
	r := &skidrulev1.ExpectedReading{Shows: "bed temperature", Dimension: quantity.Temperature.Name(),
		IfBelow: []string{"the heater is off or has failed", "water has come onto the bed"}, IfAbove: []string{"more ozone arrives than the design makes, or the heater does not switch off"}}
	b := s.plant.Basis
	heater, ozone := s.heated(at)
	if d.Heated == nil {
		return lacking(r, s.spec(c, "heated"))
	}
	low := d.SetTemperatureK
	if !*d.Heated || !heater {
		low = b.MinAmbientTemperatureK
		if low == nil || b.MaxAmbientTemperatureK == nil {
			return lacking(r, "basis.min_ambient_temperature", "basis.max_ambient_temperature")
		}
		best := (*low + *b.MaxAmbientTemperatureK) / 2
		r.Low, r.Best, r.High = low, &best, b.MaxAmbientTemperatureK
		r.Notes = append(r.Notes, "not heated: as warm as the room")
		r.IfBelow = nil
	} else {
		if low == nil {
			return lacking(r, s.spec(c, "set_temperature"))
		}
		r.Low, r.Best, r.High = low, low, low
		r.Notes = append(r.Notes, "its heater holds it")
	}
	if ozone {
		switch n, ok := s.fact("hottest_bed", c, at); {
		case ok && !math.IsInf(n.High, 0) && len(n.Missing) == 0:
			high := math.Max(n.High, *r.High)
			r.High = &high
			r.Notes = append(r.Notes, "the high end is for all ozone of the generators arriving undissolved")
			r.Assumed = plant.Paths(s.plant, n.Assumed)
		case ok:
			r.Missing = plant.Paths(s.plant, n.Missing)
			r.High = nil
			r.Notes = append(r.Notes, "how hot ozone makes it is unknown, because "+join(r.Missing)+" "+isNot(r.Missing)+" stated")
		}
	}
	return r
}

func (s *Skid) temperatureSwitch(at int, st *operate.State, c int32) *skidrulev1.ExpectedReading {
	comp := &s.plant.Components[c]
	d := comp.Data.GetTemperatureSwitch()
	r := &skidrulev1.ExpectedReading{Shows: "temperature", Dimension: quantity.Temperature.Name(), SetPoint: d.SetPointK}
	if d.GetWatches() == "" {
		return lacking(r, s.spec(c, "watches"))
	}
	r.Shows = "temperature of " + d.GetWatches()
	j, ok := s.plant.FindComponent(d.GetWatches())
	if !ok || s.plant.Components[j].Kind != plant.KindOzoneDestruct {
		r.UnknownBecause = "unknown, because no temperature of " + d.GetWatches() + " is computed"
		if ok && d.GetActsOn() == skidrulev1.SwitchDirection_SWITCH_DIRECTION_RISING {
			r.Expected = "does not act while cooling holds it below the set point"
		}
		return r
	}
	bed := s.bed(at, st, j)
	r.Low, r.Best, r.High, r.UnknownBecause, r.Missing = bed.Low, bed.Best, bed.High, bed.UnknownBecause, bed.Missing
	s.expectActs(r, c, "set_point", d.GetActsOn())
	return r
}

// upstream finds the nearest component of the kinds, against the flow, from which fluid of the same phase comes to a port.
func (s *Skid) upstream(start int32, kinds ...plant.Kind) (int32, bool) {
	const most = 4096
	queue, seen := []int32{start}, map[int32]bool{start: true}
	for k := 0; k < len(queue) && k < most; k++ {
		port := queue[k]
		for _, id := range s.plant.WaysAt(port) {
			w := &s.plant.Ways[id]
			next := w.From
			if w.From == port {
				// Against the flow, but for the leg of the instrument, in which nothing flows.
				if !w.IsPipe() || port != start {
					continue
				}
				next = w.To
			}
			if seen[next] || s.phaseAt(next) != s.phaseAt(start) {
				continue
			}
			seen[next] = true
			c := s.plant.Ports[next].Component
			if slices.Contains(kinds, s.plant.Components[c].Kind) {
				return c, true
			}
			queue = append(queue, next)
		}
	}
	return 0, false
}

func (s *Skid) ozoneProbe(at int, _ *operate.State, c int32) *skidrulev1.ExpectedReading {
	comp := &s.plant.Components[c]
	d := comp.Data.GetOzoneProbe()
	r := &skidrulev1.ExpectedReading{Shows: "dissolved ozone", Dimension: quantity.MassConcentration.Name(), RangeHigh: d.RangeHighKgPerM3}
	zero := 0.0
	if r.RangeHigh != nil {
		r.RangeLow = &zero
	}
	if _, ozone := s.heated(at); !ozone && s.world.Cases[at].Standard != operate.ColdDestruct {
		r.Expected = "falls to nothing: no ozone is made"
		r.UnknownBecause = "unknown, because how fast it falls rests on how long the case has lasted"
		return r
	}
	vessel, ok := s.upstream(comp.FirstPort, plant.KindContactVessel, plant.KindReactionVessel, plant.KindDegassingVessel, plant.KindOpenTank)
	if !ok {
		r.UnknownBecause = "unknown, because no vessel in which ozone is given time lies before it"
		return r
	}
	n, ok := s.fact("lowest_residual", vessel, at)
	switch {
	case !ok:
		r.UnknownBecause = "unknown, because no dissolved ozone is computed of a " + s.plant.Components[vessel].Kind.Info().Title
	case n.Unknown() && len(n.Missing) > 0:
		return lacking(r, plant.Paths(s.plant, n.Missing)...)
	case math.IsInf(n.Low, 0):
		r.UnknownBecause = "unknown, because no dissolved ozone is computed in the case " + s.world.Cases[at].ID
	default:
		r.Low = &n.Low
		r.Notes = append(r.Notes, "the least behind "+s.plant.Components[vessel].Tag+"; a best value and a high end are not computed")
		r.IfBelow = []string{"less gas is drawn or less ozone made than designed", "the water asks for more ozone than stated"}
	}
	return r
}

func (s *Skid) orpProbe(_ int, _ *operate.State, c int32) *skidrulev1.ExpectedReading {
	return &skidrulev1.ExpectedReading{Shows: "redox potential", Dimension: quantity.Voltage.Name(), SetPoint: s.plant.Components[c].Data.GetOrpProbe().SetPointV,
		UnknownBecause: "unknown, because no relation gives it from dissolved ozone alone; write down what it shows beside a measured residual"}
}

func (s *Skid) analyser(at int, st *operate.State, c int32) *skidrulev1.ExpectedReading {
	comp := &s.plant.Components[c]
	d := comp.Data.GetGasAnalyser()
	r := &skidrulev1.ExpectedReading{Shows: "ozone in the gas", Dimension: quantity.MoleFraction.Name(), SetPoint: d.SetPointMoleFraction}
	if s.plant.Ports[comp.FirstPort].Joints == 0 {
		r.UnknownBecause = "unknown, because it is joined to nothing"
		return r
	}
	zero := 0.0
	near, ok := s.upstream(comp.FirstPort, plant.KindOzoneDestruct, plant.KindOzoneGenerator)
	switch {
	case !ok:
		r.UnknownBecause = "unknown, because it is not known what gas comes to it"
	case s.plant.Components[near].Kind == plant.KindOzoneDestruct:
		left := s.plant.Components[near].Data.GetOzoneDestruct().OutletConcentrationMoleFraction
		if left == nil {
			return lacking(r, s.spec(near, "outlet_concentration"))
		}
		r.Low, r.Best, r.High = &zero, left, left
		r.Shows = "ozone behind " + s.plant.Components[near].Tag
		r.Notes = []string{"best value and high end are what is stated of " + s.plant.Components[near].Tag}
		r.IfAbove = []string{"the bed is cold, wet or spent", "more ozone arrives than the design makes"}
		if _, ozone := s.heated(at); !ozone {
			r.Best = &zero
		}
		if heater, _ := s.heated(at); !heater {
			r.Low, r.Best, r.High, r.IfAbove, r.Notes = nil, nil, nil, nil, nil
			r.UnknownBecause = "unknown, because no conversion is stated of a cold bed"
		}
	default:
		g := &s.plant.Components[near]
		port := &st.Ports[g.FirstPort+1]
		if !port.GasKnown {
			r.UnknownBecause = "unknown, because no gas flows, or its composition is not known"
			return r
		}
		o3 := port.Gas.O3
		r.Best = &o3
		r.Shows = "ozone behind " + g.Tag
		r.Notes = []string{"at its rated output; ends are not computed"}
	}
	if r.SetPoint != nil && r.High != nil && *r.High >= 0 {
		r.Expected = acts(skidrulev1.SwitchDirection_SWITCH_DIRECTION_RISING, *r.Low, *r.High, *r.SetPoint)
	}
	return r
}

func (s *Skid) ozoneMonitor(_ int, _ *operate.State, c int32) *skidrulev1.ExpectedReading {
	d := s.plant.Components[c].Data.GetAmbientOzoneMonitor()
	r := &skidrulev1.ExpectedReading{Shows: "ozone in the room", Dimension: quantity.MoleFraction.Name(), SetPoint: d.SetPointMoleFraction, High: d.DetectionLimitMoleFraction,
		Expected: "does not act: a tight skid gives off no ozone", IfAbove: []string{"ozone leaks into the room: leave it, stop the generator from outside"}}
	zero := 0.0
	if r.High == nil {
		r.Notes = []string{"what it shows in clean air is unknown, because " + s.spec(c, "detection_limit") + " is not stated"}
		r.Missing = []string{s.spec(c, "detection_limit")}
		return r
	}
	r.Low, r.Best = &zero, &zero
	r.Notes = []string{"the high end is its detection limit"}
	return r
}

func (s *Skid) oxygenMonitor(_ int, _ *operate.State, c int32) *skidrulev1.ExpectedReading {
	d := s.plant.Components[c].Data.GetAmbientOxygenMonitor()
	air := fluid.DryAir().O2
	r := &skidrulev1.ExpectedReading{Shows: "oxygen in the room", Dimension: quantity.MoleFraction.Name(), Best: &air, Low: d.LowSetPointMoleFraction, High: d.HighSetPointMoleFraction,
		Expected: "does not act: as in outdoor air", Notes: []string{"the ends are its set points"},
		IfBelow: []string{"oxygen-poor gas comes into the room, as the exhaust of a concentrator: leave it"}, IfAbove: []string{"oxygen leaks into the room: no flame, no spark, find the leak"}}
	return r
}
