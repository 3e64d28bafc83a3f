package fact

import (
	"github.com/skidrule/skidrule/internal/flowpath"
	"github.com/skidrule/skidrule/internal/plant"
)

// references tells where the tags lead by which components name others, those in lines of cause and effect left out.
type references struct {
	lost       *flowpath.Set // components that name a tag that is not in the drawing
	commanders *flowpath.Set // components that command others
	watching   *flowpath.Set // switches that watch a component of the drawing
}

func (w *World) references() *references { return w.drawing.references.get(w.followReferences) }

func (w *World) followReferences() *references {
	p := w.Plant
	n := len(p.Components)
	x := &references{flowpath.NewSet(n), flowpath.NewSet(n), flowpath.NewSet(n)}
	last, at, drawn := "", int32(0), false
	for i, part := range w.parts() {
		if !part.master {
			continue
		}
		// Neighbours are mostly commanded by one controller.
		if tag := p.Components[i].Data.GetCommandedBy(); tag != last {
			last = tag
			at, drawn = p.FindComponent(tag)
		}
		if drawn {
			x.commanders.Add(at)
		} else {
			x.lost.Add(int32(i))
		}
	}
	name := func(component int32, tag string) (drawn bool) {
		if tag == "" {
			return false
		}
		if _, drawn = p.FindComponent(tag); !drawn {
			x.lost.Add(component)
		}
		return drawn
	}
	for _, g := range w.OfKind(plant.KindOzoneGenerator) {
		for _, tag := range w.data(g).GetOzoneGenerator().GetPowerSupplies() {
			name(g, tag)
		}
	}
	for _, v := range w.OfKind(plant.KindActuatedValve) {
		for _, tag := range w.data(v).GetActuatedValve().GetOpenedBy() {
			name(v, tag)
		}
	}
	for _, k := range [...]plant.Kind{plant.KindLevelSwitch, plant.KindTemperatureSwitch, plant.KindEnclosureSwitch} {
		for _, s := range w.OfKind(k) {
			if name(s, w.watchedTag(s)) {
				x.watching.Add(s)
			}
		}
	}
	return x
}

// watchedTag is the tag of what a switch is said to watch; empty where it says nothing.
func (w *World) watchedTag(component int32) string {
	data := w.data(component)
	switch w.Plant.Components[component].Kind {
	case plant.KindLevelSwitch:
		return data.GetLevelSwitch().GetWatches()
	case plant.KindTemperatureSwitch:
		return data.GetTemperatureSwitch().GetWatches()
	case plant.KindEnclosureSwitch:
		return data.GetEnclosureSwitch().GetWatches()
	}
	return ""
}
