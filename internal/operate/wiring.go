package operate

import (
	"math"
	"slices"
	"sync"

	"github.com/skidrule/skidrule/internal/fluid"
	"github.com/skidrule/skidrule/internal/network"
	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/unitop"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// knot is one node in the making: ports between which nothing is lost. Gas knots have no elevation: the weight of gas columns,
// some 12 Pa for a metre at 1 bar, is not counted.
type knot struct {
	phase    network.Phase
	z        float64
	zKnown   bool
	zDatum   Datum
	fixed    bool
	pressure float64 // Pa absolute, where fixed
	inflow   float64 // kg/s or mol/s
	needsZ   bool    // its elevation counts for the flow, not for its own pressure alone
	missing  []Datum
	used     []Datum // uncertain data that its pressure or flow rests on
	own      int32   // component whose source it is; -1
}

// link is one element in the making.
type link struct {
	from, to  int32
	law       network.Law
	fluid     int
	blocked   bool
	way       int32 // way of the plant that it stands for; -1
	component int32 // -1 for pipes
	suction   int32 // knot that an injector draws from; -1
	vessel    bool
	back      bool // it stands for its way from the way's end to its beginning
	switches  bool // its state may matter where nothing flows
	missing   []Datum
	used      []Datum // uncertain data that its law rests on
}

// Indices of the fluids of a problem.
const (
	fluidWater = iota
	fluidGas   // what generators are fed with, and what comes of it
	fluidAir
	numFluids
)

// wiring turns a plant in one scenario and variant into knots and links.
type wiring struct {
	reader
	s            *scenario
	m            *model
	atmosphere   float64
	fluids       [numFluids]network.Fluid
	fluidLacks   [numFluids][]Datum
	fluidUsed    [numFluids][]Datum
	airLacks     []Datum // of the atmosphere
	airUsed      []Datum
	water        float64 // water temperature, K
	gasT         float64
	gas          fluid.Gas // feed gas
	knotOf       []int32   // port → knot
	knots        []knot
	links        []link
	vents        map[int32]bool // ways that were drawn into a float vent's chamber
	twoPhase     float64
	twoPhaseUsed []Datum
	spoilt       bool // the fault of the scenario touched something
}

// model is what is the same in every case of a plant.
type model struct {
	p        *plant.Plant
	phase    []network.Phase
	tables   map[int32]*unitop.Injector
	joints   *joints
	throttle map[int32]float64 // flow coefficients to which gas valves are set, by component; nil while they are found
	share    map[int32]float64 // relative reading error of injectors at their operating points
	released float64           // lowest share of the gas that comes out again; below 0 while it is not known
}

// extraKnots is room for places that are no ports: before compressors and concentrators.
const extraKnots = 4

// wirings is room for wirings, used again and again.
var wirings = sync.Pool{New: func() any { return new(wiring) }}

// free gives the room of a wiring back, which nothing may read any more.
func (w *wiring) free() {
	clear(w.knots)
	clear(w.links)
	*w = wiring{knots: w.knots, links: w.links}
	wirings.Put(w)
}

// wire builds a scenario.
func wire(m *model, s *scenario, v variant) *wiring {
	w := wirings.Get().(*wiring)
	knots, links := w.knots[:0], w.links[:0]
	if cap(knots) < m.joints.knots+extraKnots {
		knots, links = make([]knot, 0, m.joints.knots+extraKnots), make([]link, 0, m.joints.links)
	}
	*w = wiring{reader: reader{p: m.p, v: v}, s: s, m: m, knotOf: m.joints.knotOf, vents: m.joints.vents, knots: knots, links: links}
	w.site()
	if s.burst {
		w.burstGas()
	}
	w.makeKnots()
	for i := range m.p.Components {
		w.component(int32(i))
	}
	for i := range m.p.Lines {
		w.line(int32(i))
	}
	if s.fault != nil {
		w.spoil(s.fault)
	}
	w.setVessels()
	return w
}

// portsOf lists the ports of a component that its kind calls by one of the names, the repeated ones too.
func portsOf(p *plant.Plant, component int32, names ...string) []int32 {
	c := &p.Components[component]
	var out []int32
	for k := c.FirstPort; k < c.FirstPort+c.NumPorts; k++ {
		t := p.Ports[k].Trait
		if t < 0 {
			continue
		}
		if slices.Contains(names, c.Kind.Info().Ports[t].Name) {
			out = append(out, k)
		}
	}
	return out
}

// makeKnots makes the knots of the joined ports.
func (w *wiring) makeKnots() {
	for i, k := range w.knotOf {
		if int(k) == len(w.knots) {
			w.knots = append(w.knots, knot{phase: w.m.phase[i], own: -1})
		}
		n := &w.knots[k]
		if n.phase == 0 {
			n.phase = w.m.phase[i]
		}
		if n.phase != network.Gas && !n.zKnown {
			z, d, ok := w.height(int32(i))
			if ok {
				n.z, n.zKnown = z, true
				n.used = joinData(n.used, w.takeUsed())
			} else {
				n.zDatum = d
			}
		}
	}
}

// height is the elevation of a port: its own, else that of its component.
func (w *wiring) height(port int32) (float64, Datum, bool) {
	q := &w.p.Ports[port]
	if q.Stated != nil && q.Stated.ElevationM != nil {
		return *q.Stated.ElevationM, Datum{}, true
	}
	d := Datum{DatumComponent, q.Component, "elevation"}
	if e := w.p.Components[q.Component].Data.ElevationM; e != nil {
		return *e, d, true
	}
	if w.p.Assumed(d.Path(w.p)) != nil {
		return w.number(nil, d), d, true
	}
	return 0, d, false
}

// extra adds a knot of gas that is no port.
func (w *wiring) extra(component int32) int32 {
	w.knots = append(w.knots, knot{phase: network.Gas, own: component, zKnown: true})
	return int32(len(w.knots) - 1)
}

// add adds a link with what was missing since the last take.
func (w *wiring) add(l link) {
	l.missing = joinData(l.missing, w.take())
	l.used = joinData(l.used, w.takeUsed())
	if l.suction >= 0 {
		l.used = joinData(l.used, w.twoPhaseUsed)
	}
	if l.fluid == 0 && w.knots[l.from].phase == network.Gas {
		l.fluid = fluidGas
	}
	if l.from != l.to {
		w.links = append(w.links, l)
	}
}

// line lays the pipes of a line. What is stated of it, length and losses, is taken as spread evenly over its pipes.
func (w *wiring) line(at int32) {
	l := &w.p.Lines[at]
	n := 0
	for k := l.FirstWay; k < l.FirstWay+l.NumWays; k++ {
		if !w.vents[k] {
			n++
		}
	}
	if n == 0 {
		return
	}
	bore := w.bore(at)
	length := w.number(l.Data.LengthM, Datum{DatumLine, at, "length"})
	loss := w.number(l.Data.LossCoefficientRatio, Datum{DatumLine, at, "loss_coefficient"})
	rough := 0.0
	if length > 0 {
		rough = w.number(l.Data.RoughnessM, Datum{DatumLine, at, "roughness"})
	}
	lacks, used := w.take(), w.takeUsed()
	law := network.Pipe{Length: length / float64(n), Diameter: bore, Roughness: math.Min(rough, 0.05*bore), K: loss / float64(n)}
	if len(lacks) == 0 && (rough > 0.05*bore || bore <= 0 || length < 0 || loss < 0) {
		lacks = []Datum{{DatumLine, at, "roughness"}}
	}
	service := l.Data.GetService()
	for k := l.FirstWay; k < l.FirstWay+l.NumWays; k++ {
		if w.vents[k] {
			continue
		}
		q := &w.p.Ways[k]
		e := link{from: w.knotOf[q.From], to: w.knotOf[q.To], law: law, way: k, component: -1, suction: -1, missing: lacks, used: used}
		a, b := w.knots[e.from].phase, w.knots[e.to].phase
		if a != b || a == 0 {
			e.missing = joinData(e.missing, []Datum{{DatumLine, at, "service"}})
		}
		if a == network.Gas && (service == skidrulev1.Service_SERVICE_AIR || service == skidrulev1.Service_SERVICE_EXHAUST_GAS || service == skidrulev1.Service_SERVICE_INSTRUMENT_AIR) {
			e.fluid = fluidAir
		}
		w.add(e)
	}
}

// bore is the inner diameter of a line: stated, else from size and wall.
func (w *wiring) bore(at int32) float64 {
	if b := w.m.joints.bores[at]; !math.IsNaN(b) {
		return b
	}
	return w.number(nil, Datum{DatumLine, at, "inner_diameter"})
}

// lineBoreAt is the bore of a line that ends at one of the ports, for losses that relate to it.
func (w *wiring) lineBoreAt(ports ...int32) float64 {
	for _, port := range ports {
		for _, id := range w.p.WaysAt(port) {
			if q := &w.p.Ways[id]; q.IsPipe() {
				return w.bore(q.Line)
			}
		}
	}
	return 0
}
