package engine

import (
	"context"
	"runtime"
	"slices"
	"sync/atomic"

	"github.com/skidrule/skidrule/internal/crew"
	"github.com/skidrule/skidrule/internal/fact"
	"github.com/skidrule/skidrule/internal/flowpath"
	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/rulebook"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// parallelFrom is the number of components from which starting further goroutines pays.
const parallelFrom = 200

// Lots of some thousand components are large enough that what each rule begins with does not count, and small enough that what is
// computed of one stays near the processor. Smaller plants make smaller lots, so that every processor gets some.
const (
	largestLot  = 2400
	smallestLot = 1000
	lotsPerCore = 4
)

// askAll asks every rule, on as many processors as there are; the answers come in order of the rules. A large plant that falls
// apart, and of which no state is solved, is asked lot by lot.
func askAll(ctx context.Context, w *fact.World, book []*rulebook.Compiled, asked []int32, all bool) ([]*rulebook.Answer, error) {
	q := &question{ctx, asked, all}
	cores := runtime.GOMAXPROCS(0)
	if size := min(largestLot, len(w.Plant.Components)/(lotsPerCore*cores)); w.Unsolved() != "" && size >= smallestLot {
		if lots := w.Plant.Lots(size); lots.Len() > 1 {
			return q.byLot(w, lots, book, cores)
		}
	}
	if len(w.Plant.Components) < parallelFrom {
		cores = 1
	}
	return q.byRule(w, book, cores)
}

// question is what is the same for every rule that is asked.
type question struct {
	ctx   context.Context
	cases []int32 // that are asked about
	all   bool    // every outcome is wanted
}

// byRule asks the rules, each on one of the processors.
func (q *question) byRule(w *fact.World, book []*rulebook.Compiled, cores int) ([]*rulebook.Answer, error) {
	answers, room := make([]*rulebook.Answer, len(book)), make([]rulebook.Answer, len(book))
	askers := make([]*rulebook.Asker, min(cores, len(book)))
	for core := range askers {
		askers[core] = rulebook.NewAsker(w)
	}
	// One processor begins with the first rule and the others with the last, so that they seldom wait for each other's sweeps.
	var front, back atomic.Int32
	err := crew.Do(len(askers), len(book), func(core, _ int) error {
		i := 0
		if core == 0 {
			i = int(front.Add(1)) - 1
		} else {
			i = len(book) - int(back.Add(1))
		}
		answers[i] = &room[i]
		if book[i].Severity == skidrulev1.Severity_SEVERITY_OFF {
			return nil
		}
		return askers[core].Ask(q.ctx, book[i], q.cases, q.all, answers[i])
	})
	if err != nil {
		return nil, err
	}
	return answers, q.ctx.Err()
}

// byLot asks the rules of each lot on one of the processors, and then those of the design as a whole.
func (q *question) byLot(w *fact.World, lots *plant.Lots, book []*rulebook.Compiled, cores int) ([]*rulebook.Answer, error) {
	var ofLots, ofDesign []*rulebook.Compiled
	for _, c := range book {
		if c.OfDesign {
			ofDesign = append(ofDesign, c)
		} else {
			ofLots = append(ofLots, c)
		}
	}
	told, terms := make([][]*rulebook.Answer, lots.Len()), make([]*fact.Terms, lots.Len())
	sums := slices.ContainsFunc(ofDesign, func(c *rulebook.Compiled) bool { return c.ByCase })
	ask := func(lot, cores int, shelf *flowpath.Shelf) error {
		part := lots.Lot(lot)
		own := w.In(part, shelf)
		answers, err := q.byRule(own, ofLots, cores)
		if err != nil {
			return err
		}
		for _, a := range answers {
			a.InWhole(own, part)
		}
		told[lot] = answers
		if sums {
			terms[lot], err = own.TermsInWhole(part, q.cases)
		}
		return err
	}
	// Islands too large for a lot come first, and all processors ask of each.
	var small []int
	for lot := range told {
		if lots.Size(lot) <= largestLot {
			small = append(small, lot)
		} else if err := ask(lot, cores, nil); err != nil {
			return nil, err
		}
	}
	shelves := make([]flowpath.Shelf, cores)
	err := crew.Do(cores, len(small), func(core, task int) error {
		// Of what was found in the lot before nothing is left but answers.
		shelves[core].TakeBack()
		return ask(small[task], 1, &shelves[core])
	})
	if err != nil {
		return nil, err
	}
	if sums {
		w.Take(terms)
	}
	design, err := q.byRule(w, ofDesign, cores)
	if err != nil {
		return nil, err
	}
	answers := make([]*rulebook.Answer, len(book))
	for i, c := range book {
		if c.OfDesign {
			answers[i], design = design[0], design[1:]
			continue
		}
		answers[i] = &rulebook.Answer{}
		for lot := range told {
			answers[i].Add(told[lot][0])
			told[lot] = told[lot][1:]
		}
		answers[i].Order()
	}
	return answers, nil
}
