package network

import (
	"context"
	"math"
)

// run tries to find the steady state: directly; by leading the gas that
// injectors add to its full effect; as a transient; by smooth elements.
func (s *solver) run(ctx context.Context, o *Options) (*Solution, error) {
	s.soft, s.slow, s.thin, s.broken = 0, false, 1, nil
	s.scale = smallestScale
	s.doubt = nil
	if o.Start != nil {
		s.warm(o.Start)
	} else {
		s.cold()
	}
	total := 0
	for _, attempt := range [...]func(context.Context, *Options) (int, bool, error){s.direct, s.thicken, s.transient, s.approach} {
		s.thin = 1
		n, ok, err := attempt(ctx, o)
		total += n
		if err != nil {
			return nil, err
		}
		if ok {
			return s.solution(total, true), nil
		}
	}
	sol := s.solution(total, false)
	if s.doubt == nil && len(s.injectors) > 0 {
		s.question()
	}
	if s.doubt != nil {
		return sol, s.doubt
	}
	return sol, s.failure(sol)
}

// direct is Newton's method with states that change as they will.
func (s *solver) direct(ctx context.Context, o *Options) (int, bool, error) {
	return s.iterate(ctx, min(o.MaxIterations, 60), manner{})
}

// thicken begins with gas that does not act on the liquid and lets it act more
// and more, by steps that grow and shrink with success.
func (s *solver) thicken(ctx context.Context, o *Options) (total int, ok bool, err error) {
	if len(s.injectors) == 0 {
		return 0, false, nil
	}
	s.thin = 0
	s.cold()
	if total, ok, err = s.direct(ctx, o); !ok && err == nil {
		var n int
		n, ok, err = s.approach(ctx, o)
		total += n
	}
	if !ok || err != nil {
		return total, false, err
	}
	var back snapshot
	for step := 0.25; s.thin < 1; {
		back.take(s)
		to := math.Min(1, s.thin+step)
		for _, together := range [2]bool{false, true} {
			s.thin = to
			var n int
			n, ok, err = s.iterate(ctx, min(o.MaxIterations, 40), manner{together: together})
			total += n
			if err != nil {
				return total, false, err
			}
			if ok {
				break
			}
			back.put(s)
		}
		if ok {
			step *= 2
		} else if step /= 4; step < leastThickening {
			s.question()
			return total, false, nil
		}
	}
	return total, true, nil
}

// leastThickening is the step of the effect of gas below which it is given up.
const leastThickening = 1e-3

// snapshot is a state to go back to.
type snapshot struct {
	pressure, gas []float64
	edges         []edge
	thin          float64
}

func (k *snapshot) take(s *solver) {
	k.pressure = append(k.pressure[:0], s.pressure...)
	k.gas = append(k.gas[:0], s.carriers.b...)
	k.edges = append(k.edges[:0], s.edges...)
	k.thin = s.thin
}

func (k *snapshot) put(s *solver) {
	copy(s.pressure, k.pressure)
	copy(s.carriers.b, k.gas)
	copy(s.edges, k.edges)
	s.thin = k.thin
}

// transient moves in small steps that grow as the residuals fall: from where
// the gas could be led to, then from cold.
func (s *solver) transient(ctx context.Context, o *Options) (total int, ok bool, err error) {
	for try := range 3 {
		if try > 0 {
			s.cold()
		}
		last := try == 2
		n, ok, err := s.iterate(ctx, 2*o.MaxIterations, manner{pace: 0.1, careful: last, together: last})
		total += n
		if ok || err != nil {
			return total, ok, err
		}
	}
	return total, false, nil
}

// approach goes to the ideal elements by smooth ones: shut elements leak and
// set points droop, less and less, and injectors are relaxed.
func (s *solver) approach(ctx context.Context, o *Options) (total int, ok bool, err error) {
	for i, path := range approaches {
		s.cold()
		s.slow = len(s.injectors) > 0
		s.relax(1)
		for _, soft := range path {
			s.soft = soft
			n, _, err := s.iterate(ctx, min(o.MaxIterations, 40), manner{damped: i > 0})
			total += n
			if err != nil {
				return total, false, err
			}
		}
		s.harden()
		for _, slow := range [...]bool{true, false} {
			if slow && !s.slow {
				continue
			}
			s.slow = slow
			n, done, err := s.iterate(ctx, 4*o.MaxIterations, manner{careful: true, damped: i > 0})
			total += n
			if err != nil {
				return total, false, err
			}
			ok = done
		}
		if ok {
			break
		}
	}
	return total, ok, nil
}

// approaches are the leaks by which the ideal elements are approached when the
// direct way has failed.
var approaches = [][]float64{{0.1, 0.01, 1e-3, 1e-4}, {0.3, 0.1, 0.03, 0.01, 3e-3, 1e-3, 3e-4, 1e-4, 1e-5}}

// question looks for what leaves no steady state: at the last state that was
// found with part of the effect of the gas, or else at the last of all.
func (s *solver) question() {
	c := &s.carriers
	stranded, broken := int32(-1), int32(-1)
	for _, i := range c.nodes {
		if c.vess[i] || c.b[i] <= 0 {
			continue
		}
		if c.b[i] > mostGas && (stranded < 0 || c.b[i] > c.b[stranded]) {
			stranded = i
		}
		if c.b[i] > gasTrace && s.pressure[i] < s.vapour(i) && (broken < 0 || s.pressure[i] < s.pressure[broken]) {
			broken = i
		}
	}
	switch {
	case broken >= 0:
		s.doubt = &BrokenColumnError{Node: int(broken), Name: s.p.nodeName(int(broken)), Pressure: s.pressure[broken]}
	case stranded >= 0:
		e := &StrandedGasError{Node: int(stranded), Name: s.p.nodeName(int(stranded)), Injector: -1}
		most := 0.0
		for j := range s.injectors {
			if g := &s.edges[s.injectors[j].suction]; g.q > most && s.leadsTo(s.injectors[j].motive, stranded) {
				most, e.Injector, e.InjectorName = g.q, int(g.elem), s.p.elementName(int(g.elem))
			}
		}
		s.doubt = e
	}
}

// gasTrace, J/kg, is gas that fills a hundredth of the volume at 1 bar.
const gasTrace = 1

// vapour is the vapour pressure of the liquid at a node.
func (s *solver) vapour(i int32) float64 {
	c := &s.carriers
	if c.first[i] == c.first[i+1] {
		return 0
	}
	return s.fluid(&s.edges[c.touch[c.first[i]]]).VapourPressure
}

// leadsTo tells whether liquid flows from the motive side of an injector to a
// node, or stands between them.
func (s *solver) leadsTo(motive, node int32) bool {
	c := &s.carriers
	m := &s.edges[motive]
	seen := map[int32]bool{m.a: true, m.b: true}
	stack := []int32{m.a, m.b}
	for len(stack) > 0 {
		i := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		if i == node {
			return true
		}
		for _, t := range c.touch[c.first[i]:c.first[i+1]] {
			e := &s.edges[t]
			to := e.a + e.b - i
			if q := e.q; (e.a == i && q >= 0 || e.b == i && q <= 0) && !seen[to] && !c.vess[to] {
				seen[to] = true
				stack = append(stack, to)
			}
		}
	}
	return false
}
