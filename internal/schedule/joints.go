package schedule

import (
	"slices"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/fact"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// connections lists the joints: where an end of a line meets a port.
func (l *lister) connections() *skidrulev1.Schedule {
	t := newTable("Connections")
	t.texts("Line", "Component", "Port", "Type", "Size of the port", "Connection of the port", "Size of the line", "Connection of the line", "Comes apart")
	t.column("Elevation", "length")
	joints := make([]fact.Joint, l.w.NumJoints())
	for i := range joints {
		joints[i] = l.w.Joint(int32(i))
	}
	slices.SortStableFunc(joints, func(a, b fact.Joint) int { return byTag(l.p.Lines[a.Line].Tag, l.p.Lines[b.Line].Tag) })
	for _, j := range joints {
		port := &l.p.Ports[j.Port]
		c := port.Component
		q := &l.p.Components[c]
		line := &l.p.Lines[j.Line]
		at := func(field string) string { return l.path(c, "ports."+l.p.PortName(j.Port)+"."+field) }
		apart := say("yes")
		switch joint := l.w.ComesApart(j.Port); joint.Value {
		case fact.False:
			apart = say("no")
		case fact.Undecided:
			apart = open(at("connection"))
		}
		elevation := number(nil, at("elevation"))
		if port.Stated != nil && port.Stated.ElevationM != nil {
			elevation = number(port.Stated.ElevationM, "")
		} else if q.Data.ElevationM != nil {
			elevation = number(q.Data.ElevationM, "")
		}
		t.row(say(line.Tag), say(q.Tag), say(l.p.PortName(j.Port)), say(q.Kind.Info().Title),
			stated(designfile.SizeText(port.Stated.GetSize()), at("size")), choice(port.Stated.GetConnection(), at("connection")),
			stated(designfile.SizeText(line.Data.GetSize()), "lines."+line.Tag+".size"), choice(line.Data.GetConnection(), "lines."+line.Tag+".connection"),
			apart, elevation)
	}
	return t.out
}
