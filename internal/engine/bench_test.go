package engine_test

import (
	"context"
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/proto"

	"github.com/skidrule/skidrule/internal/engine"
	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/plantgen"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

var benchSizes = []int{24, 240, 2400, 24000, 100000}

// BenchmarkDecode is the yardstick of the others: proto.Unmarshal of the same message.
func BenchmarkDecode(b *testing.B) {
	for _, n := range benchSizes {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			data, err := proto.Marshal(plantgen.Design(n, 1))
			require.NoError(b, err)
			b.SetBytes(int64(len(data)))
			b.ReportAllocs()
			for b.Loop() {
				d := &skidrulev1.Design{}
				if err := proto.Unmarshal(data, d); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// BenchmarkResolve times the step from the message to the plant.
func BenchmarkResolve(b *testing.B) {
	for _, n := range benchSizes {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			d := plantgen.Design(n, 1)
			b.ReportAllocs()
			for b.Loop() {
				if _, problems := plant.Resolve(d, nil); len(problems) > 0 {
					b.Fatal(problems)
				}
			}
		})
	}
}

// BenchmarkCheck times the whole check from the message to the report, findings alone.
func BenchmarkCheck(b *testing.B) {
	e, err := engine.New()
	require.NoError(b, err)
	for _, n := range benchSizes {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			request := &skidrulev1.CheckDesignRequest{Design: plantgen.Design(n, 1), Options: &skidrulev1.CheckOptions{View: skidrulev1.ReportView_REPORT_VIEW_FINDINGS}}
			b.ReportAllocs()
			for b.Loop() {
				if _, err := e.Check(context.Background(), request); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
