package schedule_test

import (
	"context"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/catalogue"
	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/fact"
	"github.com/skidrule/skidrule/internal/operate"
	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/schedule"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

func worldOf(t *testing.T, path string) *fact.World {
	t.Helper()
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	f, err := designfile.Read(path, data)
	require.NoError(t, err)
	p, problems := plant.Resolve(f.Design, plant.Catalogues{catalogue.Parts()})
	require.Empty(t, problems)
	cases, wrong := operate.Cases(p)
	require.Empty(t, wrong)
	return fact.NewWorld(p, cases)
}

func solved(t *testing.T, w *fact.World) *operate.States {
	t.Helper()
	s, err := operate.NewSolver(w.Plant, w.Cases)
	require.NoError(t, err)
	out := &operate.States{Plant: w.Plant, Cases: w.Cases, States: make([]*operate.State, len(w.Cases))}
	for i := range w.Cases {
		if w.Cases[i].Excluded == "" {
			out.States[i], err = s.Case(context.Background(), i)
			require.NoError(t, err)
		}
	}
	return out
}

func bookOf(t *testing.T, w *fact.World, states *operate.States, names ...string) map[string]*skidrulev1.Schedule {
	t.Helper()
	b, err := schedule.Book(context.Background(), w, states, names)
	require.NoError(t, err)
	out := map[string]*skidrulev1.Schedule{}
	for _, s := range b.GetSchedules() {
		out[s.GetName()] = s
	}
	return out
}

// cell finds a cell by the first cell of its row and the title of its column.
func cell(t *testing.T, s *skidrulev1.Schedule, row, column string) *skidrulev1.ScheduleCell {
	t.Helper()
	for k, c := range s.GetColumns() {
		if c.GetTitle() != column {
			continue
		}
		for _, r := range s.GetRows() {
			if r.GetCells()[0].GetText() == row {
				return r.GetCells()[k]
			}
		}
	}
	require.Fail(t, "no such cell", "%s of %s", column, row)
	return nil
}

const demo = "../../testdata/hatchery-side-stream/design.yaml"

// No cell of any list of any design is blank: it has a number, a text, a unit, or says by name what is not stated. Each row has one
// cell for each column, and numbers are finite.
func TestNoCellIsBlank(t *testing.T) {
	paths, err := filepath.Glob("../../testdata/*/design.yaml")
	require.NoError(t, err)
	more, err := filepath.Glob("../../testdata/mistakes/*/design.yaml")
	require.NoError(t, err)
	require.Greater(t, len(more), 100)
	for _, path := range append(paths, more...) {
		for _, s := range bookOf(t, worldOf(t, path), nil) {
			for _, r := range s.GetRows() {
				require.Len(t, r.GetCells(), len(s.GetColumns()), "%s: %s", path, s.GetName())
				for k, c := range r.GetCells() {
					what := fmt.Sprintf("%s: %s, column %q, row %s", path, s.GetName(), s.GetColumns()[k].GetTitle(), r.GetCells()[0].GetText())
					filled := c.Number != nil || c.GetText() != "" || c.GetNotStated() || c.GetDimension() != ""
					require.True(t, filled, what)
					require.Equal(t, c.GetText(), strings.TrimSpace(c.GetText()), what)
					if c.GetNotStated() {
						require.NotEmpty(t, c.GetPath(), what)
					}
					require.False(t, math.IsNaN(c.GetNumber()) || math.IsInf(c.GetNumber(), 0), what)
				}
			}
		}
	}
}

// The lists of the main demo, read off its design file by hand; operating values are those that skidrule solve gives.
func TestListsOfTheMainDemo(t *testing.T) {
	w := worldOf(t, demo)
	book := bookOf(t, w, solved(t, w))
	lines := book["lines"]
	require.Len(t, lines.GetRows(), 16)
	for column, want := range map[string]string{"From": "OG-1.ozone_gas", "To": "INJ-1.suction", "Service": "ozone gas", "Phase": "gas",
		"Nominal size": "OD 8 mm", "Material": "stainless 316", "End connection": "tube fitting", "Contained": "yes", "Operating water flow": "not applicable"} {
		assert.Equal(t, want, cell(t, lines, "G-2", column).GetText(), column)
	}
	for column, want := range map[string]float64{"Inner diameter": 0.006, "Wall thickness": 0.001, "Length": 4, "Design pressure": 100e5, "Design temperature": 393.15} {
		assert.InDelta(t, want, cell(t, lines, "G-2", column).GetNumber(), 1e-9*math.Max(1, want), column)
	}
	assert.Equal(t, "lines.G-1.contained", cell(t, lines, "G-1", "Contained").GetPath())
	// The return main is held at 1 bar(g); the line stands a little above it, and highest with the outlet blocked.
	assert.InDelta(t, 1.08e5, cell(t, lines, "W-3", "Operating pressure").GetNumber(), 0.05e5)
	assert.Greater(t, cell(t, lines, "W-3", "Highest pressure").GetNumber(), 4e5)
	assert.InDelta(t, 6.0/3600, cell(t, lines, "W-1", "Operating water flow").GetNumber(), 0.5/3600)
	assert.Equal(t, "liquid with gas", cell(t, lines, "W-2", "Phase").GetText())

	valves := book["valves"]
	for column, want := range map[string]string{"Type": "hand valve, ball", "Line": "W-3", "Nominal size": "DN 40", "End connection": "flange", "Locked": "yes", "Fail position": "not applicable"} {
		assert.Equal(t, want, cell(t, valves, "HV-2", column).GetText(), column)
	}
	assert.Equal(t, "closed", cell(t, valves, "XV-1", "Fail position").GetText())
	assert.Equal(t, "CTL-1", cell(t, valves, "XV-1", "Commanded by").GetText())
	assert.Equal(t, 10e5, cell(t, valves, "CV-2", "Rated pressure").GetNumber())

	index := book["instruments"]
	assert.Equal(t, "P-1", cell(t, index, "PI-1", "Loop").GetText())
	assert.Equal(t, "at TE-1.branch", cell(t, index, "PI-1", "Location").GetText())
	assert.Equal(t, "pressure_gauge", cell(t, index, "PI-1", "Range high").GetDimension())
	assert.Equal(t, "pressure_gauge", cell(t, index, "PI-1", "Range unit").GetDimension())
	assert.Equal(t, "LT-1", cell(t, index, "LSH-1", "Location").GetText())
	assert.Equal(t, "loss of suction, stops OG-1, closes XV-1", cell(t, index, "PS-1", "Effects").GetText())

	assert.Empty(t, book["relief"].GetRows())

	trips := book["trips"]
	require.Len(t, trips.GetRows(), 12)
	assert.Equal(t, "stops", cell(t, trips, "ES-1", "P-1").GetText())
	assert.Equal(t, "closes", cell(t, trips, "FS-1", "XV-1").GetText())
	assert.Equal(t, "none", cell(t, trips, "FS-1", "OC-1").GetText())
	k := slices.IndexFunc(trips.GetColumns(), func(c *skidrulev1.ScheduleColumn) bool { return c.GetTitle() == "Set point" })
	require.GreaterOrEqual(t, k, 0)
	// High oxygen comes before low oxygen in the file; each has the set point of its own end.
	assert.Greater(t, trips.GetRows()[9].GetCells()[k].GetNumber(), trips.GetRows()[10].GetCells()[k].GetNumber())

	joints := book["connections"]
	assert.Len(t, joints.GetRows(), w.NumJoints())
	assert.Equal(t, "yes", joints.GetRows()[0].GetCells()[8].GetText())
	assert.Len(t, book["parts"].GetRows(), 47)
}

// Relief devices with what they are set to, let out and are asked to.
func TestReliefDevices(t *testing.T) {
	w := worldOf(t, "../../testdata/cylinder-pressure-fed/design.yaml")
	relief := bookOf(t, w, nil, "relief")["relief"]
	require.Len(t, relief.GetRows(), 1)
	assert.Equal(t, "line G-4 at TE-5.branch", cell(t, relief, "PSV-1", "Protects").GetText())
	assert.Equal(t, "EV-1.inlet", cell(t, relief, "PSV-1", "Discharges to").GetText())
	assert.Equal(t, "none", cell(t, relief, "PSV-1", "Can be shut off by").GetText())
	assert.Positive(t, cell(t, relief, "PSV-1", "Set pressure").GetNumber())
	asked, gives := cell(t, relief, "PSV-1", "Gas to relieve").GetNumber(), cell(t, relief, "PSV-1", "Gas capacity").GetNumber()
	assert.Positive(t, asked)
	assert.GreaterOrEqual(t, gives, asked, "the design keeps its rules")
}

// Tags come as people order them.
func TestTagsInOrder(t *testing.T) {
	w := worldOf(t, "../../testdata/twin-generator-manifold/design.yaml")
	var tags []string
	for _, r := range bookOf(t, w, nil, "lines")["lines"].GetRows() {
		if tag := r.GetCells()[0].GetText(); strings.HasPrefix(tag, "G-") {
			tags = append(tags, tag)
		}
	}
	assert.Equal(t, []string{"G-1", "G-4", "G-10", "G-11", "G-20", "G-21", "G-30", "G-31", "G-32", "G-33"}, tags)
}

// Without solving computed cells say so; a list that is not there is refused by name.
func TestUnsolvedAndUnknown(t *testing.T) {
	w := worldOf(t, demo)
	assert.Equal(t, "not solved", cell(t, bookOf(t, w, nil, "lines")["lines"], "G-2", "Operating pressure").GetText())
	_, err := schedule.Book(context.Background(), w, nil, []string{"lines", "walves"})
	var wrong *schedule.NameError
	require.ErrorAs(t, err, &wrong)
	assert.Equal(t, 1, wrong.Index)
	assert.Contains(t, err.Error(), "there are lines, valves")
	ended, cancel := context.WithCancel(context.Background())
	cancel()
	_, err = schedule.Book(ended, w, nil, nil)
	assert.ErrorIs(t, err, context.Canceled)
}

// A matrix that nobody could read becomes a list in words.
func TestManyEffects(t *testing.T) {
	design := "skidrule: v1\ncomponents:\n  CTL-1:\n    controller:\n      trips:\n"
	for i := range 70 {
		design += fmt.Sprintf("        - {on: ES-1, condition: emergency_stop, stops: [P-%d]}\n", i)
	}
	design += "  ES-1: {emergency_stop: {}}\n"
	for i := range 70 {
		design += fmt.Sprintf("  P-%d: {pump: {}}\n", i)
	}
	path := filepath.Join(t.TempDir(), "design.yaml")
	require.NoError(t, os.WriteFile(path, []byte(design), 0o600))
	trips := bookOf(t, worldOf(t, path), nil, "trips")["trips"]
	require.Len(t, trips.GetRows(), 70)
	assert.Len(t, trips.GetColumns(), 11)
	assert.Equal(t, "P-0", cell(t, trips, "ES-1", "Stops").GetText())
}

// A list that is asked for comes alone.
func TestOnlyWhatIsAskedFor(t *testing.T) {
	w := worldOf(t, demo)
	assert.Len(t, bookOf(t, w, nil), len(schedule.Names()))
	book := bookOf(t, w, nil, "valves", "parts")
	assert.Len(t, book, 2)
	assert.NotNil(t, book["valves"])
	assert.NotNil(t, book["parts"])
}

// A valve that can shut a relief valve off is named beside it.
func TestReliefValveThatCanBeShutOff(t *testing.T) {
	relief := bookOf(t, worldOf(t, "../../testdata/mistakes/valve-below-relief/design.yaml"), nil, "relief")["relief"]
	assert.Equal(t, "HV-9", cell(t, relief, "PSV-1", "Can be shut off by").GetText())
}

// A meter has the range of what flows through it, a joint the height of its port, else of its part.
func TestRangesAndHeights(t *testing.T) {
	path := filepath.Join(t.TempDir(), "design.yaml")
	require.NoError(t, os.WriteFile(path, []byte(`skidrule: v1
components:
  OS-1: {gas_supply: {gas: oxygen}}
  FM-1: {flow_meter: {gas_range_high: 10 NL/min}, elevation: 2 m}
  FM-2: {flow_meter: {liquid_range_high: 3.6 m3/h}, ports: {inlet: {elevation: 1.5 m}}, elevation: 1 m}
  FM-3: {flow_meter: {}}
  WI-1: {boundary: {service: process_water, role: source}}
  WO-1: {boundary: {service: process_water, role: sink}}
  AV-1: {atmosphere_vent: {}}
lines:
  O-1: {route: [OS-1, FM-1, AV-1], service: oxygen}
  W-1: {route: [WI-1, FM-2, FM-3, WO-1], service: process_water}
`), 0o600))
	book := bookOf(t, worldOf(t, path), nil)
	index := book["instruments"]
	assert.Equal(t, "gas_flow", cell(t, index, "FM-1", "Range unit").GetDimension())
	assert.InEpsilon(t, 10./60/22.41396954, cell(t, index, "FM-1", "Range high").GetNumber(), 1e-9) // CODATA 2018, molar volume
	assert.Equal(t, "liquid_flow", cell(t, index, "FM-2", "Range unit").GetDimension())
	assert.InEpsilon(t, 1e-3, cell(t, index, "FM-2", "Range high").GetNumber(), 1e-9)
	assert.Equal(t, "components.FM-3.flow_meter.liquid_range_high", cell(t, index, "FM-3", "Range high").GetPath(), "water comes to it")
	joints := book["connections"]
	heights := map[string]*skidrulev1.ScheduleCell{}
	at := slices.IndexFunc(joints.GetColumns(), func(c *skidrulev1.ScheduleColumn) bool { return c.GetTitle() == "Elevation" })
	require.GreaterOrEqual(t, at, 0)
	for _, r := range joints.GetRows() {
		heights[r.GetCells()[1].GetText()+"."+r.GetCells()[2].GetText()] = r.GetCells()[at]
	}
	assert.Equal(t, 2.0, heights["FM-1.inlet"].GetNumber())
	assert.Equal(t, 1.5, heights["FM-2.inlet"].GetNumber())
	assert.Equal(t, 1.0, heights["FM-2.outlet"].GetNumber())
	assert.True(t, heights["FM-3.inlet"].GetNotStated())
}
