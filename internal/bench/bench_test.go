package bench_test

import (
	"context"
	"fmt"
	"os"
	"testing"

	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/proto"

	"github.com/skidrule/skidrule/internal/bench"
	"github.com/skidrule/skidrule/internal/catalogue"
	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/plantgen"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

func design(t testing.TB, n int) *skidrulev1.Design {
	t.Helper()
	data, err := os.ReadFile("../../testdata/hatchery-side-stream/design.yaml")
	require.NoError(t, err)
	f, err := designfile.Read("design.yaml", data)
	require.NoError(t, err)
	whole, err := plantgen.Whole(f.Design, plant.Catalogues{catalogue.Parts()})
	require.NoError(t, err)
	return plantgen.Copies(whole, n, 1)
}

// TestBothSidesAgree holds the answers equal on a plant with seeded defects.
func TestBothSidesAgree(t *testing.T) {
	d := design(t, 1000)
	p, problems := plant.Resolve(d, nil)
	require.Empty(t, problems)
	ours, err := bench.Ask(p)
	require.NoError(t, err)
	policy, err := bench.NewPolicy(context.Background())
	require.NoError(t, err)
	theirs, err := policy.Ask(context.Background(), d)
	require.NoError(t, err)
	require.Equal(t, ours, theirs)
	require.NotEmpty(t, ours.Barriers)
}

var sizes = []int{47, 470}

// BenchmarkFromMessage times both sides from the decoded message, resolving included.
func BenchmarkFromMessage(b *testing.B) {
	for _, n := range sizes {
		d := design(b, n)
		b.Run(fmt.Sprintf("skidrule/%d", n), func(b *testing.B) {
			for b.Loop() {
				ask(b, d)
			}
		})
		b.Run(fmt.Sprintf("policy/%d", n), func(b *testing.B) {
			policy, err := bench.NewPolicy(context.Background())
			require.NoError(b, err)
			for b.Loop() {
				_, err := policy.Ask(context.Background(), d)
				require.NoError(b, err)
			}
		})
	}
}

// BenchmarkFromBytes times both sides from the encoded message.
func BenchmarkFromBytes(b *testing.B) {
	for _, n := range sizes {
		data, err := proto.Marshal(design(b, n))
		require.NoError(b, err)
		decode := func() *skidrulev1.Design {
			d := &skidrulev1.Design{}
			require.NoError(b, proto.Unmarshal(data, d))
			return d
		}
		b.Run(fmt.Sprintf("skidrule/%d", n), func(b *testing.B) {
			for b.Loop() {
				ask(b, decode())
			}
		})
		b.Run(fmt.Sprintf("policy/%d", n), func(b *testing.B) {
			policy, err := bench.NewPolicy(context.Background())
			require.NoError(b, err)
			for b.Loop() {
				_, err := policy.Ask(context.Background(), decode())
				require.NoError(b, err)
			}
		})
	}
}

// BenchmarkQuestions times the graph questions alone beside decoding the same message.
func BenchmarkQuestions(b *testing.B) {
	for _, n := range []int{470, 4700, 47000, 100000} {
		d := design(b, n)
		data, err := proto.Marshal(d)
		require.NoError(b, err)
		p, problems := plant.Resolve(d, nil)
		require.Empty(b, problems)
		b.Run(fmt.Sprintf("questions/%d", n), func(b *testing.B) {
			for b.Loop() {
				_, err := bench.Ask(p)
				require.NoError(b, err)
			}
		})
		b.Run(fmt.Sprintf("decode/%d", n), func(b *testing.B) {
			for b.Loop() {
				require.NoError(b, proto.Unmarshal(data, &skidrulev1.Design{}))
			}
		})
	}
}

func ask(b *testing.B, d *skidrulev1.Design) {
	b.Helper()
	p, problems := plant.Resolve(d, nil)
	require.Empty(b, problems)
	_, err := bench.Ask(p)
	require.NoError(b, err)
}
