package drawing

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"strconv"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	"github.com/skidrule/skidrule/internal/designfile"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// ErrDesign is wrapped by every error that says what in a design cannot be drawn.
var ErrDesign = errors.New("the design cannot be drawn")

func wrong(format string, args ...any) error {
	return fmt.Errorf("%w: %s", ErrDesign, fmt.Sprintf(format, args...))
}

var specOneof = (&skidrulev1.Component{}).ProtoReflect().Descriptor().Oneofs().ByName("spec")

// kindOf is the field of the component's kind, nil where it states none.
func kindOf(c *skidrulev1.Component) protoreflect.FieldDescriptor {
	return c.ProtoReflect().WhichOneof(specOneof)
}

func traitOf(kind protoreflect.FieldDescriptor) *skidrulev1.KindTrait {
	t, _ := proto.GetExtension(kind.Message().Options(), skidrulev1.E_KindTrait).(*skidrulev1.KindTrait)
	return t
}

// plan is the whole diagram before it is cut into sheets.
type plan struct {
	items []Item
	edges []Edge
	byTag map[string]int
}

// hop is an edge whose ports are still names.
type hop struct {
	edge     Edge
	from, to string
}

func newPlan(d *skidrulev1.Design, opt *Options) (*plan, error) {
	if d == nil {
		return nil, wrong("there is none")
	}
	if n := len(d.GetComponents()); n > maxComponents {
		return nil, wrong("it has %d components, at most %d are drawn", n, maxComponents)
	}
	p := &plan{byTag: make(map[string]int, len(d.GetComponents()))}
	own := make(map[string]*skidrulev1.Component, len(d.GetCatalogue()))
	for _, e := range d.GetCatalogue() {
		own[e.GetId()] = e.GetData()
	}
	for i, c := range d.GetComponents() {
		data := c
		if full := opt.Data[c.GetTag()]; full != nil {
			data = full
		} else if part := own[c.GetPart()]; part != nil && kindOf(c) == nil {
			data = proto.CloneOf(part)
			proto.Merge(data, c)
		}
		if err := p.add(i, c, data, opt.Elevations); err != nil {
			return nil, err
		}
	}
	hops, err := p.hops(d)
	if err != nil {
		return nil, err
	}
	hops = append(hops, p.signals()...)
	used := make([][]string, len(p.items))
	for i := range hops {
		h := &hops[i]
		used[h.edge.From.Item] = append(used[h.edge.From.Item], h.from)
		used[h.edge.To.Item] = append(used[h.edge.To.Item], h.to)
	}
	p.setFlow(hops)
	for i := range p.items {
		p.items[i].setPorts(used[i])
	}
	for i := range hops {
		h := &hops[i]
		e := h.edge
		e.From.Port = p.items[e.From.Item].portIndex(h.from)
		e.To.Port = p.items[e.To.Item].portIndex(h.to)
		p.edges = append(p.edges, e)
	}
	p.weigh()
	return p, nil
}

// add takes a component with what is known of it beside what the design states.
func (p *plan) add(i int, c, data *skidrulev1.Component, elevations bool) error {
	tag := c.GetTag()
	if tag == "" {
		return wrong("component %d has no tag", i+1)
	}
	if j, dup := p.byTag[tag]; dup {
		return wrong("components %d and %d have the same tag %q", j+1, i+1, shorten(tag))
	}
	it := Item{Tag: tag, Kind: "other", Title: c.GetTitle(), component: data, train: c.GetTrain()}
	if k := kindOf(data); k != nil {
		it.Kind = string(k.Name())
	}
	f, ok := formOf[it.Kind]
	if !ok {
		return wrong("component %s: no symbol for kind %s", shorten(tag), it.Kind)
	}
	it.form, it.Extent = f, f.extent
	if pos := c.GetPosition(); pos != nil {
		if pos.X == nil || pos.Y == nil {
			return wrong("component %s: its position needs both x and y", shorten(tag))
		}
		x, y := math.Round(pos.GetX()), math.Round(pos.GetY())
		if !(x >= 0 && x <= maxPosition && y >= 0 && y <= maxPosition) {
			return wrong("component %s: position %g, %g is not from 0 to %d modules off the sheet's upper left corner", shorten(tag), pos.GetX(), pos.GetY(), maxPosition)
		}
		it.At, it.fixed = Point{int(x), int(y)}, true
	}
	it.notes = notes(data, elevations)
	p.byTag[tag] = len(p.items)
	p.items = append(p.items, it)
	return nil
}

// notes are the small print of a component.
func notes(c *skidrulev1.Component, elevations bool) []string {
	var n []string
	switch c.GetFailPosition() {
	case skidrulev1.FailPosition_FAIL_POSITION_CLOSED:
		n = append(n, "FC")
	case skidrulev1.FailPosition_FAIL_POSITION_OPEN:
		n = append(n, "FO")
	case skidrulev1.FailPosition_FAIL_POSITION_STAYS:
		n = append(n, "FL")
	}
	if c.GetHandValve() != nil && c.GetNormalPosition() != skidrulev1.ValvePosition_VALVE_POSITION_UNSPECIFIED {
		state := map[skidrulev1.ValvePosition]string{
			skidrulev1.ValvePosition_VALVE_POSITION_OPEN:      "O",
			skidrulev1.ValvePosition_VALVE_POSITION_CLOSED:    "C",
			skidrulev1.ValvePosition_VALVE_POSITION_THROTTLED: "T",
		}[c.GetNormalPosition()]
		switch {
		case c.GetLocked():
			n = append(n, "L"+state)
		case state == "C":
			n = append(n, "NC")
		}
	}
	if f := c.GetFlowMeter(); f != nil {
		if w := map[skidrulev1.FlowMeterPrinciple]string{
			skidrulev1.FlowMeterPrinciple_FLOW_METER_PRINCIPLE_VARIABLE_AREA:   "float tube",
			skidrulev1.FlowMeterPrinciple_FLOW_METER_PRINCIPLE_THERMAL:         "thermal",
			skidrulev1.FlowMeterPrinciple_FLOW_METER_PRINCIPLE_ELECTROMAGNETIC: "magnetic",
			skidrulev1.FlowMeterPrinciple_FLOW_METER_PRINCIPLE_TURBINE:         "turbine",
			skidrulev1.FlowMeterPrinciple_FLOW_METER_PRINCIPLE_DIFFERENTIAL:    "orifice",
		}[f.GetPrinciple()]; w != "" {
			n = append(n, w)
		}
	}
	if c.GetOutOfUse() {
		n = append(n, "out of use")
	}
	if e := c.GetElevationM(); elevations && c.ElevationM != nil && !math.IsNaN(e) && !math.IsInf(e, 0) {
		n = append(n, "EL "+strconv.FormatFloat(e, 'f', 2, 64)+" m")
	}
	return n
}

// hops cuts the lines into edges from stop to stop.
func (p *plan) hops(d *skidrulev1.Design) ([]hop, error) {
	var hops []hop
	seen := map[string]bool{}
	taken := takenPorts{}
	for i, l := range d.GetLines() {
		tag := l.GetTag()
		switch {
		case tag == "":
			return nil, wrong("line %d has no tag", i+1)
		case seen[tag]:
			return nil, wrong("line %s is there twice", shorten(tag))
		case len(l.GetRoute()) < 2:
			return nil, wrong("line %s: its route has %d stops, it needs at least 2", shorten(tag), len(l.GetRoute()))
		case len(l.GetRoute()) > maxRoute || len(hops) > maxStops:
			return nil, wrong("line %s: too many stops, at most %d on a line and %d in all are drawn", shorten(tag), maxRoute, maxStops)
		}
		seen[tag] = true
		size := sizeText(l.GetSize())
		stops := l.GetRoute()
		items := make([]int, len(stops))
		for s, stop := range stops {
			j, ok := p.byTag[stop.GetTag()]
			if !ok {
				return nil, wrong("line %s, stop %d: there is no component %q", shorten(tag), s+1, shorten(stop.GetTag()))
			}
			items[s] = j
		}
		leave := ""
		for s, stop := range stops {
			enter := ""
			var err error
			if s > 0 {
				if enter, err = p.port(items[s], stop.GetEnter(), false, leave, taken); err != nil {
					return nil, wrong("line %s, stop %d: %v", shorten(tag), s+1, err)
				}
				hops[len(hops)-1].to = enter
			}
			if s+1 == len(stops) {
				break
			}
			if leave, err = p.port(items[s], stop.GetLeave(), true, enter, taken); err != nil {
				return nil, wrong("line %s, stop %d: %v", shorten(tag), s+1, err)
			}
			hops = append(hops, hop{from: leave, edge: Edge{Line: tag, Hop: s, From: End{Item: items[s]}, To: End{Item: items[s+1]},
				Service: l.GetService(), Size: size}})
		}
	}
	return hops, nil
}

// signals joins instruments without a pipe to what they watch, and power supplies to their generators.
func (p *plan) signals() []hop {
	var hops []hop
	count := map[int]int{}
	port := func(i int) string {
		if count[i]++; count[i] > 1 {
			return signalPort + "_" + strconv.Itoa(count[i])
		}
		return signalPort
	}
	add := func(from, to int) {
		hops = append(hops, hop{from: port(from), to: port(to), edge: Edge{From: End{Item: from}, To: End{Item: to}, Signal: true, tap: true}})
	}
	join := func(instrument int, tag string) {
		if j, ok := p.byTag[tag]; ok && j != instrument {
			add(instrument, j)
		}
	}
	for i := range p.items {
		c := p.items[i].component
		switch {
		case c.GetLevelSwitch() != nil:
			join(i, c.GetLevelSwitch().GetWatches())
		case c.GetTemperatureSwitch() != nil:
			join(i, c.GetTemperatureSwitch().GetWatches())
		case c.GetEnclosureSwitch() != nil:
			join(i, c.GetEnclosureSwitch().GetWatches())
		case c.GetOzoneGenerator() != nil:
			for _, tag := range c.GetOzoneGenerator().GetPowerSupplies() {
				if j, ok := p.byTag[tag]; ok && j != i && p.items[j].Kind == "power_supply" {
					add(j, i)
				}
			}
		}
	}
	return hops
}

// signalPort is the port name of signals; it stands on top of symbols.
const signalPort = "signal"

// setFlow tells flags which way they point: from their stated role, else from the lines.
func (p *plan) setFlow(hops []hop) {
	for i := range p.items {
		switch p.items[i].component.GetBoundary().GetRole() {
		case skidrulev1.BoundaryRole_BOUNDARY_ROLE_SOURCE:
			p.items[i].flow = flowSource
		case skidrulev1.BoundaryRole_BOUNDARY_ROLE_SINK:
			p.items[i].flow = flowSink
		}
	}
	for i := range hops {
		e := &hops[i].edge
		if f := &p.items[e.From.Item]; f.flow == flowUnknown {
			f.flow = flowSource
		}
		if t := &p.items[e.To.Item]; t.flow == flowUnknown {
			t.flow = flowSink
		}
	}
}

// weigh tells taps from runs, and main runs from side lines.
func (p *plan) weigh() {
	for i := range p.edges {
		e := &p.edges[i]
		from, to := p.items[e.From.Item].form.class, p.items[e.To.Item].form.class
		to2 := p.items[e.To.Item].Kind
		if from == bubble || to == bubble || to2 == "cap" {
			e.tap = true
		}
		e.weight = 2
		switch e.Service {
		case skidrulev1.Service_SERVICE_OXYGEN, skidrulev1.Service_SERVICE_OZONE_GAS, skidrulev1.Service_SERVICE_PROCESS_WATER,
			skidrulev1.Service_SERVICE_OZONATED_WATER, skidrulev1.Service_SERVICE_AIR:
			e.weight = 4
		case skidrulev1.Service_SERVICE_DRAIN_WATER:
			e.weight = 1
		}
		if e.Signal {
			e.weight = 1
		}
	}
}

func sizeText(s *skidrulev1.NominalSize) string {
	if s.GetDesignation() == "" {
		return ""
	}
	return shorten(cmp.Or(designfile.SizeText(s), s.GetDesignation()))
}

func shorten(s string) string { return clip(s, maxTextRunes) }

// clip cuts text to n runes.
func clip(s string, n int) string {
	if len(s) <= n {
		return s
	}
	r := []rune(s)
	if len(r) <= n {
		return s
	}
	return string(r[:n-1]) + "…"
}
