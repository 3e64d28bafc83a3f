package drawing_test

import (
	"fmt"
	"strings"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// sketch builds a design from short texts.
type sketch struct{ d *skidrulev1.Design }

func newSketch(name string) *sketch {
	return &sketch{&skidrulev1.Design{Name: name, Revision: "A", Description: "Invented data for tests."}}
}

// add adds a component of a kind by its field name.
func (s *sketch) add(kind, tag, title string, set ...func(*skidrulev1.Component)) *sketch {
	c := &skidrulev1.Component{Tag: tag, Title: title}
	m := c.ProtoReflect()
	fd := m.Descriptor().Fields().ByName(protoreflect.Name(kind))
	if fd == nil {
		panic("no kind " + kind)
	}
	m.Set(fd, m.NewField(fd))
	for _, f := range set {
		f(c)
	}
	s.d.Components = append(s.d.Components, c)
	return s
}

// line adds a line by a route such as `P-1 > HV-1 > VS-1.inlet>vent`.
func (s *sketch) line(tag string, service skidrulev1.Service, dn, route string) *sketch {
	l := &skidrulev1.Line{Tag: tag, Service: service}
	if dn != "" {
		l.Size = &skidrulev1.NominalSize{System: skidrulev1.SizeSystem_SIZE_SYSTEM_DN, Designation: dn}
	}
	stops := strings.Split(route, " > ")
	for i, text := range stops {
		name, ports, _ := strings.Cut(text, ".")
		stop := &skidrulev1.RouteStop{Tag: name}
		enter, leave, both := strings.Cut(ports, ">")
		switch {
		case both:
			stop.Enter, stop.Leave = enter, leave
		case i == 0:
			stop.Leave = ports
		default:
			stop.Enter = ports
		}
		l.Route = append(l.Route, stop)
	}
	s.d.Lines = append(s.d.Lines, l)
	return s
}

func (s *sketch) train(name string) *sketch {
	for _, c := range s.d.Components {
		if c.Train == "" {
			c.Train = name
		}
	}
	return s
}

const (
	air       = skidrulev1.Service_SERVICE_AIR
	oxygen    = skidrulev1.Service_SERVICE_OXYGEN
	ozoneGas  = skidrulev1.Service_SERVICE_OZONE_GAS
	offGas    = skidrulev1.Service_SERVICE_OFF_GAS
	treated   = skidrulev1.Service_SERVICE_TREATED_GAS
	water     = skidrulev1.Service_SERVICE_PROCESS_WATER
	ozonated  = skidrulev1.Service_SERVICE_OZONATED_WATER
	cooling   = skidrulev1.Service_SERVICE_COOLING_WATER
	drain     = skidrulev1.Service_SERVICE_DRAIN_WATER
	exhaust   = skidrulev1.Service_SERVICE_EXHAUST_GAS
	roleIn    = skidrulev1.BoundaryRole_BOUNDARY_ROLE_SOURCE
	roleOut   = skidrulev1.BoundaryRole_BOUNDARY_ROLE_SINK
	solenoid  = skidrulev1.ActuatorType_ACTUATOR_TYPE_SOLENOID_DIRECT
	failClose = skidrulev1.FailPosition_FAIL_POSITION_CLOSED
)

func boundary(role skidrulev1.BoundaryRole) func(*skidrulev1.Component) {
	return func(c *skidrulev1.Component) { c.GetBoundary().Role = role }
}

func failsClosed(c *skidrulev1.Component) {
	c.FailPosition = failClose
	if v := c.GetActuatedValve(); v != nil {
		v.Actuator = solenoid
	}
}

func ball(c *skidrulev1.Component) {
	c.GetHandValve().Type = skidrulev1.HandValveType_HAND_VALVE_TYPE_BALL
}

// skid is one ozone contact skid of about forty components, each kind where the trade puts it.
func skid() *skidrulev1.Design {
	s := newSketch("Side-stream ozone skid")
	s.add("compressor", "K-101", "air compressor").
		add("gas_filter", "F-101", "coalescing filter", func(c *skidrulev1.Component) {
			c.GetGasFilter().Grade = skidrulev1.GasFilterGrade_GAS_FILTER_GRADE_COALESCING
		}).
		add("oxygen_concentrator", "OC-101", "oxygen concentrator").
		add("atmosphere_vent", "VT-103", "nitrogen exhaust").
		add("pressure_regulator", "PCV-101", "").
		add("ozone_generator", "G-101", "ozone generator", func(c *skidrulev1.Component) { c.GetOzoneGenerator().PowerSupplies = []string{"PS-101"} }).
		add("power_supply", "PS-101", "").
		add("actuated_valve", "XV-101", "", failsClosed).
		add("flow_meter", "FI-101", "").
		add("liquid_trap", "LT-101", "water trap").
		add("float_drain", "FD-101", "").
		add("drain_point", "DR-101", "").
		add("check_valve", "CV-101", "").
		add("check_valve", "CV-102", "").
		add("venturi_injector", "INJ-101", "injector").
		add("boundary", "B-101", "water from basin", boundary(roleIn)).
		add("hand_valve", "HV-101", "", ball).
		add("strainer", "ST-101", "").
		add("pump", "P-101", "motive pump").
		add("tee", "T-101", "").add("pressure_gauge", "PI-101", "").
		add("tee", "T-102", "").add("pressure_gauge", "PI-102", "").
		add("tee", "T-103", "").add("pressure_switch", "PSL-103", "").
		add("static_mixer", "M-101", "").
		add("contact_vessel", "V-101", "contact vessel").
		add("float_vent_valve", "AV-101", "").
		add("relief_valve", "PSV-101", "").
		add("drain_point", "DR-104", "").
		add("hand_valve", "HV-103", "", ball).
		add("drain_point", "DR-102", "").
		add("level_switch", "LSL-101", "", func(c *skidrulev1.Component) { c.GetLevelSwitch().Watches = "V-101" }).
		add("knock_out_pot", "KO-101", "knock-out pot", func(c *skidrulev1.Component) { d := true; c.GetKnockOutPot().Demister = &d }).
		add("float_drain", "FD-102", "").
		add("drain_point", "DR-103", "").
		add("ozone_destruct", "OD-101", "catalytic destruct", func(c *skidrulev1.Component) { d := true; c.GetOzoneDestruct().Heated = &d }).
		add("temperature_switch", "TSL-101", "", func(c *skidrulev1.Component) { c.GetTemperatureSwitch().Watches = "OD-101" }).
		add("atmosphere_vent", "VT-101", "above roof").
		add("hand_valve", "HV-102", "", ball).
		add("boundary", "B-102", "treated water to basin", boundary(roleOut)).
		add("ambient_ozone_monitor", "AI-101", "room ozone").
		add("emergency_stop", "HS-101", "")
	s.line("A-101", air, "15", "K-101 > F-101 > OC-101").
		line("X-101", exhaust, "15", "OC-101.exhaust > VT-103").
		line("O-101", oxygen, "10", "OC-101 > PCV-101 > G-101").
		line("OZ-101", ozoneGas, "10", "G-101 > XV-101 > FI-101 > T-103 > LT-101 > CV-101 > CV-102 > INJ-101.suction").
		line("I-103", ozoneGas, "", "T-103.branch > PSL-103").
		line("D-101", drain, "15", "LT-101.drain > FD-101 > DR-101").
		line("W-101", water, "40", "B-101 > HV-101 > ST-101 > P-101 > T-101 > INJ-101.motive_inlet").
		line("I-101", water, "", "T-101.branch > PI-101").
		line("W-102", ozonated, "40", "INJ-101 > T-102 > M-101 > V-101").
		line("I-102", ozonated, "", "T-102.branch > PI-102").
		line("W-103", ozonated, "40", "V-101.outlet > HV-102 > B-102").
		line("D-102", drain, "25", "V-101.drain > HV-103 > DR-102").
		line("R-101", offGas, "15", "V-101.relief > PSV-101 > DR-104").
		line("OG-101", offGas, "15", "V-101.vent > AV-101 > KO-101 > OD-101").
		line("TG-101", treated, "15", "OD-101 > VT-101").
		line("D-103", drain, "15", "KO-101.drain > FD-102 > DR-103")
	return s.d
}

// manifold has two generators on one gas header, a duty and a standby injector, and a recirculation back to the basin.
func manifold() *skidrulev1.Design {
	s := newSketch("Two-generator manifold")
	s.add("gas_supply", "OX-201", "liquid oxygen").add("pressure_regulator", "PCV-201", "").add("header", "HD-201", "oxygen header").
		add("header", "HD-202", "ozone header").add("open_tank", "TK-201", "basin").add("pump", "P-201", "pump").add("pump", "P-202", "pump").
		add("header", "HD-203", "water header").add("degassing_vessel", "V-201", "degassing vessel").add("float_vent_valve", "AV-201", "").
		add("ozone_destruct", "OD-201", "destruct").add("blower", "K-201", "blower").add("atmosphere_vent", "VT-201", "").
		add("boundary", "B-201", "raw water", boundary(roleIn)).add("boundary", "B-202", "to network", boundary(roleOut)).
		add("boundary", "B-203", "cooling water", boundary(roleIn)).add("boundary", "B-204", "cooling return", boundary(roleOut)).
		add("tee", "T-203", "").add("tee", "T-204", "").add("tee", "T-205", "").add("tee", "T-206", "")
	s.line("O-201", oxygen, "15", "OX-201 > PCV-201 > HD-201").
		line("W-201", water, "50", "B-201 > TK-201").
		line("W-202", water, "50", "TK-201.outlet > P-201").
		line("W-203", water, "50", "TK-201.outlet_2 > P-202").
		line("CW-201", cooling, "20", "B-203 > T-203").
		line("CW-202", cooling, "20", "T-204 > B-204")
	for i, n := range []string{"1", "2"} {
		g, xv, cv, inj, pi := "G-20"+n, "XV-20"+n, "CV-20"+n, "INJ-20"+n, "PI-20"+n
		s.add("hand_valve", "HV-21"+n, "", ball).add("ozone_generator", g, "ozone generator").add("actuated_valve", xv, "", failsClosed).
			add("check_valve", "CV-21"+n, "").add("check_valve", cv, "").add("venturi_injector", inj, "injector").
			add("tee", "T-21"+n, "").add("pressure_gauge", pi, "").add("hand_valve", "HV-22"+n, "", ball)
		s.line("O-21"+n, oxygen, "10", fmt.Sprintf("HD-201.outlet%s > HV-21%s > %s", repeat(i), n, g)).
			line("OZ-21"+n, ozoneGas, "10", fmt.Sprintf("%s > %s > CV-21%s > HD-202.inlet%s", g, xv, n, repeat(i))).
			line("OZ-22"+n, ozoneGas, "10", fmt.Sprintf("HD-202.outlet%s > %s > %s.suction", repeat(i), cv, inj)).
			line("W-21"+n, water, "40", fmt.Sprintf("P-20%s > T-21%s > %s.motive_inlet", n, n, inj)).
			line("I-21"+n, water, "", fmt.Sprintf("T-21%s.branch > %s", n, pi)).
			line("W-22"+n, ozonated, "40", fmt.Sprintf("%s > HV-22%s > HD-203.inlet%s", inj, n, repeat(i)))
	}
	s.line("CW-203", cooling, "15", "T-203.outlet > G-201.cooling_inlet").
		line("CW-204", cooling, "15", "T-203.branch > G-202.cooling_inlet").
		line("CW-205", cooling, "15", "G-201.cooling_outlet > T-204.inlet").
		line("CW-206", cooling, "15", "G-202.cooling_outlet > T-204.branch").
		line("W-231", ozonated, "50", "HD-203.outlet > V-201").
		line("W-232", ozonated, "50", "V-201.outlet > T-205 > B-202").
		line("W-233", ozonated, "25", "T-205.branch > TK-201.inlet_2").
		line("OG-201", offGas, "15", "V-201.vent > AV-201 > T-206.inlet").
		line("OG-202", offGas, "15", "TK-201.vent > T-206.branch").
		line("OG-203", offGas, "20", "T-206.outlet > OD-201 > K-201 > VT-201")
	return s.d
}

func repeat(i int) string {
	if i == 0 {
		return ""
	}
	return fmt.Sprintf("_%d", i+1)
}

// plant repeats a train of 25 components; the trains take water from one main and give it to another.
func trains(count int, named bool) *skidrulev1.Design {
	s := newSketch(fmt.Sprintf("Plant of %d trains", count))
	for i := range count {
		t := func(p string) string { return fmt.Sprintf("%s-%d", p, 100*(i+1)+1) }
		s.add("gas_supply", t("OX"), "oxygen").add("pressure_regulator", t("PCV"), "").add("ozone_generator", t("G"), "generator").
			add("actuated_valve", t("XV"), "", failsClosed).add("flow_meter", t("FI"), "").add("liquid_trap", t("LT"), "trap").
			add("float_drain", t("FD"), "").add("drain_point", t("DR"), "").add("check_valve", t("CV"), "").
			add("venturi_injector", t("INJ"), "injector").add("pump", t("P"), "pump").add("tee", t("T"), "").
			add("pressure_gauge", t("PI"), "").add("static_mixer", t("M"), "").add("contact_vessel", t("V"), "contact vessel").
			add("float_vent_valve", t("AV"), "").add("knock_out_pot", t("KO"), "knock-out pot").add("drain_point", t("DP"), "").
			add("ozone_destruct", t("OD"), "destruct").add("atmosphere_vent", t("VT"), "").add("hand_valve", t("HV"), "", ball).
			add("hand_valve", t("HW"), "", ball).add("tee", t("TS"), "").add("tee", t("TR"), "").add("temperature_switch", t("TS1"), "")
		s.line(t("O"), oxygen, "10", fmt.Sprintf("%s > %s > %s", t("OX"), t("PCV"), t("G"))).
			line(t("OZ"), ozoneGas, "10", fmt.Sprintf("%s > %s > %s > %s > %s > %s.suction", t("G"), t("XV"), t("FI"), t("LT"), t("CV"), t("INJ"))).
			line(t("D"), drain, "15", fmt.Sprintf("%s.drain > %s > %s", t("LT"), t("FD"), t("DR"))).
			line(t("W"), water, "40", fmt.Sprintf("%s.branch > %s > %s > %s > %s.motive_inlet", t("TS"), t("HV"), t("P"), t("T"), t("INJ"))).
			line(t("I"), water, "", fmt.Sprintf("%s.branch > %s", t("T"), t("PI"))).
			line(t("WO"), ozonated, "40", fmt.Sprintf("%s > %s > %s", t("INJ"), t("M"), t("V"))).
			line(t("WR"), ozonated, "40", fmt.Sprintf("%s.outlet > %s > %s.branch", t("V"), t("HW"), t("TR"))).
			line(t("OG"), offGas, "15", fmt.Sprintf("%s.vent > %s > %s > %s > %s", t("V"), t("AV"), t("KO"), t("OD"), t("VT"))).
			line(t("DK"), drain, "15", fmt.Sprintf("%s.drain > %s", t("KO"), t("DP")))
		if i > 0 {
			before := func(p string) string { return fmt.Sprintf("%s-%d", p, 100*i+1) }
			s.line(t("WM"), water, "100", fmt.Sprintf("%s.outlet > %s.inlet", before("TS"), t("TS"))).
				line(t("WN"), ozonated, "100", fmt.Sprintf("%s.outlet > %s.inlet", before("TR"), t("TR")))
		}
		if named {
			s.train(fmt.Sprintf("train %d", i+1))
		}
	}
	s.add("boundary", "B-1", "raw water", boundary(roleIn)).add("boundary", "B-2", "to network", boundary(roleOut))
	s.line("WM-1", water, "100", "B-1 > TS-101.inlet")
	s.line("WN-1", ozonated, "100", fmt.Sprintf("TR-%d.outlet > B-2", 100*count+1))
	return s.d
}

// placed is the design with a position on each component.
func placed(d *skidrulev1.Design, at map[string][2]float64) *skidrulev1.Design {
	d = proto.CloneOf(d)
	for _, c := range d.Components {
		if p, ok := at[c.Tag]; ok {
			c.Position = &skidrulev1.SheetPosition{X: &p[0], Y: &p[1]}
		}
	}
	return d
}
