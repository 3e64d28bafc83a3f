package choose

import (
	"cmp"
	"context"
	"encoding/binary"
	"fmt"
	"math/big"
	"slices"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Limits of a search: common practice, no source.
const (
	// maxSteps bounds the pairs of partial combinations that one pass looks at.
	maxSteps = 20_000_000
	// mostExplained is how many of the failures of one combination are traced to the slots that they come from.
	mostExplained = 3
)

// search goes through the combinations in order of a bound of their cost.
type search struct {
	c *chooser
	// left are the parts of each slot that were not rejected, as places in its parts; the best by the measure first.
	left   [][]int
	scopes []*scope
	// done are the combinations that were checked whole, by key.
	done  map[string]*checked
	found []*checked
	near  *checked
	root  stream // of the last pass
	// limit is the cost from which on nothing is wanted; nil while anything is.
	limit *cost
	steps int
	cut   string
}

// checked is a combination that was checked whole.
type checked struct {
	assignment []int // by slot
	cost       cost
	failures   []*failure
	met        int32
	margins    []*skidrulev1.OutcomeMargin
}

// scope is a set of slots some of whose parts do not go together by a rule in a case. One slot is a scope as well: what solving
// alone shows, by any rule in any case.
type scope struct {
	slots []int // ascending
	rules []string
	cases []string
	// views are the data of the parts that the rule was found to rest on, by slot; all where a slot has none. Parts that agree in
	// them fare alike.
	views map[int]*view
	seen  map[string]bool // by the data of the parts: whether they do not go together
	bad   int64
	// bound are the slots that bind in this pass, stand the parts that stand for the others.
	bound, stand []int
}

func newSearch(c *chooser) *search {
	s := &search{c: c, done: map[string]*checked{}}
	for i, q := range c.slots {
		var left []int
		for k, p := range q.parts {
			if p.alone == nil {
				left = append(left, k)
			}
		}
		slices.SortStableFunc(left, func(a, b int) int { return q.parts[a].cost(c.measure).compare(q.parts[b].cost(c.measure)) })
		s.left = append(s.left, left)
		s.scopes = append(s.scopes, &scope{slots: []int{i}, rules: c.rules, seen: map[string]bool{}})
	}
	return s
}

// key spells numbers as a key of a map.
func key(numbers []int) string {
	var b []byte
	for _, n := range numbers {
		b = binary.AppendVarint(b, int64(n))
	}
	return string(b)
}

// errAgain tells that slots were found to depend on each other, so that the search begins anew in a better order.
var errAgain = fmt.Errorf("slots were found to depend on each other")

// run searches until the bound says that nothing better is left.
func (s *search) run(ctx context.Context) error {
	for {
		if err := s.pass(ctx); err != errAgain {
			return err
		}
	}
}

// arrange joins the slots into a tree for the next pass, those that depend on each other before the others: combinations that do
// not go together are then met among few slots, and what is left of these bounds the cost of all.
func (s *search) arrange() stream {
	n := len(s.c.slots)
	for i, q := range s.c.slots {
		// What solving has rejected alone meanwhile need not be met again.
		s.left[i] = slices.DeleteFunc(s.left[i], func(k int) bool { return q.parts[k].alone != nil })
	}
	roots, of := make([]stream, n), make([]int, n)
	for i := range n {
		roots[i], of[i] = &leaf{s: s, slot: i}, i
	}
	for _, x := range s.scopes {
		x.settle(s)
	}
	scopes := slices.Clone(s.scopes)
	slices.SortStableFunc(scopes, func(a, b *scope) int {
		return cmp.Or(cmp.Compare(len(a.bound), len(b.bound)), cmp.Compare(b.bad, a.bad))
	})
	merge := func(into, from int) {
		roots[into] = newJoin(s, roots[into], roots[from])
		roots[from] = nil
		for i := range of {
			if of[i] == from {
				of[i] = into
			}
		}
	}
	for _, x := range scopes {
		for _, i := range x.bound[min(1, len(x.bound)):] {
			if into := of[x.bound[0]]; of[i] != into {
				merge(into, of[i])
			}
		}
	}
	for i := 1; i < n; i++ {
		if of[i] != of[0] {
			merge(of[0], of[i])
		}
	}
	return roots[of[0]]
}

// settle finds the slots that a scope is bound by in the next pass: one whose parts all look alike in the scope's view binds
// nothing, and any of them stands for it.
func (x *scope) settle(s *search) {
	x.bound, x.stand = x.bound[:0], s.c.allOpen()
	for _, i := range x.slots {
		v, alike := x.views[i], len(x.slots) > 1 && len(s.left[i]) > 0
		if v == nil {
			alike = false
		}
		for n := 1; alike && n < len(s.left[i]); n++ {
			_, a := v.of(s.c.slots[i].parts[s.left[i][0]])
			_, b := v.of(s.c.slots[i].parts[s.left[i][n]])
			alike = a == b
		}
		if alike {
			x.stand[i] = s.left[i][0]
			continue
		}
		x.bound = append(x.bound, i)
	}
	if len(x.bound) == 0 {
		// Nothing binds, so that all combinations fare alike; one slot asks for them.
		x.bound = append(x.bound, x.slots[:min(1, len(x.slots))]...)
	}
}

// pass goes through the combinations once, the lowest cost first.
func (s *search) pass(ctx context.Context) error {
	c := s.c
	s.found, s.cut, s.limit, s.steps = nil, "", nil, 0
	s.root = s.arrange()
	for k := 0; ; k++ {
		x, err := s.root.get(ctx, k)
		if err != nil || x == nil {
			return err
		}
		again, err := s.whole(ctx, x)
		switch {
		case err != nil:
			return err
		case s.cut != "":
			return nil
		case again:
			return errAgain
		}
		if len(s.found) >= c.results {
			limit := s.found[len(s.found)-1].cost
			s.limit = &limit
		}
	}
}

// beyond tells costs that rank behind what was found.
func (s *search) beyond(k cost) bool {
	if s.limit != nil && s.c.byMargin() {
		return k.first > s.limit.first
	}
	return s.limit != nil && k.compare(*s.limit) >= 0
}

// apart tells whether the parts that an assignment has in a scope do not go together, whatever the other slots have.
func (s *search) apart(ctx context.Context, x *scope, assignment []int) (bool, error) {
	k := x.key(s.c, assignment)
	if bad, ok := x.seen[k]; ok {
		return bad, nil
	}
	only := s.c.allOpen()
	for _, i := range x.slots {
		if only[i] = assignment[i]; only[i] == open {
			only[i] = x.stand[i]
		}
	}
	failures, _, err := s.c.partly(ctx, only, false, x.rules, x.cases, x.views)
	if err != nil {
		return false, err
	}
	x.note(s, k, only, failures)
	return len(failures) > 0, nil
}

// key spells the data of the parts that an assignment has in a scope.
func (x *scope) key(c *chooser, assignment []int) string {
	numbers := make([]int, len(x.slots))
	for n, i := range x.slots {
		at := assignment[i]
		if at == open {
			at = x.stand[i]
		}
		numbers[n] = at
		if v := x.views[i]; v != nil {
			_, numbers[n] = v.of(c.slots[i].parts[at])
		}
	}
	return key(numbers)
}

// note remembers whether parts go together.
func (x *scope) note(s *search, k string, assignment []int, failures []*failure) {
	was := x.seen[k]
	x.seen[k] = len(failures) > 0
	if len(failures) == 0 || was {
		return
	}
	x.bad++
	if len(failures[0].missing) > 0 {
		s.c.checked.missing.Add(1)
	}
	if len(x.slots) == 1 {
		p := s.c.slots[x.slots[0]].parts[assignment[x.slots[0]]]
		if p.alone == nil {
			s.c.reject(x.slots[0], p, &verdict{failures: failures})
		}
	}
}

// whole checks a combination as a whole design. again tells that something new was found that excludes combinations.
func (s *search) whole(ctx context.Context, x *item) (again bool, err error) {
	c := s.c
	assignment := x.assignment
	k := key(assignment)
	r := s.done[k]
	if r == nil {
		if len(s.done) >= c.checks {
			s.cut = fmt.Sprintf("%d whole designs were checked, %d allowed", len(s.done), c.checks)
			return false, nil
		}
		if r, err = s.examine(ctx, assignment, x.cost); err != nil {
			return false, err
		}
		s.done[k] = r
		if len(r.failures) > 0 {
			if again, err = s.trace(ctx, r); err != nil {
				return false, err
			}
			if s.near == nil || len(r.failures) < len(s.near.failures) {
				s.near = r
			}
			broken := slices.ContainsFunc(r.failures, func(f *failure) bool { return len(f.missing) == 0 })
			if outside := slices.DeleteFunc(slices.Clone(r.failures), func(f *failure) bool { return !c.outside(f) }); !broken && len(outside) > 0 {
				// What stands in the way is no part.
				s.cut = "the design leaves data open that concern the slots; no part decides them"
				c.leaveUndecided(outside)
				return false, nil
			}
		}
	}
	if len(r.failures) == 0 {
		s.found = append(s.found, r)
		slices.SortStableFunc(s.found, func(a, b *checked) int { return a.cost.compare(b.cost) })
		s.found = s.found[:min(len(s.found), c.results)]
	}
	return again, nil
}

// examine checks a combination.
func (s *search) examine(ctx context.Context, assignment []int, bound cost) (*checked, error) {
	c := s.c
	r := &checked{assignment: assignment, cost: bound}
	if !c.byMargin() {
		report, failures, err := c.wholly(ctx, assignment)
		if err != nil {
			return nil, err
		}
		r.failures, r.met = failures, report.GetCoverage().GetMet()
		return r, nil
	}
	report, margins, err := c.engine.CheckMeasured(ctx, c.check(assignment, true, nil, nil, nil))
	if err != nil {
		if r.failures, err = unusable(err); err != nil {
			return nil, err
		}
		return r, nil
	}
	r.failures, r.met, r.margins = c.failures(report, assignment, true), report.GetCoverage().GetMet(), margins
	r.cost = cost{first: -c.least(margins)}
	for i, at := range assignment {
		r.cost.places += c.slots[i].parts[at].place
	}
	return r, nil
}

// trace finds for the worst failures of a combination the fewest slots from which they come whatever the others have, and the
// data of their parts that they rest on.
func (s *search) trace(ctx context.Context, r *checked) (again bool, err error) {
	c := s.c
	for _, f := range r.failures[:min(len(r.failures), mostExplained)] {
		// A rule that depends on no case is asked the same in any.
		x := &scope{cases: c.oneCase, views: map[int]*view{}, seen: map[string]bool{}}
		if len(f.cases) > 0 {
			x.cases = f.cases[:1]
		}
		if f.rule != "" {
			x.rules = []string{f.rule}
		}
		assignment := slices.Clone(r.assignment)
		ask := func() ([]*failure, error) {
			failures, _, err := c.partly(ctx, assignment, false, x.rules, x.cases, x.views)
			return slices.DeleteFunc(failures, func(g *failure) bool { return g.pair != f.pair || (len(g.missing) > 0) != (len(f.missing) > 0) }), err
		}
		var last []*failure
		for i := range assignment {
			was := assignment[i]
			assignment[i] = open
			same, err := ask()
			if err != nil {
				return false, err
			}
			if len(same) == 0 {
				assignment[i] = was
				continue
			}
			last = same
		}
		if last == nil {
			// It shows only with every part in its place, so that it excludes nothing else.
			continue
		}
		for i, at := range assignment {
			if at != open {
				x.slots = append(x.slots, i)
			}
		}
		// That a datum is not stated says nothing of parts that state it.
		if len(f.missing) == 0 && len(x.slots) > 1 {
			for _, i := range x.slots {
				if err := s.narrow(x, i, c.slots[i].parts[assignment[i]], ask); err != nil {
					return false, err
				}
			}
		}
		if s.learn(x, assignment, last) {
			again = true
		}
	}
	return again, nil
}

// narrow takes data of a part out of a scope's view as long as the failure stays.
func (s *search) narrow(x *scope, i int, p *part, ask func() ([]*failure, error)) error {
	v := wholeView(s.c.slots[i].kind)
	x.views[i] = v
	// Groups go first: of a part's data a rule rests on few.
	var without func(fields []int) error
	without = func(fields []int) error {
		if len(fields) == 0 {
			return nil
		}
		v.leaveOut(fields...)
		same, err := ask()
		if err != nil || len(same) > 0 {
			return err
		}
		v.takeIn(fields...)
		if len(fields) == 1 {
			return nil
		}
		if err := without(fields[:len(fields)/2]); err != nil {
			return err
		}
		return without(fields[len(fields)/2:])
	}
	return without(v.fields(p))
}

// learn adds a scope and tells whether it is a new one.
func (s *search) learn(x *scope, assignment []int, failures []*failure) bool {
	for _, y := range s.scopes {
		if slices.Equal(x.slots, y.slots) && slices.Equal(x.rules, y.rules) && slices.Equal(x.cases, y.cases) && sameViews(x, y) {
			y.note(s, y.key(s.c, assignment), assignment, failures)
			return false
		}
	}
	s.scopes = append(s.scopes, x)
	x.note(s, x.key(s.c, assignment), assignment, failures)
	return true
}

// sameViews tells scopes that look at the same data.
func sameViews(x, y *scope) bool {
	for _, i := range x.slots {
		if (x.views[i] == nil) != (y.views[i] == nil) || x.views[i] != nil && !x.views[i].same(y.views[i]) {
			return false
		}
	}
	return true
}

// account tells what became of all combinations.
func (s *search) account() *skidrulev1.ChoiceSearch {
	c := s.c
	all := c.combinations()
	left := s.root.size()
	alone := new(big.Int).Sub(all, left)
	whole := big.NewInt(int64(len(s.done)))
	together := s.root.excluded()
	behind := new(big.Int).Sub(left, whole)
	behind.Sub(behind, together)
	if behind.Sign() < 0 {
		// Combinations that were checked in an earlier pass lie among those that a later one excluded.
		together.Add(together, behind)
		behind.SetInt64(0)
	}
	out := &skidrulev1.ChoiceSearch{
		Combinations: all.String(), ExcludedAlone: alone.String(), ExcludedTogether: together.String(), ExcludedByRank: behind.String(),
		Checked: int64(len(s.done)), OpenChecks: c.checked.open.Load(), Proved: s.cut == "", NotProvedBecause: s.cut,
		ForMissingData: c.checked.missing.Load(),
	}
	for _, x := range s.scopes {
		if x.bad == 0 || len(x.slots) < 2 {
			continue
		}
		var tags []string
		for _, i := range x.slots {
			tags = append(tags, c.slots[i].tag)
		}
		at := slices.IndexFunc(out.Conflicts, func(o *skidrulev1.PartConflicts) bool { return slices.Equal(o.GetSlots(), tags) })
		if at < 0 {
			at = len(out.Conflicts)
			out.Conflicts = append(out.Conflicts, &skidrulev1.PartConflicts{Slots: tags})
		}
		one := out.Conflicts[at]
		one.Combinations += x.bad
		one.RuleIds = append(one.RuleIds, x.rules...)
		slices.Sort(one.RuleIds)
		one.RuleIds = slices.Compact(one.RuleIds)
	}
	return out
}

// combinations counts all combinations of parts.
func (c *chooser) combinations() *big.Int {
	n := big.NewInt(1)
	for _, s := range c.slots {
		n.Mul(n, big.NewInt(int64(len(s.parts))))
	}
	return n
}
