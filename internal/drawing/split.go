package drawing

import (
	"sort"
	"strconv"
)

// split cuts a plan into sheets: one if it fits, else by train, and what has none or is still too large by what is joined.
func (p *plan) split(capacity int) []*Sheet {
	groups, names := p.groups(capacity)
	home := make([]int, len(p.items))
	for g, list := range groups {
		for _, i := range list {
			home[i] = g
		}
	}
	sheets := make([]*Sheet, len(groups))
	connectors := make([]map[string]int, len(groups))
	index := make([]int, len(p.items))
	for g, list := range groups {
		sh := &Sheet{Number: g + 1, Of: len(groups), Name: names[g]}
		for _, i := range list {
			index[i] = len(sh.Items)
			sh.Items = append(sh.Items, p.items[i])
		}
		sheets[g], connectors[g] = sh, map[string]int{}
	}
	for i := range p.edges {
		e := p.edges[i]
		a, b := home[e.From.Item], home[e.To.Item]
		from, to := e.From.Item, e.To.Item
		e.From.Item, e.To.Item = index[from], index[to]
		if a == b {
			sheets[a].Edges = append(sheets[a].Edges, e)
			continue
		}
		out, in := e, e
		out.To = sheets[a].connector(connectors[a], &e, flowSink, "to sheet "+strconv.Itoa(b+1)+", "+p.items[to].Tag)
		in.From = sheets[b].connector(connectors[b], &e, flowSource, "from sheet "+strconv.Itoa(a+1)+", "+p.items[from].Tag)
		sheets[a].Edges = append(sheets[a].Edges, out)
		sheets[b].Edges = append(sheets[b].Edges, in)
	}
	return sheets
}

// connector adds an off-sheet connector and returns its port.
func (sh *Sheet) connector(used map[string]int, e *Edge, flow flowRole, title string) End {
	tag := e.Line
	if e.Signal {
		tag = "signal"
	}
	// A line that leaves the sheet more than once gets a number; tags hold no middle dot.
	used[tag]++
	if n := used[tag]; n > 1 {
		tag += "·" + strconv.Itoa(n)
	}
	it := Item{Tag: tag, Kind: offSheet.kind, Title: title, Extent: offSheet.extent, form: &offSheet, flow: flow}
	it.setPorts([]string{"process"})
	sh.Items = append(sh.Items, it)
	return End{Item: len(sh.Items) - 1}
}

// groups shares the items out to sheets.
func (p *plan) groups(capacity int) (groups [][]int, names []string) {
	all := make([]int, len(p.items))
	for i := range all {
		all[i] = i
	}
	if len(all) <= capacity {
		return [][]int{all}, []string{""}
	}
	adj := make([][]int, len(p.items))
	for _, e := range p.edges {
		adj[e.From.Item] = append(adj[e.From.Item], e.To.Item)
		adj[e.To.Item] = append(adj[e.To.Item], e.From.Item)
	}
	byTrain := map[string][]int{}
	var trains []string
	adopted := p.adopt(adj, capacity)
	for _, i := range all {
		t := adopted[i]
		if byTrain[t] == nil {
			trains = append(trains, t)
		}
		byTrain[t] = append(byTrain[t], i)
	}
	for _, t := range trains {
		list := byTrain[t]
		if t != "" && len(list) <= capacity {
			groups, names = append(groups, list), append(names, t)
			continue
		}
		for _, part := range p.clusters(list, adj, capacity) {
			groups, names = append(groups, part), append(names, t)
		}
	}
	return groups, names
}

// adopt gives the train of each item. What states none, as a boundary, goes with the only train that it is joined to, while that
// has room.
func (p *plan) adopt(adj [][]int, capacity int) []string {
	train := make([]string, len(p.items))
	size := map[string]int{}
	for i := range p.items {
		train[i] = p.items[i].train
		size[train[i]]++
	}
	done := make([]bool, len(p.items))
	for i := range p.items {
		if train[i] != "" || done[i] {
			continue
		}
		part := p.reach(i, adj, func(j int) bool { return p.items[j].train == "" })
		only, several := "", false
		for _, j := range part {
			done[j] = true
			for _, k := range adj[j] {
				if t := p.items[k].train; t != "" {
					several = several || only != "" && only != t
					only = t
				}
			}
		}
		if only != "" && !several && size[only]+len(part) <= capacity {
			size[only] += len(part)
			for _, j := range part {
				train[j] = only
			}
		}
	}
	return train
}

// clusters cuts a list of items into parts of at most capacity items that hold together; small parts share a sheet.
func (p *plan) clusters(list []int, adj [][]int, capacity int) [][]int {
	const out, open = -2, -1
	part := map[int]int{}
	for _, i := range list {
		part[i] = open
	}
	of := func(i int) int {
		if q, ok := part[i]; ok {
			return q
		}
		return out
	}
	var parts [][]int
	for _, first := range list {
		if of(first) != open {
			continue
		}
		whole := p.reach(first, adj, func(i int) bool { return of(i) == open })
		share := len(whole)
		if share > capacity {
			sheets := (share + capacity - 1) / capacity
			share = min(capacity, (share+sheets-1)/sheets+2)
		}
		grown := p.grow(first, adj, share, func(i int) bool { return of(i) == open })
		for _, i := range grown {
			part[i] = len(parts)
		}
		parts = append(parts, grown)
	}
	// Fragments join the neighbour with which they share most lines, if it has room, else the last part with room.
	for again := true; again; {
		again = false
		for q := range parts {
			if len(parts[q]) == 0 || len(parts[q]) > capacity/3 {
				continue
			}
			links := make([]int, len(parts))
			for _, i := range parts[q] {
				for _, j := range adj[i] {
					if r := of(j); r >= 0 && r != q {
						links[r]++
					}
				}
			}
			best := -1
			for r := range parts {
				if r == q || len(parts[r]) == 0 || len(parts[r])+len(parts[q]) > capacity {
					continue
				}
				if best < 0 || links[r] > links[best] {
					best = r
				}
			}
			if best < 0 {
				continue
			}
			for _, i := range parts[q] {
				part[i] = best
			}
			parts[best] = append(parts[best], parts[q]...)
			parts[q] = nil
			again = true
		}
	}
	var done [][]int
	for _, q := range parts {
		if len(q) > 0 {
			sort.Ints(q)
			done = append(done, q)
		}
	}
	sort.SliceStable(done, func(a, b int) bool { return done[a][0] < done[b][0] })
	return done
}

func (p *plan) reach(first int, adj [][]int, ok func(int) bool) []int {
	seen := map[int]bool{first: true}
	list := []int{first}
	for k := 0; k < len(list); k++ {
		for _, j := range adj[list[k]] {
			if !seen[j] && ok(j) {
				seen[j] = true
				list = append(list, j)
			}
		}
	}
	return list
}

// grow collects up to n items from a first one, always the one that leaves the fewest loose ends.
func (p *plan) grow(first int, adj [][]int, n int, ok func(int) bool) []int {
	in := map[int]bool{first: true}
	list := []int{first}
	var frontier []int
	queued := map[int]bool{first: true}
	push := func(i int) {
		for _, j := range adj[i] {
			if !queued[j] && ok(j) {
				queued[j] = true
				frontier = append(frontier, j)
			}
		}
	}
	push(first)
	for len(list) < n && len(frontier) > 0 {
		best, bestRate := 0, -1<<30
		for k, j := range frontier {
			rate := 0
			for _, x := range adj[j] {
				if in[x] {
					rate += 2
				} else if ok(x) {
					rate--
				}
			}
			if rate > bestRate {
				best, bestRate = k, rate
			}
		}
		j := frontier[best]
		frontier = append(frontier[:best], frontier[best+1:]...)
		in[j] = true
		list = append(list, j)
		push(j)
	}
	return list
}
