package drawing

import "slices"

// arcRun is an edge between two knots in the direction of flow.
type arcRun struct {
	edge        int
	left, right int
	back        bool
}

// flowOrder finds an order of n knots in which few and light runs lead backwards: greedily from both ends, then by moving single
// knots while that helps. Source of the greedy part: Eades, Lin and Smyth, "A fast and effective heuristic for the feedback arc
// set problem", Information Processing Letters 47 (6), 1993.
func flowOrder(n int, runs []arcRun, weight func(arcRun) int) []int {
	out, in := make([]int, n), make([]int, n)
	adj := make([][]int, n)
	for i, r := range runs {
		w := weight(r)
		out[r.left] += w
		in[r.right] += w
		adj[r.left] = append(adj[r.left], i)
		adj[r.right] = append(adj[r.right], i)
	}
	gone := make([]bool, n)
	var head, tail []int
	take := func(v int) {
		gone[v] = true
		for _, i := range adj[v] {
			r := runs[i]
			w := weight(r)
			if r.left == v {
				in[r.right] -= w
			} else {
				out[r.left] -= w
			}
		}
	}
	for len(head)+len(tail) < n {
		best := -1
		for v := range n {
			if gone[v] {
				continue
			}
			switch {
			case out[v] == 0:
				tail = append(tail, v)
				take(v)
				best = -2
			case in[v] == 0:
				head = append(head, v)
				take(v)
				best = -2
			case best > -2 && (best < 0 || out[v]-in[v] > out[best]-in[best]):
				best = v
			}
			if best == -2 {
				break
			}
		}
		if best >= 0 {
			head = append(head, best)
			take(best)
		}
	}
	slices.Reverse(tail)
	order := append(head, tail...)
	place := make([]int, n)
	for p, v := range order {
		place[v] = p
	}
	for range 6 {
		moved := false
		for v := range n {
			if to := bestPlace(v, order, place, adj, runs, weight); to != place[v] {
				shift(order, place, v, to)
				moved = true
			}
		}
		if !moved {
			break
		}
	}
	return place
}

// bestPlace is where a knot causes the least weight of runs backwards; its own place wins ties.
func bestPlace(v int, order, place []int, adj [][]int, runs []arcRun, weight func(arcRun) int) int {
	gain := make(map[int]int, len(adj[v]))
	for _, i := range adj[v] {
		r := runs[i]
		if r.left == v {
			gain[place[r.right]] += weight(r) // behind its target v pays
		} else {
			gain[place[r.left]] -= weight(r)
		}
	}
	here := place[v]
	best, bestCost := here, 0
	cost := 0
	for p := here + 1; p < len(order); p++ {
		if cost += gain[p]; cost < bestCost {
			best, bestCost = p, cost
		}
	}
	cost = 0
	for p := here - 1; p >= 0; p-- {
		if cost -= gain[p]; cost < bestCost {
			best, bestCost = p, cost
		}
	}
	return best
}

func shift(order, place []int, v, to int) {
	from := place[v]
	step := 1
	if to < from {
		step = -1
	}
	for p := from; p != to; p += step {
		order[p] = order[p+step]
		place[order[p]] = p
	}
	order[to] = v
	place[v] = to
}

// backWeight is what it costs to draw a run against the reading direction: branches and second inlets are led back before main
// runs are.
func (g *layers) backWeight(r arcRun) int {
	e := &g.l.sh.Edges[r.edge]
	w := 4 * e.weight
	from, to := &g.l.sh.Items[e.From.Item], &g.l.sh.Items[e.To.Item]
	if n := from.Ports[e.From.Port].Name; n == "branch" {
		w /= 2
	}
	for _, fp := range to.form.ports {
		if repeatOf(to.Ports[e.To.Port].Name, fp.name) > 1 {
			w /= 2
		}
	}
	return w
}
