package answer_test

import (
	"context"
	"os"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/answer"
	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/engine"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// What asks facts outside of rules ends with its context by an error, wherever it stands then: never by a panic, and never with an
// answer to a half of the question.
func TestAnswersEndWithTheirContext(t *testing.T) {
	e, err := engine.New()
	require.NoError(t, err)
	data, err := os.ReadFile("../../testdata/hatchery-side-stream/design.yaml")
	require.NoError(t, err)
	f, err := designfile.Read("design.yaml", data)
	require.NoError(t, err)
	d := f.Design
	for name, ask := range map[string]func(context.Context) (any, error){
		"plan of upkeep": func(ctx context.Context) (any, error) {
			return answer.PlanUpkeep(ctx, e, &skidrulev1.PlanUpkeepRequest{Design: d})
		},
		"lists": func(ctx context.Context) (any, error) {
			return answer.ListDesign(ctx, e, &skidrulev1.ListDesignRequest{Design: d})
		},
		"card": func(ctx context.Context) (any, error) {
			return answer.MakeCard(ctx, e, &skidrulev1.MakeCardRequest{Design: d})
		},
		"diagnosis": func(ctx context.Context) (any, error) {
			return answer.Diagnose(ctx, e, &skidrulev1.DiagnoseRequest{Design: d, Readings: []*skidrulev1.SiteReading{{Place: "PI-1", Value: &skidrulev1.SiteReading_PressurePaGauge{PressurePaGauge: 350e3}}}})
		},
	} {
		t.Run(name, func(t *testing.T) {
			ended := 0
			for after := time.Duration(0); after < 20*time.Millisecond; after += 500 * time.Microsecond {
				ctx, cancel := context.WithTimeout(context.Background(), after)
				_, err := ask(ctx)
				cancel()
				if err != nil {
					require.ErrorIs(t, err, context.DeadlineExceeded)
					ended++
				}
			}
			assert.Positive(t, ended)
		})
	}
}
