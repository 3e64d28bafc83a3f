package fact

import (
	"math"
	"strings"

	"github.com/skidrule/skidrule/internal/operate"
	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/quantity"
)

// consistencyFacts compare what the drawing states twice.
var consistencyFacts = []Definition{
	truthFact("excludes_cases", "A standard operating case is stated not to occur.",
		func(w *World, _ At) Truth { return Is(len(w.excludedCases()) > 0) }).on(OnDesign),
	countFact("excluded_cases_possible", "Standard cases that are stated not to occur although parts are drawn by which they do.",
		func(w *World, _ At) Number {
			n := 0
			for _, s := range w.excludedCases() {
				if w.causeOfCase(s) != "" {
					n++
				}
			}
			return Exactly(float64(n))
		}).on(OnDesign),
	textFact("excluded_case", "Those cases, each with the first part by which it occurs.",
		func(w *World, _ At) Text {
			var words []string
			for _, s := range w.excludedCases() {
				if cause := w.causeOfCase(s); cause != "" {
					words = append(words, s.ID()+" ("+cause+")")
				}
			}
			return Text{Value: strings.Join(words, ", ")}
		}).on(OnDesign),

	truthFact("bore_stated_twice", "Its inner diameter is stated, and given by its outer diameter or size and its wall too.",
		func(w *World, at At) Truth {
			_, _, both := w.twoBores(at.Index)
			return Is(both)
		}).on(OnLine),
	quantityFact("stated_bore", quantity.Length, "The inner diameter that is stated.",
		func(w *World, at At) Number { stated, _, _ := w.twoBores(at.Index); return Exactly(stated) }).on(OnLine),
	quantityFact("bore_of_wall", quantity.Length, "The inner diameter that outer diameter and wall give.",
		func(w *World, at At) Number { _, given, _ := w.twoBores(at.Index); return Exactly(given) }).on(OnLine),
	quantityFact("bore_error", quantity.Ratio, "Difference of the two over the outer diameter.",
		func(w *World, at At) Number {
			stated, given, both := w.twoBores(at.Index)
			if !both {
				return Exactly(0)
			}
			return Exactly(math.Abs(stated-given) / (given + 2*(*w.Plant.Lines[at.Index].Data.WallThicknessM)))
		}).on(OnLine),

	truthFact("shell_stated", "Its volume, diameter and height are stated.",
		func(w *World, at At) Truth {
			_, _, known := w.shell(at.Index)
			return Is(known)
		}, shellKinds...),
	quantityFact("stated_volume", quantity.Volume, "The volume that is stated.",
		func(w *World, at At) Number { volume, _, _ := w.shell(at.Index); return Exactly(volume) }, shellKinds...),
	quantityFact("shell_volume", quantity.Volume, "What a cylinder of its diameter and height holds.",
		func(w *World, at At) Number { _, holds, _ := w.shell(at.Index); return Exactly(holds) }, shellKinds...),

	quantityFact("volume_over_shell", quantity.Ratio, "By how much the stated volume is more than that, over it.",
		func(w *World, at At) Number {
			volume, holds, known := w.shell(at.Index)
			if !known {
				return Exactly(0)
			}
			return Exactly(volume/holds - 1)
		}, shellKinds...),

	truthFact("drains_by_fall", "It leads off the water of a trap, pot or destruct, which runs by its own weight.",
		func(w *World, at At) Truth { return Is(w.drainStart(at.Index) >= 0) }).on(OnLine),
	quantityFact("drain_start_height", quantity.Length, "Elevation of the drain that it begins at.",
		func(w *World, at At) Number {
			if port := w.drainStart(at.Index); port >= 0 {
				return w.portHeight(port)
			}
			return Exactly(0)
		}).on(OnLine),

	truthFact("serves_something", "A generator names the supply, the controller acts on or commands something, the switch says what it watches.",
		func(w *World, at At) Truth { return w.servesSomething(at.Index) }, servingKinds...),
}

var (
	shellKinds   = []plant.Kind{plant.KindContactVessel, plant.KindReactionVessel, plant.KindDegassingVessel}
	servingKinds = []plant.Kind{plant.KindPowerSupply, plant.KindController, plant.KindLevelSwitch, plant.KindTemperatureSwitch, plant.KindEnclosureSwitch}
)

// excludedCases lists the standard cases that the design leaves out.
func (w *World) excludedCases() []operate.Standard {
	var out []operate.Standard
	for i := range w.Cases {
		if c := &w.Cases[i]; c.Excluded != "" && c.ID == c.Standard.ID() {
			out = append(out, c.Standard)
		}
	}
	return out
}

// causesOfCases names, for each standard case, kinds of which one drawn part is enough for it to occur. Cases that are not listed
// rest on data, or occur in every plant.
var causesOfCases = map[operate.Standard][]plant.Kind{
	operate.PumpStopped:   {plant.KindPump},
	operate.GeneratorOff:  {plant.KindOzoneGenerator},
	operate.FeedShut:      {plant.KindVenturiInjector},
	operate.GasValveShut:  {plant.KindActuatedValve},
	operate.OutletBlocked: {plant.KindHandValve, plant.KindActuatedValve},
	operate.BarrierFailed: {plant.KindCheckValve, plant.KindLiquidTrap},
	operate.ZeroTransfer:  {plant.KindOzoneGenerator},
	operate.LossOfPower:   {plant.KindOzoneGenerator, plant.KindPump, plant.KindCompressor, plant.KindBlower},
	operate.BlowerLost:    {plant.KindBlower},
	operate.ColdDestruct:  {plant.KindOzoneDestruct},
	operate.Purge:         {plant.KindController},
	operate.Isolated:      {plant.KindHandValve},
}

// causeOfCase is the tag of a part by which a standard case occurs; empty where none is drawn.
func (w *World) causeOfCase(s operate.Standard) string {
	switch s {
	case operate.Normal:
		return "every plant"
	case operate.LowFlow:
		if b := w.Plant.Basis; b.MinTreatedFlowM3PerS != nil && b.TreatedFlowM3PerS != nil && *b.MinTreatedFlowM3PerS < *b.TreatedFlowM3PerS {
			return "basis.min_treated_flow"
		}
	case operate.HighFlow:
		if b := w.Plant.Basis; b.MaxTreatedFlowM3PerS != nil && b.TreatedFlowM3PerS != nil && *b.MaxTreatedFlowM3PerS > *b.TreatedFlowM3PerS {
			return "basis.max_treated_flow"
		}
	}
	for _, k := range causesOfCases[s] {
		for _, c := range w.OfKind(k) {
			if !w.data(c).GetOutOfUse() && (k != plant.KindController || w.data(c).GetController().GetPurgeBeforeS() > 0 || w.data(c).GetController().GetPurgeAfterS() > 0) {
				return w.Plant.Components[c].Tag
			}
		}
	}
	return ""
}

// twoBores gives the inner diameter that a line states and the one that its outer diameter and wall give; both is false where it
// does not state as much.
func (w *World) twoBores(line int32) (stated, given float64, both bool) {
	if !w.lines()[line].twoBores {
		return 0, 0, false
	}
	data := w.Plant.Lines[line].Data
	outer := data.OuterDiameterM
	if outer == nil {
		if size := w.lineSize(line); size.stated {
			if d, known := size.OutsideDiameter(); known {
				outer = &d
			}
		}
	}
	if outer == nil || *outer <= 0 {
		return 0, 0, false
	}
	return *data.InnerDiameterM, *outer - 2*(*data.WallThicknessM), true
}

// shell gives the stated volume of a vessel and what a cylinder of its diameter and height holds.
func (w *World) shell(component int32) (volume, holds float64, known bool) {
	type dimensions interface {
		GetVolumeM3() float64
		GetDiameterM() float64
		GetHeightM() float64
	}
	var d dimensions
	data := w.data(component)
	switch w.Plant.Components[component].Kind {
	case plant.KindContactVessel:
		d = data.GetContactVessel()
	case plant.KindReactionVessel:
		d = data.GetReactionVessel()
	case plant.KindDegassingVessel:
		d = data.GetDegassingVessel()
	default:
		return 0, 0, false
	}
	if d.GetVolumeM3() <= 0 || d.GetDiameterM() <= 0 || d.GetHeightM() <= 0 {
		return 0, 0, false
	}
	return d.GetVolumeM3(), math.Pi / 4 * d.GetDiameterM() * d.GetDiameterM() * d.GetHeightM(), true
}

// drainStart is the drain port of a trap, pot or destruct at which a line begins; -1 where it begins elsewhere.
func (w *World) drainStart(line int32) int32 { return (*w.drawing.drains.get(w.findDrains))[line] }

// findDrains begins at the drains, which are few beside the lines.
func (w *World) findDrains() *[]int32 {
	p := w.Plant
	starts := make([]int32, len(p.Lines))
	for i := range starts {
		starts[i] = -1
	}
	for _, k := range [...]plant.Kind{plant.KindLiquidTrap, plant.KindKnockOutPot, plant.KindOzoneDestruct, plant.KindDemister} {
		for _, c := range w.OfKind(k) {
			port, ok := p.FindPort(c, "drain")
			if !ok {
				continue
			}
			for _, way := range p.WaysAt(port) {
				if q := &p.Ways[way]; q.IsPipe() && q.From == port && p.Lines[q.Line].FirstWay == way {
					starts[q.Line] = port
				}
			}
		}
	}
	return &starts
}

// servesSomething tells whether a part without lines has a purpose in the drawing.
func (w *World) servesSomething(component int32) Truth {
	switch w.Plant.Components[component].Kind {
	case plant.KindPowerSupply:
		return Is(len(w.supplyUsers()[component]) > 0)
	case plant.KindController:
		return Is(w.references().commanders.Has(component) || len(w.data(component).GetController().GetTrips()) > 0)
	case plant.KindLevelSwitch, plant.KindTemperatureSwitch, plant.KindEnclosureSwitch:
		if !w.references().watching.Has(component) && w.watchedTag(component) == "" {
			return Open(specRef(component, "watches"))
		}
		return Is(w.references().watching.Has(component))
	}
	return Truth{Value: True}
}
