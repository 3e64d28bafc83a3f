package schedule

import (
	"slices"

	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// instruments lists what measures, shows and switches, and the controllers.
func (l *lister) instruments() *skidrulev1.Schedule {
	t := newTable("Instrument index")
	t.texts("Tag", "Loop", "Letters", "Letters stand for", "Type", "Title", "Service", "Line", "Location")
	t.column("Range low", "")
	t.column("Range high", "")
	t.texts("Range unit")
	t.column("Set point", "")
	t.column("Second set point", "")
	t.texts("Set point unit", "Acts on", "Signal goes to", "Effects")
	t.column("Rated pressure", "pressure_gauge")
	t.texts("Part")
	effects := l.effectsBySource()
	for _, c := range l.components() {
		q := &l.p.Components[c]
		n, ok := l.instrument(c)
		if !ok {
			continue
		}
		letters, _ := tagParts(q.Tag)
		e := effects[c]
		t.row(say(q.Tag), say(loopOf(q.Tag)), say(letters), l.letters(letters), say(q.Kind.Info().Title), say(q.Data.GetTitle()), l.serviceAt(c), say(l.lineTags(c)), n.location,
			n.low, n.high, unit(n.rangeIn), n.set, n.second, unit(n.setIn), n.actsOn, say(list(e.owners)), say(e.text),
			l.designPressure(q.Data.MaxPressurePaGauge, q.Data.GetPressureTable(), l.path(c, "max_pressure")), say(q.Stated.GetPart()))
	}
	return t.out
}

// letters spells the letters of a tag as the scheme that the design names does.
func (l *lister) letters(letters string) *skidrulev1.ScheduleCell {
	switch {
	case letters == "":
		return say("")
	case l.p.Basis.GetLetterScheme() == skidrulev1.LetterScheme_LETTER_SCHEME_UNSPECIFIED:
		return open("basis.letter_scheme")
	case l.p.Basis.GetLetterScheme() == skidrulev1.LetterScheme_LETTER_SCHEME_IEC:
		return say("as IEC 62424 has them")
	}
	return say(spelt(letters))
}

// instrument is what an instrument states of its range and its set points.
type instrument struct {
	low, high, set, second, actsOn, location *skidrulev1.ScheduleCell
	rangeIn, setIn                           string // dimensions
}

// instrument reads an instrument; false for another part.
func (l *lister) instrument(c int32) (instrument, bool) {
	q := &l.p.Components[c]
	d := q.Data
	n := instrument{low: not(), high: not(), set: not(), second: not(), actsOn: not(), location: l.place(c)}
	acts := func(s skidrulev1.SwitchDirection) {
		n.actsOn = choice(s, l.spec(c, "acts_on"))
	}
	ranged := func(dimension string, low, high *float64, lowPath, highPath string) {
		n.rangeIn = dimension
		if lowPath != "" {
			n.low = measure(low, dimension, l.spec(c, lowPath))
		}
		n.high = measure(high, dimension, l.spec(c, highPath))
	}
	setAt := func(dimension string, x *float64, field string) {
		n.setIn, n.set = dimension, measure(x, dimension, l.spec(c, field))
	}
	watches := func(tag string) { n.location = stated(tag, l.spec(c, "watches")) }
	switch q.Kind {
	case plant.KindPressureGauge:
		g := d.GetPressureGauge()
		ranged("pressure_gauge", g.RangeLowPaGauge, g.RangeHighPaGauge, "range_low", "range_high")
	case plant.KindPressureSwitch:
		setAt("pressure_gauge", d.GetPressureSwitch().SetPointPaGauge, "set_point")
		acts(d.GetPressureSwitch().GetActsOn())
	case plant.KindFlowSwitch:
		f := d.GetFlowSwitch()
		if f.LiquidSetPointM3PerS == nil && f.GasSetPointMolPerS != nil {
			setAt("gas_flow", f.GasSetPointMolPerS, "gas_set_point")
		} else {
			setAt("liquid_flow", f.LiquidSetPointM3PerS, "liquid_set_point")
		}
		acts(f.GetActsOn())
	case plant.KindLevelSwitch:
		watches(d.GetLevelSwitch().GetWatches())
		acts(d.GetLevelSwitch().GetActsOn())
	case plant.KindTemperatureSwitch:
		setAt("temperature", d.GetTemperatureSwitch().SetPointK, "set_point")
		watches(d.GetTemperatureSwitch().GetWatches())
		acts(d.GetTemperatureSwitch().GetActsOn())
	case plant.KindFlowMeter:
		m := d.GetFlowMeter()
		if m.LiquidRangeHighM3PerS != nil || m.GasRangeHighMolPerS == nil && l.inWater(c) {
			ranged("liquid_flow", nil, m.LiquidRangeHighM3PerS, "", "liquid_range_high")
		} else {
			ranged("gas_flow", nil, m.GasRangeHighMolPerS, "", "gas_range_high")
		}
	case plant.KindOzoneProbe:
		ranged("mass_concentration", nil, d.GetOzoneProbe().RangeHighKgPerM3, "", "range_high")
	case plant.KindOrpProbe:
		setAt("voltage", d.GetOrpProbe().SetPointV, "set_point")
	case plant.KindGasAnalyser:
		ranged("mass_fraction", nil, d.GetGasAnalyser().RangeHighMassFraction, "", "range_high")
		setAt("mole_fraction", d.GetGasAnalyser().SetPointMoleFraction, "set_point")
	case plant.KindMoistureMonitor:
		setAt("temperature", d.GetMoistureMonitor().SetPointK, "set_point")
	case plant.KindAmbientOzoneMonitor:
		setAt("mole_fraction", d.GetAmbientOzoneMonitor().SetPointMoleFraction, "set_point")
		n.location = stated(d.GetAmbientOzoneMonitor().GetLocation(), l.spec(c, "location"))
	case plant.KindAmbientOxygenMonitor:
		o := d.GetAmbientOxygenMonitor()
		setAt("mole_fraction", o.HighSetPointMoleFraction, "high_set_point")
		n.second = measure(o.LowSetPointMoleFraction, "mole_fraction", l.spec(c, "low_set_point"))
		n.location = stated(o.GetLocation(), l.spec(c, "location"))
	case plant.KindEnclosureSwitch:
		watches(d.GetEnclosureSwitch().GetWatches())
	case plant.KindEmergencyStop, plant.KindController:
	default:
		return instrument{}, false
	}
	return n, true
}

// inWater tells whether the first line that meets a component carries water.
func (l *lister) inWater(c int32) bool {
	port := l.portAt(c)
	return port >= 0 && l.w.InWater(port)
}

// place is where an instrument is: the fitting or part that its line comes from.
func (l *lister) place(c int32) *skidrulev1.ScheduleCell {
	port := l.portAt(c)
	if port < 0 {
		return say("")
	}
	var at []string
	for _, way := range l.p.WaysAt(port) {
		if q := &l.p.Ways[way]; q.IsPipe() {
			at = append(at, l.p.PortLabel(q.From+q.To-port))
		}
	}
	return say("at " + list(at))
}

// signalled is what the signal of an instrument does.
type signalled struct {
	owners []string
	text   string
}

// effectsBySource lists what the signal of each instrument does and who acts on it.
func (l *lister) effectsBySource() map[int32]signalled {
	out := map[int32]signalled{}
	for _, a := range l.w.CauseAndEffect() {
		if a.Source < 0 {
			continue
		}
		s := out[a.Source]
		if owner := l.p.Components[a.Owner].Tag; !slices.Contains(s.owners, owner) {
			s.owners = append(s.owners, owner)
		}
		text := spoken(a.Action.GetCondition())
		for _, part := range [...]struct {
			verb string
			tags []string
		}{{"stops", a.Action.GetStops()}, {"closes", a.Action.GetCloses()}, {"opens", a.Action.GetOpens()}} {
			if len(part.tags) > 0 {
				text += ", " + part.verb + " " + list(part.tags)
			}
		}
		if s.text != "" {
			s.text += "; "
		}
		s.text += text
		out[a.Source] = s
	}
	return out
}
