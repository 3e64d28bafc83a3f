package fact

import (
	"slices"

	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Step is one element on a way through the drawing.
type Step struct {
	Component int32 // -1 for a line
	Line      int32 // -1 for a component
	Role      skidrulev1.StepRole
	Note      string
}

// Path is a way through the drawing, from its source to its target. An empty path means that there is none.
type Path []Step

// InWhole is the way of a lot as it runs in the whole plant.
func (p Path) InWhole(lot *plant.Lot) Path {
	out := slices.Clone(p)
	for i := range out {
		if s := &out[i]; s.Component >= 0 {
			s.Component = lot.WholeComponent(s.Component)
		} else {
			s.Line = lot.WholeLine(s.Line)
		}
	}
	return out
}

// wayPath turns arcs (2·way forward, 2·way+1 backward) from a start port into steps: each component and line once where
// the way runs on through it. role gives the part that a passage plays and a note; nil means that everything passes.
func (w *World) wayPath(start int32, arcs []int32, role func(way int32, forward bool) (skidrulev1.StepRole, string)) Path {
	p := w.Plant
	path := make(Path, 0, len(arcs)+2)
	push := func(s Step) {
		if n := len(path); n > 0 && path[n-1].Component == s.Component && path[n-1].Line == s.Line {
			if path[n-1].Role < s.Role {
				path[n-1].Role, path[n-1].Note = s.Role, s.Note
			}
			return
		}
		path = append(path, s)
	}
	push(Step{Component: p.Ports[start].Component, Line: -1, Role: skidrulev1.StepRole_STEP_ROLE_PASSES})
	for _, arc := range arcs {
		way := arc / 2
		q := &p.Ways[way]
		s := Step{Component: q.Component, Line: q.Line, Role: skidrulev1.StepRole_STEP_ROLE_PASSES}
		if role != nil {
			s.Role, s.Note = role(way, arc%2 == 0)
		}
		push(s)
		if q.IsPipe() {
			end := q.To
			if arc%2 == 1 {
				end = q.From
			}
			push(Step{Component: p.Ports[end].Component, Line: -1, Role: skidrulev1.StepRole_STEP_ROLE_PASSES})
		}
	}
	path[0].Role = skidrulev1.StepRole_STEP_ROLE_SOURCE
	path[len(path)-1].Role = skidrulev1.StepRole_STEP_ROLE_TARGET
	return path
}

// arcsPath shows arcs from where the first begins; nothing where there are none.
func (w *World) arcsPath(arcs []int32, role func(way int32, forward bool) (skidrulev1.StepRole, string)) Path {
	if len(arcs) == 0 {
		return nil
	}
	return w.wayPath(w.Graph().From(arcs[0]), arcs, role)
}

// begins is the port from which arcs lead to a port: itself where there are none.
func (w *World) begins(arcs []int32, port int32) int32 {
	if len(arcs) == 0 {
		return port
	}
	return w.Graph().From(arcs[0])
}
