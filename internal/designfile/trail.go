package designfile

// trail leads from a message down to what is looked at; it is spelt out only when a problem needs its path. Walks go depth first, so
// that the trails of siblings may share their memory: one holds until the next sibling's begins.
type trail []step

// usualDepth is deeper than designs go, so that a walk needs memory once.
const usualDepth = 16

func newTrail() trail { return make(trail, 0, usualDepth) }

func (t trail) name(name string) trail { return append(t, step{name, -1}) }

func (t trail) item(i int) trail { return append(t, step{"", i}) }

// path spells the trail.
func (t trail) path() string {
	path := ""
	for _, s := range t {
		if s.index >= 0 {
			path = Item(path, s.index)
		} else {
			path = Child(path, s.name)
		}
	}
	return path
}
