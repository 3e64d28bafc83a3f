package designfile_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/designfile"
)

// problems reads a bad file and returns what is wrong with it.
func problems(t *testing.T, name, data string) *designfile.Problems {
	t.Helper()
	f, err := designfile.Read(name, []byte(data))
	require.Error(t, err)
	assert.Nil(t, f)
	var p *designfile.Problems
	require.True(t, errors.As(err, &p), "%T", err)
	require.NotEmpty(t, p.List)
	return p
}

func TestReadBadYAML(t *testing.T) {
	const head = "skidrule: v1\n"
	const valve = head + "components:\n  CV-1: "
	for name, c := range map[string]struct {
		text string
		want []string // how the lines of the error begin, and what they contain behind "..."
	}{
		"empty":             {"", []string{"d.yaml:1:1: the file is empty; begin it with \"skidrule: v1\""}},
		"blank":             {" \r\n\t\n", []string{"d.yaml:1:1: the file is empty"}},
		"comments only":     {"# a\n# b\n", []string{"d.yaml:1:1: the file holds nothing but comments"}},
		"scalar":            {"hello", []string{"d.yaml:1:1: the file is no mapping...begin the file with \"skidrule: v1\""}},
		"list":              {"- a\n", []string{"d.yaml:1:1: the file is no mapping"}},
		"no header":         {"name: x\n", []string{"d.yaml:1:1: the first key is \"name\"; begin the file"}},
		"header later":      {"name: x\nskidrule: v1\n", []string{"d.yaml:2:1: \"skidrule\" is not the first key"}},
		"header twice":      {head + head, []string{"d.yaml:2:1: unknown key \"skidrule\""}},
		"version":           {"skidrule: v2\n", []string{"d.yaml:1:11: version \"v2\" is not known; write \"skidrule: v1\""}},
		"catalogue":         {"skidrule_catalogue: v1\n", []string{"d.yaml:1:1: this is a catalogue"}},
		"misspelt key":      {head + "nmae: x\n", []string{"d.yaml:2:1: unknown key \"nmae\" in a design; did you mean \"name\"?"}},
		"camel case":        {valve + "{maxPressure: 1 bar(g)}\n", []string{"d.yaml:3:10: unknown key...did you mean \"max_pressure\"?"}},
		"wire name":         {valve + "{max_pressure_pa_gauge: 100000}\n", []string{"d.yaml:3:10: unknown key...write \"max_pressure\" and a value with its unit: 10 bar(g)"}},
		"misspelt kind":     {valve + "{chek_valve: {}}\n", []string{"d.yaml:3:10: unknown key \"chek_valve\" in a component; did you mean \"check_valve\"?"}},
		"unknown kind":      {valve + "{flux_capacitor: {}}\n", []string{"d.yaml:3:10: unknown key \"flux_capacitor\"...known kinds are compressor, blower"}},
		"unknown key":       {valve + "{colour: red}\n", []string{"d.yaml:3:10: unknown key \"colour\"...known keys are title, part, max_pressure"}},
		"too far out":       {valve + "{check_valve: {}, opening_pressure: 30 mbar}\n", []string{"d.yaml:3:27: unknown key...\"opening_pressure\" belongs inside of check_valve"}},
		"too far in":        {valve + "{check_valve: {max_pressure: 10 bar(g)}}\n", []string{"d.yaml:3:24: unknown key \"max_pressure\" in a check valve...belongs to components.CV-1"}},
		"other kind's":      {valve + "{check_valve: {bore: 10 mm}}\n", []string{"d.yaml:3:24: unknown key \"bore\"...is a key of restriction_orifice"}},
		"basis at the top":  {head + "altitude: 3 m\n", []string{"d.yaml:2:1: unknown key \"altitude\" in a design; \"altitude\" is a key inside of basis"}},
		"two kinds":         {valve + "{check_valve: {}, pump: {}}\n", []string{"d.yaml:3:27: \"pump\" beside \"check_valve\" at d.yaml:3:10"}},
		"two components":    {valve + "{}\n  CV-1: {}\n", []string{"d.yaml:4:3: the key \"CV-1\" for the second time; the first one is at d.yaml:3:3"}},
		"two keys":          {valve + "{title: a, title: b}\n", []string{"d.yaml:3:20: the key \"title\" for the second time; the first one is at d.yaml:3:10"}},
		"tag":               {head + "components:\n  \"C V\": {}\n", []string{"d.yaml:3:3: \"C V\" is no tag; use letters"}},
		"long tag":          {head + "components:\n  " + strings.Repeat("a", 65) + ": {}\n", []string{"d.yaml:3:3: ...is no tag"}},
		"tag inside":        {valve + "{tag: CV-2}\n", []string{"d.yaml:3:15: tag is \"CV-2\", but the key is \"CV-1\""}},
		"list for mapping":  {head + "components: [a]\n", []string{"d.yaml:2:13: a mapping is needed here, with one entry for each tag"}},
		"text for mapping":  {head + "components: {a: b}\n", []string{"d.yaml:2:17: a mapping of keys to values is needed here"}},
		"mapping for text":  {head + "name: {a: b}\n", []string{"d.yaml:2:7: one value is needed here, not a mapping"}},
		"mapping for list":  {head + "assumptions: {a: b}\n", []string{"d.yaml:2:14: a list is needed here"}},
		"list for number":   {valve + "{max_pressure: [1]}\n", []string{"d.yaml:3:24: one value is needed here, not a list; write it as \"10 bar(g)\""}},
		"no value":          {valve + "{max_pressure: }\n", []string{"d.yaml:3:24: no value"}},
		"empty item":        {head + "assumptions:\n  -\n", []string{"d.yaml:3:4: an item without a value"}},
		"enum":              {valve + "{body_material: stainles_316}\n", []string{"d.yaml:3:25: unknown body_material \"stainles_316\"; did you mean \"stainless_316\"?"}},
		"enum in capitals":  {valve + "{fail_position: CLOSED}\n", []string{"d.yaml:3:25: unknown fail_position \"CLOSED\"; did you mean \"closed\"?"}},
		"enum with prefix":  {valve + "{fail_position: FAIL_POSITION_CLOSED}\n", []string{"d.yaml:3:25: unknown fail_position...known are closed, open, stays"}},
		"enum unspecified":  {valve + "{fail_position: unspecified}\n", []string{"d.yaml:3:25: unknown fail_position...leave the key out"}},
		"truth value":       {valve + "{locked: yes}\n", []string{"d.yaml:3:18: \"yes\" is no value of locked; write true or false"}},
		"count":             {valve + "{ozone_generator: {cells: 2.5}}\n", []string{"d.yaml:3:35: \"2.5\" is no value of cells; write a whole number"}},
		"negative count":    {valve + "{ozone_generator: {cells: -2}}\n", []string{"d.yaml:3:35: cells is negative (-2)"}},
		"bare number":       {valve + "{max_pressure: 10}\n", []string{"d.yaml:3:26: max_pressure \"10\": a number without a unit...bar(g)"}},
		"bar without kind":  {valve + "{max_pressure: 10 bar}\n", []string{"d.yaml:3:27: max_pressure \"10 bar\": ...gauge or absolute"}},
		"unknown unit":      {valve + "{max_pressure: 10 bra(g)}\n", []string{"d.yaml:3:27: max_pressure \"10 bra(g)\": unknown unit...bar(g)"}},
		"wrong dimension":   {valve + "{max_pressure: 10 m}\n", []string{"d.yaml:3:27: max_pressure \"10 m\": \"m\" is a length"}},
		"quoted bad unit":   {valve + "{max_pressure: \"10 bra(g)\"}\n", []string{"d.yaml:3:28: max_pressure"}},
		"NaN":               {head + "basis: {altitude: .nan}\n", []string{"d.yaml:2:19: altitude \".nan\": not a finite number"}},
		"infinite":          {head + "basis: {altitude: -.inf m}\n", []string{"d.yaml:2:19: altitude \"-.inf m\": not a finite number"}},
		"overflow":          {head + "basis: {altitude: 1e400 m}\n", []string{"d.yaml:2:19: altitude \"1e400 m\":"}},
		"negative volume":   {head + "basis: {room_volume: -3 m3}\n", []string{"d.yaml:2:22: room_volume is negative (-3 m3)"}},
		"absurd pressure":   {head + "basis: {atmospheric_pressure: 20000 bar(a)}\n", []string{"d.yaml:2:31: ...the highest value that is accepted is 10000 bar(a)"}},
		"absurd heat":       {head + "basis: {water_temperature: 6000 K}\n", []string{"d.yaml:2:28: ...the highest value that is accepted is"}},
		"deep vacuum":       {valve + "{min_pressure: -2 bar(g)}\n", []string{"d.yaml:3:...min_pressure"}},
		"sheet":             {valve + "{position: {x: .nan, y: 0x10}}\n", []string{"d.yaml:3:24: \".nan\" is no decimal number", "d.yaml:3:33: \"0x10\" is no decimal number"}},
		"stops":             {head + "lines:\n  L: {route: [a.b>c, \"x y\", d.e>f]}\n", []string{"d.yaml:3:15: ...the first stop names only", "d.yaml:3:22: ...is no tag", "d.yaml:3:29: ...the last stop names only"}},
		"ports":             {head + "lines:\n  L: {route: [a, b., c.d>, e.>f, .x, e]}\n", []string{"d.yaml:3:18: ...no name of a port", "d.yaml:3:22: ", "d.yaml:3:28: ", "d.yaml:3:34: ...is no tag"}},
		"header's port":     {head + "components: {H: {header: {}}}\nlines:\n  L: {route: [a, H.outlet, b]}\n", []string{"d.yaml:4:18: the line enters and leaves H by the same port \"outlet\"; name both ports, as H.inlet>outlet"}},
		"one port both":     {head + "components: {T: {tee: {}}}\nlines:\n  L: {route: [a, T.branch, b]}\n", []string{"d.yaml:4:18: the line enters and leaves T by the same port \"branch\"; name both ports, as T.inlet>outlet"}},
		"size":              {head + "lines:\n  L: {size: 0.7 in}\n", []string{"d.yaml:3:13: size \"0.7 in\":...NPS 3/4"}},
		"anchor":            {head + "basis: &a {altitude: 3 m}\n", []string{"d.yaml:2:8: an anchor (&a)"}},
		"alias":             {head + "name: &a x\nrevision: *a\n", []string{"d.yaml:2:7: an anchor", "d.yaml:3:11: an alias (*a)"}},
		"merge":             {head + "basis: {<<: {altitude: 3 m}}\n", []string{"d.yaml:2:9: a merge key (<<)"}},
		"tagged":            {head + "name: !!str x\n", []string{"d.yaml:2:7: a YAML tag (!!str)"}},
		"custom tag":        {head + "name: !secret x\n", []string{"d.yaml:2:7: a YAML tag (!secret)"}},
		"complex key":       {head + "? [a]\n: b\n", []string{"d.yaml:2:3: a key that is no plain word"}},
		"two documents":     {head + "---\nname: x\n", []string{"d.yaml:2:1: a second document in one file"}},
		"broken second":     {head + "---\nname: [\n", []string{"d.yaml:4:1: not readable as YAML"}},
		"tab":               {head + "name:\n\t- x\n", []string{"d.yaml:3:1: not readable as YAML...indent with spaces"}},
		"open quote":        {head + "name: \"x\n", []string{"d.yaml:2:7: not readable as YAML...close the quotes"}},
		"open bracket":      {head + "components: {A: {}\n", []string{"d.yaml:2:13: not readable as YAML...close every bracket"}},
		"colon":             {head + "name: a: b\n", []string{"d.yaml:2:8: not readable as YAML...into quotes"}},
		"at sign":           {head + "name: @x\n", []string{"d.yaml:2:7: not readable as YAML...into quotes"}},
		"deep":              {head + "a: " + strings.Repeat("[", 100) + strings.Repeat("]", 100), []string{"d.yaml:2:68: ...exceeded max depth of 64"}},
		"UTF-16":            {"\xff\xfes\x00k\x00", []string{"d.yaml:1:1: the file is encoded in UTF-16; save it as UTF-8"}},
		"UTF-16 without":    {"s\x00k\x00i\x00d\x00", []string{"d.yaml:1:1: the file is encoded in UTF-16"}},
		"UTF-16 big":        {"\xfe\xff\x00s\x00k", []string{"d.yaml:1:1: the file is encoded in UTF-16"}},
		"UTF-32":            {"\xff\xfe\x00\x00s\x00\x00\x00", []string{"d.yaml:1:1: the file is encoded in UTF-32"}},
		"Latin-1":           {head + "name: Str\xf6m\n", []string{"d.yaml:2:10: not valid UTF-8 (byte 0xF6)...Latin-1"}},
		"NUL":               {head + "name: a\x00b\n", []string{"d.yaml:2:8: a NUL byte"}},
		"control":           {head + "name: a\x07b\n", []string{"d.yaml:2:8: the control character U+0007"}},
		"line separator":    {head + "name: a\u2028b\n", []string{"d.yaml:2:8: the invisible character U+2028"}},
		"BOM":               {"\ufeffskidrule: v1\nnmae: a\n", []string{"d.yaml:2:1: unknown key"}},
		"BOM first line":    {"\ufeffskidrule: v9\n", []string{"d.yaml:1:11: version"}},
		"CRLF":              {"skidrule: v1\r\nname: x\r\nnmae: a\r\n", []string{"d.yaml:3:1: unknown key"}},
		"CR":                {"skidrule: v1\rname: x\rnmae: a\r", []string{"d.yaml:3:1: unknown key"}},
		"wide characters":   {head + "basis: {water_temperature: 5 °F°, nmae: 3}\n", []string{"d.yaml:2:...water_temperature", "d.yaml:2:35: unknown key \"nmae\""}},
		"binary junk":       {"\x89PNG\r\n\x1a\n\x00\x00", []string{"d.yaml:1:1: not valid UTF-8"}},
		"assumed path":      {head + "assumptions: [{path: components.A.max_presure, low: 1 bar(g)}]\n", []string{"d.yaml:2:22: the path has no \"max_presure\" in a component; did you mean \"max_pressure\"?"}},
		"assumed nothing":   {head + "assumptions: [{low: 3 m}]\n", []string{"d.yaml:2:15: an assumption without a path", "d.yaml:2:21: low without a path"}},
		"assumed dimension": {head + "assumptions: [{low: 3 m, path: basis.bromide}]\n", []string{"d.yaml:2:23: low \"3 m\": \"m\" is a length"}},
		"assumed text":      {head + "assumptions: [{low: 3, path: name}]\n", []string{"d.yaml:2:30: \"name\" is no number that can be assumed"}},
		"assumed ends":      {head + "assumptions: [{path: basis.bromide, low: 3 mg/L, high: 1 mg/L}]\n", []string{"d.yaml:2:42: the low end 3 mg/L lies above the high end 1 mg/L"}},
		"assumed absurd":    {head + "assumptions: [{path: basis.room_volume, low: -1 m3}]\n", []string{"d.yaml:2:46: room_volume is negative"}},
	} {
		t.Run(name, func(t *testing.T) {
			p := problems(t, "d.yaml", c.text)
			lines := strings.Split(p.Error(), "\n")
			require.Len(t, lines, len(c.want), p.Error())
			for i, want := range c.want {
				begin, inside, _ := strings.Cut(want, "...")
				assert.True(t, strings.HasPrefix(lines[i], begin), "%s\nmust begin with %s", lines[i], begin)
				assert.Contains(t, lines[i], inside)
			}
		})
	}
}

func TestReadBadJSON(t *testing.T) {
	for text, want := range map[string]string{
		`{"skidrule": "v1", "nmae": "x"}`:                      `d.json:1:20: unknown key "nmae"`,
		`{"skidrule": "v1", "name": "x",}`:                     `d.json:1:32: not readable as JSON: a comma before "}"; remove the comma`,
		`{"skidrule": "v1", name: "x"}`:                        `d.json:1:20: not readable as JSON: a key in double quotes is needed here`,
		`{"skidrule": "v1", "name": 'x'}`:                      `d.json:1:28: not readable as JSON: single quotes`,
		`{"skidrule": "v1" "name": "x"}`:                       `d.json:1:19: not readable as JSON: a comma or "}" is needed here`,
		`{"skidrule": "v1", "name" "x"}`:                       `d.json:1:27: not readable as JSON: a colon is needed behind the key`,
		`{"skidrule": "v1", "name": "x"`:                       `d.json:1:31: not readable as JSON: a comma or "}"`,
		`{"skidrule": "v1", "name": "x}`:                       `d.json:1:31: not readable as JSON: the file ends inside quotes`,
		`{"skidrule": "v1", "name": x}`:                        `d.json:1:28: not readable as JSON: "x" is no value`,
		`{"skidrule": "v1", "name": `:                          `d.json:1:28: not readable as JSON: the file ends too early`,
		`{"skidrule": "v1"} {}`:                                `d.json:1:20: not readable as JSON: something behind the end`,
		`{"skidrule": "v1", /* a */ "name": "x"}`:              `d.json:1:20: not readable as JSON: a key in double quotes`,
		`{"skidrule": "v1", "name": "\ud83d"}`:                 `d.json:1:35: not readable as JSON: a broken escape`,
		`{"skidrule": "v1", "name": "\ud83d\u0041"}`:           `not readable as JSON: half of a surrogate pair`,
		`{"skidrule": "v1", "name": "\q"}`:                     `d.json:1:29: not readable as JSON: a broken escape`,
		"{\"skidrule\": \"v1\", \"name\": \"a\nb\"}":           `d.json:1:30: not readable as JSON: a line break or tab inside quotes`,
		`{"skidrule": "v1", "basis": {"altitude": 12}}`:        `d.json:1:44: altitude "12": a number without a unit`,
		`{"skidrule": "v1", "a": ` + strings.Repeat("[", 70):   `not readable as JSON: nested too deeply`,
		`{"components": [{"tga": 1}]}`:                         `d.json:1:18: not readable as protobuf JSON: unknown field "tga"`,
		"{\n \"name\": 3}":                                     `d.json:2:10: not readable as protobuf JSON: invalid value for string`,
		`{"components": [{"tag": "a"}, {"tag": "a"}]}`:         `d.json:1:39: two items of components with the tag "a"`,
		`{"components": [{"tag": "a b"}]}`:                     `d.json:1:25: "a b" is no tag`,
		`{"components": [{"title": "a"}]}`:                     `d.json:1:17: an item of components without tag`,
		`{"basis": {"altitudeM": "NaN"}}`:                      `d.json:1:25: altitude is NaN; write a finite number`,
		`{"basis": {"room_volume_m3": -1}}`:                    `d.json:1:30: room_volume is negative (-1 m3)`,
		`{"lines": [{"tag": "L", "service": 99}]}`:             `d.json:1:36: service has the unknown value 99`,
		`{"lines": [{"tag": "L", "route": [{"tag": "(", }]}]}`: `not readable as protobuf JSON`,
		`{"lines": [{"tag": "L", "route": [{"tag": "("}]}]}`:   `d.json:1:43: "(" is no tag`,
		`{"assumptions": [{"path": "basis.altitud"}]}`:         `d.json:1:27: the path has no "altitud"`,
		`[]`: `d.json:1:1: the file is no mapping`,
		`7`:  `d.json:1:1: the file is no mapping`,
		`{"skidrule": "v1", "cases": {"a": {"excluded": "no"}}}`: `d.json:1:48: "no" is no value of excluded; write true or false`,
	} {
		p := problems(t, "d.json", text)
		assert.Contains(t, p.Error(), want, text)
	}
}

func TestReadBadWire(t *testing.T) {
	for _, c := range []struct{ name, data, want string }{
		{"d.binpb", "\x0a\xffhello", "d.binpb: not readable as binary protobuf: broken in field 1 of Design"},
		{"d.binpb", "\x7f", "d.binpb: not readable as binary protobuf: broken"},
		{"d.binpb", "\x08\x01", "field name of Design has the wrong wire type"},
		{"d.binpb", "\xa2\x06\x01x", "Design has no field 100"},
		{"d.binpb", "\x0a\x02\xff\xfe", "invalid UTF-8"},
		{"d.binpb", "\x2a\x02\x0a\x00", "an item of components without tag"},
		{"d.binpb", strings.Repeat("\x2a\x00", 600_000), "too many elements"},
		{"d.txtpb", "name: \"x\"\ncomponents { tga: 1 }", "d.txtpb:2:14: not readable as protobuf text: unknown field: tga"},
		{"d.txtpb", "name: \"x", "d.txtpb:1:"},
		{"d.txtpb", "basis { altitude_m: nan }", "altitude is NaN"},
		{"stdin", "\x00\x01\x02\x03\xff", "stdin: not readable as binary protobuf"},
	} {
		p := problems(t, c.name, c.data)
		assert.Contains(t, p.Error(), c.want, "%q", c.data[:min(len(c.data), 40)])
	}
}

func TestReadReportsEverythingOnce(t *testing.T) {
	var b strings.Builder
	b.WriteString("skidrule: v1\ncomponents:\n")
	for i := range 150 {
		fmt.Fprintf(&b, "  A-%d: {check_valve: {}, max_presure: 3 bar(g)}\n", i)
	}
	p := problems(t, "d.yaml", b.String())
	assert.Len(t, p.List, designfile.DefaultMaxProblems)
	assert.Equal(t, 50, p.More)
	assert.True(t, strings.HasSuffix(p.Error(), "\n50 more problems are not listed"))
	for i, one := range p.List {
		assert.Equal(t, i+3, one.Line)
		assert.Equal(t, fmt.Sprintf("components.A-%d.max_presure", i), one.Path)
	}
}

func TestProblemHasItsParts(t *testing.T) {
	p := problems(t, "d.yaml", "skidrule: v1\nbasis: {altitude: 3 bar}\n").List[0]
	assert.Equal(t, "d.yaml", p.File)
	assert.Equal(t, [4]int{2, 21, 2, 24}, [4]int{p.Line, p.Column, p.EndLine, p.EndColumn})
	assert.Equal(t, "basis.altitude", p.Path)
	assert.NotEmpty(t, p.Message)
	assert.NotEmpty(t, p.Suggestion)
}
