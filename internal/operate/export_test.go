package operate

import (
	"context"

	"github.com/skidrule/skidrule/internal/plant"
)

var Keys, Unsolved = caseKeys, unsolvedFields

// SolveAll solves every case that can occur.
func SolveAll(ctx context.Context, p *plant.Plant, cases []Case) (*States, error) {
	s, err := NewSolver(p, cases)
	if err != nil {
		return nil, err
	}
	out := &States{Plant: p, Cases: cases, States: make([]*State, len(cases))}
	for i := range cases {
		if cases[i].Excluded != "" {
			continue
		}
		if out.States[i], err = s.Case(ctx, i); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// Round counts the states that were kept or taken since the last turn, and those of them that the round before had already.
func (k *Kept) Round() (states, taken int) {
	for key, st := range k.now {
		states++
		if k.before[key] == st {
			taken++
		}
	}
	return states, taken
}
