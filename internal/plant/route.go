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
		if !r.canBeTag(tag, "lines", i) {
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
	arrives, goesOn := first, last
	if !first {
		enter, arrives = pick(stop.GetEnter(), info.DefaultIn)
	}
	if !last {
		leave, goesOn = pick(stop.GetLeave(), info.DefaultGo)
	}
	ok = arrives && goesOn
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
