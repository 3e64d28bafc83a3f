package plant

import (
	"cmp"
	"slices"
	"strings"

	"github.com/skidrule/skidrule/internal/flowpath"
)

// order is the sequence in which components and lines are resolved. It follows from the tags and from what the lines join,
// never from the order of the design, so that no answer depends on that, not even where two things are equal in every other
// way. What is joined stands together, which the sweeps over large plants live on: parts of the drawing come in order of
// their least tag, and within a part its components in order of theirs.
type order struct {
	components, lines []int32 // places in the design
	// stops holds the place in the design of the component of each route stop, line by line in the order of the design; -1
	// where the tag is not there.
	stops     []int32
	stopStart []int32 // of each line of the design, its first entry in stops
}

// arrange finds the order. tags gets the place in the design of the first component of each tag.
func (r *resolver) arrange(tags map[string]int32) *order {
	design := r.plant.Design
	components, lines := design.GetComponents(), design.GetLines()
	o := &order{stopStart: make([]int32, len(lines)+1)}
	joined := flowpath.NewSets(len(components))
	for i := range components {
		if _, twice := tags[components[i].GetTag()]; !twice {
			tags[components[i].GetTag()] = int32(i)
		}
	}
	o.stops = make([]int32, 0, 5*len(lines))
	for l := range lines {
		last := int32(-1)
		for _, stop := range lines[l].GetRoute() {
			place, ok := tags[stop.GetTag()]
			if !ok {
				place = -1
			} else {
				if last >= 0 {
					joined.Join(last, place)
				}
				last = place
			}
			o.stops = append(o.stops, place)
		}
		o.stopStart[l+1] = int32(len(o.stops))
	}
	// The least tag of a part names it; parts are then put in order by that tag once, so that most comparisons are of numbers.
	least := make([]int32, len(components))
	for i := range least {
		least[i] = -1
	}
	var parts []int32
	for i := range components {
		p := joined.Root(int32(i))
		if least[p] < 0 {
			parts, least[p] = append(parts, p), int32(i)
		} else if components[i].GetTag() < components[least[p]].GetTag() {
			least[p] = int32(i)
		}
	}
	slices.SortFunc(parts, func(a, b int32) int {
		return cmp.Or(strings.Compare(components[least[a]].GetTag(), components[least[b]].GetTag()), cmp.Compare(a, b))
	})
	rank := least // its own use is over
	for k, p := range parts {
		rank[p] = int32(k)
	}
	partOf := make([]int32, len(components))
	for i := range partOf {
		partOf[i] = rank[joined.Root(int32(i))]
	}
	byTag := func(a, b int32) int {
		return cmp.Or(strings.Compare(components[a].GetTag(), components[b].GetTag()), cmp.Compare(a, b))
	}
	// Most comparisons are saved by parting first and sorting within each part.
	inParts := group(len(components), int32(len(parts)), func(i int32) int32 { return partOf[i] })
	for k := range parts {
		slices.SortFunc(inParts.of(int32(k)), byTag)
	}
	o.components = inParts.list
	partOfLine := make([]int32, len(lines))
	for l := range lines {
		partOfLine[l] = int32(len(parts))
		for _, place := range o.stops[o.stopStart[l]:o.stopStart[l+1]] {
			if place >= 0 {
				partOfLine[l] = partOf[place]
				break
			}
		}
	}
	linesInParts := group(len(lines), int32(len(parts))+1, func(l int32) int32 { return partOfLine[l] })
	for k := range int32(len(parts)) + 1 {
		slices.SortFunc(linesInParts.of(k), func(a, b int32) int {
			return cmp.Or(strings.Compare(lines[a].GetTag(), lines[b].GetTag()), cmp.Compare(a, b))
		})
	}
	o.lines = linesInParts.list
	return o
}
