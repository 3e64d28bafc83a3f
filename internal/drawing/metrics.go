package drawing

// Metrics tell how well a sheet reads, by structure.
type Metrics struct {
	// Bends of all lines and signals together.
	Bends int
	// Crossings of lines.
	Crossings int
	// Overlaps of labels with labels, symbols or lines, and of symbols with symbols.
	Overlaps int
	// Shared counts places where two lines run over each other.
	Shared int
	// Through counts lines that run through a symbol.
	Through int
	// OffPort counts line ends that do not meet their port from its side.
	OffPort int
	// Length of all lines in modules.
	Length int
	// Scale at which the diagram stands on the sheet, 1 or less.
	Scale float64
}

// measureSheet counts what Metrics names, but for the scale.
func measureSheet(sh *Sheet, labels []label) Metrics {
	var m Metrics
	use := map[Point][]seen{}
	for i := range sh.Edges {
		e := &sh.Edges[i]
		m.Bends += max(0, len(e.Path)-2)
		m.OffPort += boolInt(!sh.meets(e, false)) + boolInt(!sh.meets(e, true))
		through := map[int]bool{}
		walk(e.Path, func(at Point, dir Side, inner bool) {
			if !inner {
				return
			}
			m.Length++
			use[at] = append(use[at], seen{i, uint8(1<<dir | 1<<dir.opposite())})
			for j := range sh.Items {
				it := &sh.Items[j]
				if at.X >= it.At.X-it.Extent.Left && at.X <= it.At.X+it.Extent.Right && at.Y >= it.At.Y-it.Extent.Up && at.Y <= it.At.Y+it.Extent.Down {
					through[j] = true
				}
			}
		})
		m.Through += len(through)
		for k := 1; k+1 < len(e.Path); k++ {
			// A corner touches all that passes it.
			use[e.Path[k]] = append(use[e.Path[k]], seen{i, 15})
		}
	}
	for _, list := range use {
		for a := range list {
			for b := a + 1; b < len(list); b++ {
				if list[a].edge == list[b].edge {
					continue
				}
				if list[a].dirs&list[b].dirs != 0 {
					m.Shared++
				} else {
					m.Crossings++
				}
			}
		}
	}
	for i := range sh.Items {
		for j := i + 1; j < len(sh.Items); j++ {
			if bodyOf(&sh.Items[i]).grown(-0.1).overlaps(bodyOf(&sh.Items[j]).grown(-0.1)) {
				m.Overlaps++
			}
		}
	}
	for i := range labels {
		a := labels[i].box
		for j := i + 1; j < len(labels); j++ {
			m.Overlaps += boolInt(a.overlaps(labels[j].box))
		}
		if labels[i].marker > 0 {
			continue
		}
		for j := range sh.Items {
			m.Overlaps += boolInt(a.overlaps(bodyOf(&sh.Items[j])))
		}
		for j := range sh.Edges {
			p := sh.Edges[j].Path
			for k := 0; k+1 < len(p); k++ {
				m.Overlaps += boolInt(a.overlaps(segRect(p[k], p[k+1]).grown(0.05)))
			}
		}
	}
	return m
}

type seen struct {
	edge int
	dirs uint8
}

// meets says whether the edge ends at its port and comes to it from its side.
func (sh *Sheet) meets(e *Edge, to bool) bool {
	n := len(e.Path)
	if n < 2 {
		return false
	}
	end, a, b := e.From, e.Path[0], e.Path[1]
	if to {
		end, a, b = e.To, e.Path[n-1], e.Path[n-2]
	}
	it := &sh.Items[end.Item]
	if a != it.PortAt(end.Port) {
		return false
	}
	return it.Ports[end.Port].Free || a == b || direction(a, b) == sh.sideOf(e, to)
}
