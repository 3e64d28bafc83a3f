package service

import (
	"context"
	"errors"
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/proto"

	"github.com/skidrule/skidrule/internal/designfile"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// A large design is looked at piece by piece with the same answer as in one go.
func TestPiecesGiveTheAnswerOfTheWhole(t *testing.T) {
	d := &skidrulev1.Design{Basis: &skidrulev1.Basis{}}
	for i := range 1200 {
		d.Components = append(d.Components, &skidrulev1.Component{Tag: fmt.Sprint("CV-", i), Spec: &skidrulev1.Component_CheckValve{CheckValve: &skidrulev1.CheckValve{}}})
	}
	for i := range 1100 {
		d.Lines = append(d.Lines, &skidrulev1.Line{Tag: fmt.Sprint("L-", i), Route: []*skidrulev1.RouteStop{{Tag: fmt.Sprint("CV-", i)}, {Tag: fmt.Sprint("CV-", i+1)}, {Tag: fmt.Sprint("CV-", i+2)}}})
	}
	require.NoError(t, soundDesign(context.Background(), d))
	for name, spoil := range map[string]func(*skidrulev1.Design){
		"number":           func(d *skidrulev1.Design) { d.Components[1100].MaxPressurePaGauge = proto.Float64(math.NaN()) },
		"number of a line": func(d *skidrulev1.Design) { d.Lines[1050].InnerDiameterM = proto.Float64(math.Inf(1)) },
		"tag":              func(d *skidrulev1.Design) { d.Components[700].Tag = "no tag" },
		"tag twice":        func(d *skidrulev1.Design) { d.Components[1100].Tag = "CV-1" },
		"line twice":       func(d *skidrulev1.Design) { d.Lines[1099].Tag = "L-1" },
		"one port both ways": func(d *skidrulev1.Design) {
			d.Lines[900].Route[1].Enter, d.Lines[900].Route[1].Leave = "inlet", "inlet"
		},
		"basis": func(d *skidrulev1.Design) { d.Basis.AltitudeM = proto.Float64(math.NaN()) },
	} {
		bad := proto.Clone(d).(*skidrulev1.Design)
		spoil(bad)
		want := designfile.Check(bad, nil, designfile.Options{})
		require.Error(t, want, name)
		assert.Equal(t, want, soundDesign(context.Background(), bad), name)
	}
	ended, cancel := context.WithCancel(context.Background())
	cancel()
	assert.True(t, errors.Is(soundDesign(ended, d), context.Canceled))
}
