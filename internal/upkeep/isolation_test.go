package upkeep_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/proto"
	"pgregory.net/rapid"

	"github.com/skidrule/skidrule/internal/fact"
	"github.com/skidrule/skidrule/internal/operate"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// drawnPart is a part of a random plant: what it is, and how pressure passes it, said anew and without the code under test.
type drawnPart struct {
	part    *skidrulev1.Component // without its tag
	in, out []string              // port names
	// valve can be shut; check lets pass forward only; never lets nothing pass; source is a main or supply under pressure; holds keeps
	// pressure by itself.
	valve, check, never, source, holds bool
}

var drawnParts = []drawnPart{
	{part: &skidrulev1.Component{Spec: &skidrulev1.Component_Boundary{Boundary: &skidrulev1.Boundary{Service: skidrulev1.Service_SERVICE_PROCESS_WATER}}}, in: []string{"process"}, out: []string{"process"}, source: true},
	{part: &skidrulev1.Component{Spec: &skidrulev1.Component_GasSupply{GasSupply: &skidrulev1.GasSupply{}}}, out: []string{"outlet"}, source: true},
	{part: &skidrulev1.Component{Spec: &skidrulev1.Component_HandValve{HandValve: &skidrulev1.HandValve{}}}, in: []string{"inlet"}, out: []string{"outlet"}, valve: true},
	{part: &skidrulev1.Component{Spec: &skidrulev1.Component_HandValve{HandValve: &skidrulev1.HandValve{Lockable: proto.Bool(true)}}}, in: []string{"inlet"}, out: []string{"outlet"}, valve: true},
	{part: &skidrulev1.Component{FailPosition: skidrulev1.FailPosition_FAIL_POSITION_CLOSED, Spec: &skidrulev1.Component_ActuatedValve{ActuatedValve: &skidrulev1.ActuatedValve{}}}, in: []string{"inlet"}, out: []string{"outlet"}, valve: true},
	{part: &skidrulev1.Component{FailPosition: skidrulev1.FailPosition_FAIL_POSITION_OPEN, Spec: &skidrulev1.Component_ActuatedValve{ActuatedValve: &skidrulev1.ActuatedValve{}}}, in: []string{"inlet"}, out: []string{"outlet"}},
	{part: &skidrulev1.Component{Spec: &skidrulev1.Component_CheckValve{CheckValve: &skidrulev1.CheckValve{}}}, in: []string{"inlet"}, out: []string{"outlet"}, check: true},
	{part: &skidrulev1.Component{Spec: &skidrulev1.Component_ReliefValve{ReliefValve: &skidrulev1.ReliefValve{}}}, in: []string{"inlet"}, out: []string{"outlet"}, never: true},
	{part: &skidrulev1.Component{Spec: &skidrulev1.Component_GasFilter{GasFilter: &skidrulev1.GasFilter{}}}, in: []string{"inlet"}, out: []string{"outlet"}},
	{part: &skidrulev1.Component{Spec: &skidrulev1.Component_OzoneGenerator{OzoneGenerator: &skidrulev1.OzoneGenerator{}}}, in: []string{"feed_gas"}, out: []string{"ozone_gas"}, holds: true},
	{part: &skidrulev1.Component{Spec: &skidrulev1.Component_Pump{Pump: &skidrulev1.Pump{}}}, in: []string{"inlet"}, out: []string{"outlet"}, holds: true},
	{part: &skidrulev1.Component{Spec: &skidrulev1.Component_Header{Header: &skidrulev1.Header{}}}, in: []string{"inlet", "inlet_2", "inlet_3"}, out: []string{"outlet", "outlet_2", "outlet_3"}},
}

// drawnPlant is a random plant: parts, and pipes between their ports.
type drawnPlant struct {
	parts []int // index into drawnParts
	pipes []drawnPipe
}

// drawnPipe leads from a port of one part to a port of another.
type drawnPipe struct {
	from, to         int
	fromPort, toPort string
}

func drawPlant(t *rapid.T) drawnPlant {
	var p drawnPlant
	n := rapid.IntRange(3, 14).Draw(t, "parts")
	for i := range n {
		p.parts = append(p.parts, rapid.IntRange(0, len(drawnParts)-1).Draw(t, fmt.Sprint("part ", i)))
	}
	for k := range rapid.IntRange(2, 18).Draw(t, "pipes") {
		a, b := rapid.IntRange(0, n-1).Draw(t, fmt.Sprint("from ", k)), rapid.IntRange(0, n-1).Draw(t, fmt.Sprint("to ", k))
		out, in := drawnParts[p.parts[a]].out, drawnParts[p.parts[b]].in
		if a == b || len(in) == 0 {
			continue
		}
		p.pipes = append(p.pipes, drawnPipe{a, b, rapid.SampledFrom(out).Draw(t, fmt.Sprint("out ", k)), rapid.SampledFrom(in).Draw(t, fmt.Sprint("in ", k))})
	}
	return p
}

func tagOf(i int) string { return fmt.Sprint("X-", i) }

// design makes the message.
func (p drawnPlant) design() *skidrulev1.Design {
	d := &skidrulev1.Design{}
	for i, k := range p.parts {
		c := proto.CloneOf(drawnParts[k].part)
		c.Tag = tagOf(i)
		d.Components = append(d.Components, c)
	}
	for k, q := range p.pipes {
		d.Lines = append(d.Lines, &skidrulev1.Line{Tag: fmt.Sprint("L-", k), Route: []*skidrulev1.RouteStop{{Tag: tagOf(q.from), Leave: q.fromPort}, {Tag: tagOf(q.to), Enter: q.toPort}}})
	}
	return d
}

// whatComes walks backward from all ports of a part, written anew: by pipes either way, through parts as they are, but not through
// what shut names, and backward through check valves only where loose says so. It gives the parts whose ports it comes to.
func (p drawnPlant) whatComes(module int, shut map[int]bool, loose func(check int) bool) map[int]bool {
	type place struct {
		part int
		port string
	}
	seen, parts := map[place]bool{}, map[int]bool{}
	var queue []place
	push := func(q place) {
		if !seen[q] {
			seen[q] = true
			queue = append(queue, q)
			parts[q.part] = true
		}
	}
	for _, q := range p.pipes {
		if q.from == module {
			push(place{module, q.fromPort})
		}
		if q.to == module {
			push(place{module, q.toPort})
		}
	}
	for len(queue) > 0 {
		at := queue[0]
		queue = queue[1:]
		for _, q := range p.pipes {
			if at == (place{q.to, q.toPort}) {
				push(place{q.from, q.fromPort})
			}
			if at == (place{q.from, q.fromPort}) {
				push(place{q.to, q.toPort})
			}
		}
		k := drawnParts[p.parts[at.part]]
		if at.part != module && (k.never || shut[at.part]) {
			continue
		}
		entering := false // the place is at the entry of the part, and what comes there comes backward through it
		for _, name := range k.in {
			entering = entering || name == at.port
		}
		for _, name := range k.out {
			if entering && k.check && at.part != module && !loose(at.part) {
				break
			}
			push(place{at.part, name})
		}
		if !entering || !k.check {
			for _, name := range k.in {
				push(place{at.part, name})
			}
		}
	}
	return parts
}

func always(int) bool { return true }
func never(int) bool  { return false }

// After the valves are shut no way is left from any main, supply or other store of pressure that can be shut off at all; each valve
// is needed; and the status is what a search with every valve shut finds.
func TestNoWayIsLeftAndEachValveIsNeeded(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		drawn := drawPlant(t)
		p, problems := plant.Resolve(drawn.design(), nil)
		require.Empty(t, problems)
		cases, wrong := operate.Cases(p)
		require.Empty(t, wrong)
		w := fact.NewWorld(p, cases)
		for module := range drawn.parts {
			if drawnParts[drawn.parts[module]].source {
				continue
			}
			c, ok := p.FindComponent(tagOf(module))
			require.True(t, ok)
			iso := w.Isolation(c)
			every := map[int]bool{}
			for i, k := range drawn.parts {
				every[i] = drawnParts[k].valve && i != module
			}
			sourceIn := func(parts map[int]bool) bool {
				for i := range parts {
					if drawnParts[drawn.parts[i]].source {
						return true
					}
				}
				return false
			}
			atBest, positive := drawn.whatComes(module, every, never), drawn.whatComes(module, every, always)
			assert.Equal(t, !sourceIn(atBest), iso.Shut.Value == fact.True, "%s", tagOf(module))
			assert.Equal(t, sourceIn(atBest), len(iso.Open) > 0)
			loose := always
			if sourceIn(positive) {
				loose = never
			} else {
				assert.Empty(t, iso.Checks, "check valves stand in although valves do")
			}
			// What cannot be shut off at all, with the means that the plan has.
			stuck := drawn.whatComes(module, every, loose)
			index := func(c int32) int {
				var i int
				_, err := fmt.Sscanf(p.Components[c].Tag, "X-%d", &i)
				require.NoError(t, err)
				return i
			}
			shut, held := map[int]bool{}, map[int]bool{}
			for _, v := range iso.Valves {
				shut[index(v)] = true
			}
			for _, v := range iso.Checks {
				held[index(v)] = true
			}
			danger := func(parts map[int]bool) []int {
				var out []int
				for i := range drawn.parts {
					if k := drawnParts[drawn.parts[i]]; i != module && parts[i] && (k.source || k.holds) && !stuck[i] {
						out = append(out, i)
					}
				}
				return out
			}
			left := func(but int) []int {
				s := map[int]bool{}
				for v := range shut {
					s[v] = v != but
				}
				return danger(drawn.whatComes(module, s, func(check int) bool { return !held[check] || check == but }))
			}
			assert.Empty(t, left(-1), "%s: pressure comes although %v are shut and %v hold", tagOf(module), shut, held)
			for v := range shut {
				assert.NotEmpty(t, left(v), "%s: %s may stay open", tagOf(module), tagOf(v))
			}
			for v := range held {
				assert.NotEmpty(t, left(v), "%s: %s need not hold", tagOf(module), tagOf(v))
			}
		}
	})
}
