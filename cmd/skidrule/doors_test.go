package main

import (
	"bytes"
	"context"
	"io"
	"net/http"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/encoding/protojson"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/report"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// The command alone, the command with a server, a raw gRPC call and JSON over HTTP give the same bytes, once a caller of the
// last two has joined the answer with the places of its file.
func TestEveryDoorGivesTheSameBytes(t *testing.T) {
	t.Parallel()
	address, web, metrics := startDoors(t)
	conn := plain(t, address)
	for _, path := range []string{"testdata/designs/clean.yaml", "testdata/designs/broken.yaml", "../../testdata/mistakes/single-check-valve/design.yaml", "../../testdata/hatchery-side-stream/design.yaml"} {
		alone := command(t, nil, "check", path, "--format", "json")
		asked := command(t, nil, "check", path, "--format", "json", "--server", address)
		assert.Equal(t, alone, asked, path)

		data, err := os.ReadFile(path)
		require.NoError(t, err)
		file, err := designfile.Read(path, data)
		require.NoError(t, err)
		request := &skidrulev1.CheckDesignRequest{Design: file.Design}
		joined := func(r *skidrulev1.Report) string {
			var out bytes.Buffer
			require.NoError(t, report.JSON(&out, []report.Answer{{File: path, Report: r, Positions: file.Positions}}, nil, report.Gate{Threshold: skidrulev1.Severity_SEVERITY_ERROR}))
			return out.String()
		}
		answer, err := skidrulev1.NewCheckServiceClient(conn).CheckDesign(context.Background(), request)
		require.NoError(t, err)
		assert.Equal(t, alone.stdout, joined(answer.GetReport()), "%s over gRPC", path)

		body, err := protojson.Marshal(request)
		require.NoError(t, err)
		page, err := http.Post("http://"+web+"/skidrule.v1.CheckService/CheckDesign", "application/json", bytes.NewReader(body))
		require.NoError(t, err)
		text, err := io.ReadAll(page.Body)
		page.Body.Close()
		require.NoError(t, err)
		require.Equal(t, http.StatusOK, page.StatusCode, string(text))
		fromJSON := &skidrulev1.CheckDesignResponse{}
		require.NoError(t, protojson.Unmarshal(text, fromJSON))
		assert.Equal(t, alone.stdout, joined(fromJSON.GetReport()), "%s as JSON", path)
	}
	page, err := http.Get("http://" + metrics + "/metrics")
	require.NoError(t, err)
	text, err := io.ReadAll(page.Body)
	page.Body.Close()
	require.NoError(t, err)
	assert.Contains(t, string(text), "skidrule_check_components_count")
}
