package commission

import (
	"context"
	"errors"
	"math"
	"slices"

	"github.com/skidrule/skidrule/internal/network"
	"github.com/skidrule/skidrule/internal/operate"
	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/quantity"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

var cardBasis = []string{
	"Pressures and flows: the whole drawing solved for the case, at the best values and with every uncertain datum at both of its ends; the ends of all data add up.",
	"Gauges show the pressure at their own elevation.",
	"What a reading outside its ends points to: the causes that move it there when the drawing is solved with one fault at a time; a diagnosis of all readings together tells more than one reading.",
	"Bed temperatures: set temperature of the heater at the low end; at the high end the adiabatic rise while all ozone of the generators arrives undissolved.",
	"Readings of a skid that does what it should; before it runs, prove the trips and the tightness of the gas lines.",
}

// Card gives what the instruments should show in the cases with the given places in the list of cases. Errors: those of the context.
func (s *Skid) Card(ctx context.Context, cases []int) (*skidrulev1.CommissioningCard, error) {
	out := &skidrulev1.CommissioningCard{DesignName: s.plant.Design.GetName(), DesignRevision: s.plant.Design.GetRevision(), Basis: cardBasis}
	for _, at := range cases {
		c := &s.world.Cases[at]
		one := &skidrulev1.CardCase{Id: c.ID, Title: c.Title, ExcludedBecause: c.Excluded}
		out.Cases = append(out.Cases, one)
		if c.Excluded != "" {
			continue
		}
		st, err := s.solver.Case(ctx, at)
		if err != nil {
			return nil, err
		}
		rows := s.placeRows(at, st)
		if err := s.point(ctx, at, rows); err != nil {
			return nil, err
		}
		one.Readings = append(rows, s.partRows(at, st)...)
	}
	return out, nil
}

// placeRows makes the rows of pressures and flows: water first, pressures before flows.
func (s *Skid) placeRows(at int, st *operate.State) []*skidrulev1.ExpectedReading {
	rank := func(q *place) int {
		r := 0
		if q.dimension == quantity.GasFlow || q.way < 0 && s.phaseAt(q.port) == network.Gas {
			r = 4
		}
		if q.way >= 0 {
			r += 2
		}
		if !q.instrument {
			r++
		}
		return r
	}
	places := slices.Clone(s.places)
	slices.SortStableFunc(places, func(a, b place) int { return rank(&a) - rank(&b) })
	var out []*skidrulev1.ExpectedReading
	for i := range places {
		out = append(out, s.row(at, &places[i], st))
	}
	return out
}

// alikeCase is the case whose faults point the same way: that of a case in which the water and the gas flow as in normal operation.
func (s *Skid) alikeCase(at int) (int, bool) {
	c := &s.world.Cases[at]
	switch c.Standard {
	case operate.Normal, operate.LowFlow, operate.HighFlow:
		return at, true
	case operate.GeneratorOff, operate.ColdDestruct, operate.Purge, operate.ZeroTransfer:
		if c.Design == nil && s.world.Cases[0].Standard == operate.Normal && s.world.Cases[0].Excluded == "" {
			return 0, true
		}
		return at, true
	}
	return 0, false
}

// point names for each row the causes that move it out of what is expected, the ones that move it farthest first.
func (s *Skid) point(ctx context.Context, at int, rows []*skidrulev1.ExpectedReading) error {
	alike, ok := s.alikeCase(at)
	if !ok {
		return nil
	}
	x, err := s.prepare(ctx, alike, nil)
	if many := (*tooManyError)(nil); errors.As(err, &many) {
		// The card is of use without; what points nowhere says why.
		for _, r := range rows {
			r.Notes = append(r.Notes, "what it points to outside its ends is not worked out: "+many.Error())
		}
		return nil
	}
	if err != nil {
		return err
	}
	type effect struct {
		title string
		size  float64
	}
	for _, r := range rows {
		i := slices.IndexFunc(x.places, func(q place) bool { return q.label == r.GetTag() })
		if i < 0 || r.Best == nil {
			continue
		}
		design := x.places[i].exact(x.best)
		limit, _, err := x.places[i].assumed(design)
		if err != nil {
			limit = 0
		}
		var below, above []effect
		for k := range x.sweeps {
			least, most := 0.0, 0.0
			for _, n := range x.sweeps[k].nodes[1:] {
				least, most = math.Min(least, n.shown[i]-design), math.Max(most, n.shown[i]-design)
			}
			if least < r.GetLow()-r.GetBest()-limit {
				below = append(below, effect{x.sweeps[k].title, -least})
			}
			if most > r.GetHigh()-r.GetBest()+limit {
				above = append(above, effect{x.sweeps[k].title, most})
			}
		}
		for _, side := range []struct {
			from []effect
			to   *[]string
		}{{below, &r.IfBelow}, {above, &r.IfAbove}} {
			slices.SortStableFunc(side.from, func(a, b effect) int {
				// Effects that differ by less than a tenth are the same.
				switch {
				case a.size > 1.1*b.size:
					return -1
				case b.size > 1.1*a.size:
					return 1
				}
				return 0
			})
			for _, e := range side.from {
				*side.to = append(*side.to, e.title)
			}
			if len(side.from) > 0 && !r.GetNoInstrument() {
				*side.to = append(*side.to, r.GetTag()+": shows wrong")
			}
		}
	}
	return nil
}

// partRows makes the rows of switches, traps, pots, vents, destructs, probes and monitors, in order of kinds.
func (s *Skid) partRows(at int, st *operate.State) []*skidrulev1.ExpectedReading {
	var out []*skidrulev1.ExpectedReading
	for _, k := range []struct {
		kind plant.Kind
		make func(at int, st *operate.State, c int32) *skidrulev1.ExpectedReading
	}{
		{plant.KindFlowSwitch, s.flowSwitch}, {plant.KindPressureSwitch, s.pressureSwitch}, {plant.KindLiquidTrap, s.trap}, {plant.KindFloatVentValve, s.vent},
		{plant.KindKnockOutPot, s.pot}, {plant.KindLevelSwitch, s.levelSwitch}, {plant.KindOzoneDestruct, s.bed}, {plant.KindTemperatureSwitch, s.temperatureSwitch},
		{plant.KindOzoneProbe, s.ozoneProbe}, {plant.KindOrpProbe, s.orpProbe}, {plant.KindGasAnalyser, s.analyser},
		{plant.KindAmbientOzoneMonitor, s.ozoneMonitor}, {plant.KindAmbientOxygenMonitor, s.oxygenMonitor},
	} {
		for i := range s.plant.Components {
			if s.plant.Components[i].Kind != k.kind {
				continue
			}
			if r := k.make(at, st, int32(i)); r != nil {
				c := &s.plant.Components[i]
				r.Tag, r.Title = c.Tag, c.Data.GetTitle()
				out = append(out, r)
			}
		}
	}
	return out
}
