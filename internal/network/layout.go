package network

import "slices"

// layout is the matrix of networks that are joined in the same way, with the
// places of their elements in it.
type layout struct {
	key    []int64
	matrix matrix
	edges  []edgePlaces
	lines  []carrier
	jets   []outlet
	freed  []release
}

type edgePlaces struct {
	pos   [4]int32
	extra [2]int32
}

// mostLayouts is how many layouts a workspace keeps: a plant falls into few
// parts, which are solved again and again with other numbers.
const mostLayouts = 8

// mostKept is the size of a matrix, entries, above which its layout is not kept.
const mostKept = 1 << 18

// number gives every node its equation and unknown and finds or makes the
// layout of its matrix.
func (s *solver) number() error {
	n := len(s.p.Nodes)
	s.row, s.col = grow(s.row, n), grow(s.col, n)
	s.nvar = 0
	for i := range s.p.Nodes {
		s.row[i], s.col[i] = -1, -1
		if s.p.Nodes[i].Pressure == nil && s.tied[i] < 0 {
			s.row[i], s.col[i] = int32(s.nvar), int32(s.nvar)
			s.nvar++
		}
	}
	for i, m := range s.tied {
		if m >= 0 {
			s.col[i] = s.col[m]
		}
	}
	s.nvar = s.carriers.number(s.nvar)
	l := s.known()
	if l == nil {
		var err error
		if l, err = s.layout(); err != nil {
			return err
		}
	}
	s.matrix = &l.matrix
	s.matrix.stop = s.stop
	for i := range s.edges {
		s.edges[i].pos, s.edges[i].extra = l.edges[i].pos, l.edges[i].extra
	}
	c := &s.carriers
	c.lines, c.jets, c.freed = append(c.lines[:0], l.lines...), append(c.jets[:0], l.jets...), append(c.freed[:0], l.freed...)
	s.rhs = grow(s.rhs, s.nvar)
	s.pressure, s.balance = grow(s.pressure, n), grow(s.balance, n)
	return nil
}

// known finds the layout of a network joined in the same way.
func (s *solver) known() *layout {
	k := append(s.key[:0], int64(len(s.p.Nodes)), int64(len(s.vessels)))
	for i := range s.row {
		k = append(k, int64(s.row[i])<<32|int64(uint32(s.col[i])))
	}
	for i := range s.vessels {
		v := &s.vessels[i]
		k = append(k, int64(v.liquid)<<32|int64(v.gas), int64(v.sets))
	}
	for i := range s.edges {
		e := &s.edges[i]
		kind := int64(e.control) << 2
		if e.gas {
			kind |= 1
		}
		if e.blocked {
			kind |= 2
		}
		k = append(k, int64(e.a)<<32|int64(uint32(e.b)), kind)
		if e.form == formSuction {
			k = append(k, int64(e.in)<<32|int64(e.out))
		}
	}
	s.key = k
	for i, l := range s.layouts {
		if slices.Equal(l.key, k) {
			copy(s.layouts[1:i+1], s.layouts[:i])
			s.layouts[0] = l
			return l
		}
	}
	return nil
}

// layout makes a new layout and keeps it.
func (s *solver) layout() (*layout, error) {
	s.pairs = s.pairs[:0]
	add := func(r, c int32) {
		if r >= 0 && c >= 0 && r != c {
			if r > c {
				r, c = c, r
			}
			s.pairs = append(s.pairs, int64(r)<<32|int64(c))
		}
	}
	for i := range s.edges {
		e := &s.edges[i]
		if e.b >= 0 {
			add(s.row[e.a], s.col[e.b])
			add(s.row[e.b], s.col[e.a])
			continue
		}
		add(s.row[e.a], s.col[e.in])
		add(s.row[e.a], s.col[e.out])
	}
	s.carriers.pattern(s, add)
	slices.Sort(s.pairs)
	s.pairs = slices.Compact(s.pairs)
	m := &matrix{stop: s.stop}
	if !m.analyse(s.nvar, s.pairs) {
		return nil, &BadInputError{What: "number of loops", Value: float64(len(s.pairs) - s.nvar),
			Want: "fewer: the network is meshed too densely to be solved"}
	}
	s.matrix = m
	l := &layout{key: slices.Clone(s.key), edges: make([]edgePlaces, len(s.edges))}
	for i := range s.edges {
		e := &s.edges[i]
		if e.b >= 0 {
			l.edges[i].pos = [4]int32{m.spot(s.row[e.a], s.col[e.a]), m.spot(s.row[e.a], s.col[e.b]),
				m.spot(s.row[e.b], s.col[e.a]), m.spot(s.row[e.b], s.col[e.b])}
			continue
		}
		l.edges[i].pos = [4]int32{m.spot(s.row[e.a], s.col[e.a]), -1, -1, -1}
		l.edges[i].extra = [2]int32{m.spot(s.row[e.a], s.col[e.in]), m.spot(s.row[e.a], s.col[e.out])}
	}
	s.carriers.places(s)
	c := &s.carriers
	l.lines, l.jets, l.freed = slices.Clone(c.lines), slices.Clone(c.jets), slices.Clone(c.freed)
	m.stop = nil
	l.matrix = *m
	if len(m.val) <= mostKept && len(m.target) <= mostKept {
		if len(s.layouts) < mostLayouts {
			s.layouts = append(s.layouts, nil)
		}
		copy(s.layouts[1:], s.layouts)
		s.layouts[0] = l
	}
	return l, nil
}
