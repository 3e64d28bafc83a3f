package designfile_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/reflect/protoregistry"
	"pgregory.net/rapid"

	"github.com/skidrule/skidrule/internal/designfile"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

func typeOf(m protoreflect.MessageDescriptor) protoreflect.MessageType {
	mt, err := protoregistry.GlobalTypes.FindMessageByName(m.FullName())
	if err != nil {
		panic(err)
	}
	return mt
}

var forms = []designfile.Form{designfile.YAML, designfile.JSON, designfile.WireJSON, designfile.Text, designfile.Binary}

// A file goes to the wire's JSON and back; the site's altitude, a gauge rating,
// a normal flow and nominal sizes must come through.
func TestRoundTripOfHatchery(t *testing.T) {
	first, err := designfile.Read("hatchery.yaml", hatchery(t))
	require.NoError(t, err)
	wire, err := designfile.Write(first.Design, designfile.WireJSON)
	require.NoError(t, err)
	second, err := designfile.Read("hatchery.json", wire)
	require.NoError(t, err)
	assert.Equal(t, designfile.WireJSON, second.Form)
	require.True(t, proto.Equal(first.Design, second.Design))

	second.Design.Basis.AltitudeM = proto.Float64(1200)
	data, err := designfile.Write(second.Design, designfile.YAML)
	require.NoError(t, err)
	third, err := designfile.Read("again.yaml", data)
	require.NoError(t, err)
	require.True(t, proto.Equal(second.Design, third.Design))
	assert.Equal(t, 1200.0, third.Design.GetBasis().GetAltitudeM())
	third.Design.Basis.AltitudeM = proto.Float64(640)
	assert.True(t, proto.Equal(first.Design, third.Design), "the altitude changes nothing else")

	byTag := make(map[string]*skidrulev1.Component)
	for _, c := range third.Design.GetComponents() {
		byTag[c.GetTag()] = c
	}
	assert.Equal(t, 10e5, byTag["CV-2"].GetMaxPressurePaGauge())
	// 8 L/min of ideal gas at 20 °C and 1.013 bar: p V/(R T), R from the SI
	// Brochure, 9th edition.
	assert.InEpsilon(t, 101300*8e-3/60/(8.31446261815324*293.15), byTag["OG-1"].GetOzoneGenerator().GetRatedFlowMolPerS(), 1e-14)
	lines := make(map[string]*skidrulev1.NominalSize)
	for _, l := range third.Design.GetLines() {
		lines[l.GetTag()] = l.GetSize()
	}
	assert.True(t, proto.Equal(&skidrulev1.NominalSize{System: skidrulev1.SizeSystem_SIZE_SYSTEM_NPS, Designation: "1 1/2"}, lines["W-1"]))
	assert.True(t, proto.Equal(&skidrulev1.NominalSize{System: skidrulev1.SizeSystem_SIZE_SYSTEM_DN, Designation: "40"}, lines["W-2"]))
}

func TestConvertBetweenAllForms(t *testing.T) {
	first, err := designfile.Read("hatchery.yaml", hatchery(t))
	require.NoError(t, err)
	for _, from := range forms {
		source, err := designfile.Convert("hatchery.yaml", hatchery(t), from)
		require.NoError(t, err)
		unnamed, err := designfile.Read("-", source)
		require.NoError(t, err)
		assert.Equal(t, from, unnamed.Form, "the form shows without a name")
		for _, to := range forms {
			data, err := designfile.Convert("-", source, to)
			require.NoError(t, err)
			again, err := designfile.Read("-", data)
			require.NoError(t, err)
			assert.True(t, proto.Equal(first.Design, again.Design), "%s to %s", from, to)
			same, err := designfile.Convert("-", source, to)
			require.NoError(t, err)
			assert.Equal(t, data, same)
		}
	}
}

func TestConvertKeepsUnits(t *testing.T) {
	data, err := designfile.Convert("hatchery.yaml", hatchery(t), designfile.JSON)
	require.NoError(t, err)
	back, err := designfile.Convert("hatchery.json", data, designfile.YAML)
	require.NoError(t, err)
	for _, written := range []string{"64 degF", "0.4 Cv", "8 L/min at 20 degC, 1.013 bar(a)", "1 1/2 in", "50 mbar(g)", "103 %", "12.5 °C"} {
		assert.Contains(t, string(data), written)
		assert.Contains(t, string(back), written)
	}
}

func TestCatalogueRoundTrip(t *testing.T) {
	const file = `skidrule_catalogue: v1
name: Demo parts
origin: Invented for tests
entries:
  demo/pump-1: {title: Pump, data: {pump: {curve: [{flow: 1 m3/h, head: 2 bar}]}, max_pressure: 6 bar(g)}}
`
	for _, to := range forms[:2] {
		data, err := designfile.Convert("parts.yaml", []byte(file), to)
		require.NoError(t, err)
		c, err := designfile.ReadCatalogue("parts", data)
		require.NoError(t, err)
		assert.Equal(t, "demo/pump-1", c.Catalogue.GetEntries()[0].GetId())
		assert.Equal(t, 2e5, c.Catalogue.GetEntries()[0].GetData().GetPump().GetCurve()[0].GetHeadPa())
		assert.True(t, c.Positions.Has("entries.demo/pump-1.data.max_pressure"))
	}
}

// draw fills a message at random. The rules of the file spelling hold: keys are
// tags and occur once, numbers are finite and within their bounds.
func draw(t *rapid.T, m protoreflect.Message, depth int) {
	fields := m.Descriptor().Fields()
	for i := range fields.Len() {
		fd := fields.Get(i)
		if o := fd.ContainingOneof(); o != nil && !o.IsSynthetic() {
			continue
		}
		if rapid.IntRange(0, 3).Draw(t, "set") == 0 {
			drawField(t, m, fd, depth)
		}
	}
	for i := range m.Descriptor().Oneofs().Len() {
		o := m.Descriptor().Oneofs().Get(i)
		if !o.IsSynthetic() && rapid.IntRange(0, 9).Draw(t, "kind") > 0 {
			drawField(t, m, o.Fields().Get(rapid.IntRange(0, o.Fields().Len()-1).Draw(t, "choice")), depth)
		}
	}
	if size, ok := m.Interface().(*skidrulev1.NominalSize); ok && rapid.Bool().Draw(t, "real size") {
		one := rapid.SampledFrom([]string{"1/2", "1 1/2", "4"}).Draw(t, "size")
		size.System, size.Designation = skidrulev1.SizeSystem_SIZE_SYSTEM_NPS, one
	}
	if a, ok := m.Interface().(*skidrulev1.Assumption); ok {
		a.Path = rapid.SampledFrom([]string{"components.A-1.max_pressure", "basis.bromide", "lines.L/1.length", "components.A.pump.curve[3].head",
			"components.B.position.x", "catalogue.demo/x.data.max_temperature"}).Draw(t, "path")
		a.Low, a.High = nil, nil
		if rapid.Bool().Draw(t, "low") {
			a.Low = proto.Float64(rapid.Float64Range(0, 1e-3).Draw(t, "low"))
		}
		if rapid.Bool().Draw(t, "high") {
			a.High = proto.Float64(rapid.Float64Range(1e-2, 100).Draw(t, "high"))
		}
	}
	if stop, ok := m.Interface().(*skidrulev1.RouteStop); ok {
		stop.Tag = tag.Draw(t, "tag")
	}
}

var tag = rapid.StringMatching(`[A-Za-z0-9][A-Za-z0-9_/-]{0,20}`)

func drawField(t *rapid.T, m protoreflect.Message, fd protoreflect.FieldDescriptor, depth int) {
	if !fd.IsList() {
		if fd.Message() != nil {
			draw(t, m.Mutable(fd).Message(), depth+1)
			return
		}
		m.Set(fd, drawValue(t, fd))
		return
	}
	l := m.Mutable(fd).List()
	seen := make(map[string]bool)
	for range rapid.IntRange(0, max(4-depth, 1)).Draw(t, "items") {
		if fd.Message() == nil {
			l.Append(drawValue(t, fd))
			continue
		}
		e := l.NewElement()
		draw(t, e.Message(), depth+1)
		if by := trait(fd).GetKeyedBy(); by != "" {
			key := tag.Filter(func(s string) bool { return !seen[s] }).Draw(t, "key")
			seen[key] = true
			e.Message().Set(fd.Message().Fields().ByName(protoreflect.Name(by)), protoreflect.ValueOfString(key))
		}
		l.Append(e)
	}
	if l.Len() == 0 {
		m.Clear(fd)
	}
}

var awkward = []string{"", "null", "~", "true", "on", "12", "1e3", "- a", "a: b", "a #b", " a", "a ", "a\nb", "a\n\nb\n", "\n", "a\n ", " a\nb", "\"q\"", "'q'",
	"{", "[x]", "a, b", "#", "@", "%", "é°", "\u2028", "\ufeff", "\U0001f600", "\x00", "\x7f", "\u0085", "<<", "*a", "&a", "!t", "|", ">", "?", "? a", "-", "---", "...", "a:", "\ttab\n\ttab", "x\r\ny"}

func drawValue(t *rapid.T, fd protoreflect.FieldDescriptor) protoreflect.Value {
	switch fd.Kind() {
	case protoreflect.StringKind:
		return protoreflect.ValueOfString(rapid.OneOf(rapid.SampledFrom(awkward), rapid.String(), rapid.StringN(0, 200, -1)).Draw(t, "text"))
	case protoreflect.BoolKind:
		return protoreflect.ValueOfBool(rapid.Bool().Draw(t, "bool"))
	case protoreflect.Int32Kind:
		return protoreflect.ValueOfInt32(rapid.Int32Range(0, math.MaxInt32).Draw(t, "int"))
	case protoreflect.EnumKind:
		vs := fd.Enum().Values()
		return protoreflect.ValueOfEnum(vs.Get(rapid.IntRange(0, vs.Len()-1).Draw(t, "enum")).Number())
	case protoreflect.DoubleKind:
		low, high := designfile.Bounds(fd)
		return protoreflect.ValueOfFloat64(rapid.OneOf(rapid.Float64Range(low, high), rapid.Float64Range(0, min(high, 1)), rapid.Just(0.0)).Draw(t, "number"))
	}
	panic(fmt.Sprintf("no values of kind %s", fd.Kind()))
}

func TestRoundTripOfAnyMessage(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		design := &skidrulev1.Design{}
		draw(t, design.ProtoReflect(), 0)
		for _, form := range forms {
			data, err := designfile.Write(design, form)
			if err != nil {
				t.Fatalf("%s: %v\n%v", form, err, design)
			}
			if len(data) == 0 {
				continue // the binary form of an empty message
			}
			name := "design." + map[designfile.Form]string{designfile.YAML: "yaml", designfile.JSON: "json", designfile.WireJSON: "json",
				designfile.Text: "txtpb", designfile.Binary: "binpb"}[form]
			back, err := designfile.Read(name, data)
			if err != nil {
				t.Fatalf("%s: %v\n%s", form, err, data)
			}
			if !proto.Equal(design, back.Design) {
				t.Fatalf("%s: changed\n%s\n%v\n%v", form, data, design, back.Design)
			}
		}
	})
}
