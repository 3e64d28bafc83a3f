package fact

import (
	"github.com/skidrule/skidrule/internal/flowpath"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// signal is one line of cause and effect that the drawing states, with the component whose signal it is.
type signal struct {
	Action *skidrulev1.SignalAction
	// Source is the switch, monitor or button whose signal causes it; -1 where the stated tag is not there or states none.
	Source int32
	// Owner is the component that lists it: a controller, or the instrument itself.
	Owner int32

	// What most questions about an action are, so that its message is looked into once:
	condition skidrulev1.TripCondition
	effects   int32   // how much it stops, closes, opens or announces
	stops     []int32 // components that it stops; tags that are not there are left out
}

// signals lists the cause and effect of the whole plant, in order of components. A line whose cause is a tag that is not
// there causes nothing and is left to the rules about instruments.
func (w *World) signals() []signal { return w.signalIndex().list }

// signalIndex holds the lines and, for each component, a bit for every condition that closes it.
type signalIndex struct {
	list   []signal
	closes []uint64
	// lost holds the components whose lines name a tag that is not there.
	lost *flowpath.Set
}

func (w *World) signalIndex() *signalIndex { return w.signal.get(w.listSignals) }

func (w *World) listSignals() *signalIndex {
	p := w.Plant
	x := &signalIndex{closes: make([]uint64, len(p.Components)), lost: flowpath.NewSet(len(p.Components))}
	var stops []int32 // of all lines, one behind the other
	for i := range p.Components {
		for _, a := range p.Components[i].Actions() {
			s := signal{Action: a, Source: -1, Owner: int32(i), condition: a.GetCondition()}
			find := func(tag string) (int32, bool) {
				target, ok := p.FindComponent(tag)
				if !ok && tag != "" {
					x.lost.Add(s.Owner)
				}
				return target, ok
			}
			if a.GetOn() == "" && p.Components[i].Kind != plant.KindController {
				s.Source = int32(i)
			} else if source, ok := find(a.GetOn()); ok {
				s.Source = source
			}
			s.effects = int32(len(a.GetStops()) + len(a.GetCloses()) + len(a.GetOpens()))
			if a.GetAlarm() {
				s.effects++
			}
			first := len(stops)
			for _, tag := range a.GetStops() {
				if target, ok := find(tag); ok {
					stops = append(stops, target)
				}
			}
			s.stops = stops[first:len(stops):len(stops)]
			for _, tag := range a.GetCloses() {
				if target, ok := find(tag); ok && s.Source >= 0 {
					x.closes[target] |= 1 << s.condition
				}
			}
			for _, tag := range a.GetOpens() {
				find(tag)
			}
			x.list = append(x.list, s)
		}
	}
	return x
}

// closedBy tells whether a signal of the condition closes the valve.
func (w *World) closedBy(valve int32, condition skidrulev1.TripCondition) bool {
	return w.signalIndex().closes[valve]&(1<<condition) != 0
}
