package report_test

import (
	"bytes"
	"encoding/csv"
	"math"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"
	"google.golang.org/protobuf/proto"
	"pgregory.net/rapid"

	"github.com/skidrule/skidrule/internal/quantity"
	"github.com/skidrule/skidrule/internal/report"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

func smallBook(title string) *skidrulev1.ScheduleBook {
	number := func(x float64) *skidrulev1.ScheduleCell { return &skidrulev1.ScheduleCell{Number: &x} }
	set := number(320)
	set.Dimension = "temperature"
	return &skidrulev1.ScheduleBook{DesignName: "Loop", DesignRevision: "B", Cautions: []string{"Never rely on smell."}, Schedules: []*skidrulev1.Schedule{{
		Name: "lines", Title: "Line list",
		Columns: []*skidrulev1.ScheduleColumn{{Title: "Line"}, {Title: "Design pressure", Dimension: "pressure_gauge"}, {Title: "Wall", Dimension: "length", Fine: true},
			{Title: "Length", Dimension: "length"}, {Title: "Hot", Dimension: "temperature"}, {Title: "Set"}, {Title: "Unit"}, {Title: "Title"}},
		Rows: []*skidrulev1.ScheduleRow{
			{Cells: []*skidrulev1.ScheduleCell{{Text: "W-1"}, number(-50000), number(0.0037), number(6), number(273.15), set, {Dimension: "temperature"}, {Text: title}}},
			{Cells: []*skidrulev1.ScheduleCell{{Text: "W-2"}, {NotStated: true, Path: "lines.W-2.max_pressure"}, number(0.001), number(1), {Text: "not computed"}, {Text: "not applicable"}, {Text: "not applicable"}, {Text: "none"}}},
		},
	}}}
}

func csvRows(t require.TestingT, s *skidrulev1.Schedule, units quantity.System) [][]string {
	var out bytes.Buffer
	require.NoError(t, report.ScheduleCSV(&out, s, units))
	rows, err := csv.NewReader(&out).ReadAll()
	require.NoError(t, err)
	return rows
}

// Units stand in the header and numbers are bare; what is not stated says so.
func TestListsInUnits(t *testing.T) {
	rows := csvRows(t, smallBook("Main").GetSchedules()[0], quantity.Metric)
	assert.Equal(t, [][]string{
		{"Line", "Design pressure, bar(g)", "Wall, mm", "Length, m", "Hot, degC", "Set", "Unit", "Title"},
		{"W-1", "-0.5", "3.7", "6", "0", "46.85", "degC", "Main"},
		{"W-2", "not stated", "1", "1", "not computed", "not applicable", "not applicable", "none"},
	}, rows)
	us := csvRows(t, smallBook("Main").GetSchedules()[0], quantity.US)
	assert.Equal(t, "Design pressure, psi(g)", us[0][1])
	assert.Equal(t, []string{"-7.2519", "0.14567", "19.685", "32"}, us[1][1:5])
}

// No text from a design becomes a formula in a spreadsheet, whatever it begins with, and none is lost.
func TestNoTextBecomesAFormula(t *testing.T) {
	for _, evil := range []string{"=1+1", "+1", "-1+2", "@SUM(A1)", "\t=1", "\r=1", " =1", "\u00a0=1", "＝1", "=HYPERLINK(\"http://x\",\"y\")"} {
		got := csvRows(t, smallBook(evil).GetSchedules()[0], quantity.Metric)[1][7]
		assert.False(t, strings.ContainsRune("=+-@\t\r＝", []rune(strings.TrimSpace(got))[0]), "%q became %q", evil, got)
		assert.Contains(t, got, strings.TrimSpace(strings.Trim(evil, "\t\r\u00a0 ")), evil)
	}
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.String().Draw(t, "text")
		if strings.TrimSpace(text) == "" || !utf8.ValidString(text) {
			return
		}
		got := csvRows(t, smallBook(text).GetSchedules()[0], quantity.Metric)[1][7]
		trimmed := strings.TrimLeft(got, " \u00a0")
		if trimmed != "" {
			assert.False(t, strings.ContainsAny(trimmed[:1], "=+-@\t\r"), "%q became %q", text, got)
		}
		var out bytes.Buffer
		require.NoError(t, report.Workbook(&out, smallBook(text), quantity.Metric))
		f, err := excelize.OpenReader(&out)
		require.NoError(t, err)
		defer f.Close()
		formula, err := f.GetCellFormula("lines", "H2")
		require.NoError(t, err)
		assert.Empty(t, formula)
	})
}

// A spreadsheet has a sheet for each list with a frozen header, numbers that are numbers and texts that are texts, and is the same
// bytes each time.
func TestWorkbook(t *testing.T) {
	var out, again bytes.Buffer
	require.NoError(t, report.Workbook(&out, smallBook("=1+1"), quantity.Metric))
	require.NoError(t, report.Workbook(&again, smallBook("=1+1"), quantity.Metric))
	assert.True(t, bytes.Equal(out.Bytes(), again.Bytes()), "the same book in the same bytes")
	f, err := excelize.OpenReader(&out)
	require.NoError(t, err)
	defer f.Close()
	assert.Equal(t, []string{"lines", "cautions"}, f.GetSheetList())
	panes, err := f.GetPanes("lines")
	require.NoError(t, err)
	assert.True(t, panes.Freeze)
	assert.Equal(t, 1, panes.YSplit)
	for at, want := range map[string]string{"A1": "Line", "B1": "Design pressure, bar(g)", "B2": "-0.5", "C2": "3.7", "B3": "not stated", "H2": "=1+1", "G2": "degC"} {
		got, err := f.GetCellValue("lines", at)
		require.NoError(t, err)
		assert.Equal(t, want, got, at)
	}
	for at, want := range map[string]excelize.CellType{"B2": excelize.CellTypeUnset, "C3": excelize.CellTypeUnset, "H2": excelize.CellTypeInlineString, "B3": excelize.CellTypeInlineString} {
		kind, err := f.GetCellType("lines", at)
		require.NoError(t, err)
		assert.Equal(t, want, kind, at)
	}
	note, err := f.GetCellValue("cautions", "A3")
	require.NoError(t, err)
	assert.Equal(t, "Never rely on smell.", note)
}

// A list that does not fit its columns, and a number that is none, are errors and nothing is written.
func TestListsThatAreWrong(t *testing.T) {
	short := smallBook("Main")
	short.Schedules[0].Rows[0].Cells = short.Schedules[0].Rows[0].Cells[:3]
	endless := smallBook("Main")
	endless.Schedules[0].Rows[0].Cells[1].Number = proto.Float64(math.Inf(1))
	for _, b := range []*skidrulev1.ScheduleBook{short, endless} {
		var out bytes.Buffer
		assert.Error(t, report.ScheduleCSV(&out, b.GetSchedules()[0], quantity.Metric))
		assert.Error(t, report.Workbook(&out, b, quantity.Metric))
		assert.Error(t, report.Schedule(&out, b, report.Style{}))
	}
}

// Text of a design is harmless on a terminal.
func TestUpkeepTextIsClean(t *testing.T) {
	plan := &skidrulev1.UpkeepPlan{DesignName: "a\x1b[31mb", Removals: []*skidrulev1.ModuleRemoval{{Tag: "OG-1", Title: "x\ny",
		Steps: []*skidrulev1.RemovalStep{{Action: skidrulev1.RemovalAction_REMOVAL_ACTION_STOP, Text: "Stop\x07 it.", DurationS: proto.Float64(90)}}}}}
	var out bytes.Buffer
	require.NoError(t, report.Upkeep(&out, plan, report.UpkeepParts{Services: true, Spares: true, Removals: true, Steps: true}, report.Style{}))
	for _, r := range out.String() {
		assert.True(t, r == '\n' || r >= ' ', "%q", r)
	}
	assert.Contains(t, out.String(), "at least 90 s")
}
