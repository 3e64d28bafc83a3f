package choose

import (
	"cmp"
	"container/heap"
	"context"
	"fmt"
	"math/big"
	"slices"
)

// item is a combination of parts of some slots that go together as far as is known.
type item struct {
	assignment []int // open where it has no part
	cost       cost
}

// stream gives combinations of its slots in order of cost.
type stream interface {
	// slots are those that its items have parts for.
	slots() []int
	// excluded counts the combinations of its slots that were found not to go together, size all of them.
	excluded() *big.Int
	size() *big.Int
	// get gives the item at a place from 0; nil where there is none that ranks before the limit of the search.
	get(ctx context.Context, k int) (*item, error)
}

// step counts a look at a combination and tells whether the pass may go on.
func (s *search) step(ctx context.Context) (bool, error) {
	if s.steps++; s.steps%256 == 0 {
		if err := ctx.Err(); err != nil {
			return false, err
		}
	}
	if s.steps > maxSteps && s.cut == "" {
		s.cut = fmt.Sprintf("%d partial combinations were looked at, %d allowed", s.steps, maxSteps)
	}
	return s.cut == "", nil
}

// leaf gives the parts of one slot.
type leaf struct {
	s     *search
	slot  int
	next  int // place in the parts that are left
	items []*item
}

func (l *leaf) slots() []int       { return []int{l.slot} }
func (l *leaf) excluded() *big.Int { return big.NewInt(int64(l.next - len(l.items))) }
func (l *leaf) size() *big.Int     { return big.NewInt(int64(len(l.s.left[l.slot]))) }

func (l *leaf) get(ctx context.Context, k int) (*item, error) {
	s, parts := l.s, l.s.left[l.slot]
	for k >= len(l.items) && l.next < len(parts) {
		at := parts[l.next]
		x := &item{s.c.allOpen(), s.c.slots[l.slot].parts[at].cost(s.c.measure)}
		if s.beyond(x.cost) {
			return nil, nil
		}
		if ok, err := s.step(ctx); !ok {
			return nil, err
		}
		x.assignment[l.slot] = at
		bad, err := s.rejects(ctx, x.assignment, []int{l.slot}, nil, nil)
		if err != nil {
			return nil, err
		}
		l.next++
		if bad {
			continue
		}
		l.items = append(l.items, x)
	}
	if k < len(l.items) && !s.beyond(l.items[k].cost) {
		return l.items[k], nil
	}
	return nil, nil
}

// rejects tells whether a scope rejects an assignment of slots that were joined of two parts; scopes that lie in one part were
// asked before.
func (s *search) rejects(ctx context.Context, assignment, whole, a, b []int) (bool, error) {
	within := func(x *scope, slots []int) bool {
		return !slices.ContainsFunc(x.bound, func(i int) bool { return !slices.Contains(slots, i) })
	}
	for _, x := range s.scopes {
		if len(x.bound) == 0 || !within(x, whole) || within(x, a) || within(x, b) {
			continue
		}
		bad, err := s.apart(ctx, x, assignment)
		if bad || err != nil {
			return bad, err
		}
	}
	return false, nil
}

// join gives the combinations of two streams that go together.
type join struct {
	s       *search
	a, b    stream
	all     []int
	waiting queue
	items   []*item
	apart   int64 // pairs that do not go together
}

func newJoin(s *search, a, b stream) *join {
	all := slices.Concat(a.slots(), b.slots())
	slices.Sort(all)
	return &join{s: s, a: a, b: b, all: all}
}

func (j *join) slots() []int { return j.all }

func (j *join) size() *big.Int { return new(big.Int).Mul(j.a.size(), j.b.size()) }

// excluded counts what either stream excludes, each once, and the pairs of what is left.
func (j *join) excluded() *big.Int {
	n := new(big.Int).Mul(j.a.excluded(), j.b.size())
	left := new(big.Int).Sub(j.a.size(), j.a.excluded())
	n.Add(n, left.Mul(left, j.b.excluded()))
	return n.Add(n, big.NewInt(j.apart))
}

// couple is one item of each stream that waits to be looked at.
type couple struct {
	x, y   *item
	ix, iy int
	cost   cost
}

// push lets a pair wait, unless one of its streams has no such item.
func (j *join) push(ctx context.Context, ix, iy int) error {
	x, err := j.a.get(ctx, ix)
	if x == nil || err != nil {
		return err
	}
	y, err := j.b.get(ctx, iy)
	if y == nil || err != nil {
		return err
	}
	heap.Push(&j.waiting, &couple{x, y, ix, iy, x.cost.join(y.cost, j.s.c.measure)})
	return nil
}

func (j *join) get(ctx context.Context, k int) (*item, error) {
	s := j.s
	if j.waiting == nil {
		j.waiting = queue{}
		if err := j.push(ctx, 0, 0); err != nil {
			return nil, err
		}
	}
	for k >= len(j.items) && len(j.waiting) > 0 {
		if s.beyond(j.waiting[0].cost) {
			return nil, nil
		}
		if ok, err := s.step(ctx); !ok {
			return nil, err
		}
		p := heap.Pop(&j.waiting).(*couple)
		// Every pair is reached in one way: first along the first stream, then along the second.
		if p.iy == 0 {
			if err := j.push(ctx, p.ix+1, 0); err != nil {
				return nil, err
			}
		}
		if err := j.push(ctx, p.ix, p.iy+1); err != nil {
			return nil, err
		}
		x := &item{slices.Clone(p.x.assignment), p.cost}
		for _, i := range j.b.slots() {
			x.assignment[i] = p.y.assignment[i]
		}
		bad, err := s.rejects(ctx, x.assignment, j.all, j.a.slots(), j.b.slots())
		if err != nil {
			return nil, err
		}
		if bad {
			j.apart++
			continue
		}
		j.items = append(j.items, x)
	}
	if k < len(j.items) && !s.beyond(j.items[k].cost) {
		return j.items[k], nil
	}
	return nil, nil
}

// queue holds pairs, the lowest cost first; of equal ones the one whose items come first.
type queue []*couple

// Len counts the pairs.
func (q queue) Len() int { return len(q) }

// Less puts the lower cost first, then the pair whose items come first.
func (q queue) Less(i, j int) bool {
	a, b := q[i], q[j]
	return cmp.Or(a.cost.compare(b.cost), cmp.Compare(a.ix, b.ix), cmp.Compare(a.iy, b.iy)) < 0
}

// Swap changes two places.
func (q queue) Swap(i, j int) { q[i], q[j] = q[j], q[i] }

// Push appends a pair.
func (q *queue) Push(x any) { *q = append(*q, x.(*couple)) }

// Pop takes the last pair.
func (q *queue) Pop() any {
	old := *q
	p := old[len(old)-1]
	*q = old[:len(old)-1]
	return p
}
