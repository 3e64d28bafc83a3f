package schedule

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"google.golang.org/protobuf/reflect/protoreflect"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/fact"
	"github.com/skidrule/skidrule/internal/operate"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Names lists the names of the lists, in the order in which they are given.
func Names() []string {
	return []string{"lines", "valves", "instruments", "relief", "trips", "connections", "parts"}
}

// NameError says that there is no list of a name.
type NameError struct {
	// Index is the place among the names that were asked for.
	Index int
	// Name is what was asked for.
	Name string
}

// Error implements error.
func (e *NameError) Error() string {
	return fmt.Sprintf("there is no list %q; there are %s", e.Name, strings.Join(Names(), ", "))
}

// Book lists a plant. names choose lists, none stands for all; states are the solved cases that computed cells come from, nil where
// nothing was solved. It ends with the error of the context, or with a *NameError.
func Book(ctx context.Context, w *fact.World, states *operate.States, names []string) (*skidrulev1.ScheduleBook, error) {
	for i, name := range names {
		if !slices.Contains(Names(), name) {
			return nil, &NameError{i, name}
		}
	}
	out := &skidrulev1.ScheduleBook{DesignName: w.Plant.Design.GetName(), DesignRevision: w.Plant.Design.GetRevision()}
	l := &lister{w: w, p: w.Plant, states: states}
	for i, list := range []func() *skidrulev1.Schedule{l.lines, l.valves, l.instruments, l.relief, l.trips, l.connections, l.parts} {
		name := Names()[i]
		if len(names) > 0 && !slices.Contains(names, name) {
			continue
		}
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		s := list()
		s.Name = name
		out.Schedules = append(out.Schedules, s)
	}
	out.Cautions = []string{
		"These lists are drawn from the design as it is stated. They replace no isometric, no maker's data sheet and no check on site.",
		"A list that aids a review replaces no hazard study, no local code and no licensed engineer.",
	}
	return out, nil
}

// lister makes lists.
type lister struct {
	w      *fact.World
	p      *plant.Plant
	states *operate.States
}

// components lists the components by tag, as people order them: 2 before 10.
func (l *lister) components() []int32 {
	return inOrder(len(l.p.Components), func(i int32) string { return l.p.Components[i].Tag })
}

// lineOrder lists the lines by tag in the same way.
func (l *lister) lineOrder() []int32 {
	return inOrder(len(l.p.Lines), func(i int32) string { return l.p.Lines[i].Tag })
}

// inOrder lists the numbers below n by their tags.
func inOrder(n int, tag func(int32) string) []int32 {
	out := make([]int32, n)
	for i := range out {
		out[i] = int32(i)
	}
	slices.SortStableFunc(out, func(a, b int32) int { return byTag(tag(a), tag(b)) })
	return out
}

// byTag compares tags, runs of digits in them as numbers.
func byTag(a, b string) int {
	for a != "" && b != "" {
		na, nb := digits(a), digits(b)
		if na > 0 && nb > 0 {
			x, y := strings.TrimLeft(a[:na], "0"), strings.TrimLeft(b[:nb], "0")
			if d := cmp.Or(cmp.Compare(len(x), len(y)), cmp.Compare(x, y)); d != 0 {
				return d
			}
			a, b = a[na:], b[nb:]
			continue
		}
		if a[0] != b[0] {
			return cmp.Compare(a[0], b[0])
		}
		a, b = a[1:], b[1:]
	}
	return cmp.Compare(len(a), len(b))
}

// digits counts the digits that a text begins with.
func digits(s string) int {
	n := 0
	for n < len(s) && s[n] >= '0' && s[n] <= '9' {
		n++
	}
	return n
}

// table is a list in the making.
type table struct{ out *skidrulev1.Schedule }

func newTable(title string) *table { return &table{&skidrulev1.Schedule{Title: title}} }

// column adds a column; dimension is empty for text.
func (t *table) column(title, dimension string) {
	t.out.Columns = append(t.out.Columns, &skidrulev1.ScheduleColumn{Title: title, Dimension: dimension})
}

// texts adds columns of text.
func (t *table) texts(titles ...string) {
	for _, title := range titles {
		t.column(title, "")
	}
}

// small adds a column of lengths that are given in mm.
func (t *table) small(title string) {
	t.out.Columns = append(t.out.Columns, &skidrulev1.ScheduleColumn{Title: title, Dimension: "length", Fine: true})
}

// row adds a row.
func (t *table) row(cells ...*skidrulev1.ScheduleCell) {
	t.out.Rows = append(t.out.Rows, &skidrulev1.ScheduleRow{Cells: cells})
}

// say is a text; one that is empty says that there is none.
func say(text string) *skidrulev1.ScheduleCell {
	if strings.TrimSpace(text) == "" {
		return &skidrulev1.ScheduleCell{Text: "none"}
	}
	return &skidrulev1.ScheduleCell{Text: text}
}

// not says that a cell does not apply.
func not() *skidrulev1.ScheduleCell { return &skidrulev1.ScheduleCell{Text: "not applicable"} }

// open is a datum that is not stated.
func open(path string) *skidrulev1.ScheduleCell {
	return &skidrulev1.ScheduleCell{NotStated: true, Path: path}
}

// stated is a text, or the datum that is not stated.
func stated(text, path string) *skidrulev1.ScheduleCell {
	if strings.TrimSpace(text) == "" {
		return open(path)
	}
	return &skidrulev1.ScheduleCell{Text: text}
}

// number is a number, or the datum that is not stated.
func number(x *float64, path string) *skidrulev1.ScheduleCell {
	if x == nil {
		return open(path)
	}
	v := *x
	return &skidrulev1.ScheduleCell{Number: &v}
}

// measure is a number of a dimension of its own.
func measure(x *float64, dimension, path string) *skidrulev1.ScheduleCell {
	c := number(x, path)
	if x != nil {
		c.Dimension = dimension
	}
	return c
}

// unit is the unit of numbers of a dimension.
func unit(dimension string) *skidrulev1.ScheduleCell {
	if dimension == "" {
		return not()
	}
	return &skidrulev1.ScheduleCell{Dimension: dimension}
}

// yesNo is a yes or no, or the datum that is not stated.
func yesNo(x *bool, path string) *skidrulev1.ScheduleCell {
	switch {
	case x == nil:
		return open(path)
	case *x:
		return say("yes")
	}
	return say("no")
}

// computed is a computed number, or says which data it lacks.
func computed(x float64, ok bool, missing []string) *skidrulev1.ScheduleCell {
	if ok {
		return &skidrulev1.ScheduleCell{Number: &x}
	}
	c := &skidrulev1.ScheduleCell{Text: "not computed"}
	if len(missing) > 0 {
		c.Path = missing[0]
	}
	return c
}

// list joins tags.
func list(tags []string) string { return strings.Join(tags, ", ") }

// path spells a datum of a component; spec names one of its kind.
func (l *lister) path(c int32, field string) string {
	return "components." + l.p.Components[c].Tag + "." + field
}

func (l *lister) spec(c int32, field string) string {
	return l.path(c, l.p.Components[c].Kind.String()+"."+field)
}

// portAt gives the first joined port of a component; -1 where no line meets it.
func (l *lister) portAt(c int32) int32 {
	q := &l.p.Components[c]
	for port := q.FirstPort; port < q.FirstPort+q.NumPorts; port++ {
		if l.p.Ports[port].Joints > 0 {
			return port
		}
	}
	return -1
}

// linesAt lists the lines that meet a component, in order of the design.
func (l *lister) linesAt(c int32) []int32 {
	var out []int32
	q := &l.p.Components[c]
	for port := q.FirstPort; port < q.FirstPort+q.NumPorts; port++ {
		for _, way := range l.p.WaysAt(port) {
			if line := l.p.Ways[way].Line; line >= 0 && !slices.Contains(out, line) {
				out = append(out, line)
			}
		}
	}
	slices.Sort(out)
	return out
}

// lineTags names the lines that meet a component.
func (l *lister) lineTags(c int32) string {
	var tags []string
	for _, line := range l.linesAt(c) {
		tags = append(tags, l.p.Lines[line].Tag)
	}
	return list(tags)
}

// serviceAt is the service of the first line that meets a component.
func (l *lister) serviceAt(c int32) *skidrulev1.ScheduleCell {
	lines := l.linesAt(c)
	if len(lines) == 0 {
		return not()
	}
	data := &l.p.Lines[lines[0]]
	return choice(data.Data.GetService(), "lines."+data.Tag+".service")
}

// sizeAt is the size and the connection of the first joined end of a component: what the port states, else what its line does.
func (l *lister) sizeAt(c int32) (size, connection *skidrulev1.ScheduleCell) {
	port := l.portAt(c)
	if port < 0 {
		return not(), not()
	}
	size = stated(designfile.SizeText(l.p.Ports[port].Stated.GetSize()), l.path(c, "ports."+l.p.PortName(port)+".size"))
	connection = choice(l.p.Ports[port].Stated.GetConnection(), l.path(c, "ports."+l.p.PortName(port)+".connection"))
	if lines := l.linesAt(c); len(lines) > 0 {
		data := l.p.Lines[lines[0]].Data
		if text := designfile.SizeText(data.GetSize()); size.NotStated && text != "" {
			size = say(text)
		}
		if text := spoken(data.GetConnection()); connection.NotStated && text != "" {
			connection = say(text)
		}
	}
	return size, connection
}

// choice is a chosen word as people read it, or the datum that is not stated.
func choice(e protoreflect.Enum, path string) *skidrulev1.ScheduleCell {
	return stated(spoken(e), path)
}

func spoken(e protoreflect.Enum) string { return designfile.Spoken(designfile.EnumWord(e)) }
