package main

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"
	"google.golang.org/protobuf/encoding/protojson"

	"github.com/skidrule/skidrule/internal/designfile"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

const twinDemo = "../../testdata/twin-generator-manifold/design.yaml"

// One list is CSV with its units in the header; several are a spreadsheet.
func TestListFormats(t *testing.T) {
	t.Parallel()
	table := command(t, nil, "list", mainDemo, "valves", "--format", "csv")
	require.Equal(t, exitPassed, table.code, table.stderr)
	rows, err := csv.NewReader(strings.NewReader(table.stdout)).ReadAll()
	require.NoError(t, err)
	assert.Contains(t, rows[0], "Rated pressure, bar(g)")
	for _, r := range rows {
		for i, c := range r {
			assert.NotEmpty(t, c, "%s of %s", rows[0][i], r[0])
		}
	}
	path := filepath.Join(t.TempDir(), "lists.xlsx")
	book := command(t, nil, "list", twinDemo, "--no-solving", "--format", "xlsx", "--output", path)
	require.Equal(t, exitPassed, book.code, book.stderr)
	f, err := excelize.OpenFile(path)
	require.NoError(t, err)
	defer f.Close()
	assert.Equal(t, []string{"lines", "valves", "instruments", "relief", "trips", "connections", "parts", "cautions"}, f.GetSheetList())
	text := command(t, nil, "list", mainDemo, "trips", "relief", "--units", "us")
	assert.Contains(t, text.stdout, "Trips: cause and effect")
	assert.Contains(t, text.stdout, "Relief devices\n  none\n")
	var message struct{ Schedules []struct{ Name string } }
	require.NoError(t, json.Unmarshal([]byte(command(t, nil, "list", mainDemo, "parts", "--format", "json").stdout), &message))
	require.Len(t, message.Schedules, 1)
	assert.Equal(t, "parts", message.Schedules[0].Name)
}

func TestListRefuses(t *testing.T) {
	t.Parallel()
	refuses(t, []string{"list", mainDemo}, map[string][]string{
		`there is no list "walves"`: {"walves"},
		"csv is one list":           {"--format", "csv"},
		"is no text":                {"--format", "xlsx"},
		"--format":                  {"--format", "ods"},
	})
}

// Services, spares and modules come together; the steps of a module alone.
func TestServiceText(t *testing.T) {
	t.Parallel()
	all := command(t, nil, "service", mainDemo)
	require.Equal(t, exitPassed, all.code, all.stderr)
	for _, want := range []string{"Services, the soonest due first", "Wearing parts to keep in store", "Modules and what shuts them off", "Cautions:"} {
		assert.Contains(t, all.stdout, want)
	}
	assert.NotContains(t, all.stdout, "Take out")
	one := command(t, nil, "service", mainDemo, "--module", "OG-1,OD-1")
	for _, want := range []string{"Take out OG-1", "Take out OD-1", "meanwhile:", "finding: XV-1 stands alone", "Cautions:"} {
		assert.Contains(t, one.stdout, want)
	}
	assert.NotContains(t, one.stdout, "Wearing parts to keep in store")
	wrong := command(t, nil, "service", mainDemo, "--module", "OG-9")
	assert.Equal(t, exitUnusable, wrong.code)
	assert.Contains(t, wrong.stderr, `the design has no component "OG-9"; did you mean OG-1?`)
}

// The server plans and lists to the same bytes as the command alone, refusals too.
func TestServiceAndListAtTheServer(t *testing.T) {
	t.Parallel()
	address, stop := startServer(t)
	answered := 0
	for _, args := range [][]string{
		{"service", mainDemo, "--steps"},
		{"service", twinDemo, "--module", "OG-1", "--format", "json"},
		{"service", mainDemo, "--module", "RM-1"},
		{"list", mainDemo},
		{"list", twinDemo, "lines", "--format", "csv", "--no-solving"},
		{"list", mainDemo, "walves"},
	} {
		answered += sameAtServer(t, address, args...)
	}
	assert.Equal(t, 4, answered, "the others are refused")
	stop(syscall.SIGTERM)
}

// JSON over HTTP gives the messages that the command writes.
func TestServiceAndListOverHTTP(t *testing.T) {
	t.Parallel()
	_, web, _ := startDoors(t)
	data, err := os.ReadFile(mainDemo)
	require.NoError(t, err)
	file, err := designfile.Read(mainDemo, data)
	require.NoError(t, err)
	design, err := protojson.Marshal(file.Design)
	require.NoError(t, err)
	post := func(method, body string) (int, []byte) {
		page, err := http.Post("http://"+web+"/skidrule.v1."+method, "application/json", strings.NewReader(body))
		require.NoError(t, err)
		defer page.Body.Close()
		text, err := io.ReadAll(page.Body)
		require.NoError(t, err)
		return page.StatusCode, text
	}
	compact := func(s string) string {
		var out bytes.Buffer
		require.NoError(t, json.Compact(&out, []byte(s)))
		return out.String()
	}
	canonical := func(m *skidrulev1.PlanUpkeepResponse) string {
		raw, err := protojson.MarshalOptions{UseProtoNames: true}.Marshal(m.GetPlan())
		require.NoError(t, err)
		return compact(string(raw))
	}
	code, text := post("UpkeepService/PlanUpkeep", `{"design": `+string(design)+`, "moduleTags": ["OG-1"]}`)
	require.Equal(t, http.StatusOK, code, string(text))
	plan := &skidrulev1.PlanUpkeepResponse{}
	require.NoError(t, protojson.Unmarshal(text, plan))
	assert.Equal(t, compact(command(t, nil, "service", mainDemo, "--module", "OG-1", "--format", "json").stdout), canonical(plan))

	code, text = post("ScheduleService/ListDesign", `{"design": `+string(design)+`, "lists": ["relief"]}`)
	require.Equal(t, http.StatusOK, code, string(text))
	book := &skidrulev1.ListDesignResponse{}
	require.NoError(t, protojson.Unmarshal(text, book))
	assert.Equal(t, "relief", book.GetBook().GetSchedules()[0].GetName())

	code, text = post("UpkeepService/PlanUpkeep", `{"design": `+string(design)+`, "moduleTags": ["OG-9"]}`)
	assert.Equal(t, http.StatusBadRequest, code)
	assert.Contains(t, string(text), "invalid_argument")
}
