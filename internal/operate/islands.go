package operate

import (
	"cmp"
	"context"
	"math"
	"slices"

	"github.com/skidrule/skidrule/internal/crew"
	"github.com/skidrule/skidrule/internal/plant"
)

// islands are the solvers of a plant that falls apart, an island each: nothing flows between them, and nothing that one lacks or leaves
// open touches another. Solved as one network, each end of each uncertain datum, and each failed barrier, would solve all the others too.
type islands struct {
	lots    []*plant.Lot
	solvers []*Solver
}

// fallApart gives the islands of a plant; none where it is one. Errors: those of the context.
func fallApart(ctx context.Context, p *plant.Plant, cases []Case) (*islands, error) {
	out := &islands{}
	lots := p.FlowIslands()
	if lots.Len() == 1 {
		return out, nil
	}
	for i := range lots.Len() {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		lot := lots.Lot(i)
		solver := newSolver(lot.Plant, In(lot, cases))
		solver.islands = &islands{}
		out.lots, out.solvers = append(out.lots, lot), append(out.solvers, solver)
	}
	return out, nil
}

// solve solves a case of every island and puts the states together.
func (d *islands) solve(ctx context.Context, p *plant.Plant, c *Case, at int) (*State, error) {
	st := &State{Case: c, Ports: make([]PortState, len(p.Ports)), Ways: make([]WayState, len(p.Ways))}
	own := make([]*State, len(d.lots))
	err := crew.Each(len(own), func(i int) (err error) {
		own[i], err = d.solvers[i].Case(ctx, at)
		return err
	})
	if err != nil {
		return nil, err
	}
	for i, lot := range d.lots {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		st.take(own[i], lot)
	}
	slices.SortStableFunc(st.Exchanges, func(a, b Exchange) int { return cmp.Compare(a.Component, b.Component) })
	return st, nil
}

// take puts the state of a lot into that of the whole plant.
func (st *State) take(o *State, lot *plant.Lot) {
	st.Imbalance, st.Residual = math.Max(st.Imbalance, o.Imbalance), math.Max(st.Residual, o.Residual)
	st.Solves += o.Solves
	st.Atmosphere, st.WaterK, st.Density = o.Atmosphere, o.WaterK, o.Density // of the basis, the same in each
	takePorts(st.Ports, o.Ports, lot)
	for i := range o.Ways {
		q := o.Ways[i]
		q.Missing, q.Assumed = dataInWhole(q.Missing, lot), dataInWhole(q.Assumed, lot)
		st.Ways[lot.WholeWay(int32(i))] = q
	}
	for _, e := range o.Exchanges {
		if e.Component >= 0 {
			e.Component = lot.WholeComponent(e.Component)
		}
		st.Exchanges = append(st.Exchanges, e)
	}
}

// bursts is [Solver.Bursts] of every island, put together.
func (d *islands) bursts(ctx context.Context, p *plant.Plant, gauge map[int32]float64) (*Burst, error) {
	out := &Burst{Flow: map[int32]Span{}, Missing: map[int32][]Datum{}, Ports: make([]PortState, len(p.Ports))}
	for i, lot := range d.lots {
		own := map[int32]float64{}
		for component, pressure := range gauge {
			if place, ok := lot.Place(component); ok {
				own[place] = pressure
			}
		}
		if len(own) == 0 {
			continue
		}
		one, err := d.solvers[i].Bursts(ctx, own)
		if err != nil {
			return nil, err
		}
		out.Atmosphere = one.Atmosphere
		for component, flow := range one.Flow {
			out.Flow[lot.WholeComponent(component)] = flow
		}
		for component, data := range one.Missing {
			out.Missing[lot.WholeComponent(component)] = dataInWhole(data, lot)
		}
		takePorts(out.Ports, one.Ports, lot)
	}
	return out, nil
}

func takePorts(whole, own []PortState, lot *plant.Lot) {
	for i := range own {
		q := own[i]
		q.Missing, q.Assumed, q.Beyond = dataInWhole(q.Missing, lot), dataInWhole(q.Assumed, lot), dataInWhole(q.Beyond, lot)
		whole[lot.WholePort(int32(i))] = q
	}
}

// dataInWhole gives data of a lot as data of the whole plant. Their order stands: a lot's components and lines stand in the order of
// the whole.
func dataInWhole(list []Datum, lot *plant.Lot) []Datum {
	out := slices.Clone(list)
	for i := range out {
		switch d := &out[i]; d.Kind {
		case DatumComponent, DatumSpec, DatumElement:
			d.Index = lot.WholeComponent(d.Index)
		case DatumLine:
			d.Index = lot.WholeLine(d.Index)
		}
	}
	return out
}
