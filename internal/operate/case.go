package operate

import (
	"fmt"
	"slices"
	"strings"

	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Case is one operating case.
type Case struct {
	ID    string
	Title string
	// Excluded says why the case cannot occur in this plant; empty where it can.
	Excluded string
	// Standard is the standard case that it is or is based on.
	Standard Standard
	// Design is what the design states about it; nil for a standard case that it leaves alone.
	Design *skidrulev1.OperatingCase
	states map[int32]*skidrulev1.ComponentState
}

// Standard is one of the cases that every plant is asked about.
type Standard uint8

// The standard cases, common practice in hazard reviews of such skids; no source.
const (
	Normal Standard = iota
	LowFlow
	HighFlow
	PumpStopped
	GeneratorOff
	FeedShut
	GasValveShut
	OutletBlocked
	OutletPartlyBlocked
	BarrierFailed
	ZeroTransfer
	LossOfPower
	BlowerLost
	ColdDestruct
	Purge
	Isolated
	numStandard
)

var standardCases = [numStandard]struct{ id, title string }{
	Normal:              {"normal", "normal operation"},
	LowFlow:             {"low_flow", "lowest water flow"},
	HighFlow:            {"high_flow", "highest water flow"},
	PumpStopped:         {"pump_stopped", "pump stopped, return main still under pressure"},
	GeneratorOff:        {"generator_off", "generator off, water flowing"},
	FeedShut:            {"feed_shut", "gas feed shut, injector pulling"},
	GasValveShut:        {"gas_valve_shut", "gas valve shut, feed running"},
	OutletBlocked:       {"outlet_blocked", "outlet blocked"},
	OutletPartlyBlocked: {"outlet_partly_blocked", "outlet partly blocked, water flowing"},
	BarrierFailed:       {"barrier_failed", "one barrier failed"},
	ZeroTransfer:        {"zero_transfer", "no ozone dissolves at full output"},
	LossOfPower:         {"loss_of_power", "loss of power"},
	BlowerLost:          {"blower_lost", "blower lost"},
	ColdDestruct:        {"cold_destruct", "destruct still cold at start"},
	Purge:               {"purge", "purging"},
	Isolated:            {"isolated", "line isolated for service"},
}

// ID is the standard case's id.
func (s Standard) ID() string { return standardCases[s].id }

// standardIDs lists the ids of the standard cases in their order.
func standardIDs() []string {
	out := make([]string, numStandard)
	for i := range standardCases {
		out[i] = standardCases[i].id
	}
	return out
}

// standardByID finds a standard case.
func standardByID(id string) (Standard, bool) {
	for i := range standardCases {
		if standardCases[i].id == id {
			return Standard(i), true
		}
	}
	return 0, false
}

// Cases lists the standard cases, as the design changes them, and then the design's own in its order.
func Cases(p *plant.Plant) ([]Case, plant.Problems) {
	cases := make([]Case, numStandard, int(numStandard)+len(p.Design.GetCases()))
	for i := range cases {
		cases[i] = Case{ID: standardCases[i].id, Title: standardCases[i].title, Standard: Standard(i)}
	}
	var problems plant.Problems
	for _, d := range p.Design.GetCases() {
		path := "cases." + d.GetId()
		c := &Case{}
		if s, ok := standardByID(d.GetId()); ok {
			c = &cases[s]
			if d.GetBasedOn() != "" {
				problems = append(problems, plant.Problem{Path: path + ".based_on", Message: "a standard case is based on no other"})
			}
		} else {
			base := d.GetBasedOn()
			if base == "" {
				base = Normal.ID()
			}
			s, ok := standardByID(base)
			if !ok {
				problems = append(problems, plant.Problem{Path: path + ".based_on", Message: fmt.Sprintf("%q is no standard case; they are %s", base, strings.Join(standardIDs(), ", "))})
			}
			cases = append(cases, Case{ID: d.GetId(), Title: d.GetTitle(), Standard: s})
			c = &cases[len(cases)-1]
		}
		c.Design = d
		if d.GetTitle() != "" {
			c.Title = d.GetTitle()
		}
		if d.GetExcluded() {
			c.Excluded = d.GetReason()
			if c.Excluded == "" {
				problems = append(problems, plant.Problem{Path: path + ".reason", Message: "a case that is left out needs a reason"})
			}
		}
		for _, s := range d.GetStates() {
			if i, ok := p.FindComponent(s.GetTag()); ok {
				if c.states == nil {
					c.states = map[int32]*skidrulev1.ComponentState{}
				}
				c.states[i] = s
			}
		}
	}
	return cases, problems
}

// Stated gives what the design states about a component in the case; nil where it states nothing.
func (c *Case) Stated(component int32) *skidrulev1.ComponentState { return c.states[component] }

// In gives the cases as they are in a lot of the plant.
func In(lot *plant.Lot, cases []Case) []Case {
	out := slices.Clone(cases)
	for i := range out {
		states := out[i].states
		if states == nil {
			continue
		}
		out[i].states = map[int32]*skidrulev1.ComponentState{}
		for component, s := range states {
			if place, ok := lot.Place(component); ok {
				out[i].states[place] = s
			}
		}
	}
	return out
}
