package calc

import (
	"fmt"

	"github.com/skidrule/skidrule/internal/fluid"
	"github.com/skidrule/skidrule/internal/quantity"
	"github.com/skidrule/skidrule/internal/unitop"
)

// hydraulicCalculations are hydrostatics, seals, surge and pumps.
func hydraulicCalculations() []Calculation {
	return []Calculation{standingWater(), columnHeight(), sealLimits(), sealDepth(), surge(), npsh(), pumpSpeed(), pumpPower(), atmosphere()}
}

var hydrostatics = Source{"hydrostatics", Derived}

func densityInput() Input {
	return number("density", quantity.Density, 300, 3000, "liquid density")
}

func standingWater() Calculation {
	base := map[string]string{"tap_elevation": "1 m", "water_pressure": "1.5 bar(a)", "gas_pressure": "1 bar(a)", "density": "998.2 kg/m3", "crest_elevation": "7 m"}
	return Calculation{
		Name: "standing-water", Title: "How high water stands in a gas line",
		Purpose: "Elevation to which water rises in a still gas line, and what is left to the crest of its loop. A loop is no barrier.",
		Formula: "level = z + (pw - pg)/(rho g); margin = crest - level",
		Inputs: []Input{
			number("tap_elevation", quantity.Length, -1e4, 1e4, "elevation of the point where the gas line meets the water"),
			number("water_pressure", quantity.PressureAbsolute, 0, 1e8, "water pressure there, absolute"),
			number("gas_pressure", quantity.PressureAbsolute, 0, 1e8, "gas pressure in the line, absolute"),
			optional(number("gas_pressure_low", quantity.PressureAbsolute, 0, 1e8, "deepest vacuum in the line, absolute, for example after cool-down; gas_pressure when left out")),
			densityInput(),
			number("crest_elevation", quantity.Length, -1e4, 1e4, "highest point of the gas line"),
		},
		Outputs: []Output{
			{"level", quantity.Length, "elevation to which water rises; high end at the deepest vacuum"},
			{"margin", quantity.Length, "crest minus level; negative when water passes the crest"},
		},
		Sources:     []Source{hydrostatics},
		Checks:      []Check{{Inputs: base, Output: "level", Want: 1 + 0.5e5/(998.2*9.80665), Tolerance: 1e-12, Source: "hydrostatics by hand", Status: Derived}},
		Unpublished: "Standing water is geometry; no published value is needed. Tested: by hand, equal pressures give the tap, trends.",
		Properties: []Property{
			{Inputs: without(base, "water_pressure"), Key: "water_pressure", From: 1e5, To: 6e5, Output: "level", Trend: Rises},
			{Inputs: without(base, "gas_pressure"), Key: "gas_pressure", From: 5e4, To: 2e5, Output: "margin", Trend: Rises},
		},
		Evaluate: func(v Values) (Outcome, error) {
			gas := fluid.Exact(v.Number("gas_pressure"))
			if v.Has("gas_pressure_low") {
				gas.Low = v.Number("gas_pressure_low")
			}
			if gas.Low > gas.Best {
				return Outcome{}, &unitop.ContradictionError{Reason: "gas_pressure_low is above gas_pressure"}
			}
			s, err := unitop.StandingLevel(v.Number("tap_elevation"), v.Number("water_pressure"), gas, v.Number("density"), v.Number("crest_elevation"))
			return Outcome{Numbers: map[string]fluid.Range{"level": s.Level, "margin": s.Margin}}, err
		},
	}
}

func columnHeight() Calculation {
	base := map[string]string{"difference": "101325 Pa", "density": "1000 kg/m3"}
	return Calculation{
		Name: "column-height", Title: "Height of a liquid column that a pressure difference holds", Purpose: "Head from pressure; the highest lift of water when the difference is atmosphere less vapour pressure.",
		Formula: "h = dp/(rho g)",
		Inputs: []Input{number("difference", quantity.PressureDifference, 0, 1e8, "pressure difference"),
			number("density", quantity.Density, 300, 14000, "liquid density")},
		Outputs: []Output{{"height", quantity.Length, "height of the column"}},
		Sources: []Source{hydrostatics},
		Checks: []Check{
			{Inputs: base, Output: "height", Want: 10.332, Tolerance: 1e-4, Source: "one atmosphere of water, computed independently", Status: Derived},
			{Inputs: with(base, "difference", "98986 Pa", "density", "998.2 kg/m3"), Output: "height", Want: 10.112, Tolerance: 5e-4, Source: "lift at 20 degC, computed independently", Status: Derived},
			{Inputs: with(base, "density", "13595.1 kg/m3"), Output: "height", Want: 0.760, Tolerance: 1e-4, Source: "the standard atmosphere is 760 mm of mercury by its conventional density", Status: Derived},
		},
		Unpublished: "Definitions suffice: one atmosphere is 10.33 m of water and 760 mm of mercury.",
		Properties:  []Property{{Inputs: without(base, "difference"), Key: "difference", From: 0, To: 1e6, Output: "height", Trend: Rises}},
		Evaluate: func(v Values) (Outcome, error) {
			h, err := unitop.ColumnHeight(v.Number("difference"), v.Number("density"))
			return exact("height", h), err
		},
	}
}

func sealLimits() Calculation {
	base := map[string]string{"submergence": "0.5 m", "tube_bore": "25 mm", "pot_area": "0.05 m2", "density": "998.2 kg/m3"}
	return Calculation{
		Name: "water-seal", Title: "Pressure and vacuum that a water seal holds", Purpose: "A dip tube in a pot: when gas blows out, when air is drawn in, how high the water climbs.",
		Formula: "d = submergence - level loss; pressure: rho g d (1 + a/A); vacuum: rho g d (1 + A/a)",
		Inputs: []Input{
			number("submergence", quantity.Length, 1e-3, 50, "depth of the tube end below the resting level"),
			number("tube_bore", quantity.Length, 1e-3, 5, "bore of the dip tube"),
			number("pot_area", quantity.Area, 1e-6, 100, "free water surface of the pot outside the tube"),
			densityInput(),
			assumed(number("level_loss", quantity.Length, 0, 50, "by how much the level may have sunk before it is refilled"), 0, "the seal is kept full"),
		},
		Outputs: []Output{
			{"pressure", quantity.PressureDifference, "gas over pot, at which gas blows out"},
			{"vacuum", quantity.PressureDifference, "gas below pot, at which air is drawn in"},
			{"rise", quantity.Length, "height to which water then stands in the tube; a shorter tube passes water on"},
		},
		Sources:     []Source{hydrostatics, {"conservation of the liquid volume", Derived}},
		Checks:      []Check{{Inputs: base, Output: "pressure", Want: 998.2 * 9.80665 * 0.5 * (1 + 4.9087385212e-4/0.05), Tolerance: 1e-9, Source: "hydrostatics by hand", Status: Derived}},
		Unpublished: "Hydrostatics; no published value is needed. Tested: by hand, volume balance, a wide pot, trends.",
		Properties: []Property{
			{Inputs: without(base, "submergence"), Key: "submergence", From: 0.05, To: 2, Output: "pressure", Trend: Rises},
			{Inputs: base, Key: "level_loss", From: 0, To: 0.5, Output: "pressure", Trend: Falls},
			{Inputs: without(base, "pot_area"), Key: "pot_area", From: 0.001, To: 1, Output: "vacuum", Trend: Rises},
		},
		Evaluate: func(v Values) (Outcome, error) {
			l, err := unitop.WaterSeal{Submergence: v.Number("submergence"), TubeBore: v.Number("tube_bore"), PotArea: v.Number("pot_area"),
				Density: v.Number("density"), LevelLoss: v.Number("level_loss")}.Limits()
			return Outcome{Numbers: map[string]fluid.Range{"pressure": fluid.Exact(l.Pressure), "vacuum": fluid.Exact(l.Vacuum), "rise": fluid.Exact(l.Rise)}}, err
		},
	}
}

func sealDepth() Calculation {
	base := map[string]string{"difference": "30 mbar", "density": "998.2 kg/m3"}
	return Calculation{
		Name: "water-seal-depth", Title: "Depth of seal that a pressure difference needs", Purpose: "Submergence without help from the rise of the pot, plus a margin.",
		Formula: "d = dp/(rho g) + margin",
		Inputs: []Input{number("difference", quantity.PressureDifference, 0, 5e5, "pressure difference to hold"), densityInput(),
			assumed(number("margin", quantity.Length, 0, 5, "depth on top for evaporation and waves"), 0, "no margin is stated")},
		Outputs:     []Output{{"depth", quantity.Length, "submergence needed"}},
		Sources:     []Source{hydrostatics},
		Checks:      []Check{{Inputs: base, Output: "depth", Want: 3000 / (998.2 * 9.80665), Tolerance: 1e-12, Source: "hydrostatics by hand", Status: Derived}},
		Unpublished: "Hydrostatics; no published value is needed. Tested: by hand and trend.",
		Properties:  []Property{{Inputs: without(base, "difference"), Key: "difference", From: 0, To: 1e5, Output: "depth", Trend: Rises}},
		Evaluate: func(v Values) (Outcome, error) {
			d, err := unitop.SealDepth(v.Number("difference"), v.Number("density"), v.Number("margin"))
			return exact("depth", d), err
		},
	}
}

// anchorages ties the words of the choice to the model's.
var anchorages = map[string]unitop.Anchorage{
	"anchored": unitop.AnchoredAlong, "anchored-upstream": unitop.AnchoredOneEnd, "expansion-joints": unitop.ExpansionJoints,
}

func surge() Calculation {
	steel := map[string]string{"bore": "52.5 mm", "wall": "3.91 mm", "modulus": "200000 MPa", "anchorage": "expansion-joints", "bulk_modulus": "2170 MPa", "density": "998.2 kg/m3",
		"velocity_change": "2 m/s", "length": "20 m", "closing_time": "0 s"}
	pvc := with(steel, "bore", "49.25 mm", "wall", "5.54 mm", "modulus", "2760 MPa")
	return Calculation{
		Name: "surge", Title: "Pressure surge when a flow is stopped", Purpose: "Wave speed in an elastic pipe and the rise when a valve closes fast or slowly.",
		Formula: "a = sqrt(K/rho/(1 + c K D/(E t))); fast (tc <= 2 L/a): dp = rho a dv; slow: best 2 rho L dv/tc, low rho L dv/tc, high rho a dv",
		Inputs: []Input{
			number("bore", quantity.Length, 1e-3, 5, "pipe bore"),
			number("wall", quantity.Length, 1e-5, 1, "pipe wall"),
			number("modulus", quantity.PressureDifference, 1e6, 1e12, "Young's modulus of the wall (steel about 200000 MPa, PVC about 2800 MPa)"),
			assumed(number("poisson", quantity.Ratio, 0, 0.5, "Poisson's ratio of the wall"), 0.3, "steel; used only when the pipe is anchored"),
			choice("anchorage", "how the pipe is held along its axis", "anchored", "anchored-upstream", "expansion-joints"),
			number("bulk_modulus", quantity.PressureDifference, 1e8, 1e10, "bulk modulus of the liquid (water at 20 degC 2170 MPa)"),
			densityInput(),
			number("velocity_change", quantity.Velocity, 0, 50, "velocity that is stopped"),
			number("length", quantity.Length, 0.01, 1e5, "pipe length to the next free surface or large main"),
			number("closing_time", quantity.Duration, 0, 1e5, "time in which the valve closes"),
		},
		Outputs: []Output{
			{"pressure_rise", quantity.PressureDifference, "rise above the pressure before; spread when the valve closes slowly"},
			{"wave_speed", quantity.Velocity, "speed of the pressure wave; free gas in the water lowers it strongly"},
			{"critical_time", quantity.Duration, "2 L/a; a faster valve makes the full rise"},
			{"regime", 0, "fast or slow closure"},
		},
		Sources: []Source{{"N. Joukowsky (1898), fast closure", Verified}, {"D. J. Korteweg (1878), wave speed; constraint factors after E. B. Wylie, V. L. Streeter", Verified},
			{"J. Michaud, slow closure, as in a public calculation sheet: head 2 L dv/(g tc)", Verified}},
		Notes: []string{"Bulk modulus of water: 2100 MPa at 10 degC, 2170 at 20, 2250 at 30 (MWH's Water Treatment, 3rd edition, Table C-1).",
			"A rule in circulation for slow closure, 0.07 dv L/tc in psi, ft/s and ft, is 2.6 times the best value; it lies within the spread unless it passes rho a dv, which no closure does."},
		Checks: []Check{
			{Inputs: steel, Output: "wave_speed", Want: 1377.5, Tolerance: 1e-3, Source: "thin-wall form, computed independently: steel NPS 2 schedule 40", Status: Derived},
			{Inputs: pvc, Output: "wave_speed", Want: 521.6, Tolerance: 1e-3, Source: "thin-wall form, computed independently: PVC NPS 2 schedule 80", Status: Derived},
			{Inputs: steel, Output: "pressure_rise", Want: 998.2 * 1377.5 * 2, Tolerance: 1e-3, Source: "rho a dv", Status: Derived},
		},
		Unpublished: "No published worked surge was readable; tested: two wave speeds computed independently, the rigid-pipe limit sqrt(K/rho), continuity at the critical time, trends.",
		Properties: []Property{
			{Inputs: without(steel, "velocity_change"), Key: "velocity_change", From: 0, To: 5, Output: "pressure_rise", Trend: Rises},
			{Inputs: without(steel, "closing_time"), Key: "closing_time", From: 0, To: 2, Output: "pressure_rise", Trend: NotRises},
			{Inputs: without(steel, "modulus"), Key: "modulus", From: 1e9, To: 2e11, Output: "wave_speed", Trend: Rises},
		},
		Evaluate: func(v Values) (Outcome, error) {
			a, err := unitop.SurgePipe{Bore: v.Number("bore"), Wall: v.Number("wall"), Modulus: v.Number("modulus"), Poisson: v.Number("poisson"),
				Anchorage: anchorages[v.Word("anchorage")], BulkModulus: v.Number("bulk_modulus"), Density: v.Number("density")}.WaveSpeed()
			if err != nil {
				return Outcome{}, err
			}
			s, err := unitop.PressureRise(v.Number("density"), a, v.Number("velocity_change"), v.Number("length"), v.Number("closing_time"))
			if err != nil {
				return Outcome{}, err
			}
			closure := map[bool]string{true: "fast", false: "slow"}
			return Outcome{
				Numbers: map[string]fluid.Range{"pressure_rise": s.Rise, "wave_speed": fluid.Exact(a), "critical_time": fluid.Exact(s.CriticalTime)},
				Words:   map[string]string{"regime": closure[s.Fast]},
			}, nil
		},
	}
}

func npsh() Calculation {
	// Heads in feet of the pumped liquid become pressures by its density.
	handbook := map[string]string{"surface_pressure": "14.7 psi(a)", "vapour_pressure": "2.889 psi(a)", "density": "984.05 kg/m3", "static_head": "45 ft", "friction_head": "0.378 ft"}
	tank := map[string]string{"surface_pressure": "101325 Pa(a)", "vapour_pressure": "2508 Pa(a)", "density": "1000 kg/m3", "static_head": "6 ft", "friction_head": "4 ft"}
	mountain := map[string]string{"surface_pressure": "78312 Pa(a)", "vapour_pressure": "1228 Pa(a)", "density": "1000 kg/m3", "static_head": "-8 ft", "friction_head": "3 ft"}
	return Calculation{
		Name: "npsh-available", Title: "Net positive suction head available", Purpose: "What the suction side offers a pump; compare with what it requires, with a margin.",
		Formula: "NPSHa = (ps - pv)/(rho g) + z - hf",
		Inputs: []Input{
			number("surface_pressure", quantity.PressureAbsolute, 0, 1e8, "pressure on the free surface of the supply, absolute"),
			number("vapour_pressure", quantity.PressureAbsolute, 0, 1e7, "vapour pressure of the liquid, absolute"),
			densityInput(),
			number("static_head", quantity.Length, -100, 1000, "surface above the pump's datum; negative for a lift"),
			number("friction_head", quantity.Length, 0, 1000, "loss of the suction line at the flow looked at"),
		},
		Outputs: []Output{{"npsh", quantity.Length, "head available; negative when the suction cannot be drawn"}},
		Sources: []Source{{"definition, as in ANSI/HI 9.6.1", Verified}},
		Checks: []Check{
			{Inputs: handbook, Output: "npsh", Want: (45 + 34.474 - 6.775 - 0.378) * 0.3048, Tolerance: 2e-3, Source: "The Practical Pumping Handbook, 4.4.2.5 sample calculation (terms 45, 34.474, 6.775, 0.378 ft)", Status: Verified},
			{Inputs: tank, Output: "npsh", Want: 35.061 * 0.3048, Tolerance: 2e-3, Source: "published worked example: 33.9 + 6.0 - 0.839 - 2.0 - 2.0 = 35.061 ft", Status: Verified},
			{Inputs: mountain, Output: "npsh", Want: (26.2 - 8 - 0.411 - 1 - 2) * 0.3048, Tolerance: 2e-3, Source: "published worked example: suction lift at 7000 ft, terms 26.2, -8.0, 0.411, 1, 2.0 ft", Status: Verified},
		},
		Properties: []Property{
			{Inputs: without(tank, "static_head"), Key: "static_head", From: -8, To: 10, Output: "npsh", Trend: Rises},
			{Inputs: without(tank, "vapour_pressure"), Key: "vapour_pressure", From: 600, To: 1e5, Output: "npsh", Trend: Falls},
		},
		Evaluate: func(v Values) (Outcome, error) {
			h, err := unitop.Suction{SurfacePressure: v.Number("surface_pressure"), VapourPressure: v.Number("vapour_pressure"), Density: v.Number("density"),
				StaticHead: v.Number("static_head"), FrictionHead: v.Number("friction_head")}.NPSHAvailable()
			return exact("npsh", h), err
		},
	}
}

func pumpSpeed() Calculation {
	base := map[string]string{"flow": "10 m3/h", "head": "40 m", "power": "2 kW", "speed_ratio": "0.5"}
	return Calculation{
		Name: "pump-affinity", Title: "Working point of a pump at another speed", Purpose: "Affinity laws for a speed change; or the speed for a wanted head.",
		Formula: "Q2 = Q1 n, H2 = H1 n^2, P2 = P1 n^3; n = sqrt(H2/H1)",
		Inputs: []Input{
			number("flow", quantity.LiquidFlow, 0, 100, "flow at the first speed"),
			number("head", quantity.Length, 1e-3, 1e4, "head at the first speed"),
			number("power", quantity.Power, 0, 1e8, "shaft power at the first speed"),
			optional(number("speed_ratio", quantity.Ratio, 0.3, 1.5, "second speed over first")),
			optional(number("wanted_head", quantity.Length, 1e-3, 1e4, "head wanted at the second speed, instead of speed_ratio")),
		},
		Outputs: []Output{
			{"flow", quantity.LiquidFlow, "flow at the second speed"}, {"head", quantity.Length, "head at the second speed"},
			{"power", quantity.Power, "shaft power at the second speed; somewhat more far below rated speed"}, {"speed_ratio", quantity.Ratio, "second speed over first"},
		},
		Sources: []Source{{"affinity laws of similar machines", Derived}},
		Checks: []Check{
			{Inputs: base, Output: "head", Want: 10, Tolerance: 1e-12, Source: "half speed: a quarter of the head", Status: Derived},
			{Inputs: base, Output: "power", Want: 250, Tolerance: 1e-12, Source: "half speed: an eighth of the power", Status: Derived},
			{Inputs: with(without(base, "speed_ratio"), "wanted_head", "22.5 m"), Output: "speed_ratio", Want: 0.75, Tolerance: 1e-12, Source: "inverse by hand", Status: Derived},
		},
		Unpublished: "Similarity laws; whole powers suffice. Tested: by hand, the inverse, trends.",
		Properties:  []Property{{Inputs: without(base, "speed_ratio"), Key: "speed_ratio", From: 0.3, To: 1.5, Output: "head", Trend: Rises}},
		Evaluate: func(v Values) (Outcome, error) {
			p := unitop.PumpPoint{Flow: v.Number("flow"), Head: v.Number("head"), Power: v.Number("power")}
			var ratio float64
			var err error
			switch {
			case v.Has("speed_ratio") && v.Has("wanted_head"):
				return Outcome{}, &unitop.ContradictionError{Reason: "speed_ratio and wanted_head are both given; give one"}
			case v.Has("speed_ratio"):
				ratio = v.Number("speed_ratio")
			case v.Has("wanted_head"):
				ratio, err = p.SpeedForHead(v.Number("wanted_head"))
			default:
				err = fmt.Errorf("%w: give speed_ratio or wanted_head", ErrMissingInput)
			}
			if err != nil {
				return Outcome{}, err
			}
			q, err := p.AtSpeed(ratio)
			return Outcome{Numbers: map[string]fluid.Range{"flow": fluid.Exact(q.Flow), "head": fluid.Exact(q.Head), "power": fluid.Exact(q.Power), "speed_ratio": fluid.Exact(ratio)}}, err
		},
	}
}

func pumpPower() Calculation {
	base := map[string]string{"flow": "36 m3/h", "head": "30 m", "density": "1000 kg/m3", "efficiency": "0.6"}
	return Calculation{
		Name: "pump-power", Title: "Shaft power of a pump", Purpose: "Power from flow, head and efficiency.",
		Formula: "P = rho g Q H/eta",
		Inputs: []Input{number("flow", quantity.LiquidFlow, 0, 100, "flow"), number("head", quantity.Length, 0, 1e4, "head"), densityInput(),
			number("efficiency", quantity.Ratio, 0.01, 1, "efficiency of the pump at that flow")},
		Outputs:     []Output{{"power", quantity.Power, "shaft power"}},
		Sources:     []Source{{"energy balance", Derived}},
		Checks:      []Check{{Inputs: base, Output: "power", Want: 1000 * 9.80665 * 0.01 * 30 / 0.6, Tolerance: 1e-12, Source: "by hand", Status: Derived}},
		Unpublished: "Energy balance; no published value is needed. Tested: by hand and trends.",
		Properties: []Property{{Inputs: without(base, "efficiency"), Key: "efficiency", From: 0.1, To: 1, Output: "power", Trend: Falls},
			{Inputs: without(base, "head"), Key: "head", From: 0, To: 100, Output: "power", Trend: Rises}},
		Evaluate: func(v Values) (Outcome, error) {
			p, err := unitop.PumpPoint{Flow: v.Number("flow"), Head: v.Number("head")}.ShaftPower(v.Number("density"), fluid.Exact(v.Number("efficiency")))
			return Outcome{Numbers: map[string]fluid.Range{"power": p}}, err
		},
	}
}

func atmosphere() Calculation {
	at := func(h string) map[string]string { return map[string]string{"altitude": h} }
	return Calculation{
		Name: "atmosphere", Title: "Atmospheric pressure at an altitude", Purpose: "Standard atmosphere with the swing of the weather; it moves every absolute pressure, no rating.",
		Formula: "p = 101325 Pa (1 - 2.25577e-5 h/m)^5.25588, 3 % either way",
		Inputs:  []Input{number("altitude", quantity.Length, -500, 11000, "altitude of the site above sea level")},
		Outputs: []Output{{"pressure", quantity.PressureAbsolute, "atmospheric pressure, absolute; spread from the weather (common practice)"}},
		Sources: []Source{{"ISO 2533:1975, troposphere", Verified}, {"spread of 3 %", CommonPractice}},
		Checks: []Check{
			{Inputs: at("500 m"), Output: "pressure", Want: 95461, Tolerance: 1e-4, Source: "standard atmosphere, computed independently", Status: Derived},
			{Inputs: at("1000 m"), Output: "pressure", Want: 89875, Tolerance: 1e-4, Source: "standard atmosphere, computed independently", Status: Derived},
			{Inputs: at("0 m"), Output: "pressure", Want: 101325, Tolerance: 1e-12, Source: "definition", Status: Derived},
		},
		Unpublished: "The table of ISO 2533 was not readable; tested: two values computed independently, sea level, trend.",
		Properties:  []Property{{Key: "altitude", From: -500, To: 11000, Output: "pressure", Trend: Falls}},
		Evaluate: func(v Values) (Outcome, error) {
			p, err := unitop.StandardAtmosphere(v.Number("altitude"))
			return Outcome{Numbers: map[string]fluid.Range{"pressure": p}}, err
		},
	}
}
