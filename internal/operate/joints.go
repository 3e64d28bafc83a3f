package operate

import (
	"math"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/flowpath"
	"github.com/skidrule/skidrule/internal/network"
	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/quantity"
)

// joints is what is the same in every wiring of a plant: which ports are one place, and the bores of lines.
type joints struct {
	knotOf []int32 // port → knot
	knots  int
	vents  map[int32]bool // ways that were drawn into a float vent's chamber
	bores  []float64      // by line, m; NaN where the line's own datum is asked
	links  int            // about as many as a wiring has
}

// joining finds which ports are one place.
type joining struct {
	p     *plant.Plant
	m     *model
	sets  flowpath.Sets // of ports
	vents map[int32]bool
}

func newJoints(m *model) *joints {
	w := &joining{p: m.p, m: m, sets: flowpath.NewSets(len(m.p.Ports)), vents: map[int32]bool{}}
	w.joinPorts()
	out := &joints{knotOf: make([]int32, len(m.p.Ports)), vents: w.vents, bores: make([]float64, len(m.p.Lines)), links: len(m.p.Ways) + len(m.p.Components)}
	for i := range out.knotOf {
		r := w.sets.Root(int32(i))
		if r == int32(i) {
			out.knotOf[i] = int32(out.knots)
			out.knots++
		}
		out.knotOf[i] = out.knotOf[r]
	}
	for i := range out.bores {
		out.bores[i] = boreOf(m.p, int32(i))
	}
	return out
}

// boreOf is the inner diameter of a line that its size and wall give; NaN where its own datum must.
func boreOf(p *plant.Plant, at int32) float64 {
	l := p.Lines[at].Data
	if l.InnerDiameterM != nil {
		return *l.InnerDiameterM
	}
	outer := l.OuterDiameterM
	if size, err := quantity.ParseNominalSize(designfile.SizeText(l.GetSize())); err == nil {
		if inside, ok := size.InsideDiameter(); ok {
			return inside
		}
		if outside, ok := size.OutsideDiameter(); ok && outer == nil {
			outer = &outside
		}
	}
	if outer != nil && l.WallThicknessM != nil && *outer > 2*(*l.WallThicknessM) {
		return *outer - 2*(*l.WallThicknessM)
	}
	return math.NaN()
}

// joinAll joins ports of a component between which nothing is lost.
func (w *joining) joinAll(component int32, names ...string) {
	list := portsOf(w.p, component, names...)
	for i := 1; i < len(list); i++ {
		w.sets.Join(list[0], list[i])
	}
}

// joinPorts joins ports between which no pressure is lost.
func (w *joining) joinPorts() {
	for i := range w.p.Components {
		c, at := &w.p.Components[i], int32(i)
		info := c.Kind.Info()
		// Repeated ports are the same place as their namesake.
		for t := range info.Ports {
			w.joinAll(at, info.Ports[t].Name)
		}
		switch c.Kind {
		case plant.KindTee, plant.KindUnion:
			w.joinAll(at, "inlet", "outlet")
		case plant.KindHeader, plant.KindGasReceiver, plant.KindGasHeater:
			w.joinAll(at, "inlet", "outlet", "relief")
		case plant.KindKnockOutPot:
			w.joinAll(at, "inlet", "gas_outlet")
		case plant.KindLiquidTrap:
			w.joinAll(at, "inlet", "outlet")
		case plant.KindGasFilter, plant.KindGasDryer, plant.KindOzoneDestruct, plant.KindDemister, plant.KindStrainer, plant.KindLiquidFilter:
			w.joinAll(at, "inlet", "drain")
		case plant.KindCompressor:
			w.joinAll(at, "outlet", "drain")
		case plant.KindContactVessel, plant.KindDegassingVessel, plant.KindOpenTank:
			w.joinAll(at, "inlet", "outlet", "drain", "overflow", "sample", "level")
			w.joinAll(at, "vent", "relief")
		case plant.KindReactionVessel:
			w.joinAll(at, "outlet", "drain", "sample")
			w.joinAll(at, "vent", "relief")
		}
	}
	for i := range w.p.Ways {
		q := &w.p.Ways[i]
		if !q.IsPipe() {
			continue
		}
		l := w.p.Lines[q.Line].Data
		none := l.LengthM != nil && l.LossCoefficientRatio != nil && *l.LengthM == 0 && *l.LossCoefficientRatio == 0
		// A float vent sits on the gas space: the bore before it is wide against its orifice.
		chamber := w.isGasSpace(q.From) && isFloat(w.p, q.To) || w.isGasSpace(q.To) && isFloat(w.p, q.From)
		if none || chamber {
			w.sets.Join(q.From, q.To)
			w.vents[int32(i)] = true
		}
	}
}

// isFloat tells whether a port is the inlet of a float vent.
func isFloat(p *plant.Plant, port int32) bool {
	return p.Components[p.Ports[port].Component].Kind == plant.KindFloatVentValve && p.Ports[port].Trait == 0
}

func (w *joining) isGasSpace(port int32) bool {
	switch w.p.Components[w.p.Ports[port].Component].Kind {
	case plant.KindContactVessel, plant.KindDegassingVessel, plant.KindReactionVessel:
		return w.m.phase[port] == network.Gas
	}
	return false
}
