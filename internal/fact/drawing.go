package fact

import (
	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/flowpath"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// drawingMemo is what the facts about the drawing itself compute once.
type drawingMemo struct {
	references lazy[references]
	drains     lazy[[]int32] // by line
	shut       lazy[flowpath.Set]
	regions    lazy[regions]
	parts      lazy[[]statedPart]
	lines      lazy[[]statedLine]
}

var drawingFacts = []Definition{
	truthFact("joined", "A line ends at the port.",
		func(w *World, at At) Truth { return Is(w.Plant.Ports[at.Index].Joints > 0) }).on(OnPort),
	countFact("lines", "Lines that end at the port; one that runs past an instrument ends there twice.",
		func(w *World, at At) Number { return Exactly(float64(w.Plant.Ports[at.Index].Joints)) }).on(OnPort),
	truthFact("takes_lines", "Any number of lines may meet there, as at a junction, past an instrument or over a gully.",
		func(w *World, at At) Truth { return Is(w.takesLines(at.Index)) }).on(OnPort),
	truthFact("may_stay_open", "Its kind does not need the port.",
		func(w *World, at At) Truth { return w.mayStayOpen(at.Index) }).on(OnPort),
	truthFact("capped_or_explained", "The port is stated to be capped, or a reason is stated why it is not used.",
		func(w *World, at At) Truth { return w.explained(at.Index) }).on(OnPort),
	textFact("label", "The port as people write it.",
		func(w *World, at At) Text { return Text{Value: w.Plant.PortLabel(at.Index)} }).on(OnPort),

	textFact("port", "The port of the joint as people write it.",
		func(w *World, at At) Text { return Text{Value: w.Plant.PortLabel(w.Joint(at.Index).Port)} }).on(OnJoint),
	textFact("line", "The line of the joint.",
		func(w *World, at At) Text { return Text{Value: w.Plant.Lines[w.Joint(at.Index).Line].Tag} }).on(OnJoint),
	textFact("line_service", "What the line is stated to carry.",
		func(w *World, at At) Text { return w.lineService(w.Joint(at.Index).Line) }).on(OnJoint),
	truthFact("phase_fits", "The port is made for the phase that the line carries.",
		func(w *World, at At) Truth { return w.phaseFits(w.Joint(at.Index)) }).on(OnJoint),
	truthFact("direction_fits", "The line leaves by an outlet and arrives at an inlet. Check valves have a rule of their own.",
		func(w *World, at At) Truth { return w.directionFits(w.Joint(at.Index)) }).on(OnJoint),

	truthFact("heads_region", "It is the first component, by its tag, of a part of the drawing that lines join.",
		func(w *World, at At) Truth { return Is(w.regions().head[at.Index]) }),
	truthFact("region_has_source", "Something brings fluid into that part of the drawing.",
		func(w *World, at At) Truth { return w.regions().fed(w, at.Index) }),
	countFact("lost_references", "Tags that it names and that are not in the drawing.",
		func(w *World, at At) Number { return Exactly(float64(len(w.lostReferences(at.Index)))) }),
	textFact("lost_reference", "The first such tag.", func(w *World, at At) Text {
		if lost := w.lostReferences(at.Index); len(lost) > 0 {
			return Text{Value: lost[0]}
		}
		return Text{}
	}),
	truthFact("has_part", "It names a part of a catalogue.",
		func(w *World, at At) Truth { return Is(w.Plant.Components[at.Index].Entry != nil) }),
	truthFact("rating_within_part", "The stated ratings are no better than those of its catalogue part.",
		func(w *World, at At) Truth { return w.ratingWithinPart(at.Index) }),
}

func (w *World) takesLines(port int32) bool {
	q := &w.Plant.Ports[port]
	kind := w.Plant.Components[q.Component].Kind
	return q.Trait < 0 || kind == plant.KindDrainPoint || kind.Info().Ports[q.Trait].Direction == skidrulev1.FlowDirection_FLOW_DIRECTION_EITHER
}

func (w *World) mayStayOpen(port int32) Truth {
	q := &w.Plant.Ports[port]
	if q.Trait < 0 {
		return Truth{Value: True}
	}
	return Is(q.Ordinal > 1 || w.Plant.Components[q.Component].Kind.Info().Ports[q.Trait].MayStay)
}

func (w *World) explained(port int32) Truth {
	s := w.Plant.Ports[port].Stated
	return Is(s.GetCapped() || s.GetReason() != "")
}

func (w *World) lineService(line int32) Text {
	word := designfile.EnumWord(w.Plant.Lines[line].Data.GetService())
	if word == "" {
		return Text{Missing: []Ref{lineRef(line, "service")}}
	}
	return Text{Value: word}
}

// isGas tells services of gas from those of water; ok is false where the service is not stated.
func isGas(s skidrulev1.Service) (gas, ok bool) {
	switch s {
	case skidrulev1.Service_SERVICE_UNSPECIFIED:
		return false, false
	case skidrulev1.Service_SERVICE_PROCESS_WATER, skidrulev1.Service_SERVICE_OZONATED_WATER,
		skidrulev1.Service_SERVICE_COOLING_WATER, skidrulev1.Service_SERVICE_DRAIN_WATER:
		return false, true
	}
	return true, true
}

// phaseFits compares the port's phase with the line's service. A two-phase port takes either.
func (w *World) phaseFits(j Joint) Truth {
	phase := w.Plant.Ports[j.Port].Phase
	if phase == skidrulev1.Phase_PHASE_ANY || phase == skidrulev1.Phase_PHASE_TWO_PHASE {
		return Truth{Value: True}
	}
	gas, ok := w.carriesGas(j.Line)
	if !ok {
		return Open(lineRef(j.Line, "service"))
	}
	return Is(gas == (phase == skidrulev1.Phase_PHASE_GAS))
}

func (w *World) directionFits(j Joint) Truth {
	port, way := &w.Plant.Ports[j.Port], &w.Plant.Ways[j.Way]
	fits := true
	switch port.Direction {
	case skidrulev1.FlowDirection_FLOW_DIRECTION_IN:
		fits = way.To == j.Port
	case skidrulev1.FlowDirection_FLOW_DIRECTION_OUT:
		fits = way.From == j.Port
	}
	return Is(fits || w.Plant.Components[port.Component].Kind == plant.KindCheckValve)
}

// regions are the parts of the drawing that lines join, each with the answer whether anything brings fluid into it.
type regions struct {
	zones  flowpath.Zones
	head   []bool  // of components
	source []Truth // of zones
}

// fed tells whether fluid enters the region of a component, which is that of its first port; one without ports is in none.
func (r *regions) fed(w *World, component int32) Truth {
	c := &w.Plant.Components[component]
	if c.NumPorts == 0 {
		return Truth{}
	}
	return r.source[r.zones.Zone(c.FirstPort)]
}

func (w *World) regions() *regions { return w.drawing.regions.get(w.findRegions) }

func (w *World) findRegions() *regions {
	p, r := w.Plant, &regions{head: make([]bool, len(w.Plant.Components))}
	all := make([]bool, len(p.Ways)*2)
	for i := range all {
		all[i] = true
	}
	must(r.zones.Sweep(w.Graph(), all))
	r.source = make([]Truth, r.zones.Count())
	headed := make([]bool, r.zones.Count())
	for i := range p.Components {
		c := &p.Components[i]
		if c.NumPorts == 0 {
			continue
		}
		if t := w.bringsFluid(int32(i)); t.Value != False {
			for k := range c.NumPorts {
				zone := r.zones.Zone(c.FirstPort + k)
				r.source[zone] = r.source[zone].Or(t)
			}
		}
		// Within what is joined components stand in order of their tags, so that the first is that of the least. A port that no line
		// meets is a region of its own, and another rule's business.
		if zone := r.zones.Zone(c.FirstPort); p.Ports[c.FirstPort].Joints > 0 && !headed[zone] {
			headed[zone], r.head[i] = true, true
		}
	}
	return r
}

// bringsFluid tells whether fluid enters the drawing at a component.
func (w *World) bringsFluid(component int32) Truth {
	c := &w.Plant.Components[component]
	switch c.Kind {
	case plant.KindGasSupply, plant.KindOpenTank:
		return Truth{Value: True}
	case plant.KindCompressor, plant.KindOxygenConcentrator, plant.KindBlower:
		return Is(w.Plant.Ports[w.Plant.PortByTrait(component, 0)].Joints == 0)
	case plant.KindOther, plant.KindNone:
		return Open(elementRef(component))
	case plant.KindJunction:
		demand := c.Data.GetJunction().DemandM3PerS
		return Is(demand != nil && *demand < 0)
	case plant.KindBoundary:
		switch c.Data.GetBoundary().GetRole() {
		case skidrulev1.BoundaryRole_BOUNDARY_ROLE_UNSPECIFIED:
			return Open(specRef(component, "role"))
		case skidrulev1.BoundaryRole_BOUNDARY_ROLE_SINK:
			return Truth{}
		}
		return Truth{Value: True}
	}
	return Truth{}
}

// lostReferences lists the tags that a component names and that are not in the drawing.
func (w *World) lostReferences(component int32) []string {
	if !w.references().lost.Has(component) && !w.signalIndex().lost.Has(component) {
		return nil
	}
	data := w.data(component)
	var lost []string
	look := func(tags ...string) {
		for _, tag := range tags {
			if tag == "" {
				continue
			}
			if _, ok := w.Plant.FindComponent(tag); !ok {
				lost = append(lost, tag)
			}
		}
	}
	look(data.GetCommandedBy())
	switch s := data.GetSpec().(type) {
	case *skidrulev1.Component_OzoneGenerator:
		look(s.OzoneGenerator.GetPowerSupplies()...)
	case *skidrulev1.Component_ActuatedValve:
		look(s.ActuatedValve.GetOpenedBy()...)
	}
	look(w.watchedTag(component))
	for _, a := range w.Plant.Components[component].Actions() {
		look(a.GetOn())
		look(a.GetStops()...)
		look(a.GetCloses()...)
		look(a.GetOpens()...)
	}
	return lost
}

// ratingWithinPart compares what the design states of a rating with what the part's entry states.
func (w *World) ratingWithinPart(component int32) Truth {
	c := &w.Plant.Components[component]
	if c.Entry == nil {
		return Truth{Value: True}
	}
	stated, part := c.Stated, c.Entry.GetData()
	within := func(own, of *float64, sign float64) bool {
		return own == nil || of == nil || sign*(*own) <= sign*(*of)
	}
	for _, own := range stated.GetPressureTable() {
		if own.MaxPressurePaGauge != nil && *own.MaxPressurePaGauge > highestRating(part) {
			return Truth{}
		}
	}
	return Is((stated.MaxPressurePaGauge == nil || *stated.MaxPressurePaGauge <= highestRating(part)) &&
		within(stated.MinPressurePaGauge, part.MinPressurePaGauge, -1) &&
		within(stated.MaxTemperatureK, part.MaxTemperatureK, 1) &&
		within(stated.MinTemperatureK, part.MinTemperatureK, -1))
}

// highestRating is the best pressure rating that an entry states; unbounded where it states none.
func highestRating(c *skidrulev1.Component) float64 {
	best, found := 0.0, false
	if c.MaxPressurePaGauge != nil {
		best, found = *c.MaxPressurePaGauge, true
	}
	for _, row := range c.GetPressureTable() {
		if row.MaxPressurePaGauge != nil {
			best, found = max(best, *row.MaxPressurePaGauge), true
		}
	}
	if !found {
		return 1e300
	}
	return best
}
