package rulebook

import (
	"slices"

	"github.com/skidrule/skidrule/internal/fact"
	"github.com/skidrule/skidrule/internal/plant"
)

// subjects lists the things that the rule is asked of. The list is shared, or lies in the room given: it must not be changed, and holds
// until the room is used again.
func (c *Compiled) subjects(w *fact.World, room *[]int32) []int32 {
	p := w.Plant
	switch c.on {
	case fact.OnDesign:
		return w.Indexes(1)
	case fact.OnLine:
		return w.Indexes(len(p.Lines))
	case fact.OnJoint:
		return w.Indexes(w.NumJoints())
	case fact.OnPort:
		if len(c.kinds) == 0 {
			return w.Indexes(len(p.Ports))
		}
		list := (*room)[:0]
		for i := range p.Components {
			at := &p.Components[i]
			if !slices.Contains(c.kinds, at.Kind) {
				continue
			}
			for q := at.FirstPort; q < at.FirstPort+at.NumPorts; q++ {
				list = append(list, q)
			}
		}
		*room = list
		return list
	}
	switch len(c.kinds) {
	case 0:
		return w.Indexes(len(p.Components))
	case 1:
		return w.OfKind(c.kinds[0])
	}
	list := (*room)[:0]
	for _, k := range c.kinds {
		list = append(list, w.OfKind(k)...)
	}
	slices.Sort(list)
	*room = list
	return list
}

// SubjectPath is the element path of a thing that the rule is asked of.
func (c *Compiled) SubjectPath(w *fact.World, subject int32) string {
	p := w.Plant
	switch c.on {
	case fact.OnDesign:
		return "design"
	case fact.OnLine:
		return "lines." + p.Lines[subject].Tag
	case fact.OnJoint:
		j := w.Joint(subject)
		return "lines." + p.Lines[j.Line].Tag + " at " + p.PortLabel(j.Port)
	case fact.OnPort:
		return "components." + p.Components[p.Ports[subject].Component].Tag + ".ports." + p.PortName(subject)
	}
	return "components." + p.Components[subject].Tag
}

// inWhole is the index in the whole plant of a thing of a lot.
func (c *Compiled) inWhole(w *fact.World, lot *plant.Lot, subject int32) int32 {
	switch c.on {
	case fact.OnDesign:
		return subject
	case fact.OnLine:
		return lot.WholeLine(subject)
	case fact.OnJoint:
		return w.JointInWhole(subject, lot)
	case fact.OnPort:
		return lot.WholePort(subject)
	}
	return lot.WholeComponent(subject)
}
