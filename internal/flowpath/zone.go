package flowpath

// Zones divides the nodes into groups that open passages join. Zones are
// numbered 0..k-1 in ascending order of their lowest node, so the numbers do
// not depend on the order of the arcs.
type Zones struct {
	parent  Sets
	zone    []int32
	start   []int32
	members []int32
}

// Sweep joins the two ends of every arc that open marks (one mark for each
// arc), whatever its direction: marking one arc of a passage is enough. With
// every mark set the zones are the connected components of the diagram.
//
// Close to O(n+m), no allocation after the first sweep over a graph of that
// size.
func (z *Zones) Sweep(g *Graph, open []bool) error {
	z.begin(nil)
	if g == nil {
		return ErrNoWays
	}
	if err := g.checkArcBools(open); err != nil {
		return err
	}
	z.begin(g)
	for a, o := range open {
		// The second arc of an open passage would find both ends joined.
		if t := g.twinOf(int32(a)); o && (t > int32(a) || t == None || !open[t]) {
			z.parent.Join(g.from[a], g.to[a])
		}
	}
	z.number(g)
	return nil
}

// SweepOpen joins the two ends of every arc that is Open. Cost as Sweep.
func (z *Zones) SweepOpen(ways *Ways) error {
	z.begin(nil)
	if ways == nil {
		return ErrNoWays
	}
	g := ways.g
	z.begin(g)
	for a, c := range ways.cost {
		if t := g.twinOf(int32(a)); c == Open && (t > int32(a) || t == None || ways.cost[t] != Open) {
			z.parent.Join(g.from[a], g.to[a])
		}
	}
	z.number(g)
	return nil
}

func (z *Zones) begin(g *Graph) {
	z.parent = z.parent[:0]
	if g != nil {
		z.parent = lent(g, z.parent, int(g.nodes))
		z.parent.Part()
	}
	z.zone = z.zone[:0]
	z.start = z.start[:0]
	z.members = z.members[:0]
}

// number gives zone numbers in one ascending pass, in which each parent has its
// number before its children, and lists the members.
func (z *Zones) number(g *Graph) {
	n := len(z.parent)
	z.zone = lent(g, z.zone, n)
	count := int32(0)
	for v, p := range z.parent {
		if int(p) == v {
			z.zone[v] = count
			count++
		} else {
			z.zone[v] = z.zone[p]
		}
	}
	z.start = lent(g, z.start, int(count)+2)
	clear(z.start)
	for _, id := range z.zone {
		z.start[id+2]++
	}
	startsAhead(z.start)
	z.members = lent(g, z.members, n)
	for v, id := range z.zone {
		z.members[z.start[id+1]] = int32(v)
		z.start[id+1]++
	}
	z.start = z.start[:count+1]
}

// Count returns the number of zones.
func (z *Zones) Count() int { return max(len(z.start)-1, 0) }

// Zone returns the zone of a node, or None for a node outside the graph.
func (z *Zones) Zone(node int32) int32 { return at(z.zone, node) }

// IDs returns the zone of every node.
func (z *Zones) IDs() []int32 { return z.zone }

// Members returns the nodes of a zone in ascending order, nil for a zone that
// does not exist.
func (z *Zones) Members(zone int32) []int32 {
	if zone < 0 || int(zone) >= z.Count() {
		return nil
	}
	return z.members[z.start[zone]:z.start[zone+1]]
}
