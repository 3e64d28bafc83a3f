package commission

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/skidrule/skidrule/internal/fact"
	"github.com/skidrule/skidrule/internal/network"
	"github.com/skidrule/skidrule/internal/operate"
	"github.com/skidrule/skidrule/internal/plant"
)

// Skid is a design that is put into service. It is not safe for concurrent use.
type Skid struct {
	world  *fact.World
	plant  *plant.Plant
	solver *operate.Solver
	phases []network.Phase
	places []place
	sides  map[int32][]string // by gauge: the ports of injectors that it shows
	sweeps map[string]*swept
}

// New prepares a design. Errors: those of the context.
func New(ctx context.Context, w *fact.World) (*Skid, error) {
	s := &Skid{world: w, plant: w.Plant, sweeps: map[string]*swept{}}
	var err error
	if s.solver, err = w.Solver(); err != nil {
		return nil, err
	}
	at := slices.IndexFunc(w.Cases, func(c operate.Case) bool { return c.Standard != operate.BarrierFailed })
	best, _, err := s.solver.Ends(ctx, max(at, 0))
	if err != nil {
		return nil, err
	}
	s.phases = make([]network.Phase, len(best.Ports))
	for i := range best.Ports {
		s.phases[i] = best.Ports[i].Phase
	}
	s.findPlaces(best)
	return s, nil
}

// maxCauses bounds the faults that are tried, each at some ten sizes: the time of a diagnosis grows with their number and with that of
// the components.
const maxCauses = 250

// tooManyError tells that more parts of a design may be at fault than are tried.
type tooManyError struct{ Causes int }

// Error names both numbers and what would do.
func (e *tooManyError) Error() string {
	return fmt.Sprintf("%d parts of the design may be at fault, and at most %d are tried; give the train that was read as a design of its own", e.Causes, maxCauses)
}

// node is a fault of one size: what every place would show, and what every injector draws.
type node struct {
	size   float64
	shown  []float64 // by place
	drawn  []float64 // by injector
	beyond []operate.Datum
}

// sweep is a candidate with its nodes; the first is the design. why says why there are none or no more of them.
type sweep struct {
	candidate
	nodes []node
	why   string
}

// swept is everything about a case that does not depend on what was read.
type swept struct {
	full      *operate.State // with the ends between which everything lies
	best      *operate.State // at the best values
	ends      []operate.End
	places    []place
	injectors []int32
	sweeps    []sweep
}

// prepare solves a case with every candidate at all of its sizes, for the places of the design and further ones.
func (s *Skid) prepare(ctx context.Context, at int, further []place) (*swept, error) {
	key := s.world.Cases[at].ID
	for _, q := range further {
		key += "\n" + q.label
	}
	if x := s.sweeps[key]; x != nil {
		return x, nil
	}
	x := &swept{places: append(slices.Clone(s.places), further...)}
	var err error
	if x.best, x.ends, err = s.solver.Ends(ctx, at); err != nil {
		return nil, err
	}
	if x.full, err = s.solver.Case(ctx, at); err != nil {
		return nil, err
	}
	for i := range s.plant.Components {
		if s.plant.Components[i].Kind == plant.KindVenturiInjector {
			x.injectors = append(x.injectors, int32(i))
		}
	}
	design := s.nodeOf(x, x.best, 0)
	candidates := s.findCauses(x.best)
	if len(candidates) > maxCauses {
		return nil, &tooManyError{len(candidates)}
	}
	for _, c := range candidates {
		design.size = c.none
		one := sweep{candidate: c, nodes: []node{design}}
		states, err := s.solver.Faulted(ctx, at, c.fault, c.sizes)
		if err != nil {
			return nil, err
		}
		if len(states) == 0 {
			one.why = "nothing that is computed rests on it"
		}
		for i, st := range states {
			n := s.nodeOf(x, st, c.sizes[i])
			if why := s.unsolved(x, design, n, st); why != "" {
				one.why = "from a size of " + c.words(c.sizes[i]) + " on, " + why
				break
			}
			one.nodes = append(one.nodes, n)
		}
		x.sweeps = append(x.sweeps, one)
	}
	s.sweeps[key] = x
	return x, nil
}

// nodeOf reads a solved state.
func (s *Skid) nodeOf(x *swept, st *operate.State, size float64) node {
	n := node{size: size}
	for i := range x.places {
		q := &x.places[i]
		n.shown = append(n.shown, q.exact(st))
		for _, d := range q.at(st).beyond {
			if !slices.Contains(n.beyond, d) {
				n.beyond = append(n.beyond, d)
			}
		}
	}
	for _, j := range x.injectors {
		n.drawn = append(n.drawn, s.drawnIn(st, j))
	}
	return n
}

// drawnIn is the gas that an injector draws in a state, mol/s; NaN where it is not known.
func (s *Skid) drawnIn(st *operate.State, injector int32) float64 {
	first := s.plant.Components[injector].FirstPort
	if id := s.passage(first, first+2); id >= 0 && st.Ways[id].Known {
		return st.Ways[id].Carried.Best
	}
	return math.NaN()
}

// unsolved says why a state tells less than the design; empty where it does not.
func (s *Skid) unsolved(x *swept, design, n node, st *operate.State) string {
	for i := range n.shown {
		if !math.IsNaN(n.shown[i]) || math.IsNaN(design.shown[i]) {
			continue
		}
		f := x.places[i].at(st)
		if len(f.missing) > 0 {
			return strings.Join(s.paths(f.missing), ", ") + " is not stated"
		}
		return f.why
	}
	return ""
}

// mix gives a size between two.
func mix(a, b, share float64) float64 {
	if a > 0 && b > 0 {
		return a * math.Pow(b/a, share)
	}
	return a + share*(b-a)
}
