package engine_test

import (
	"context"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"testing"

	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/encoding/prototext"
	"google.golang.org/protobuf/proto"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/engine"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// TestAnswerDoesNotDependOnOrder shuffles components and lines of designs, good and bad: the report is the same to the byte.
func TestAnswerDoesNotDependOnOrder(t *testing.T) {
	e, err := engine.New()
	require.NoError(t, err)
	good, err := filepath.Glob("../../testdata/*/design.yaml")
	require.NoError(t, err)
	bad, err := filepath.Glob("../../testdata/mistakes/*/design.yaml")
	require.NoError(t, err)
	require.NotEmpty(t, good)
	require.NotEmpty(t, bad)
	names := good
	for i := 0; i < len(bad); i += 4 {
		names = append(names, bad[i])
	}
	for _, name := range names {
		t.Run(filepath.Base(filepath.Dir(name)), func(t *testing.T) {
			data, err := os.ReadFile(name)
			require.NoError(t, err)
			f, err := designfile.Read(name, data)
			require.NoError(t, err)
			want := answer(t, e, f.Design)
			random := rand.New(rand.NewPCG(1, 2))
			for range 2 {
				d := proto.Clone(f.Design).(*skidrulev1.Design)
				random.Shuffle(len(d.Components), func(i, j int) { d.Components[i], d.Components[j] = d.Components[j], d.Components[i] })
				random.Shuffle(len(d.Lines), func(i, j int) { d.Lines[i], d.Lines[j] = d.Lines[j], d.Lines[i] })
				if got := answer(t, e, d); string(got) != string(want) {
					a, b := &skidrulev1.Report{}, &skidrulev1.Report{}
					require.NoError(t, proto.Unmarshal(want, a))
					require.NoError(t, proto.Unmarshal(got, b))
					require.Equal(t, prototext.Format(a), prototext.Format(b))
				}
			}
		})
	}
}

// TestAnswerDoesNotDependOnProcessors asks a large plant on one processor and on several.
func TestAnswerDoesNotDependOnProcessors(t *testing.T) {
	e, err := engine.New()
	require.NoError(t, err)
	d := copiesOfDemo(t, 1000)
	before := runtime.GOMAXPROCS(4)
	defer runtime.GOMAXPROCS(before)
	want := answer(t, e, d)
	runtime.GOMAXPROCS(1)
	got := answer(t, e, d)
	require.Equal(t, string(want), string(got))
}

func answer(t *testing.T, e *engine.Engine, d *skidrulev1.Design) []byte {
	t.Helper()
	report, err := e.Check(context.Background(), &skidrulev1.CheckDesignRequest{Design: d, Options: &skidrulev1.CheckOptions{View: skidrulev1.ReportView_REPORT_VIEW_FULL}})
	require.NoError(t, err)
	data, err := proto.MarshalOptions{Deterministic: true}.Marshal(report)
	require.NoError(t, err)
	return data
}
