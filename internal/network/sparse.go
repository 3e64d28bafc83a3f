package network

import (
	"math"
	"slices"
)

// matrix is a sparse square matrix of symmetric pattern, factorised as L U
// without pivoting in a minimum-degree order. The pattern is analysed once;
// factorising and solving then run over prepared index lists.
//
// Source: the minimum-degree rule is that of Tinney and Walker, Proc. IEEE 55
// (1967) 1801.
type matrix struct {
	n     int
	order []int32 // order[k] is the unknown eliminated k-th
	place []int32 // inverse of order
	start []int32 // entries of pivot k are start[k] .. start[k+1]
	index []int32 // their later pivots, ascending
	// val holds n diagonals, then upper entries (k, index), then lower
	// entries (index, k).
	val []float64
	// target lists, in the order of elimination, where each product goes;
	// empty when it would be too long.
	target []int32
	tmp    []float64

	pairs []int64 // sorted pattern of the last analysis

	// stop tells whether to leave off; nil never does. What is left then is of
	// no use.
	stop func() bool
}

const (
	maxTargets = 1 << 22 // prepared products
	maxWork    = 1 << 25 // products of one factorisation
	stopWork   = 1 << 19 // products, or places looked at, between two questions whether to stop
)

// analyse prepares for the pattern of n unknowns with the given off-diagonal
// pairs (i<<32|j, i < j, sorted, unique). It reports false if the pattern is so
// densely meshed that one factorisation would take more than maxWork products.
func (m *matrix) analyse(n int, pairs []int64) bool {
	if m.n == n && m.order != nil && slices.Equal(m.pairs, pairs) {
		return true
	}
	work := 0
	m.n = n
	m.pairs = append(m.pairs[:0], pairs...)
	adjacent := neighbours(n, pairs)
	m.order = grow(m.order, n)
	m.place = grow(m.place, n)
	m.start = grow(m.start, n+1)
	for i := range m.place {
		m.place[i] = -1
	}
	m.index = m.index[:0]
	mark := make([]int32, n)
	for i := range mark {
		mark[i] = -1
	}
	// The least degree first, the lowest number among equals, which keeps
	// the order reproducible.
	since := 0
	for k := range n {
		best := int32(-1)
		if since > stopWork {
			if since = 0; m.stopped() {
				m.n, m.order = -1, nil
				return false
			}
		}
		for i := range n {
			since++
			if m.place[i] < 0 && (best < 0 || len(adjacent[i]) < len(adjacent[best])) {
				best = int32(i)
				if len(adjacent[i]) <= 1 {
					break
				}
			}
		}
		m.order[k], m.place[best] = best, int32(k)
		m.start[k] = int32(len(m.index))
		around := adjacent[best]
		since += len(around) * len(around)
		if work += len(around) * len(around); work > maxWork {
			m.n, m.order = -1, nil
			return false
		}
		m.index = append(m.index, around...)
		// The neighbours become a clique without best.
		for _, i := range around {
			keep := adjacent[i][:0]
			for _, j := range adjacent[i] {
				if j != best {
					keep = append(keep, j)
					mark[j] = i
				}
			}
			mark[i] = i
			for _, j := range around {
				if mark[j] != i {
					keep = append(keep, j)
				}
			}
			adjacent[i] = keep
		}
	}
	m.start[n] = int32(len(m.index))
	for k := range n {
		row := m.index[m.start[k]:m.start[k+1]]
		for t := range row {
			row[t] = m.place[row[t]]
		}
		slices.Sort(row)
	}
	m.val = grow(m.val, n+2*len(m.index))
	m.tmp = grow(m.tmp, n)
	return m.findTargets(since)
}

// findTargets lists where the products of each pivot's row go, unless they are too many to keep; false where it was stopped. since is
// the work since the last look whether it is to stop.
func (m *matrix) findTargets(since int) bool {
	m.target = m.target[:0]
	for k := range m.n {
		row := m.index[m.start[k]:m.start[k+1]]
		if since += len(row) * len(row); since > stopWork {
			if since = 0; m.stopped() {
				m.n, m.order = -1, nil
				return false
			}
		}
		if len(m.target)+len(row)*len(row) > maxTargets {
			m.target = m.target[:0]
			return true
		}
		for _, i := range row {
			for _, j := range row {
				m.target = append(m.target, m.at(i, j))
			}
		}
	}
	return true
}

// neighbours lists for each of n nodes those that a pair joins to it, in the order of the pairs.
func neighbours(n int, pairs []int64) [][]int32 {
	adjacent := make([][]int32, n)
	degree := make([]int32, n)
	for _, p := range pairs {
		degree[p>>32]++
		degree[p&math.MaxInt32]++
	}
	pool := make([]int32, 0, 2*len(pairs))
	for i := range adjacent {
		adjacent[i] = pool[len(pool):len(pool):(len(pool) + int(degree[i]))]
		pool = pool[:len(pool)+int(degree[i])]
	}
	for _, p := range pairs {
		i, j := int32(p>>32), int32(p&math.MaxInt32)
		adjacent[i] = append(adjacent[i], j)
		adjacent[j] = append(adjacent[j], i)
	}
	return adjacent
}

// at is the place in val of the entry (row pivot i, column pivot j), or −1.
func (m *matrix) at(i, j int32) int32 {
	switch {
	case i == j:
		return i
	case i < j:
		if t := m.find(i, j); t >= 0 {
			return int32(m.n) + t
		}
	default:
		if t := m.find(j, i); t >= 0 {
			return int32(m.n+len(m.index)) + t
		}
	}
	return -1
}

func (m *matrix) find(k, j int32) int32 {
	row := m.index[m.start[k]:m.start[k+1]]
	if t, ok := slices.BinarySearch(row, j); ok {
		return m.start[k] + int32(t)
	}
	return -1
}

// spot is the place in val of the entry of unknowns (row, col); −1 if either
// is negative.
func (m *matrix) spot(row, col int32) int32 {
	if row < 0 || col < 0 {
		return -1
	}
	return m.at(m.place[row], m.place[col])
}

func (m *matrix) clear() {
	clear(m.val)
}

func (m *matrix) stopped() bool { return m.stop != nil && m.stop() }

// factorise overwrites val with the factors. Pivots that vanish are replaced by
// floor, which leaves the unknown where it is.
func (m *matrix) factorise(floor float64) {
	n := m.n
	up, lo := m.val[n:n+len(m.index)], m.val[n+len(m.index):]
	next, since := 0, 0
	for k := range n {
		if since > stopWork {
			if since = 0; m.stopped() {
				return
			}
		}
		d := m.val[k]
		if !(math.Abs(d) > floor) {
			d = floor
			m.val[k] = d
		}
		s, e := m.start[k], m.start[k+1]
		inv := 1 / d
		width := int(e - s)
		since += width * width
		if len(m.target) > 0 {
			for t := s; t < e; t++ {
				l := lo[t] * inv
				lo[t] = l
				row := m.target[next : next+width]
				next += width
				if l == 0 {
					continue
				}
				u := up[s:e]
				for i, at := range row {
					m.val[at] -= l * u[i]
				}
			}
			continue
		}
		for t := s; t < e; t++ {
			l := lo[t] * inv
			lo[t] = l
			if l == 0 {
				continue
			}
			for v := s; v < e; v++ {
				m.val[m.at(m.index[t], m.index[v])] -= l * up[v]
			}
		}
	}
}

// solve replaces b, indexed by unknown, by the solution.
func (m *matrix) solve(b []float64) {
	n := m.n
	up, lo := m.val[n:n+len(m.index)], m.val[n+len(m.index):]
	y := m.tmp[:n]
	for k, i := range m.order {
		y[k] = b[i]
	}
	for k := range n {
		v := y[k]
		if v == 0 {
			continue
		}
		for t := m.start[k]; t < m.start[k+1]; t++ {
			y[m.index[t]] -= lo[t] * v
		}
	}
	for k := n - 1; k >= 0; k-- {
		v := y[k]
		for t := m.start[k]; t < m.start[k+1]; t++ {
			v -= up[t] * y[m.index[t]]
		}
		y[k] = v / m.val[k]
	}
	for k, i := range m.order {
		b[i] = y[k]
	}
}
