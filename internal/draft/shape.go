package draft

import (
	"fmt"

	"github.com/skidrule/skidrule/internal/quantity"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Short names of what a draft chooses between.
const (
	sideStream = skidrulev1.DraftCircuit_DRAFT_CIRCUIT_SIDE_STREAM
	fullFlow   = skidrulev1.DraftCircuit_DRAFT_CIRCUIT_FULL_FLOW
	tank       = skidrulev1.DraftCircuit_DRAFT_CIRCUIT_ATMOSPHERIC_TANK

	concentrator = skidrulev1.DraftFeed_DRAFT_FEED_CONCENTRATOR
	storedOxygen = skidrulev1.DraftFeed_DRAFT_FEED_STORED_OXYGEN
	driedAir     = skidrulev1.DraftFeed_DRAFT_FEED_AIR
)

// chooseCircuit chooses the way of the water and says why.
func (p *plan) chooseCircuit() {
	d := p.demand
	switch c := d.GetCircuit(); {
	case c != skidrulev1.DraftCircuit_DRAFT_CIRCUIT_UNSPECIFIED:
		p.circuit = c
		p.reason("The demand asks for this way of the water.")
		if c == sideStream && len(d.targets) > 0 {
			p.reason("Only the side stream gets the contact time: water that passes by in the main is not inactivated.")
		}
	case d.supply.high <= gravityPressure && d.back.high <= gravityPressure && !d.GetNoPump():
		p.circuit = tank
		p.reason("Atmospheric tank: water that comes at %s and leaves against %s flows by gravity, and no closed vessel is under pressure; a loop with a pump of its own carries the injector.",
			say(d.supply.high, quantity.PressureGauge), say(d.back.high, quantity.PressureGauge))
	case len(d.targets) > 0:
		p.circuit = fullFlow
		p.reason("Full flow: a log inactivation of %s is asked for, and every litre has to get the contact time for it.", d.targets[0].name)
	default:
		p.circuit = sideStream
		p.reason("Side stream: a dose is asked for and no inactivation, so a part of the water takes the ozone under pressure and brings it to the main; pump, injector and vessel stay small.")
	}
	p.pumped = !d.GetNoPump()
	if p.pumped {
		p.reason("A pump gives the injector its motive pressure.")
	} else {
		p.reason("The demand asks for no pump: the supply has to give the injector its motive pressure.")
	}
}

// chooseFeed chooses the feed gas by the ozone that has to be made, in kg/s, and says why.
func (p *plan) chooseFeed(output float64) {
	grams := output * 3.6e6
	switch f := p.demand.GetFeed(); {
	case f != skidrulev1.DraftFeed_DRAFT_FEED_UNSPECIFIED:
		p.feed = f
		p.reason("The demand asks for this feed gas.")
	case grams <= largestAir && p.airDissolves:
		p.feed = driedAir
		p.reason("Fed with dried air: %.3g g/h are little, and the weak gas of an air cell dissolves well enough; a concentrator is spared.", grams)
	case grams <= largestDrawn:
		p.feed = concentrator
		p.reason("Vacuum-drawn with oxygen from a concentrator: %.3g g/h come from a small air-cooled cell, and a leak in a line below atmosphere lets air in and no ozone out.", grams)
	default:
		p.feed = storedOxygen
		p.reason("Pressure-fed with stored oxygen: %.3g g/h ask for water-cooled cells, which are held under pressure.", grams)
	}
}

func (p *plan) reason(format string, args ...any) {
	p.reasons = append(p.reasons, fmt.Sprintf(format, args...))
}
