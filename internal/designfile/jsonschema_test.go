package designfile_test

import (
	"bytes"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.yaml.in/yaml/v4"
	"google.golang.org/protobuf/proto"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/quantity"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// schemaOf compiles the schema of a message.
func schemaOf(t *testing.T, m proto.Message, header string) (*jsonschema.Schema, map[string]any) {
	t.Helper()
	raw, err := designfile.JSONSchema(m, header, designfile.Version)
	require.NoError(t, err)
	again, err := designfile.JSONSchema(m, header, designfile.Version)
	require.NoError(t, err)
	require.Equal(t, raw, again, "the same bytes each time")
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(raw))
	require.NoError(t, err)
	c := jsonschema.NewCompiler()
	c.DefaultDraft(jsonschema.Draft2020)
	require.NoError(t, c.AddResource("schema.json", doc))
	s, err := c.Compile("schema.json")
	require.NoError(t, err)
	return s, doc.(map[string]any)
}

// valid asks a validator about YAML, as an editor would.
func valid(t *testing.T, s *jsonschema.Schema, text []byte) error {
	t.Helper()
	var v any
	require.NoError(t, yaml.Unmarshal(text, &v))
	raw, err := json.Marshal(v)
	require.NoError(t, err)
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(raw))
	require.NoError(t, err)
	return s.Validate(doc)
}

func TestDemoDesignsFitTheSchema(t *testing.T) {
	s, _ := schemaOf(t, &skidrulev1.Design{}, designfile.DesignHeader)
	var files []string
	for _, pattern := range []string{"../../testdata/*/design.yaml", "../../testdata/mistakes/*/design.yaml"} {
		found, err := filepath.Glob(pattern)
		require.NoError(t, err)
		files = append(files, found...)
	}
	require.Greater(t, len(files), 50)
	for _, f := range files {
		data, err := os.ReadFile(f)
		require.NoError(t, err)
		if _, err := designfile.Read(f, data); err != nil {
			continue // what the reader refuses is for other tests
		}
		assert.NoError(t, valid(t, s, data), f)
	}
	c, _ := schemaOf(t, &skidrulev1.Catalogue{}, designfile.CatalogueHeader)
	data, err := os.ReadFile("../catalogue/demo.yaml")
	require.NoError(t, err)
	assert.NoError(t, valid(t, c, data))
}

// What the writer spells fits the schema, in YAML and in JSON, for every field that there is.
func TestWrittenDesignsFitTheSchema(t *testing.T) {
	s, _ := schemaOf(t, &skidrulev1.Design{}, designfile.DesignHeader)
	data, err := os.ReadFile("../../testdata/hatchery-side-stream/design.yaml")
	require.NoError(t, err)
	f, err := designfile.Read("design.yaml", data)
	require.NoError(t, err)
	for _, form := range []designfile.Form{designfile.YAML, designfile.JSON} {
		text, err := designfile.Write(f.Design, form)
		require.NoError(t, err)
		assert.NoError(t, valid(t, s, text))
	}
}

func TestTheSchemaRefuses(t *testing.T) {
	s, _ := schemaOf(t, &skidrulev1.Design{}, designfile.DesignHeader)
	const head = "skidrule: v1\n"
	require.NoError(t, valid(t, s, []byte(head+"components: {CV-1: {check_valve: {}, max_pressure: 10 bar(g)}, P-1: {pump: }}\nlines: {W-1: {route: [P-1, CV-1.inlet], size: 1/2 in}}\n")))
	for name, text := range map[string]string{
		"no header":         "name: x\n",
		"another version":   "skidrule: v9\n",
		"an unknown key":    head + "nmae: x\n",
		"an unknown kind":   head + "components: {CV-1: {chek_valve: {}}}\n",
		"two kinds":         head + "components: {CV-1: {check_valve: {}, pump: {}}}\n",
		"a bare number":     head + "components: {CV-1: {check_valve: {}, max_pressure: 10}}\n",
		"no gauge":          head + "components: {CV-1: {check_valve: {}, max_pressure: 10 bar}}\n",
		"no unit":           head + "components: {CV-1: {check_valve: {}, elevation: '3'}}\n",
		"an unknown word":   head + "lines: {W-1: {service: wine}}\n",
		"a list of tags":    head + "components: [CV-1]\n",
		"a tag with a dot":  head + "components: {CV.1: {pump: {}}}\n",
		"no truth value":    head + "basis: {joined_to_drinking_water: maybe}\n",
		"a size that is no": head + "lines: {W-1: {size: wide}}\n",
	} {
		assert.Error(t, valid(t, s, []byte(text)), name)
	}
}

// Every property has a title and a description, and every example fits its own schema.
func TestTheSchemaExplainsItself(t *testing.T) {
	_, doc := schemaOf(t, &skidrulev1.Design{}, designfile.DesignHeader)
	n, examples := 0, 0
	var walk func(path string, v any)
	walk = func(path string, v any) {
		o, ok := v.(map[string]any)
		if !ok {
			return
		}
		for key, p := range asObject(o["properties"]) {
			field := asObject(p)
			assert.NotEmpty(t, field["title"], "%s.%s", path, key)
			assert.NotEmpty(t, field["description"], "%s.%s", path, key)
			n++
			if list, ok := field["examples"].([]any); ok {
				examples += len(list)
			}
		}
		for key, p := range asObject(o["$defs"]) {
			walk(key, p)
		}
	}
	walk("design", doc)
	assert.Greater(t, n, 300)
	assert.Greater(t, examples, 50)
	assert.Contains(t, asObject(asObject(doc["$defs"])["VenturiInjector"])["description"], "Ports: motive_inlet, suction, outlet.")
}

func asObject(v any) map[string]any {
	o, _ := v.(map[string]any)
	return o
}

// Whatever a quantity is printed as fits the pattern of its dimension, in every unit that is named to people.
func TestQuantitiesFitTheirPatterns(t *testing.T) {
	_, doc := schemaOf(t, &skidrulev1.Design{}, designfile.DesignHeader)
	seen := 0
	for _, d := range quantity.Dimensions() {
		def := asObject(asObject(doc["$defs"])["quantity_"+d.Name()])
		if def == nil {
			continue
		}
		seen++
		pattern, err := regexp.Compile(def["pattern"].(string))
		require.NoError(t, err)
		for _, unit := range d.Units() {
			for _, number := range []string{"1", "0.25", "2.5e-3", "1/2", "1 1/2"} {
				text := number + " " + unit
				if _, err := quantity.Parse(text, d); err == nil {
					assert.Regexp(t, pattern, text, d.Name())
				}
			}
		}
		for _, x := range []float64{0.01, 0.5, 1, math.Pi} {
			for _, text := range []string{quantity.Format(x, d, quantity.Metric), quantity.Format(x, d, quantity.US), quantity.Exact(x, d)} {
				if _, err := quantity.Parse(text, d); err == nil && strings.TrimSpace(text) != "" {
					assert.Regexp(t, pattern, text, d.Name())
				}
			}
		}
		for _, text := range []string{"10 psig", "10 psi(g)", "10 barg", "10 bar(g)", "10 bar g", "10 psia", "10 bara", "10 kPa abs"} {
			if _, err := quantity.Parse(text, d); err == nil {
				assert.Regexp(t, pattern, text, d.Name())
			}
		}
	}
	assert.Greater(t, seen, 20)
}
