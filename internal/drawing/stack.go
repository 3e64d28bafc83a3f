package drawing

import (
	"math"
	"slices"
	"strings"
)

// layout is the placement of one sheet: every item stands by itself or hangs on another.
type layout struct {
	sh    *Sheet
	ends  [][]int // edges at each item
	owner []int   // item that an item hangs on, -1 for none
	rel   []Point // place relative to the owner
	hangs [][]int // items that hang on an item
	slots []uint8 // sides of a point that are taken by what hangs there
	upon  []bool  // edges inside a block
	room  []Extent
}

func newLayout(sh *Sheet) *layout {
	n := len(sh.Items)
	l := &layout{sh: sh, ends: make([][]int, n), owner: make([]int, n), rel: make([]Point, n), hangs: make([][]int, n),
		slots: make([]uint8, n), upon: make([]bool, len(sh.Edges)), room: make([]Extent, n)}
	for i := range l.owner {
		l.owner[i] = -1
	}
	for i := range sh.Edges {
		e := &sh.Edges[i]
		l.ends[e.From.Item] = append(l.ends[e.From.Item], i)
		if e.To.Item != e.From.Item {
			l.ends[e.To.Item] = append(l.ends[e.To.Item], i)
		}
	}
	return l
}

// across is the end of edge e that is not at item i, and the end that is.
func (l *layout) across(e, i int) (far, near End) {
	ed := &l.sh.Edges[e]
	if ed.From.Item == i {
		return ed.To, ed.From
	}
	return ed.From, ed.To
}

const (
	maxHanging = 4 // items in a chain that hangs on something
	hangGap    = 2 // modules between a port and what hangs there
)

// hang finds the chains that end in a drain, a vent, an instrument or the like, and lets each hang on what it serves.
func (l *layout) hang() {
	for i := range l.sh.Items {
		if len(l.ends[i]) != 1 || !endsChain(&l.sh.Items[i]) {
			continue
		}
		chain, edges, owner := l.chainFrom(i)
		if owner >= 0 && l.owner[i] < 0 {
			l.hangChain(owner, chain, edges)
		}
	}
	for i := range l.sh.Items {
		if l.sh.Items[i].form.class != equipment || l.owner[i] >= 0 {
			continue
		}
		for _, e := range l.ends[i] {
			l.hangFirst(i, e)
		}
	}
}

func endsChain(it *Item) bool {
	switch it.form.class {
	case bubble, terminal, flag, upright, loose:
		return true
	}
	return false
}

// chainFrom walks from a leaf through what may hang to the first item that may not.
func (l *layout) chainFrom(leaf int) (chain, edges []int, owner int) {
	cur, e := leaf, l.ends[leaf][0]
	for {
		chain = append(chain, cur)
		edges = append(edges, e)
		far, _ := l.across(e, cur)
		next := &l.sh.Items[far.Item]
		hangs := next.form.class == inline || next.form.class == upright
		if !hangs || len(l.ends[far.Item]) != 2 || l.owner[far.Item] >= 0 {
			break
		}
		if len(chain) == maxHanging || far.Item == leaf {
			return nil, nil, -1
		}
		cur = far.Item
		if l.ends[cur][0] == e {
			e = l.ends[cur][1]
		} else {
			e = l.ends[cur][0]
		}
	}
	far, _ := l.across(e, cur)
	if len(l.ends[far.Item]) < 2 || l.sh.Items[far.Item].form.class == inline && len(l.ends[far.Item]) < 3 {
		return nil, nil, -1
	}
	slices.Reverse(chain)
	slices.Reverse(edges)
	return chain, edges, far.Item
}

// hangChain hangs a chain, first item first, on an owner if it can stand there.
func (l *layout) hangChain(owner int, chain, edges []int) {
	o := &l.sh.Items[owner]
	if l.owner[owner] >= 0 {
		return
	}
	_, near := l.across(edges[0], owner)
	port := &o.Ports[near.Port]
	leaf := &l.sh.Items[chain[len(chain)-1]]
	var try []Side
	switch {
	case port.Free:
		down := leaf.Kind == "drain_point" || leaf.Kind == "sample_point"
		for _, c := range chain {
			down = down || l.sh.Items[c].Kind == "float_drain"
		}
		try = []Side{North, South}
		if down {
			try = []Side{South}
		} else if leaf.Kind == "atmosphere_vent" {
			try = []Side{North}
		}
		if leaf.form.class == flag && leaf.flow != flowUnknown && l.mainEdges(owner) < 4 && len(chain) > 0 {
			// A boundary at a tee is an end of the run, not something that hangs there.
			return
		}
	case port.Side.vertical():
		try = []Side{port.Side}
	case leaf.form.class == bubble || leaf.Kind == "sample_point" || leaf.form.class == loose:
		if l.sh.Items[owner].form.class != equipment {
			return
		}
		try = []Side{port.Side}
	}
	for _, side := range try {
		if port.Free && l.slots[owner]&(1<<side) != 0 {
			continue
		}
		at, turns, ok := l.stack(owner, near.Port, side, chain, edges)
		if !ok || l.hitsSibling(owner, chain, at, turns) {
			continue
		}
		l.settle(owner, near, side, chain, edges, at, turns)
		return
	}
}

// mainEdges counts the edges of an item that do not hang on it.
func (l *layout) mainEdges(i int) int {
	n := 0
	for _, e := range l.ends[i] {
		if !l.upon[e] {
			n++
		}
	}
	return n
}

func (l *layout) settle(owner int, near End, side Side, chain, edges []int, at []Point, turns []Turn) {
	if l.sh.Items[owner].Ports[near.Port].Free {
		l.slots[owner] |= 1 << side
		l.setFreeSide(edges[0], owner, side)
	}
	for k, c := range chain {
		l.owner[c], l.rel[c] = owner, at[k]
		l.sh.Items[c].turn(turns[k])
		l.upon[edges[k]] = true
		l.hangs[owner] = append(l.hangs[owner], c)
	}
}

func (l *layout) setFreeSide(e, item int, side Side) {
	ed := &l.sh.Edges[e]
	if ed.From.Item == item {
		ed.fromSide = side
	}
	if ed.To.Item == item {
		ed.toSide = side
	}
}

// stack places a chain from a port of the owner in a direction: places relative to the owner, and turns.
func (l *layout) stack(owner, port int, side Side, chain, edges []int) ([]Point, []Turn, bool) {
	cur := l.sh.Items[owner].Ports[port].Offset
	at := make([]Point, len(chain))
	turns := make([]Turn, len(chain))
	for k, c := range chain {
		it := &l.sh.Items[c]
		_, entry := l.across(edges[k], c)
		p := it.basePort(entry.Port)
		t, ok := turnFor(it, p, side)
		if !ok {
			// Behind an angle valve a vent stands up and a drain hangs down from the elbow.
			if side.vertical() || it.form.class != terminal || it.Kind == "cap" {
				return nil, nil, false
			}
			out := side.step()
			cur = Point{cur.X + 3*out.X, cur.Y}
			side, t = p.Side.opposite(), TurnEast
		}
		off := t.point(p.Offset)
		step := side.step()
		at[k] = Point{cur.X + hangGap*step.X - off.X, cur.Y + hangGap*step.Y - off.Y}
		turns[k] = t
		if k+1 < len(chain) {
			_, exit := l.across(edges[k+1], c)
			q := it.basePort(exit.Port)
			off := t.point(q.Offset)
			cur, side = Point{at[k].X + off.X, at[k].Y + off.Y}, t.side(q.Side)
		}
	}
	return at, turns, true
}

// hitsSibling says whether a chain would stand on something that hangs on the same owner already.
func (l *layout) hitsSibling(owner int, chain []int, at []Point, turns []Turn) bool {
	for k, c := range chain {
		a := Item{At: at[k], Extent: l.sh.Items[c].Extent.turned(l.sh.Items[c].Turn.undo()).turned(turns[k])}
		for _, s := range l.hangs[owner] {
			b := Item{At: l.rel[s], Extent: l.sh.Items[s].Extent}
			if near(&a, &b, 0) {
				return true
			}
		}
	}
	return false
}

// turnFor finds the turn in which port p of an item that points east looks against the direction of the chain.
func turnFor(it *Item, p Port, side Side) (Turn, bool) {
	turns := []Turn{TurnEast, TurnSouth, TurnWest, TurnNorth}
	switch it.form.class {
	case upright, equipment:
		turns = turns[:1]
	case terminal:
		if it.Kind != "cap" {
			turns = turns[:1]
		}
	}
	for _, t := range turns {
		if t.side(p.Side) == side.opposite() {
			return t, true
		}
	}
	return 0, false
}

// hangFirst lets the first item behind a top or bottom port of equipment stand right there, as a float vent on a vessel, though
// the line goes on from it.
func (l *layout) hangFirst(owner, e int) {
	if l.upon[e] {
		return
	}
	far, near := l.across(e, owner)
	side := l.sh.Items[owner].Ports[near.Port].Side
	next := &l.sh.Items[far.Item]
	if !side.vertical() || l.owner[far.Item] >= 0 || len(l.ends[far.Item]) != 2 || far.Item == owner {
		return
	}
	if next.form.class != upright && (next.form.class != inline || !mayStand(next, side, l.sh.Edges[e].From.Item == owner)) {
		return
	}
	if len(l.hangs[far.Item]) > 0 {
		return
	}
	at, turns, ok := l.stack(owner, near.Port, side, []int{far.Item}, []int{e})
	if ok && !l.hitsSibling(owner, []int{far.Item}, at, turns) {
		l.settle(owner, near, side, []int{far.Item}, []int{e}, at, turns)
	}
}

// mayStand says whether an item in a line may be turned upright: a check valve only as its stated mounting has it.
func mayStand(it *Item, side Side, out bool) bool {
	m := it.component.GetCheckValve().GetMounting()
	if it.component.GetCheckValve() == nil {
		return out && strings.HasSuffix(it.Kind, "valve")
	}
	up := (side == North) == out
	return m == 1 && up || m == 2 && !up
}

// measure reckons the room of each block: its items and their labels, from the centre of the one that it hangs on.
func (l *layout) measure() {
	for i := range l.sh.Items {
		if l.owner[i] >= 0 {
			continue
		}
		room := labelled(&l.sh.Items[i])
		for _, c := range l.hangs[i] {
			x, at := labelled(&l.sh.Items[c]), l.rel[c]
			room.Up = max(room.Up, x.Up-at.Y)
			room.Down = max(room.Down, x.Down+at.Y)
			room.Left = max(room.Left, x.Left-at.X)
			room.Right = max(room.Right, x.Right+at.X)
		}
		l.room[i] = room
	}
}

// labelled is the extent of an item with its tag.
func labelled(it *Item) Extent {
	x := it.Extent
	rows := labelRows(it)
	if len(rows) == 0 {
		return x
	}
	w, h := labelSize(rows)
	wide, high := int(math.Ceil(w/module)), int(math.Ceil((h+0.8)/module))
	if beside(it) {
		x.Right += wide + 1
		return x
	}
	x.Down += high
	// The tag may reach into half of the gap to the next symbol.
	half := (wide+1)/2 - 1
	x.Left, x.Right = max(x.Left, half), max(x.Right, half)
	return x
}

// beside says that the tag of an item stands to its right because its lines leave upwards and downwards.
func beside(it *Item) bool {
	for _, p := range it.Ports {
		if p.Side == South && !p.Free {
			return it.form.class != equipment
		}
	}
	switch it.form.class {
	case terminal, upright:
		return true
	}
	return false
}
