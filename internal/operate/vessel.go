package operate

import (
	"github.com/skidrule/skidrule/internal/flowpath"
	"github.com/skidrule/skidrule/internal/network"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// vessel parts gas from water.
func (w *wiring) vessel(at int32) {
	c := &w.p.Components[at]
	bottom := func() float64 { return w.number(c.Data.ElevationM, Datum{DatumComponent, at, "elevation"}) }
	liquid, gas := portsOf(w.p, at, "outlet"), portsOf(w.p, at, "vent", "relief")
	if c.Kind == plant.KindReactionVessel {
		in := portsOf(w.p, at, "inlet")
		w.fitting(at, in[0], liquid[0], c.Data.GetReactionVessel().LossCoefficientRatio)
	}
	joined := c.Kind == plant.KindOpenTank
	for _, g := range gas {
		joined = joined || w.p.Ports[g].Joints > 0
	}
	if !joined {
		return
	}
	level := 0.0
	switch s := c.Data.GetSpec().(type) {
	case *skidrulev1.Component_ContactVessel:
		level = bottom() + w.number(s.ContactVessel.WaterLevelM, ref(at, "water_level"))
	case *skidrulev1.Component_DegassingVessel:
		level = bottom() + w.number(s.DegassingVessel.HeightM, ref(at, "height"))
	case *skidrulev1.Component_ReactionVessel:
		level = bottom() + w.number(s.ReactionVessel.HeightM, ref(at, "height"))
	case *skidrulev1.Component_OpenTank:
		level = bottom() + w.number(s.OpenTank.WaterLevelM, ref(at, "water_level"))
		if w.p.Ports[gas[0]].Joints == 0 {
			// Open to the air, unless it is covered and nothing is drawn on it.
			if s.OpenTank.Covered == nil || *s.OpenTank.Covered {
				w.lack(ref(at, "covered"))
			}
			w.fix(w.knotOf[gas[0]], 0)
		}
	}
	l := link{from: w.knotOf[liquid[0]], to: w.knotOf[gas[0]], component: at, way: -1, suction: -1, vessel: true,
		law: network.Vessel{Level: level, Released: w.releasedShare(), Sets: network.LiquidSets, GasFluid: fluidGas}}
	for _, id := range w.p.WaysAt(gas[0]) {
		if q := &w.p.Ways[id]; !q.IsPipe() && q.To == gas[0] {
			l.way = id
			break
		}
	}
	w.knots[l.from].needsZ = true
	w.add(l)
}

// releasedShare is the share of the gas drawn that comes out of the water again: all of it at the high end and where nothing is
// transferred; at the low end all but what the water can hold.
func (w *wiring) releasedShare() float64 {
	if w.s.c.Standard == ZeroTransfer || w.m.released < 0 {
		return 1
	}
	return w.spread(w.m.released, (1+w.m.released)/2, 1, Datum{DatumModel, 0, "gas that comes out of the water again"})
}

// setVessels decides which side sets the pressure of each vessel: the water where gas leaves by floats alone or not at all, else the
// gas. A line to a valve that is shut is no way out.
func (w *wiring) setVessels() {
	rooms := w.rooms()
	outside := make([]bool, len(w.knots)) // of rooms: a way out that is no float, or something that brings gas
	for i := range w.knots {
		if n := &w.knots[i]; n.fixed || n.inflow != 0 {
			outside[rooms.Root(int32(i))] = true
		}
	}
	space := make([]bool, len(w.knots)) // of rooms: gas over water that sets the pressure
	for i := range w.links {
		l := &w.links[i]
		if !l.vessel {
			continue
		}
		law := l.law.(network.Vessel)
		law.Sets = network.LiquidSets
		if outside[rooms.Root(l.to)] {
			law.Sets = network.GasSets
		} else {
			space[rooms.Root(l.to)] = true
		}
		l.law = law
	}
	// A float vent that sits on no gas space is no more than its orifice.
	for j := range w.links {
		o := &w.links[j]
		if v, float := o.law.(network.FloatVent); float && !space[rooms.Root(o.from)] {
			o.law = v.Orifice
		}
	}
}

// rooms are the knots that open ways join which are no floats and no surfaces of water.
func (w *wiring) rooms() flowpath.Sets {
	rooms := flowpath.NewSets(len(w.knots))
	for j := range w.links {
		o := &w.links[j]
		if _, float := o.law.(network.FloatVent); !float && !o.vessel && !o.blocked {
			rooms.Join(o.from, o.to)
		}
	}
	return rooms
}
