package plant_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// TestEveryNamePutsIntoOneIsland states each text that a component can state as the tag of another: those by which one names another
// make one island of both. A new text must be told of one sort or the other here.
func TestEveryNamePutsIntoOneIsland(t *testing.T) {
	names := []string{"commanded_by", "power_supplies", "opened_by", "watches", "on", "stops", "closes", "opens"}
	speaks := []string{ // of itself alone, or of causes that facts follow along lines only
		"tag", "title", "part", "shares_cause", "power_feed", "air_feed", "wearing_parts", "model", "pressure_class", "train", "name", "reason", "designation", "description",
		"cell_type", "drives_cell_types", "power_class", "location",
	}
	var state func(m protoreflect.Message, visit func(field string))
	state = func(m protoreflect.Message, visit func(field string)) {
		fields := m.Descriptor().Fields()
		for i := range fields.Len() {
			f := fields.Get(i)
			switch {
			case f.IsMap():
				require.Fail(t, "a map of "+string(f.FullName()))
			case f.Name() == "ports":
				// Their names must be those of ports.
			case f.Kind() == protoreflect.StringKind && f.IsList():
				list := m.Mutable(f).List()
				list.Append(protoreflect.ValueOfString("B-1"))
				visit(string(f.Name()))
				m.Clear(f)
			case f.Kind() == protoreflect.StringKind:
				before := m.Get(f)
				m.Set(f, protoreflect.ValueOfString("B-1"))
				visit(string(f.Name()))
				m.Set(f, before)
			case f.Kind() == protoreflect.MessageKind && f.IsList():
				list := m.Mutable(f).List()
				state(list.AppendMutable().Message(), visit)
				m.Clear(f)
			case f.Kind() == protoreflect.MessageKind && f.ContainingOneof() == nil:
				state(m.Mutable(f).Message(), visit)
				m.Clear(f)
			}
		}
	}
	seen := map[string]bool{}
	specs := (&skidrulev1.Component{}).ProtoReflect().Descriptor().Oneofs().ByName("spec").Fields()
	for i := range specs.Len() {
		a := &skidrulev1.Component{Tag: "A-1"}
		spec := a.ProtoReflect().Mutable(specs.Get(i)).Message()
		visit := func(field string) {
			if field == "tag" || field == "part" || field == "name" {
				return // what would not resolve
			}
			seen[field] = true
			d := &skidrulev1.Design{Components: []*skidrulev1.Component{proto.Clone(a).(*skidrulev1.Component), {Tag: "B-1", Spec: &skidrulev1.Component_Tee{Tee: &skidrulev1.Tee{}}}}}
			p, problems := plant.Resolve(d, nil)
			require.Empty(t, problems, field)
			// One generator alone would gather what is joined to nothing.
			_, count := p.Islands()
			if p.Components[0].Kind == plant.KindOzoneGenerator {
				count = countWithAnother(t, d)
			}
			joined := count == 1
			switch {
			case slices.Contains(names, field):
				assert.True(t, joined, "%s of %s", field, specs.Get(i).Name())
			case slices.Contains(speaks, field):
				assert.False(t, joined, "%s of %s", field, specs.Get(i).Name())
			default:
				assert.Fail(t, "say whether it names another component", "%s of %s", field, specs.Get(i).Name())
			}
		}
		state(a.ProtoReflect(), visit)
		state(spec, visit)
	}
	for _, name := range names {
		assert.True(t, seen[name], name)
	}
}

// countWithAnother counts the islands of a design beside one more generator, that one left out.
func countWithAnother(t *testing.T, d *skidrulev1.Design) int {
	d.Components = append(d.Components, &skidrulev1.Component{Tag: "C-1", Spec: &skidrulev1.Component_OzoneGenerator{OzoneGenerator: &skidrulev1.OzoneGenerator{}}})
	p, problems := plant.Resolve(d, nil)
	require.Empty(t, problems)
	_, count := p.Islands()
	return count - 1
}

// What is joined to nothing belongs to the only skid with a generator, and to nobody where there are several or none.
func TestStraysBelongToTheOnlyGenerator(t *testing.T) {
	for text, want := range map[string]int{
		"A-1: {ozone_generator: {}}, A-2: {tee: {}}, ES-1: {emergency_stop: {}}, PI-9: {pressure_gauge: {}}":                             1,
		"A-1: {tee: {}}, A-2: {tee: {}}, ES-1: {emergency_stop: {}}, PI-9: {pressure_gauge: {}}":                                         3,
		"A-1: {ozone_generator: {}}, A-2: {tee: {}}, B-1: {ozone_generator: {}}, ES-1: {emergency_stop: {}}, PI-9: {pressure_gauge: {}}": 4,
	} {
		route := "A-1.ozone_gas, A-2.inlet"
		if want == 3 {
			route = "A-1.outlet, A-2.inlet"
		}
		p, problems := plant.Resolve(read(t, "components: {"+text+"}\nlines: {L: {route: ["+route+"]}}"), nil)
		require.Empty(t, problems)
		_, count := p.Islands()
		assert.Equal(t, want, count, text)
	}
}

// TestLotsKeepWhatIsJoined divides a drawing of three skids, the second of which is in two pieces that a controller holds together, and
// a stray gauge.
func TestLotsKeepWhatIsJoined(t *testing.T) {
	f, err := designfile.Read("d.yaml", []byte(`skidrule: v1
components:
  A-1: {ozone_generator: {}}
  A-2: {tee: {}}
  B-1: {ozone_generator: {}}
  B-2: {pump: {}}
  B-3: {tee: {}}
  UC-B: {controller: {trips: [{stops: [B-1, B-2]}]}}
  C-1: {tee: {}}
  C-2: {header: {}}
  C-3: {tee: {}}
  PI-9: {pressure_gauge: {}}
lines:
  AL: {route: [A-1.ozone_gas, A-2.inlet]}
  BL: {route: [B-2, B-3]}
  CL: {route: [C-1, C-2.inlet_2]}
  CM: {route: [C-2.outlet_2, C-3]}
`))
	require.NoError(t, err)
	p, problems := plant.Resolve(f.Design, nil)
	require.Empty(t, problems)
	_, islands := p.Islands()
	assert.Equal(t, 4, islands)
	assert.Equal(t, 3, p.MostJoined())
	flow := p.FlowIslands()
	var joined [][]string
	for k := range flow.Len() {
		var tags []string
		for _, c := range flow.Lot(k).Components {
			tags = append(tags, c.Tag)
		}
		joined = append(joined, tags)
	}
	assert.Equal(t, [][]string{{"A-1", "A-2"}, {"B-1", "PI-9", "UC-B"}, {"B-2", "B-3"}, {"C-1", "C-2", "C-3"}}, joined, "names carry nothing; what no line joins is one")
	assert.Equal(t, 3, p.MostJoined())

	lots := p.Lots(1)
	var got [][]string
	for k := range lots.Len() {
		lot := lots.Lot(k)
		var tags []string
		for i := range lot.Components {
			c := &lot.Components[i]
			tags = append(tags, c.Tag)
			assert.Equal(t, c.Tag, p.Components[lot.WholeComponent(int32(i))].Tag)
			found, ok := lot.FindComponent(c.Tag)
			assert.True(t, ok && found == int32(i), c.Tag)
			for q := c.FirstPort; q < c.FirstPort+c.NumPorts; q++ {
				assert.Equal(t, p.PortLabel(lot.WholePort(q)), lot.PortLabel(q))
			}
		}
		for i := range lot.Lines {
			assert.Equal(t, lot.Lines[i].Tag, p.Lines[lot.WholeLine(int32(i))].Tag)
			found, ok := lot.FindLine(lot.Lines[i].Tag)
			assert.True(t, ok && found == int32(i), lot.Lines[i].Tag)
		}
		for port := range lot.Ports {
			var own, whole []string
			for _, way := range lot.WaysAt(int32(port)) {
				w := &lot.Ways[way]
				own = append(own, lot.PortLabel(w.From)+" "+lot.PortLabel(w.To))
				if w.IsPipe() {
					pipe := &p.Ways[p.Lines[0].FirstWay+lot.WholePipe(way)]
					assert.Equal(t, p.PortLabel(pipe.From), lot.PortLabel(w.From))
				}
			}
			for _, way := range p.WaysAt(lot.WholePort(int32(port))) {
				w := &p.Ways[way]
				whole = append(whole, p.PortLabel(w.From)+" "+p.PortLabel(w.To))
			}
			assert.Equal(t, whole, own)
		}
		for _, tag := range []string{"A-1", "B-2", "C-1", "AL", "CL"} {
			if !slices.Contains(tags, tag) && tag[1] == '-' {
				_, found := lot.FindComponent(tag)
				assert.False(t, found, "%s in lot %d", tag, k)
			}
		}
		_, count := lot.Islands()
		assert.Equal(t, 1, count)
		got = append(got, tags)
	}
	assert.Equal(t, [][]string{{"A-1", "A-2"}, {"B-1", "B-2", "B-3", "UC-B"}, {"C-1", "C-2", "C-3"}, {"PI-9"}}, got)
	assert.Equal(t, 1, p.Lots(100).Len())
	assert.Equal(t, 2, p.Lots(6).Len())
}
