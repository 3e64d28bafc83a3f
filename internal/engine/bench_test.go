package engine_test

import (
	"context"
	"fmt"
	"os"
	"testing"

	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/proto"

	"github.com/skidrule/skidrule/internal/catalogue"
	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/engine"
	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/plantgen"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

var benchSizes = []int{24, 240, 2400, 24000, 100000}

// copiesOfDemo is a plant of n components and more: copies of the main demo design, with all data of its parts stated.
func copiesOfDemo(b testing.TB, n int) *skidrulev1.Design {
	b.Helper()
	data, err := os.ReadFile("../../testdata/hatchery-side-stream/design.yaml")
	require.NoError(b, err)
	f, err := designfile.Read("design.yaml", data)
	require.NoError(b, err)
	whole, err := plantgen.Whole(f.Design, plant.Catalogues{catalogue.Parts()})
	require.NoError(b, err)
	return plantgen.Copies(whole, n, 1)
}

// BenchmarkDecode is the yardstick of the others: proto.Unmarshal of the same message. It and the check run under the collector as the
// command sets it; with GOGC=100 in the environment as Go does.
func BenchmarkDecode(b *testing.B) {
	b.Cleanup(engine.CollectSeldom())
	for _, n := range benchSizes {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			data, err := proto.Marshal(copiesOfDemo(b, n))
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
			d := copiesOfDemo(b, n)
			b.ReportAllocs()
			for b.Loop() {
				if _, problems := plant.Resolve(d, nil); len(problems) > 0 {
					b.Fatal(problems)
				}
			}
		})
	}
}

// BenchmarkCheck times the whole check from the message to the report, by rules on stated data, findings alone.
func BenchmarkCheck(b *testing.B) {
	b.Cleanup(engine.CollectSeldom())
	for _, n := range benchSizes {
		b.Run(fmt.Sprint(n), func(b *testing.B) { benchCheck(b, copiesOfDemo(b, n)) })
	}
}

// BenchmarkCheckJoined times it where one controller stops the pump of each copy: nothing can be asked by itself.
func BenchmarkCheckJoined(b *testing.B) {
	b.Cleanup(engine.CollectSeldom())
	for _, n := range benchSizes[2:] {
		b.Run(fmt.Sprint(n), func(b *testing.B) { benchCheck(b, joined(copiesOfDemo(b, n))) })
	}
}

func benchCheck(b *testing.B, design *skidrulev1.Design) {
	e, err := engine.New()
	require.NoError(b, err)
	// The message lies in memory as decoding lays it.
	data, err := proto.Marshal(design)
	require.NoError(b, err)
	d := &skidrulev1.Design{}
	require.NoError(b, proto.Unmarshal(data, d))
	request := &skidrulev1.CheckDesignRequest{Design: d, Options: &skidrulev1.CheckOptions{View: skidrulev1.ReportView_REPORT_VIEW_FINDINGS, StatedOnly: true}}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := e.Check(context.Background(), request); err != nil {
			b.Fatal(err)
		}
	}
}

// joined adds a controller that stops every pump.
func joined(d *skidrulev1.Design) *skidrulev1.Design {
	trip := &skidrulev1.SignalAction{Condition: skidrulev1.TripCondition_TRIP_CONDITION_EMERGENCY_STOP}
	for _, c := range d.GetComponents() {
		if c.GetPump() != nil {
			trip.Stops = append(trip.Stops, c.GetTag())
		}
	}
	d.Components = append(d.Components, &skidrulev1.Component{Tag: "PLANT-STOP", Spec: &skidrulev1.Component_Controller{Controller: &skidrulev1.Controller{Trips: []*skidrulev1.SignalAction{trip}}}})
	return d
}
