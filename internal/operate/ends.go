package operate

import (
	"context"

	"github.com/skidrule/skidrule/internal/crew"
)

// maxUncertain bounds the uncertain data of a plant: both ends of each are solved in every case.
const maxUncertain = 64

// ends solves a scenario at both ends of each uncertain datum in turn, on all cores: each end is a network of its own that starts
// from the best values, so that their order does not matter.
func (s *Solver) ends(ctx context.Context, sc *scenario, best *solved) ([]*solved, error) {
	data := best.w.uncertain
	out := make([]*solved, 2*len(data))
	err := crew.Each(len(out), func(i int) (err error) {
		out[i], err = wire(&s.m, sc, variant{data[i/2], int8(2*(i%2) - 1)}).solve(ctx, best)
		return err
	})
	if err != nil {
		return nil, err
	}
	return out, nil
}

// End is a case solved with one uncertain datum at its two ends, all else at the best value.
type End struct{ Low, High *State }

// Ends gives a case at its best values and at both ends of each uncertain datum. Errors as [Solver.Faulted].
func (s *Solver) Ends(ctx context.Context, at int) (best *State, ends []End, err error) {
	sc, err := s.single(at)
	if err != nil {
		return nil, nil, err
	}
	if err := s.prepare(ctx); err != nil {
		return nil, nil, err
	}
	h, err := s.hydraulics(ctx, &sc)
	if err != nil {
		return nil, nil, err
	}
	for i := 0; i+1 < len(h.ends); i += 2 {
		ends = append(ends, End{s.gather(&sc, &hydraulics{best: h.ends[i]}), s.gather(&sc, &hydraulics{best: h.ends[i+1]})})
	}
	return s.gather(&sc, &hydraulics{best: h.best}), ends, nil
}
