package operate

import (
	"slices"

	"github.com/skidrule/skidrule/internal/flowpath"
	"github.com/skidrule/skidrule/internal/network"
)

// plan is how a scenario falls into parts. It is the same whatever end an uncertain datum stands at.
type plan struct {
	part    []int32
	lacks   [][]Datum // of each part, with those of the parts that it depends on
	depends [][]int32 // on which parts each depends
	groups  [][]int32
	members []members
	place   []int32 // knot → its place in its group
	in      []int32 // knot → group, -1 for what lacks data
	dead    []bool  // links through which nothing flows and whose law does not matter
}

// divide finds the parts of a wiring.
func (w *wiring) divide() *plan {
	p := &plan{dead: w.prune()}
	p.part = w.parts()
	p.lacks, p.depends = w.lacking(p.part)
	p.groups = groups(p.depends, p.lacks)
	in := make([]int32, len(w.knots)) // part → group, -1 for what lacks data
	for i := range in {
		in[i] = -1
	}
	for i, g := range p.groups {
		for _, q := range g {
			in[q] = int32(i)
		}
	}
	p.members = make([]members, len(p.groups))
	p.place, p.in = make([]int32, len(w.knots)), make([]int32, len(w.knots))
	for k := range w.knots {
		g := in[p.part[k]]
		if p.in[k] = g; g >= 0 {
			p.place[k] = int32(len(p.members[g].knots))
			p.members[g].knots = append(p.members[g].knots, int32(k))
		}
	}
	for i := range w.links {
		l := &w.links[i]
		from, to := in[p.part[l.from]], in[p.part[l.to]]
		switch {
		case l.blocked:
			for _, g := range [2]int32{from, to} {
				if g >= 0 {
					p.members[g].closed = true
				}
			}
		case from >= 0 && from == to:
			p.members[from].links = append(p.members[from].links, i)
		}
	}
	return p
}

// members are the knots and links of a group.
type members struct {
	knots  []int32
	links  []int
	closed bool // something closed stands at its edge or inside
}

// rests tells whether anything of a group rests on the varied datum.
func (w *wiring) rests(m *members) bool {
	has := func(list []Datum) bool { return slices.Contains(list, w.v.datum) }
	var phases [3]bool
	for _, k := range m.knots {
		if has(w.knots[k].used) {
			return true
		}
		phases[w.knots[k].phase] = true
	}
	if phases[network.Liquid] && has(w.fluidUsed[fluidWater]) || phases[network.Gas] && has(w.fluidUsed[fluidGas]) {
		return len(m.links) > 0
	}
	for _, i := range m.links {
		if has(w.links[i].used) {
			return true
		}
	}
	return false
}

// prune finds the branches that lead nowhere. Nothing flows there, so that what they lack of losses does not matter; it marks the
// links whose law it put aside.
func (w *wiring) prune() []bool {
	degree := make([]int, len(w.knots))
	held := make([]bool, len(w.knots))
	for k := range w.knots {
		held[k] = w.knots[k].fixed || w.knots[k].inflow != 0
	}
	at := make([][]int, len(w.knots))
	for i := range w.links {
		l := &w.links[i]
		if l.blocked {
			continue
		}
		if l.vessel || l.suction >= 0 {
			held[l.from], held[l.to] = true, true
			if l.suction >= 0 {
				held[l.suction] = true
			}
			continue
		}
		degree[l.from]++
		degree[l.to]++
		at[l.from], at[l.to] = append(at[l.from], i), append(at[l.to], i)
	}
	var queue []int32
	for k := range w.knots {
		if degree[k] == 1 && !held[k] {
			queue = append(queue, int32(k))
		}
	}
	dead, blank := make([]bool, len(w.links)), make([]bool, len(w.links))
	for len(queue) > 0 {
		k := queue[len(queue)-1]
		queue = queue[:len(queue)-1]
		for _, i := range at[k] {
			l := &w.links[i]
			if dead[i] || l.switches {
				continue
			}
			switch l.law.(type) {
			case network.Pump, network.Blower:
				continue
			}
			dead[i] = true
			if len(l.missing) > 0 {
				l.missing, l.law, blank[i] = nil, placeholder, true
			}
			other := l.from + l.to - k
			if degree[other]--; degree[other] == 1 && !held[other] {
				queue = append(queue, other)
			}
		}
	}
	return blank
}

// parts numbers the parts between which nothing can pass but by vessels and injectors.
func (w *wiring) parts() []int32 {
	sets := flowpath.NewSets(len(w.knots))
	for i := range w.links {
		l := &w.links[i]
		if l.blocked || l.vessel || isVent(l) {
			continue
		}
		sets.Join(l.from, l.to)
	}
	out := make([]int32, len(w.knots))
	for i := range out {
		out[i] = sets.Root(int32(i))
	}
	return out
}

// isVent tells whether a link is a float vent on a gas space whose water sets the pressure.
func isVent(l *link) bool {
	_, ok := l.law.(network.FloatVent)
	return ok
}

// lacking gives what each part lacks, with what the parts lack that it depends on, and the parts on which each depends.
func (w *wiring) lacking(part []int32) (lacks [][]Datum, depends [][]int32) {
	n := len(w.knots)
	lacks, depends = make([][]Datum, n), make([][]int32, n)
	injects := make([]bool, n)
	empty := make([]bool, n)
	for i := range empty {
		empty[i] = true
	}
	for i := range w.links {
		l := &w.links[i]
		if l.blocked {
			continue
		}
		p := part[l.from]
		if isVent(l) {
			// The water decides what stands before a float vent; what is behind it depends on that and not the other way round.
			q := part[l.to]
			lacks[q], empty[q] = joinData(lacks[q], l.missing), false
			depends[q] = append(depends[q], p)
			continue
		}
		empty[p] = false
		lacks[p] = joinData(lacks[p], l.missing)
		if l.suction >= 0 {
			q := part[l.suction]
			depends[p], depends[q] = append(depends[p], q), append(depends[q], p)
			injects[p] = true
		}
		if v, ok := l.law.(network.Vessel); ok && l.vessel {
			q := part[l.to]
			if v.Sets == network.LiquidSets {
				depends[q] = append(depends[q], p)
			} else {
				depends[p] = append(depends[p], q)
			}
		}
	}
	for k := range w.knots {
		n := &w.knots[k]
		p := part[k]
		lacks[p] = joinData(lacks[p], n.missing)
		if n.phase == network.Liquid && !n.zKnown && (n.needsZ || injects[p]) {
			lacks[p] = joinData(lacks[p], []Datum{n.zDatum})
		}
		if empty[p] {
			continue
		}
		switch n.phase {
		case network.Liquid:
			lacks[p] = joinData(lacks[p], w.fluidLacks[fluidWater])
		case network.Gas:
			lacks[p] = joinData(lacks[p], w.fluidLacks[fluidGas])
		}
	}
	spread(lacks, depends)
	return lacks, depends
}

// spread adds to the data of every part those of the parts on which it depends, and of those on which these depend.
func spread(data [][]Datum, depends [][]int32) {
	for changed := true; changed; {
		changed = false
		for p := range depends {
			for _, q := range depends[p] {
				if u := joinData(data[p], data[q]); len(u) > len(data[p]) {
					data[p], changed = u, true
				}
			}
		}
	}
}

// groups gathers the parts that lack nothing and hang together.
func groups(depends [][]int32, lacks [][]Datum) [][]int32 {
	n := len(depends)
	at := make([][]int32, n)
	for p := range depends {
		for _, q := range depends[p] {
			if len(lacks[p]) == 0 && len(lacks[q]) == 0 {
				at[p], at[q] = append(at[p], q), append(at[q], int32(p))
			}
		}
	}
	seen := make([]bool, n)
	var out [][]int32
	for p := range depends {
		if seen[p] || len(lacks[p]) > 0 {
			continue
		}
		g, stack := []int32(nil), []int32{int32(p)}
		seen[p] = true
		for len(stack) > 0 {
			q := stack[len(stack)-1]
			stack = stack[:len(stack)-1]
			g = append(g, q)
			for _, r := range at[q] {
				if !seen[r] {
					seen[r] = true
					stack = append(stack, r)
				}
			}
		}
		out = append(out, g)
	}
	return out
}
