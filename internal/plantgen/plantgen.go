// Package plantgen makes designs of any size for benchmarks and property tests: trains of an invented plant that share water
// and drain headers, with defects seeded into some of them.
package plantgen

import (
	"fmt"
	"math/rand/v2"

	"google.golang.org/protobuf/proto"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// TrainSize is the number of components of one train.
const TrainSize = 24

// Design makes a plant of about n components, whole trains of TrainSize each and their shared headers, one header set for
// each 64 trains. One train in eight has a defect. The same n and seed give the same design.
func Design(n int, seed uint64) *skidrulev1.Design {
	g := &generator{design: &skidrulev1.Design{
		Name:        fmt.Sprintf("generated plant of %d components", n),
		Description: "Invented data for benchmarks.",
		Basis: &skidrulev1.Basis{
			AtmosphericPressurePaAbs: proto.Float64(101325), WaterTemperatureK: proto.Float64(285.15),
			MinWaterTemperatureK: proto.Float64(277.15), MaxWaterTemperatureK: proto.Float64(293.15),
		},
	}, random: rand.New(rand.NewPCG(seed, 1))}
	trains := max(1, n/TrainSize)
	for t := range trains {
		if t%64 == 0 {
			g.headers(t/64, min(64, trains-t))
		}
		g.train(t)
	}
	return g.design
}

type generator struct {
	design *skidrulev1.Design
	random *rand.Rand
	block  int
}

func (g *generator) add(c *skidrulev1.Component) {
	g.design.Components = append(g.design.Components, c)
}

// line adds a line; stops are TAG or [3]string{TAG, enter, leave}.
func (g *generator) line(tag string, service skidrulev1.Service, stops ...any) {
	l := &skidrulev1.Line{
		Tag: tag, Service: service, LengthM: proto.Float64(2), Material: skidrulev1.Material_MATERIAL_STAINLESS_316,
		Size:               &skidrulev1.NominalSize{System: skidrulev1.SizeSystem_SIZE_SYSTEM_NPS, Designation: "1/2"},
		MaxPressurePaGauge: proto.Float64(16e5), LowPointM: proto.Float64(0.5),
	}
	for _, s := range stops {
		stop := &skidrulev1.RouteStop{}
		switch s := s.(type) {
		case string:
			stop.Tag = s
		case [3]string:
			stop.Tag, stop.Enter, stop.Leave = s[0], s[1], s[2]
		}
		l.Route = append(l.Route, stop)
	}
	g.design.Lines = append(g.design.Lines, l)
}

// headers adds the shared boundaries of a block of trains.
func (g *generator) headers(block, trains int) {
	g.block = block
	name := func(s string) string { return fmt.Sprintf("%s-%d", s, block) }
	water := func(role skidrulev1.BoundaryRole, service skidrulev1.Service, p float64) *skidrulev1.Component_Boundary {
		return &skidrulev1.Component_Boundary{Boundary: &skidrulev1.Boundary{Service: service, Role: role, MaxPressurePaGauge: &p, PressurePaGauge: &p}}
	}
	g.add(&skidrulev1.Component{Tag: name("WI"), Spec: water(skidrulev1.BoundaryRole_BOUNDARY_ROLE_SOURCE, skidrulev1.Service_SERVICE_PROCESS_WATER, 1e5)})
	g.add(&skidrulev1.Component{Tag: name("WO"), Spec: water(skidrulev1.BoundaryRole_BOUNDARY_ROLE_SINK, skidrulev1.Service_SERVICE_OZONATED_WATER, 1.5e5)})
	g.add(&skidrulev1.Component{Tag: name("HI"), MaxPressurePaGauge: proto.Float64(16e5), Spec: &skidrulev1.Component_Header{Header: &skidrulev1.Header{}}})
	g.add(&skidrulev1.Component{Tag: name("HO"), MaxPressurePaGauge: proto.Float64(16e5), Spec: &skidrulev1.Component_Header{Header: &skidrulev1.Header{}}})
	g.line(name("WIL"), skidrulev1.Service_SERVICE_PROCESS_WATER, name("WI"), [3]string{name("HI"), "inlet", ""})
	g.line(name("WOL"), skidrulev1.Service_SERVICE_OZONATED_WATER, [3]string{name("HO"), "", "outlet"}, name("WO"))
}

// train adds one train of TrainSize components, joined to the headers of its block.
func (g *generator) train(t int) {
	tag := func(s string) string { return fmt.Sprintf("%s-%d", s, t) }
	defect := -1
	if g.random.IntN(8) == 0 {
		defect = g.random.IntN(5)
	}
	rating := proto.Float64(10e5)
	if defect == 0 {
		rating = proto.Float64(2e5) // a weak part behind a strong pump
	}
	add := func(name string, c *skidrulev1.Component) {
		c.Tag = tag(name)
		if c.MaxPressurePaGauge == nil {
			c.MaxPressurePaGauge = proto.Float64(10e5)
		}
		c.MinPressurePaGauge, c.MaxTemperatureK = proto.Float64(-0.9e5), proto.Float64(333.15)
		g.add(c)
	}
	f := proto.Float64
	add("OC", &skidrulev1.Component{Spec: &skidrulev1.Component_OxygenConcentrator{OxygenConcentrator: &skidrulev1.OxygenConcentrator{
		RatedProductFlowMolPerS: f(0.0075), RatedPurityMoleFraction: f(0.93), DeliveryPressurePaGauge: f(0.7e5), BuiltInCompressor: proto.Bool(true), OilFree: proto.Bool(true), ProductDewPointK: f(213.15)}}})
	add("FI", &skidrulev1.Component{Spec: &skidrulev1.Component_FlowMeter{FlowMeter: &skidrulev1.FlowMeter{GasRangeHighMolPerS: f(0.015)}}})
	add("OG", &skidrulev1.Component{Spec: &skidrulev1.Component_OzoneGenerator{OzoneGenerator: &skidrulev1.OzoneGenerator{
		Mode: skidrulev1.FeedMode_FEED_MODE_VACUUM_DRAWN, RatedOutputKgPerS: f(60e-3 / 3600), RatedConcentrationMassFraction: f(0.06), RatedFlowMolPerS: f(0.0075),
		MinFlowMolPerS: f(0.004), MaxFlowMolPerS: f(0.011), MaxFeedDewPointK: f(223.15), MinCellPressurePaGauge: f(-0.3e5), MaxCellPressurePaGauge: f(0.5e5)}}})
	add("XV", &skidrulev1.Component{FailPosition: skidrulev1.FailPosition_FAIL_POSITION_CLOSED, Spec: &skidrulev1.Component_ActuatedValve{ActuatedValve: &skidrulev1.ActuatedValve{
		Actuator: skidrulev1.ActuatorType_ACTUATOR_TYPE_SOLENOID_DIRECT, ReverseShutOffPressurePa: f(10e5), ResponseTimeS: f(1), FlowCoefficientKvM3PerH: f(0.4)}}})
	add("LT", &skidrulev1.Component{ElevationM: f(0.5), MaxPressurePaGauge: rating, Spec: &skidrulev1.Component_LiquidTrap{LiquidTrap: &skidrulev1.LiquidTrap{
		VolumeM3: f(2e-3), DrainCapacityM3PerS: f(5e-4), MaxFloatDifferencePa: f(8e5), GasSeal: proto.Bool(true), DrainPrinciple: skidrulev1.DrainPrinciple_DRAIN_PRINCIPLE_FLOAT}}})
	for _, name := range []string{"CV1", "CV2"} {
		add(name, &skidrulev1.Component{Spec: &skidrulev1.Component_CheckValve{CheckValve: &skidrulev1.CheckValve{OpeningPressurePa: f(3000), FlowCoefficientKvM3PerH: f(0.6),
			Mounting: skidrulev1.Mounting_MOUNTING_UPWARD, MountingAllowed: skidrulev1.MountingAllowed_MOUNTING_ALLOWED_ANY}}})
	}
	add("PS", &skidrulev1.Component{Spec: &skidrulev1.Component_PressureSwitch{PressureSwitch: &skidrulev1.PressureSwitch{SetPointPaGauge: f(-0.05e5)}}})
	add("P", &skidrulev1.Component{Spec: &skidrulev1.Component_Pump{Pump: &skidrulev1.Pump{ShutOffHeadPa: f(5e5), RatedFlowM3PerS: f(40e-3 / 60)}}})
	add("FS", &skidrulev1.Component{Spec: &skidrulev1.Component_FlowSwitch{FlowSwitch: &skidrulev1.FlowSwitch{LiquidSetPointM3PerS: f(25e-3 / 60)}}})
	add("PI1", &skidrulev1.Component{Spec: &skidrulev1.Component_PressureGauge{PressureGauge: &skidrulev1.PressureGauge{RangeLowPaGauge: f(0), RangeHighPaGauge: f(10e5)}}})
	add("INJ", &skidrulev1.Component{Spec: &skidrulev1.Component_VenturiInjector{VenturiInjector: &skidrulev1.VenturiInjector{MinInletPressurePaGauge: f(1e5), MaxInletPressurePaGauge: f(8e5)}}})
	add("PI2", &skidrulev1.Component{Spec: &skidrulev1.Component_PressureGauge{PressureGauge: &skidrulev1.PressureGauge{RangeLowPaGauge: f(0), RangeHighPaGauge: f(4e5)}}})
	add("CT", &skidrulev1.Component{Spec: &skidrulev1.Component_ContactVessel{ContactVessel: &skidrulev1.ContactVessel{VolumeM3: f(0.3), Pressurised: proto.Bool(true)}}})
	add("AV", &skidrulev1.Component{Spec: &skidrulev1.Component_FloatVentValve{FloatVentValve: &skidrulev1.FloatVentValve{OrificeDiameterM: f(2e-3), MaxOpeningDifferencePa: f(8e5)}}})
	add("KP", &skidrulev1.Component{Spec: &skidrulev1.Component_KnockOutPot{KnockOutPot: &skidrulev1.KnockOutPot{DiameterM: f(0.1), HeightM: f(0.4), GasSeal: proto.Bool(true), DrainPrinciple: skidrulev1.DrainPrinciple_DRAIN_PRINCIPLE_FLOAT}}})
	add("OD", &skidrulev1.Component{Spec: &skidrulev1.Component_OzoneDestruct{OzoneDestruct: &skidrulev1.OzoneDestruct{Principle: skidrulev1.DestructPrinciple_DESTRUCT_PRINCIPLE_CATALYTIC, Heated: proto.Bool(true), HeaterPowerW: f(150)}}})
	add("VA", &skidrulev1.Component{Spec: &skidrulev1.Component_AtmosphereVent{AtmosphereVent: &skidrulev1.AtmosphereVent{Location: skidrulev1.VentLocation_VENT_LOCATION_OUTDOORS, HeightM: f(3)}}})
	add("D1", &skidrulev1.Component{Spec: &skidrulev1.Component_DrainPoint{DrainPoint: &skidrulev1.DrainPoint{LeadsTo: skidrulev1.DrainDestination_DRAIN_DESTINATION_OPEN_AIR_GAP}}})
	add("D2", &skidrulev1.Component{Spec: &skidrulev1.Component_DrainPoint{DrainPoint: &skidrulev1.DrainPoint{LeadsTo: skidrulev1.DrainDestination_DRAIN_DESTINATION_OPEN_AIR_GAP}}})
	add("LS", &skidrulev1.Component{Spec: &skidrulev1.Component_LevelSwitch{LevelSwitch: &skidrulev1.LevelSwitch{Watches: tag("LT")}}})
	add("HV", &skidrulev1.Component{NormalPosition: skidrulev1.ValvePosition_VALVE_POSITION_OPEN, Locked: proto.Bool(true), Spec: &skidrulev1.Component_HandValve{HandValve: &skidrulev1.HandValve{Type: skidrulev1.HandValveType_HAND_VALVE_TYPE_BALL}}})
	trip := func(on string, c skidrulev1.TripCondition) *skidrulev1.SignalAction {
		return &skidrulev1.SignalAction{On: tag(on), Condition: c, Stops: []string{tag("OG")}, Closes: []string{tag("XV")}}
	}
	add("UC", &skidrulev1.Component{Spec: &skidrulev1.Component_Controller{Controller: &skidrulev1.Controller{Trips: []*skidrulev1.SignalAction{
		trip("FS", skidrulev1.TripCondition_TRIP_CONDITION_LOSS_OF_WATER_FLOW), trip("PS", skidrulev1.TripCondition_TRIP_CONDITION_LOSS_OF_SUCTION), trip("LS", skidrulev1.TripCondition_TRIP_CONDITION_HIGH_TRAP_LEVEL)}}}})
	g.trainLines(t, defect, tag)
}

// trainLines joins the components of a train; the defect decides what is left out or turned round.
func (g *generator) trainLines(t, defect int, tag func(string) string) {
	header := func(name, port string) [3]string {
		if n := t%64 + 1; n > 1 {
			port = fmt.Sprintf("%s_%d", port, n)
		}
		return [3]string{fmt.Sprintf("%s-%d", name, g.block), port, port}
	}
	g.line(tag("O"), skidrulev1.Service_SERVICE_OXYGEN, tag("OC"), tag("FI"), [3]string{tag("OG"), "feed_gas", ""})
	gas := []any{[3]string{tag("OG"), "", "ozone_gas"}, tag("XV"), tag("LT"), tag("CV1"), tag("CV2"), tag("PS"), [3]string{tag("INJ"), "suction", ""}}
	switch defect {
	case 1: // one check valve left out
		gas = append(gas[:3:3], gas[4:]...)
	case 2: // trap on the wrong side
		gas[2], gas[4] = gas[4], gas[2]
	case 3: // check valve turned round
		gas[4] = [3]string{tag("CV2"), "outlet", "inlet"}
	}
	g.line(tag("G"), skidrulev1.Service_SERVICE_OZONE_GAS, gas...)
	g.line(tag("W"), skidrulev1.Service_SERVICE_PROCESS_WATER, header("HI", "outlet"), tag("P"), tag("FS"), tag("PI1"), [3]string{tag("INJ"), "motive_inlet", ""})
	g.line(tag("X"), skidrulev1.Service_SERVICE_OZONATED_WATER, [3]string{tag("INJ"), "", "outlet"}, tag("PI2"), [3]string{tag("CT"), "inlet", ""})
	g.line(tag("R"), skidrulev1.Service_SERVICE_OZONATED_WATER, [3]string{tag("CT"), "", "outlet"}, header("HO", "inlet"))
	off := []any{[3]string{tag("CT"), "", "vent"}, tag("HV"), tag("AV"), [3]string{tag("KP"), "inlet", "gas_outlet"}, tag("OD"), tag("VA")}
	if defect == 4 { // no droplet separator
		off = append(off[:3:3], off[4:]...)
	}
	g.line(tag("V"), skidrulev1.Service_SERVICE_OFF_GAS, off...)
	g.line(tag("D"), skidrulev1.Service_SERVICE_DRAIN_WATER, [3]string{tag("LT"), "", "drain"}, tag("D1"))
	if defect != 4 {
		g.line(tag("E"), skidrulev1.Service_SERVICE_DRAIN_WATER, [3]string{tag("KP"), "", "drain"}, tag("D2"))
	}
}
