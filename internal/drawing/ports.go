package drawing

import (
	"fmt"
	"slices"
	"sort"
	"strconv"
	"strings"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// port resolves the port of a stop: the stated one, or the kind's first inlet or outlet, or its next free one.
func (p *plan) port(item int, name string, out bool, other string, taken takenPorts) (string, error) {
	it := &p.items[item]
	k := kindOf(it.component)
	stated := name != ""
	var trait *skidrulev1.KindTrait
	if k != nil {
		trait = traitOf(k)
	}
	if trait.GetFreePorts() || trait == nil {
		if !stated {
			name = taken.next(item, map[bool]string{false: "in", true: "out"}[out])
		}
		taken.take(item, name)
		return name, nil
	}
	if len(trait.GetPorts()) == 0 {
		return "", fmt.Errorf("%s (%s) has no ports, so no line can end there", it.Tag, trait.GetTitle())
	}
	if !stated {
		name = firstPort(trait, out, other)
	}
	known := false
	var names []string
	for _, pt := range trait.GetPorts() {
		names = append(names, pt.GetName())
		if pt.GetName() == name && !known {
			known = true
			if !stated && pt.GetRepeatable() {
				name = taken.next(item, pt.GetName())
			}
		} else if pt.GetRepeatable() && repeatOf(name, pt.GetName()) > 1 {
			known = true
		}
	}
	if !known {
		return "", fmt.Errorf("%s (%s) has no port %q; it has %s", it.Tag, trait.GetTitle(), shorten(name), strings.Join(names, ", "))
	}
	taken.take(item, name)
	return name, nil
}

// takenPorts knows which ports of a component lines use, so that a second line takes the next free port of a repeatable one.
type takenPorts map[itemPort]int

type itemPort struct {
	item int
	name string
}

func (t takenPorts) take(item int, name string) {
	t[itemPort{item, name}] = max(1, t[itemPort{item, name}])
}

// next is the first free name among base, base_2, base_3 and so on. The value kept at base is the last number tried.
func (t takenPorts) next(item int, base string) string {
	n := t[itemPort{item, base}]
	if n == 0 {
		return base
	}
	for n++; ; n++ {
		name := base + "_" + strconv.Itoa(n)
		if t[itemPort{item, name}] == 0 {
			t[itemPort{item, base}] = n
			return name
		}
	}
}

// firstPort is the first port of the wanted direction; among ports of either direction one that is not the other end of the
// passage.
func firstPort(t *skidrulev1.KindTrait, out bool, other string) string {
	want := skidrulev1.FlowDirection_FLOW_DIRECTION_IN
	if out {
		want = skidrulev1.FlowDirection_FLOW_DIRECTION_OUT
	}
	for _, p := range t.GetPorts() {
		if p.GetDirection() == want {
			return p.GetName()
		}
	}
	either := ""
	for _, p := range t.GetPorts() {
		if p.GetDirection() != skidrulev1.FlowDirection_FLOW_DIRECTION_EITHER || p.GetName() == other {
			continue
		}
		if either == "" || out && p.GetName() == "outlet" {
			either = p.GetName()
		}
	}
	if either == "" {
		either = t.GetPorts()[0].GetName()
	}
	return either
}

// repeatOf is n of `base_n`, 1 of `base` itself and 0 of anything else.
func repeatOf(name, base string) int {
	if name == base {
		return 1
	}
	rest, ok := strings.CutPrefix(name, base+"_")
	if !ok {
		return 0
	}
	n, err := strconv.Atoi(rest)
	if err != nil || n < 2 || n > maxRoute || strconv.Itoa(n) != rest {
		return 0
	}
	return n
}

func (it *Item) portIndex(name string) int {
	for i := range it.Ports {
		if it.Ports[i].Name == name {
			return i
		}
	}
	return 0
}

// setPorts lays out the ports in use on the outline, which grows where it must.
func (it *Item) setPorts(used []string) {
	sort.Strings(used)
	used = slices.Compact(used)
	f := it.form
	if f.class == point || f.kind == "off_sheet" && len(used) > 1 {
		for _, n := range used {
			it.Ports = append(it.Ports, Port{Name: n, Free: true})
		}
		return
	}
	if f.grows {
		it.grow(used)
	} else {
		for _, fp := range f.ports {
			it.Ports = append(it.Ports, Port{Name: fp.name, Side: fp.side, Offset: fp.at})
		}
		for _, n := range used {
			if r := repeatOf(n, signalPort); r > 0 {
				it.Ports = append(it.Ports, signalAt(f, n, r))
			}
		}
	}
	if f.class == flag && it.flow == flowSink {
		it.turn(TurnWest)
	}
}

// signalAt is where the r-th signal meets a symbol of fixed outline: on top, else below.
func signalAt(f *form, name string, r int) Port {
	switch {
	case f.class == bubble || f.class == loose:
		return Port{Name: name, Side: West, Offset: Point{-f.extent.Left, 0}}
	case r == 2:
		return Port{Name: name, Side: South, Offset: Point{0, f.extent.Down}}
	}
	return Port{Name: name, Side: North, Offset: Point{0, -f.extent.Up}}
}

const (
	sideStep = 3 // between ports one below the other
	topStep  = 6 // between ports side by side, room for what hangs on them
)

// grow places the used ports of a growing symbol.
func (it *Item) grow(used []string) {
	type slot struct {
		name      string
		rank, rep int
	}
	var on [4][]slot
	for _, n := range used {
		side, rank, rep := freeSide(n), 0, 1
		for _, fp := range it.form.ports {
			if r := repeatOf(n, fp.name); r > 0 {
				side, rank, rep = fp.side, fp.rank, r
			}
		}
		if r := repeatOf(n, signalPort); r > 0 {
			side, rank, rep = North, -9, r
		}
		on[side] = append(on[side], slot{n, rank, rep})
	}
	for side := range on {
		sort.SliceStable(on[side], func(a, b int) bool {
			x, y := on[side][a], on[side][b]
			if x.rank != y.rank {
				return x.rank < y.rank
			}
			return x.rep < y.rep
		})
	}
	ext := it.Extent
	for _, side := range []Side{North, South} {
		if k := len(on[side]); k > 0 {
			half := max(ext.Left, ext.Right, topStep*(k-1)/2+2)
			ext.Left, ext.Right = half, half
		}
	}
	for _, side := range []Side{West, East} {
		above, anchors := 0, 0
		for _, s := range on[side] {
			if s.rank < 0 {
				above++
			} else if s.rank == 0 {
				anchors++
			}
		}
		first := it.form.anchor
		if anchors == 0 {
			anchors = 1
		} else {
			anchors = 0
		}
		for k, s := range on[side] {
			y := first + sideStep*(k-above)
			if s.rank > 0 {
				y += sideStep * anchors
			}
			ext.Up, ext.Down = max(ext.Up, 2-y), max(ext.Down, y+2)
			it.Ports = append(it.Ports, Port{Name: s.name, Side: side, Offset: Point{0, y}})
		}
	}
	for _, side := range []Side{North, South} {
		k := len(on[side])
		for n, s := range on[side] {
			it.Ports = append(it.Ports, Port{Name: s.name, Side: side, Offset: Point{topStep*n - topStep*(k-1)/2, 0}})
		}
	}
	for i := range it.Ports {
		switch p := &it.Ports[i]; p.Side {
		case North:
			p.Offset.Y = -ext.Up
		case South:
			p.Offset.Y = ext.Down
		case West:
			p.Offset.X = -ext.Left
		case East:
			p.Offset.X = ext.Right
		}
	}
	it.Extent = ext
}

// freeSide guesses the side of a port that only the design names.
func freeSide(name string) Side {
	switch {
	case strings.Contains(name, "drain"):
		return South
	case strings.Contains(name, "vent"), strings.Contains(name, "relief"):
		return North
	case strings.Contains(name, "out"):
		return East
	}
	return West
}
