package fact

// islandIndex holds the island of each component; see [plant.Plant.Islands]. What one island is like says nothing of another: a fact
// that reads a whole drawing reads it island by island.
type islandIndex struct {
	of    []int32
	count int
}

func (w *World) islandIndex() *islandIndex {
	return w.islands.get(func() *islandIndex {
		x := &islandIndex{}
		x.of, x.count = w.Plant.Islands()
		return x
	})
}

// island is that of a component.
func (w *World) island(component int32) int32 { return w.islandIndex().of[component] }

// islandOfPort is that of a port's component.
func (w *World) islandOfPort(port int32) int32 { return w.island(w.Plant.Ports[port].Component) }

// byIsland makes a value for each island.
func byIsland[T any](w *World, first T) []T {
	out := make([]T, w.islandIndex().count)
	for i := range out {
		out[i] = first
	}
	return out
}
