package tablefile_test

import (
	"errors"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/tablefile"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

const injector = `# An invented part.
part,house/injector-25
title,"injector, 1 in"
origin,invented
kind,venturi_injector
max_pressure,6 bar(g)
performance_gas,air
performance_suction_pressure,0 bar(g)
inlet_pressure [bar(g)],outlet_pressure [bar(g)],motive_flow [m3/h],suction_flow [NL/min]
2,0.5,3.6,14
3,0.5,7.2,
`

func TestInjectorTable(t *testing.T) {
	f, err := tablefile.Read("injector.csv", []byte(injector))
	require.NoError(t, err)
	require.Len(t, f.Catalogue.GetEntries(), 1)
	e := f.Catalogue.GetEntries()[0]
	assert.Equal(t, "house/injector-25", e.GetId())
	assert.Equal(t, "injector, 1 in", e.GetTitle())
	assert.Equal(t, "invented", e.GetOrigin())
	assert.Equal(t, 6e5, e.GetData().GetMaxPressurePaGauge())
	spec := e.GetData().GetVenturiInjector()
	assert.Equal(t, skidrulev1.SuctionGas_SUCTION_GAS_AIR, spec.GetPerformanceGas())
	require.NotNil(t, spec.PerformanceSuctionPressurePaGauge, "a condition of zero is stated")
	require.Len(t, spec.GetPerformance(), 2)
	assert.Equal(t, 2e5, spec.GetPerformance()[0].GetInletPressurePaGauge())
	assert.InDelta(t, 0.001, spec.GetPerformance()[0].GetMotiveFlowM3PerS(), 1e-12) // 3.6 m3/h
	assert.Nil(t, spec.GetPerformance()[1].SuctionFlowMolPerS, "an empty cell is not stated")
	at, ok := f.Places.Find("entries.house/injector-25.data.venturi_injector.performance[1].motive_flow")
	require.True(t, ok)
	assert.Equal(t, []int{11, 7}, []int{at.Line, at.Column})
	at, _ = f.Places.Find("entries.house/injector-25.data.venturi_injector.performance[1].suction_flow")
	assert.Equal(t, 5, at.Line, "what is not there is looked for around it")
}

// Semicolons and tabs, a byte order mark, blank cells at the end, capitals and spaces: as spreadsheets write.
func TestSpreadsheetHabits(t *testing.T) {
	want, err := tablefile.Read("a.csv", []byte(injector))
	require.NoError(t, err)
	for name, text := range map[string]string{
		"semicolons":   strings.ReplaceAll(strings.ReplaceAll(injector, ",", ";"), "injector; 1 in", "injector, 1 in"),
		"tabs":         strings.ReplaceAll(strings.ReplaceAll(injector, ",", "\t"), "injector\t 1 in", "injector, 1 in"),
		"mark":         "\ufeff" + injector,
		"line ends":    strings.ReplaceAll(injector, "\n", "\r\n"),
		"blank cells":  strings.ReplaceAll(injector, "\nkind,venturi_injector\n", "\n,,,\nkind,venturi_injector,,\n"),
		"spoken heads": strings.NewReplacer("inlet_pressure [", "Inlet pressure [", "kind,venturi_injector", "Kind,Venturi injector").Replace(injector),
	} {
		got, err := tablefile.Read("a.csv", []byte(text))
		require.NoError(t, err, name)
		assert.EqualExportedValues(t, want.Catalogue.GetEntries()[0].GetData().GetVenturiInjector().GetPerformance()[0], got.Catalogue.GetEntries()[0].GetData().GetVenturiInjector().GetPerformance()[0], name)
		assert.Len(t, got.Catalogue.GetEntries()[0].GetData().GetVenturiInjector().GetPerformance(), 2, name)
	}
}

func TestPumpCurveInUSUnits(t *testing.T) {
	f, err := tablefile.Read("pump.csv", []byte("part,house/pump\nkind,pump\nflow [gal/min],head [psi]\n0,60\n20,50\n"))
	require.NoError(t, err)
	curve := f.Catalogue.GetEntries()[0].GetData().GetPump().GetCurve()
	require.Len(t, curve, 2)
	// 20 US gallons of 231 cubic inches in a minute: NIST SP 811 (2008), appendix B.8.
	assert.InDelta(t, 20*231*0.0254*0.0254*0.0254/60, curve[1].GetFlowM3PerS(), 1e-12)
}

// A part may have several tables, each after a row that names it.
func TestSeveralTables(t *testing.T) {
	f, err := tablefile.Read("i.csv", []byte(injector+"table,suction_curve\nsuction_pressure [bar(g)],relative_flow [1]\n0,1\n-0.2,0.7\n"))
	require.NoError(t, err)
	spec := f.Catalogue.GetEntries()[0].GetData().GetVenturiInjector()
	assert.Len(t, spec.GetPerformance(), 2)
	require.Len(t, spec.GetSuctionCurve(), 2)
	assert.InDelta(t, 0.7, spec.GetSuctionCurve()[1].GetRelativeFlowRatio(), 1e-12)
}

func TestBadTables(t *testing.T) {
	for _, c := range []struct {
		name, text string
		line       int
		want       string
	}{
		{"empty", "", 1, "does not say which part"},
		{"no kind", "part,a\nflow [m3/h],head [bar]\n1,2\n", 1, "what kind of part"},
		{"unknown kind", strings.Replace(injector, "venturi_injector", "venturi", 1), 5, "there is no kind venturi"},
		{"no table", "part,a\nkind,pump\n", 1, "has no table"},
		{"a kind without tables", "part,a\nkind,check_valve\nflow [m3/h],head [bar]\n1,2\n", 2, "a check_valve has no table"},
		{"no points", "part,a\nkind,pump\nflow [m3/h],head [bar]\n", 3, "has no points"},
		{"unknown column", "part,a\nkind,pump\nflow [m3/h],hed [bar]\n1,2\n", 3, "fit no table"},
		{"unknown table", "part,a\nkind,pump\ntable,curv\nflow [m3/h],head [bar]\n1,2\n", 3, "no table curv"},
		{"a column without unit", "part,a\nkind,pump\nflow [m3/h],head\n1,2\n", 3, "the column head has no unit"},
		{"a column twice", "part,a\nkind,pump\nflow [m3/h],flow [L/min]\n1,2\n", 3, "stands there twice"},
		{"unknown unit", "part,a\nkind,pump\nflow [furlong],head [bar]\n1,2\n", 4, "furlong"},
		{"wrong dimension", "part,a\nkind,pump\nflow [bar],head [bar]\n1,2\n", 4, "flow"},
		{"no number", "part,a\nkind,pump\nflow [m3/h],head [bar]\n1,NaN\n", 4, "finite"},
		{"decimal comma", "part;a\nkind;pump\nflow [m3/h];head [bar]\n1,5;2\n", 4, "1,5"},
		{"a value without header", "part,a\nkind,pump\nflow [m3/h],head [bar]\n1,2,3\n", 4, "without a header"},
		{"unknown key", strings.Replace(injector, "performance_gas", "performance_gass", 1), 7, "performance_gass"},
		{"unknown word", strings.Replace(injector, "performance_gas,air", "performance_gas,steam", 1), 7, "steam"},
		{"a key twice", strings.Replace(injector, "origin,invented", "origin,invented\norigin,found", 1), 5, "stated twice"},
		{"a key without value", strings.Replace(injector, "origin,invented", "origin,", 1), 4, "has no value"},
		{"three cells", strings.Replace(injector, "origin,invented", "origin,a,b", 1), 4, "third cell"},
		{"a torn quote", "part,\"a\nkind,pump\n", 2, "quote"},
		{"not text", "part,\xff\xfe\n", 1, "UTF-8"},
		{"too long", "part,a\n" + strings.Repeat("x", 1<<20), 1, "the limit is"},
		{"a broken id", "part,a b: {\nkind,pump\nflow [m3/h],head [bar]\n1,2\n", 1, "a b"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := tablefile.Read("t.csv", []byte(c.text))
			var problems *designfile.Problems
			require.True(t, errors.As(err, &problems), "%v", err)
			assert.Contains(t, err.Error(), c.want)
			assert.Equal(t, c.line, problems.List[0].Line, "%v", err)
			assert.Equal(t, "t.csv", problems.List[0].File)
		})
	}
}

// A fault marks the cell that it is about, from its first letter to behind its last.
func TestFaultsMarkTheirCell(t *testing.T) {
	for text, want := range map[string][4]int{
		"part,a\nkind,pümp\nflow [m3/h],head [bar]\n1,2\n":          {2, 6, 2, 10},
		"part,a\nkind,pump\nflow [m3/h],höhe\n1,2\n":                {3, 13, 3, 17},
		"part,a\norigin,\nkind,pump\nflow [m3/h],head [bar]\n1,2\n": {2, 1, 2, 7},
	} {
		_, err := tablefile.Read("t.csv", []byte(text))
		var problems *designfile.Problems
		require.ErrorAs(t, err, &problems, text)
		p := problems.List[0]
		assert.Equal(t, want, [4]int{p.Line, p.Column, p.EndLine, p.EndColumn}, p.Message)
	}
}

// Of an unknown kind the answer names the kinds that have tables, and no other.
func TestUnknownKindsAreToldThoseWithTables(t *testing.T) {
	_, err := tablefile.Read("t.csv", []byte(strings.Replace(injector, "venturi_injector", "venturi", 1)))
	var problems *designfile.Problems
	require.ErrorAs(t, err, &problems)
	assert.Contains(t, problems.List[0].Suggestion, "pump")
	assert.Contains(t, problems.List[0].Suggestion, "venturi_injector")
	assert.NotContains(t, problems.List[0].Suggestion, "check_valve")
}

func FuzzRead(f *testing.F) {
	f.Add([]byte(injector))
	f.Add([]byte("part;a\nkind;pump\nflow [m3/h];head [bar]\n1;2\n"))
	f.Add([]byte("table,x\n[ ],[]\n\"\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		file, err := tablefile.Read("f.csv", data)
		var problems *designfile.Problems
		if err != nil {
			require.True(t, errors.As(err, &problems), "%v", err)
			require.NotEmpty(t, problems.List)
			return
		}
		require.Len(t, file.Catalogue.GetEntries(), 1)
	})
}
