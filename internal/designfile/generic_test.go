package designfile_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/types/known/structpb"

	"github.com/skidrule/skidrule/internal/designfile"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// The reader knows nothing of designs: any message will do, with maps, oneofs
// and nested lists.
func TestDecodeAnyMessage(t *testing.T) {
	const text = `kind: v1
fields:
  limit: {number_value: -2.5}
  "two words": {string_value: "x: y"}
  on: {bool_value: true}
  list: {list_value: {values: [{string_value: a}, {struct_value: {fields: {b: {number_value: 1e3}}}}]}}
`
	o := designfile.Options{Header: "kind", Version: "v1"}
	got := &structpb.Struct{}
	positions, err := designfile.Decode([]byte(text), "rule.yaml", got, o)
	require.NoError(t, err)
	want, err := structpb.NewStruct(map[string]any{"limit": -2.5, "two words": "x: y", "on": true, "list": []any{"a", map[string]any{"b": 1000.0}}})
	require.NoError(t, err)
	assert.True(t, proto.Equal(want, got))
	at, ok := positions.Find(`fields["two words"].string_value`)
	require.True(t, ok)
	assert.Equal(t, 4, at.Line)
	at, ok = positions.Find("fields.list.list_value.values[1].struct_value.fields.b.number_value")
	require.True(t, ok)
	assert.Equal(t, "1e3", at.Text)

	for _, form := range forms[:2] {
		data, err := designfile.WriteHeaded(got, form, "kind", "v1", nil)
		require.NoError(t, err)
		again := &structpb.Struct{}
		_, err = designfile.Decode(data, "again", again, o)
		require.NoError(t, err, string(data))
		assert.True(t, proto.Equal(got, again), string(data))
	}

	_, err = designfile.Decode([]byte("kind: v1\nfields: {a: {number_value: 1, string_value: b}}\n"), "rule.yaml", &structpb.Struct{}, o)
	require.Error(t, err)
	assert.Contains(t, err.Error(), "rule.yaml:2:31: \"string_value\" beside \"number_value\"")
}

func TestBoundsOfFields(t *testing.T) {
	signed := map[protoreflect.Name]bool{"altitude_m": true, "elevation_m": true, "high_point_m": true, "low_point_m": true,
		"liquid_flow_m3_per_s": true, "gas_flow_mol_per_s": true, "x": true, "y": true}
	found := make(map[protoreflect.Name]bool)
	for _, m := range messages() {
		for i := range m.Fields().Len() {
			fd := m.Fields().Get(i)
			if fd.Kind() != protoreflect.DoubleKind || trait(fd).GetTextForm() != 0 {
				continue
			}
			low, high := designfile.Bounds(fd)
			assert.Less(t, high, 1e20, "%s has a bound", fd.FullName())
			switch trait(fd).GetDimension() {
			case skidrulev1.Dimension_DIMENSION_PRESSURE_GAUGE:
				assert.Equal(t, -1.1e5, low, fd.FullName())
			default:
				assert.Equal(t, signed[fd.Name()], low < 0, fd.FullName())
			}
			found[fd.Name()] = true
		}
	}
	for name := range signed {
		assert.True(t, found[name], "no field is named %s", name)
	}
}

func TestKeysAndPaths(t *testing.T) {
	fields := (*skidrulev1.Component)(nil).ProtoReflect().Descriptor().Fields()
	assert.Equal(t, "max_pressure", designfile.Key(fields.ByName("max_pressure_pa_gauge")))
	assert.Equal(t, "check_valve", designfile.Key(fields.ByName("check_valve")))
	assert.Equal(t, "components.CV-2", designfile.Child("components", "CV-2"))
	assert.Equal(t, `components["a.b"]`, designfile.Child("components", "a.b"))
	assert.Equal(t, "lines.G-1.route[2]", designfile.Item("lines.G-1.route", 2))
	assert.Equal(t, "ozone_gas", designfile.EnumName(skidrulev1.Service_SERVICE_OZONE_GAS.Descriptor().Values().ByNumber(4)))
	for form := designfile.YAML; form <= designfile.Binary; form++ {
		back, ok := designfile.FormByName(form.String())
		assert.True(t, ok)
		assert.Equal(t, form, back)
	}
}
