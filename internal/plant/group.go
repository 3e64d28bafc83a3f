package plant

// grouped lists numbers by the group that each belongs to, ascending within a group.
type grouped struct{ start, list []int32 }

func (g *grouped) of(group int32) []int32 { return g.list[g.start[group]:g.start[group+1]] }

// group puts the numbers below n into groups.
func group(n int, groups int32, of func(int32) int32) grouped {
	g := grouped{make([]int32, groups+1), make([]int32, n)}
	for i := range int32(n) {
		g.start[of(i)+1]++
	}
	for k := range groups {
		g.start[k+1] += g.start[k]
	}
	next := append([]int32(nil), g.start...)
	for i := range int32(n) {
		k := of(i)
		g.list[next[k]] = i
		next[k]++
	}
	return g
}
