package plant

import (
	"fmt"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// lines lays the pipes of every line.
func (r *resolver) lines() {
	p := r.plant
	p.Lines = make([]Line, 0, len(p.Design.GetLines()))
	for _, i := range r.order.lines {
		if r.ended() {
			return
		}
		data := p.Design.GetLines()[i]
		tag := data.GetTag()
		if problem := checkTag(tag); problem != "" {
			r.problem(fmt.Sprintf("lines[%d]", i), "tags are letters, digits, - _ and /, beginning with a letter or digit", "tag %q %s", tag, problem)
			continue
		}
		if other, twice := p.tags[tag]; twice {
			what := "component"
			if other < 0 {
				what = "line"
			}
			r.problem("lines."+tag, "give each line a tag of its own", "a %s has the tag %s already", what, tag)
			continue
		}
		line := Line{Tag: tag, Data: data, FirstWay: int32(len(p.Ways))}
		p.tags[tag] = ^int32(len(p.Lines))
		if len(data.GetRoute()) < 2 {
			r.problem("lines."+tag+".route", "name at least two components", "line %s leads nowhere", tag)
		} else {
			r.route(&line, int32(len(p.Lines)), int(i))
		}
		line.NumWays = int32(len(p.Ways)) - line.FirstWay
		p.Lines = append(p.Lines, line)
	}
}

// route lays one line's pipes between neighbouring stops.
func (r *resolver) route(line *Line, index int32, place int) {
	p := r.plant
	stops := line.Data.GetRoute()
	leave := int32(-1)
	for i, stop := range stops {
		last := i == len(stops)-1
		enterPort, leavePort, ok := r.ends(line, i, stop, r.stop(place, i), last)
		if !ok {
			leave = -1
			continue
		}
		if i > 0 && leave >= 0 {
			p.Ports[leave].Joints++
			p.Ports[enterPort].Joints++
			p.Ways = append(p.Ways, Way{From: leave, To: enterPort, Component: -1, Line: index, Step: int32(i - 1)})
		}
		leave = leavePort
	}
}

// ends finds the ports at which a line arrives and goes on.
func (r *resolver) ends(line *Line, i int, stop *skidrulev1.RouteStop, component int32, last bool) (enter, leave int32, ok bool) {
	p, first := r.plant, i == 0
	path := func() string { return fmt.Sprintf("lines.%s.route[%d]", line.Tag, i) }
	if component < 0 {
		what := "line %s goes through %q, which is not there"
		if _, isLine := p.FindLine(stop.GetTag()); isLine {
			what = "line %s goes through %q, which is a line: join lines at a tee or header"
		}
		r.problem(path(), r.guess(stop.GetTag(), r.componentTags), what, line.Tag, stop.GetTag())
		return 0, 0, false
	}
	c := &p.Components[component]
	if c.Kind == KindNone {
		// What it is could not be found out, which is reported at the component; its ports are not known.
		return 0, 0, false
	}
	info := c.Kind.Info()
	pick := func(name string, fallback int8) (int32, bool) {
		if name != "" {
			if port, there := r.port(component, name, false); there {
				return port, true
			}
			r.problem(path(), portGuess(name, info), "%s has no port %q", aKind(c.Kind), name)
			return 0, false
		}
		if fallback < 0 {
			r.problem(path(), "name the port as "+c.Tag+".port", "%s has no port that line %s could take by itself", c.Tag, line.Tag)
			return 0, false
		}
		return c.FirstPort + int32(fallback), true
	}
	ok = true
	if !first {
		var got bool
		if enter, got = pick(stop.GetEnter(), info.DefaultIn); !got {
			ok = false
		}
	}
	if !last {
		var got bool
		if leave, got = pick(stop.GetLeave(), info.DefaultGo); !got {
			ok = false
		}
	}
	if ok && !first && !last && enter != leave && !r.joined(component, enter, leave) {
		r.problem(path(), "end the line there and begin another, or name joined ports", "inside %s no way leads from %s to %s", c.Tag, p.PortName(enter), p.PortName(leave))
		ok = false
	}
	return enter, leave, ok
}

// joined tells whether a passage of the component joins two of its ports, either way.
func (r *resolver) joined(component, a, b int32) bool {
	p := r.plant
	c := &p.Components[component]
	ta, tb := p.Ports[a].Trait, p.Ports[b].Trait
	if ta < 0 || tb < 0 || ta == tb {
		return ta == tb
	}
	for _, passage := range c.Kind.Info().Passages {
		if int16(passage[0]) == ta && int16(passage[1]) == tb || int16(passage[0]) == tb && int16(passage[1]) == ta {
			return true
		}
	}
	return false
}

// componentTags lists the tags for suggestions.
func (r *resolver) componentTags() []string {
	out := make([]string, len(r.plant.Components))
	for i := range r.plant.Components {
		out[i] = r.plant.Components[i].Tag
	}
	return out
}

// cases checks the references of operating cases.
func (r *resolver) cases() {
	seen := map[string]bool{}
	for _, c := range r.plant.Design.GetCases() {
		path := "cases." + c.GetId()
		if seen[c.GetId()] {
			r.problem(path, "give each case an id of its own", "two cases have the id %q", c.GetId())
		}
		seen[c.GetId()] = true
		for _, s := range c.GetStates() {
			if r.ended() {
				return
			}
			if _, ok := r.plant.FindComponent(s.GetTag()); !ok {
				r.problem(path+".states."+s.GetTag(), r.guess(s.GetTag(), r.componentTags), "case %s sets the state of %q, which is not there", c.GetId(), s.GetTag())
			}
		}
	}
}

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
