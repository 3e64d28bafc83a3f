package plant

import (
	"fmt"
	"strings"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Assumed gives the assumption about an element path; nil where there is none.
func (p *Plant) Assumed(path string) *skidrulev1.Assumption { return p.assumed[path] }

// HasAssumptions tells whether the design assumes anything.
func (p *Plant) HasAssumptions() bool { return len(p.assumed) > 0 }

// assumptions checks that each names a datum, has both ends in order and a reason.
func (r *resolver) assumptions() {
	p := r.plant
	for i, a := range p.Design.GetAssumptions() {
		if r.ended() {
			return
		}
		path := fmt.Sprintf("assumptions[%d]", i)
		switch {
		case a.GetPath() == "":
			r.problem(path, "name a datum such as components.CV-2.max_pressure", "the assumption does not say what it is about")
			continue
		case a.Low == nil || a.High == nil:
			r.problem(path, "state low and high", "the assumption about %s has no range", a.GetPath())
			continue
		case a.GetLow() > a.GetHigh():
			r.problem(path, "put the smaller one in low", "the assumption about %s has a low end above its high end", a.GetPath())
			continue
		case a.GetReason() == "":
			r.problem(path, "say why it may be assumed", "the assumption about %s has no reason", a.GetPath())
			continue
		}
		if problem := r.assumable(a.GetPath()); problem != "" {
			r.problem(path+".path", "name a number that a component, a line or the basis can state", "%s", problem)
			continue
		}
		if p.assumed == nil {
			p.assumed = map[string]*skidrulev1.Assumption{}
		}
		if _, twice := p.assumed[a.GetPath()]; twice {
			r.problem(path, "keep one", "two assumptions are about %s", a.GetPath())
		}
		p.assumed[a.GetPath()] = a
	}
}

// assumable tells what is wrong with the path of an assumption; empty when nothing is.
func (r *resolver) assumable(path string) string {
	p := r.plant
	parts := strings.Split(path, ".")
	if len(parts) > 1 && parts[0] == "lines" {
		if _, ok := p.FindLine(parts[1]); !ok {
			return fmt.Sprintf("%s is about a line that is not there", path)
		}
	}
	if len(parts) > 1 && parts[0] == "components" {
		i, ok := p.FindComponent(parts[1])
		if !ok {
			return fmt.Sprintf("%s is about a component that is not there", path)
		}
		if kind := p.Components[i].Kind; len(parts) == 4 && kind.Info().Name != parts[2] {
			return fmt.Sprintf("%s is %s; the path calls it %s", p.Components[i].Tag, aKind(kind), parts[2])
		}
	}
	if !DimensionAt(path).Valid() {
		return fmt.Sprintf("%s is not a number that a design can state", path)
	}
	return ""
}
