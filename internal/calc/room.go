package calc

import (
	"slices"

	"github.com/skidrule/skidrule/internal/fluid"
	"github.com/skidrule/skidrule/internal/quantity"
	"github.com/skidrule/skidrule/internal/unitop"
)

func roomCalculations() []Calculation {
	return []Calculation{roomLeak(), roomVentilation(), purgeTime()}
}

var sourceMMWR = Source{"CDC MMWR 43(RR-13), 28 October 1994, table S3-1", Verified}

func roomLeak() Calculation {
	base := texts("volume", "50 m3", "air_changes", "1 1/h", "temperature", "20 degC", "pressure", "1 atm(a)", "oxygen", "100 vol%", "ozone", "10 wt%",
		"leak", "1 NL/min", "room_oxygen", "20.9 vol%", "time", "30 min", "ozone_limit", "0.1 ppmv", "oxygen_limit", "23.5 vol%")
	return Calculation{
		Name: "room-leak", Title: "Ozone and oxygen in a room after a leak",
		Purpose: "Well-mixed room of constant pressure. Real rooms mix badly: near the leak the mixed value is a lower bound.",
		Formula: "V dx/dt = Q x_fresh + q x_leak - (Q + q + k V) x",
		Inputs: slices.Concat(mixtureInputs(), []Input{
			number("volume", quantity.Volume, 1e-3, 1e6, "air in the room")},
			spread("air_changes", quantity.Rate, 0, 1, "fresh air, room volumes per time"),
			spread("leak", quantity.GasFlow, 0, 1000, "leaking gas"),
			[]Input{
				assumed(number("ozone_decay", quantity.Rate, 0, 1, "loss of ozone in air and on walls"), 0, "none: the safe end"),
				number("temperature", quantity.Temperature, 250, 320, "room temperature"),
				number("pressure", quantity.PressureAbsolute, 5e4, 1.1e5, "room pressure, absolute"),
				number("room_oxygen", quantity.MoleFraction, 0, 1, "oxygen in room and fresh air before the leak"),
				number("time", quantity.Duration, 0, 1e9, "time since the leak began"),
				optional(number("ozone_limit", quantity.MoleFraction, 1e-12, 1, "ozone limit of which the time is wanted; ACGIH light work 0.1 ppm")),
				optional(number("oxygen_limit", quantity.MoleFraction, 0, 1, "oxygen limit of which the time is wanted; enriched from 23.5 vol%")),
			}),
		Outputs: []Output{
			{"ozone_at_time", quantity.MoleFraction, "ozone in the mixed room"},
			{"ozone_steady", quantity.MoleFraction, "ozone after a long time"},
			{"ozone_near_leak", quantity.MoleFraction, "between the mixed room (lower bound near the leak) and the undiluted gas"},
			{"oxygen_at_time", quantity.MoleFraction, "oxygen in the mixed room"},
			{"oxygen_steady", quantity.MoleFraction, "oxygen after a long time"},
			{"time_to_ozone_limit", quantity.Duration, "time until the mixed room reaches the ozone limit"},
			{"time_to_oxygen_limit", quantity.Duration, "time until the mixed room reaches the oxygen limit"},
		},
		Sources:     []Source{sourceMMWR, sourceBalance, {"29 CFR 1910.146(b): oxygen-enriched above 23.5 vol%", Verified}},
		Notes:       []string{"Ozone harms at concentrations where its smell already fades: never rely on smell.", "Oxygen-poor exhaust suffocates, oxygen-rich gas makes ordinary things burn fiercely."},
		Unpublished: "No published worked case with ozone was found; the exponential is checked under purge-time, the balance against step-by-step integration.",
		Checks: []Check{
			{Inputs: with(base, "air_changes", "0 1/h"), Output: "oxygen_steady", Want: 1 - 0.068966, Tolerance: 1e-4, Source: "no fresh air: the room becomes the leaking gas", Status: Derived},
			{Inputs: with(base, "leak", "0 NL/min"), Output: "oxygen_at_time", Want: 0.209, Tolerance: 1e-12, Source: "no leak, no change", Status: Derived},
		},
		Properties: []Property{
			{Inputs: without(base, "time"), Key: "time", From: 0, To: 36000, Output: "ozone_at_time", Trend: Rises},
			{Inputs: without(base, "air_changes"), Key: "air_changes", From: 0, To: 5e-3, Output: "ozone_steady", Trend: Falls},
			{Inputs: without(base, "leak"), Key: "leak", From: 1e-5, To: 1e-2, Output: "time_to_ozone_limit", Trend: Falls},
		},
		Evaluate: evaluateRoomLeak,
	}
}

func evaluateRoomLeak(v Values) (Outcome, error) {
	g, err := mixtureOf(v)
	if err != nil {
		return Outcome{}, err
	}
	r, err := spreadsOf(v, "air_changes", "leak")
	if err != nil {
		return Outcome{}, err
	}
	in := unitop.RoomInput{
		Volume: v.Number("volume"), AirChanges: r[0], Temperature: v.Number("temperature"), Pressure: v.Number("pressure"),
		Leak: g, LeakFlow: r[1], OzoneDecay: fluid.Exact(v.Number("ozone_decay")), Oxygen: v.Number("room_oxygen"), Time: v.Number("time"),
	}
	room, err := unitop.LeakIntoRoom(in)
	if err != nil {
		return Outcome{}, err
	}
	out := Outcome{Numbers: map[string]fluid.Range{
		"ozone_at_time": room.Ozone.AtTime, "ozone_steady": room.Ozone.Steady, "ozone_near_leak": room.NearLeakOzone,
		"oxygen_at_time": room.Oxygen.AtTime, "oxygen_steady": room.Oxygen.Steady,
	}}
	for _, f := range []struct {
		key, limit string
		of         func(unitop.RoomInput, float64) (unitop.Reach, error)
	}{
		{"time_to_ozone_limit", "ozone_limit", unitop.TimeToOzone},
		{"time_to_oxygen_limit", "oxygen_limit", unitop.TimeToOxygen},
	} {
		if !v.Has(f.limit) {
			continue
		}
		reach, err := f.of(in, v.Number(f.limit))
		if err != nil {
			return Outcome{}, err
		}
		switch {
		case reach.Reached:
			out.Numbers[f.key] = reach.Time
		case reach.May:
			out.Numbers[f.key] = reach.Time
			out.Notes = append(out.Notes, f.limit+" is not reached at the best values, only towards the adverse end")
		default:
			out.Notes = append(out.Notes, f.limit+" is never reached in the mixed room; near the leak it may be")
		}
	}
	return out, nil
}

func roomVentilation() Calculation {
	base := texts("source", "1 g/h", "limit", "0.1 ppmv", "temperature", "25 degC", "pressure", "1 atm(a)")
	return Calculation{
		Name: "room-ventilation", Title: "Fresh air that holds ozone at a limit",
		Purpose: "Steady state of a well-mixed room against a steady source of ozone.",
		Formula: "Q = G R T/(x M p)",
		Inputs: slices.Concat(spread("source", quantity.MassFlow, 0, 1, "ozone that leaks"), []Input{
			number("limit", quantity.MoleFraction, 1e-12, 0.01, "ozone to hold; ACGIH light work 0.1 ppm"),
			number("temperature", quantity.Temperature, 250, 320, "room temperature"),
			number("pressure", quantity.PressureAbsolute, 5e4, 1.1e5, "room pressure, absolute"),
		}),
		Outputs:     []Output{{"fresh_air", quantity.LiquidFlow, "fresh air, actual volume"}},
		Sources:     []Source{sourceBalance, {"ACGIH TLV as listed by OSHA: 0.05 to 0.20 ppm by workload", Verified}},
		Unpublished: "A closed form; held by an independent evaluation and trends.",
		Checks: []Check{
			{Inputs: base, Output: "fresh_air", Want: 5097.0 / 3600, Tolerance: 1e-3, Source: "G/(C rho), computed independently", Status: Derived},
		},
		Properties: []Property{
			{Inputs: without(base, "limit"), Key: "limit", From: 5e-8, To: 1e-6, Output: "fresh_air", Trend: Falls},
			{Inputs: without(base, "source"), Key: "source", From: 0, To: 1e-6, Output: "fresh_air", Trend: Rises},
		},
		Evaluate: func(v Values) (Outcome, error) {
			source, err := spreadOf(v, "source")
			if err != nil {
				return Outcome{}, err
			}
			q, err := unitop.VentilationForOzone(source, v.Number("limit"), v.Number("temperature"), v.Number("pressure"))
			return Outcome{Numbers: map[string]fluid.Range{"fresh_air": q}}, err
		},
	}
}

func purgeTime() Calculation {
	at := func(ach, removed string) map[string]string { return texts("air_changes", ach, "removed", removed) }
	return Calculation{
		Name: "purge-time", Title: "Time to purge a room, cabinet or vessel",
		Purpose: "Perfect mixing: time until a share of the contaminant is gone. Bad mixing takes three to ten times as long (common practice).",
		Formula: "t = -ln(1 - removed)/rate",
		Inputs: slices.Concat(spread("air_changes", quantity.Rate, 1e-9, 1, "volumes per time"), []Input{
			number("removed", quantity.Ratio, 1e-6, 0.999999999, "share that is gone, below 1"),
		}),
		Outputs: []Output{{"time", quantity.Duration, "purge time; spread from the air changes"}},
		Sources: []Source{sourceMMWR},
		Checks: []Check{
			{Inputs: at("1 1/h", "90 %"), Output: "time", Want: 138 * 60, Tolerance: 0.005, Source: sourceMMWR.Title, Status: Verified},
			{Inputs: at("2 1/h", "99 %"), Output: "time", Want: 138 * 60, Tolerance: 0.005, Source: sourceMMWR.Title, Status: Verified},
			{Inputs: at("6 1/h", "99.9 %"), Output: "time", Want: 69 * 60, Tolerance: 0.01, Source: sourceMMWR.Title, Status: Verified},
			{Inputs: at("12 1/h", "99 %"), Output: "time", Want: 23 * 60, Tolerance: 0.02, Source: sourceMMWR.Title, Status: Verified},
		},
		Properties: []Property{
			{Inputs: without(at("", "90 %"), "air_changes"), Key: "air_changes", From: 1e-4, To: 1e-2, Output: "time", Trend: Falls},
			{Inputs: without(at("2 1/h", ""), "removed"), Key: "removed", From: 0.5, To: 0.999, Output: "time", Trend: Rises},
		},
		Evaluate: func(v Values) (Outcome, error) {
			k, err := spreadOf(v, "air_changes")
			if err != nil {
				return Outcome{}, err
			}
			t, err := unitop.PurgeTime(v.Number("removed"), k)
			return Outcome{Numbers: map[string]fluid.Range{"time": t}}, err
		},
	}
}
