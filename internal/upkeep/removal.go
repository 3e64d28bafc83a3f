package upkeep

import (
	"slices"
	"strings"

	"github.com/skidrule/skidrule/internal/fact"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// removal is one module that is taken out, as its plan is put together.
type removal struct {
	w      *fact.World
	p      *plant.Plant
	module int32
	tag    string
	iso    *fact.Isolation
	still  *standstill
	out    *skidrulev1.ModuleRemoval

	gas, wet bool    // gas, water meets it
	ozone    bool    // ozone comes to it, or may
	cells    []int32 // generators that stop
	feeds    []int32 // compressors, blowers and concentrators that stop
	pumps    []int32
	letTo    int32 // where gas is let down to; -1 for nowhere
}

// takeOut plans how one module is taken out.
func takeOut(w *fact.World, module int32) *skidrulev1.ModuleRemoval {
	p := w.Plant
	c := &p.Components[module]
	r := &removal{w: w, p: p, module: module, tag: c.Tag, iso: w.Isolation(module), letTo: -1}
	r.still = stillStanding(w, module, r.iso)
	r.out = &skidrulev1.ModuleRemoval{Tag: c.Tag, Kind: c.Kind.String(), Title: c.Data.GetTitle(), Isolation: statusOf(r.iso.Shut),
		Missing: plant.Paths(p, r.iso.Shut.Missing), ShutInWith: r.tags(r.parts(r.iso.With))}
	for _, port := range joined(p, module) {
		if p.Ports[port].Phase == skidrulev1.Phase_PHASE_LIQUID || w.InWater(port) {
			r.wet = true
		} else {
			r.gas = true
		}
	}
	r.ozone = w.OzoneComesTo(module).Value != fact.False
	r.gather()
	for _, step := range []func(){r.stopCells, r.purge, r.stopFeeds, r.letDown, r.stopPumps, r.shut, r.lock, r.vent, r.drain, r.prove, r.undo, r.closeEnds} {
		step()
	}
	r.out.StopsMeanwhile, r.out.KeepsRunning = r.still.list()
	r.out.Trips = expectedTrips(w, r.still)
	r.findings()
	return r.out
}

func statusOf(t fact.Truth) skidrulev1.IsolationStatus {
	switch t.Value {
	case fact.True:
		return skidrulev1.IsolationStatus_ISOLATION_STATUS_SHUT_OFF
	case fact.False:
		return skidrulev1.IsolationStatus_ISOLATION_STATUS_NOT_SHUT_OFF
	}
	return skidrulev1.IsolationStatus_ISOLATION_STATUS_NOT_VERIFIABLE
}

// gather finds the machines that stop: the module, those that would push into it, those that lose what they need.
func (r *removal) gather() {
	stops := map[int32]bool{r.module: true}
	for c := range r.still.stopped {
		stops[c] = true
	}
	if r.ozone {
		for _, g := range r.w.OzoneFrom(r.module) {
			stops[g] = true
			if g != r.module && r.still.stopped[g] == "" {
				r.still.stopped[g] = "its gas comes to " + r.tag
			}
		}
	}
	for i := range r.p.Components {
		c := int32(i)
		if !stops[c] {
			continue
		}
		switch r.p.Components[i].Kind {
		case plant.KindOzoneGenerator:
			r.cells = append(r.cells, c)
		case plant.KindCompressor, plant.KindBlower, plant.KindOxygenConcentrator:
			r.feeds = append(r.feeds, c)
		case plant.KindPump:
			r.pumps = append(r.pumps, c)
		}
	}
}

// add appends a step.
func (r *removal) add(action skidrulev1.RemovalAction, text string, about ...int32) *skidrulev1.RemovalStep {
	s := &skidrulev1.RemovalStep{Action: action, Text: text, Tags: r.tags(about)}
	r.out.Steps = append(r.out.Steps, s)
	return s
}

// tags names components.
func (r *removal) tags(list []int32) []string {
	out := make([]string, len(list))
	for i, c := range list {
		out[i] = r.p.Components[c].Tag
	}
	return out
}

// parts leaves the fittings out of a list.
func (r *removal) parts(list []int32) []int32 {
	var out []int32
	for _, c := range list {
		switch r.p.Components[c].Kind {
		case plant.KindTee, plant.KindHeader, plant.KindJunction, plant.KindUnion, plant.KindAdapter, plant.KindCap:
		default:
			out = append(out, c)
		}
	}
	return out
}

// names lists components in a sentence.
func (r *removal) names(list []int32) string { return sentence(r.tags(list)) }

// sentence joins words as a sentence does.
func sentence(list []string) string {
	if len(list) < 2 {
		return strings.Join(list, "")
	}
	return strings.Join(list[:len(list)-1], ", ") + " and " + list[len(list)-1]
}

// way names the components and lines of a path in turn.
func (r *removal) way(path fact.Path) []string {
	var out []string
	for _, s := range path {
		switch {
		case s.Component >= 0:
			out = append(out, r.p.Components[s.Component].Tag)
		case s.Line >= 0:
			out = append(out, r.p.Lines[s.Line].Tag)
		}
	}
	return out
}

// on lists the components of a kind on a path.
func (r *removal) on(path fact.Path, k plant.Kind) []int32 {
	var out []int32
	for _, s := range path {
		if s.Component >= 0 && s.Component != r.module && r.p.Components[s.Component].Kind == k && !slices.Contains(out, s.Component) {
			out = append(out, s.Component)
		}
	}
	return out
}

// shutInOf lists the components of a kind that stand under the same pressure as the module.
func (r *removal) shutInOf(kinds ...plant.Kind) []int32 {
	var out []int32
	for _, c := range r.iso.With {
		if slices.Contains(kinds, r.p.Components[c].Kind) {
			out = append(out, c)
		}
	}
	return out
}
