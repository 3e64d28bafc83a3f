package operate

import (
	"sync"

	"github.com/skidrule/skidrule/internal/network"
)

// problem is room for the network of one group, used again and again.
type problem struct {
	p              network.Problem
	pressures      []float64
	fixed, coupled map[int32]bool // parts with a pressure, and parts that others hang on
	links          []int          // of the wiring, in the order of the network's elements
}

var problems = sync.Pool{New: func() any { return &problem{fixed: map[int32]bool{}, coupled: map[int32]bool{}} }}

// of starts a network of some knots with the fluids of a wiring.
func (r *problem) of(w *wiring, knots int) *network.Problem {
	p := &r.p
	p.Fluids = append(p.Fluids[:0], w.fluids[:]...)
	for i := range p.Fluids {
		if len(w.fluidLacks[i]) > 0 || p.Fluids[i].Viscosity == 0 {
			// No part that holds it is solved; the solver wants something to stand in its place.
			p.Fluids[i] = network.Fluid{Phase: network.Gas, Viscosity: 1, MolarMass: 1, Temperature: 1, Compressibility: 1}
		}
	}
	p.Nodes, p.Elements, p.TwoPhaseFactor = p.Nodes[:0], p.Elements[:0], w.twoPhase
	// Pointers into pressures must not move: one for each knot and for each part that is closed off.
	if most := 2 * knots; cap(r.pressures) < most {
		r.pressures = make([]float64, 0, most)
	}
	r.pressures, r.links = r.pressures[:0], r.links[:0]
	clear(r.fixed)
	clear(r.coupled)
	return p
}

// hold is a place for a fixed pressure.
func (r *problem) hold(p float64) *float64 {
	r.pressures = append(r.pressures, p)
	return &r.pressures[len(r.pressures)-1]
}

// free gives the room back without what it pointed to.
func (r *problem) free() {
	clear(r.p.Elements)
	problems.Put(r)
}
