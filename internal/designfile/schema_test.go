package designfile_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/quantity"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// messages returns the messages that a design and a catalogue can contain.
func messages() []protoreflect.MessageDescriptor {
	var all []protoreflect.MessageDescriptor
	seen := make(map[protoreflect.FullName]bool)
	var visit func(d protoreflect.MessageDescriptor)
	visit = func(d protoreflect.MessageDescriptor) {
		if seen[d.FullName()] {
			return
		}
		seen[d.FullName()] = true
		all = append(all, d)
		for i := range d.Fields().Len() {
			if m := d.Fields().Get(i).Message(); m != nil {
				visit(m)
			}
		}
	}
	visit((*skidrulev1.Design)(nil).ProtoReflect().Descriptor())
	visit((*skidrulev1.Catalogue)(nil).ProtoReflect().Descriptor())
	return all
}

func trait(fd protoreflect.FieldDescriptor) *skidrulev1.FieldTrait {
	t, _ := proto.GetExtension(fd.Options(), skidrulev1.E_FieldTrait).(*skidrulev1.FieldTrait)
	return t
}

// dimension returns what a field measures, as the unit parser knows it.
func dimension(t *testing.T, fd protoreflect.FieldDescriptor) quantity.Dimension {
	t.Helper()
	d := trait(fd).GetDimension()
	if d == skidrulev1.Dimension_DIMENSION_UNSPECIFIED {
		return 0
	}
	q, ok := quantity.DimensionByName(strings.ToLower(strings.TrimPrefix(d.String(), "DIMENSION_")))
	require.True(t, ok, "%s: the unit parser does not know %s", fd.FullName(), d)
	return q
}

func TestSchemaSpellsEveryField(t *testing.T) {
	for _, m := range messages() {
		keys := make(map[string]protoreflect.Name)
		for i := range m.Fields().Len() {
			fd := m.Fields().Get(i)
			key := string(fd.Name())
			if d := dimension(t, fd); d != 0 {
				require.Equal(t, protoreflect.DoubleKind, fd.Kind(), fd.FullName())
				assert.True(t, fd.HasPresence(), "%s: unset must differ from zero", fd.FullName())
				suffix := "_" + d.FieldSuffix()
				require.True(t, strings.HasSuffix(key, suffix), "%s must end in %s", fd.FullName(), suffix)
				key = strings.TrimSuffix(key, suffix)
			} else if fd.Kind() == protoreflect.DoubleKind && trait(fd).GetTextForm() == 0 {
				assert.Equal(t, protoreflect.FullName("skidrule.v1.SheetPosition"), m.FullName(), "%s is a number without a dimension", fd.FullName())
			}
			other, twice := keys[key]
			assert.False(t, twice, "%s: %s and %s have one key", m.FullName(), other, fd.Name())
			keys[key] = fd.Name()
			if by := trait(fd).GetKeyedBy(); by != "" {
				require.NotNil(t, fd.Message().Fields().ByName(protoreflect.Name(by)), fd.FullName())
				assert.True(t, fd.IsList(), fd.FullName())
			}
		}
	}
}

func TestSchemaExamplesAreRead(t *testing.T) {
	count := 0
	for _, m := range messages() {
		for i := range m.Fields().Len() {
			fd := m.Fields().Get(i)
			d, example := dimension(t, fd), trait(fd).GetExample()
			if d == 0 || example == "" {
				continue
			}
			count++
			v, err := quantity.Parse(example, d)
			require.NoError(t, err, fd.FullName())
			low, high := designfile.Bounds(fd)
			assert.True(t, low <= v && v <= high, "%s: %s lies outside of its bounds", fd.FullName(), example)
		}
	}
	assert.Greater(t, count, 100)
}

func TestSchemaEnumsHaveTheirPrefix(t *testing.T) {
	for _, m := range messages() {
		for i := range m.Fields().Len() {
			e := m.Fields().Get(i).Enum()
			if e == nil {
				continue
			}
			zero := string(e.Values().ByNumber(0).Name())
			prefix := strings.TrimSuffix(zero, "UNSPECIFIED")
			require.NotEqual(t, zero, prefix, "%s: the zero value must be unspecified", e.FullName())
			for j := range e.Values().Len() {
				name := string(e.Values().Get(j).Name())
				require.True(t, strings.HasPrefix(name, prefix), name)
				// Each value must survive the way through a file.
				msg := newMessage(m)
				msg.Set(m.Fields().Get(i), enumValue(m.Fields().Get(i), msg, e.Values().Get(j).Number()))
				data, err := designfile.WriteHeaded(msg.Interface(), designfile.YAML, "", "", nil)
				require.NoError(t, err)
				back := newMessage(m)
				if j == 0 && !m.Fields().Get(i).HasPresence() {
					continue // the unspecified value is spelt by leaving the key out
				}
				_, err = designfile.Decode(data, "x.yaml", back.Interface(), designfile.Options{})
				require.NoError(t, err, string(data))
				assert.True(t, proto.Equal(msg.Interface(), back.Interface()), string(data))
			}
		}
	}
}

func newMessage(m protoreflect.MessageDescriptor) protoreflect.Message {
	// All messages of the schema have generated Go types.
	return typeOf(m).New()
}

func enumValue(fd protoreflect.FieldDescriptor, m protoreflect.Message, n protoreflect.EnumNumber) protoreflect.Value {
	if fd.IsList() {
		l := m.NewField(fd)
		l.List().Append(protoreflect.ValueOfEnum(n))
		return l
	}
	return protoreflect.ValueOfEnum(n)
}

func TestFieldAt(t *testing.T) {
	f, err := designfile.Read("hatchery.yaml", hatchery(t))
	require.NoError(t, err)
	for path, want := range map[string]float64{
		"components.CV-2.max_pressure":                 10e5,
		"components.CV-1.check_valve.opening_pressure": 3000,
		"basis.bromide":                                40e-6,
		"lines.G-1.length":                             6,
		"components.P-1.pump.curve[1].npsh_required":   2.1,
		"components.CV-2.ports.outlet.elevation":       1.75,
		"components.OG-1.ozone_generator.cells":        2,
	} {
		field, err := designfile.FieldAt(f.Design, path)
		require.NoError(t, err, path)
		got, ok := field.Number()
		assert.True(t, ok, path)
		assert.InEpsilon(t, want, got, 1e-12, path)
	}
	for _, path := range []string{"components.CV-1.max_temperature", "components.CV-99.max_pressure", "components.CV-1.pump.power", "basis.room_volume"} {
		field, err := designfile.FieldAt(&skidrulev1.Design{}, path)
		require.NoError(t, err, path)
		_, stated := field.Number()
		assert.False(t, stated, path)
	}
	for path, want := range map[string]string{
		"":                                   "is no path",
		"components":                         "the path ends at",
		"components.CV-1":                    "the path ends at an item",
		"components.CV-1.check_valve":        "the path ends at",
		"components.CV-1.max_presure":        `did you mean "max_pressure"`,
		"components[0].max_pressure":         "needs the tag",
		"components.P-1.pump.curve.head":     "needs the number of an item",
		"basis.bromide.more":                 "has no parts",
		"basis..bromide":                     "is no path",
		"lines.G-1.route[x].tag":             "is no path",
		"components.CV-1.check_valves.title": `did you mean "check_valve"`,
	} {
		_, err := designfile.FieldAt(f.Design, path)
		require.Error(t, err, path)
		assert.Contains(t, err.Error(), want, path)
	}
	field, err := designfile.FieldAt(nil, "components.X.max_pressure")
	require.NoError(t, err)
	measures, _ := designfile.FieldDimension(field.Descriptor)
	assert.Equal(t, quantity.PressureGauge, measures)
}
