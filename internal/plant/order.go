package plant

import (
	"cmp"
	"slices"
	"strings"

	"github.com/skidrule/skidrule/internal/flowpath"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
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
	components, lines := r.plant.Design.GetComponents(), r.plant.Design.GetLines()
	tag, lineTag := make([]string, len(components)), make([]string, len(lines))
	for i, c := range components {
		tag[i] = c.GetTag()
		if _, twice := tags[tag[i]]; !twice {
			tags[tag[i]] = int32(i)
		}
	}
	o := &order{stopStart: make([]int32, len(lines)+1)}
	for l, line := range lines {
		lineTag[l], o.stopStart[l+1] = line.GetTag(), o.stopStart[l]+int32(len(line.GetRoute()))
	}
	o.findStops(lines, tags)
	partOf, parts := o.parts(tag)
	o.components = sortedInParts(tag, partOf, parts)
	partOfLine := make([]int32, len(lines))
	for l := range lines {
		// Lines of no component come last.
		partOfLine[l] = parts
		for _, place := range o.stops[o.stopStart[l]:o.stopStart[l+1]] {
			if place >= 0 {
				partOfLine[l] = partOf[place]
				break
			}
		}
	}
	o.lines = sortedInParts(lineTag, partOfLine, parts+1)
	return o
}

// findStops looks up the stops of all lines.
func (o *order) findStops(lines []*skidrulev1.Line, tags map[string]int32) {
	o.stops = make([]int32, o.stopStart[len(lines)])
	share(len(lines), func(_, from, to int) {
		at := o.stopStart[from]
		for _, line := range lines[from:to] {
			for _, stop := range line.GetRoute() {
				place, ok := tags[stop.GetTag()]
				if !ok {
					place = -1
				}
				o.stops[at] = place
				at++
			}
		}
	})
}

// parts numbers the parts of the drawing in order of their least tags, and gives that of each component and how many there are.
func (o *order) parts(tag []string) (of []int32, count int32) {
	joined := flowpath.NewSets(len(tag))
	for l := range len(o.stopStart) - 1 {
		last := int32(-1)
		for _, place := range o.stops[o.stopStart[l]:o.stopStart[l+1]] {
			if place < 0 {
				continue
			}
			if last >= 0 {
				joined.Join(last, place)
			}
			last = place
		}
	}
	least := make([]int32, len(tag))
	for i := range least {
		least[i] = -1
	}
	var parts []int32
	for i := range tag {
		p := joined.Root(int32(i))
		if least[p] < 0 {
			parts, least[p] = append(parts, p), int32(i)
		} else if tag[i] < tag[least[p]] {
			least[p] = int32(i)
		}
	}
	slices.SortFunc(parts, func(a, b int32) int {
		return cmp.Or(strings.Compare(tag[least[a]], tag[least[b]]), cmp.Compare(a, b))
	})
	rank := least // its own use is over
	for k, p := range parts {
		rank[p] = int32(k)
	}
	of = make([]int32, len(tag))
	for i := range of {
		of[i] = rank[joined.Root(int32(i))]
	}
	return of, int32(len(parts))
}

// sortedInParts lists places part by part, within a part in order of their tags. Parting first saves most comparisons.
func sortedInParts(tag []string, partOf []int32, parts int32) []int32 {
	in := group(len(tag), parts, func(i int32) int32 { return partOf[i] })
	share(int(parts), func(_, from, to int) {
		for k := from; k < to; k++ {
			slices.SortFunc(in.of(int32(k)), func(a, b int32) int {
				return cmp.Or(strings.Compare(tag[a], tag[b]), cmp.Compare(a, b))
			})
		}
	})
	return in.list
}
