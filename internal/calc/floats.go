package calc

import (
	"errors"

	"github.com/skidrule/skidrule/internal/fluid"
	"github.com/skidrule/skidrule/internal/quantity"
	"github.com/skidrule/skidrule/internal/unitop"
)

func floatCalculations() []Calculation {
	return []Calculation{floatVent(), floatDrain()}
}

var floatSources = []Source{{"statics of a lever; buoyancy after Archimedes", Derived}}

const floatNone = "No published value is known, a float being what its maker made it; tested: balance of forces by hand, limits, trends."

func floatInputs() []Input {
	return []Input{
		number("float_mass", quantity.Mass, 1e-6, 50, "mass of the float with its lever as it weighs on the pivot"),
		number("float_volume", quantity.Volume, 1e-9, 0.1, "volume of the float"),
		number("lever_ratio", quantity.Ratio, 0.2, 50, "float arm over seat arm; 1 when the float carries the seat itself"),
		number("orifice_bore", quantity.Length, 1e-5, 0.2, "bore of the orifice"),
		optional(number("seat_diameter", quantity.Length, 1e-5, 0.4, "outer edge of the seat's contact ring; the bore (a knife edge) when left out")),
		assumed(number("plug_mass", quantity.Mass, 0, 5, "mass of parts on the seat side"), 0, "seat parts weigh nothing"),
		number("density", quantity.Density, 300, 3000, "liquid density"),
		optional(number("difference", quantity.PressureDifference, 0, 1e7, "pressure difference, body over outlet, at which the float is looked at")),
	}
}

func floatOf(v Values) unitop.Float {
	seat := v.Number("orifice_bore")
	if v.Has("seat_diameter") {
		seat = v.Number("seat_diameter")
	}
	return unitop.Float{Mass: v.Number("float_mass"), Volume: v.Number("float_volume"), LeverRatio: v.Number("lever_ratio"),
		PlugMass: v.Number("plug_mass"), Bore: v.Number("orifice_bore"), SeatDiameter: seat}
}

// opens turns the submergence at a difference into outputs: a float that does
// not open at it is an answer, not an error.
func opens(v Values, o Outcome, submergence func(difference float64) (float64, error)) (Outcome, error) {
	if !v.Has("difference") {
		return o, nil
	}
	s, err := submergence(v.Number("difference"))
	if errors.Is(err, unitop.ErrNoSolution) {
		o.Words["opens"] = "no"
		o.Notes = append(o.Notes, err.Error())
		return o, nil
	}
	if err != nil {
		return Outcome{}, err
	}
	o.Words["opens"] = "yes"
	o.Numbers["submergence"] = fluid.Exact(s)
	return o, nil
}

func floatVent() Calculation {
	base := map[string]string{"float_mass": "0.1 kg", "float_volume": "0.25 L", "lever_ratio": "5", "orifice_bore": "3 mm", "seat_diameter": "4 mm", "density": "998.2 kg/m3"}
	return Calculation{
		Name: "float-vent", Title: "Pressure difference at which a float vent opens",
		Purpose: "The float falls as gas fills the body and must pull the seat open against the pressure difference over the orifice.",
		Formula: "dp A <= L m g + mp g; shuts with L (rho V - m) g - mp g",
		Inputs:  floatInputs(),
		Outputs: []Output{
			{"highest_difference", quantity.PressureDifference, "highest pressure difference at which the empty float opens; spread between bore and seat ring as the effective area"},
			{"closing_force", quantity.Force, "force at the seat when submerged, at no pressure difference"},
			{"opens", 0, "whether it opens at the difference asked for"},
			{"submergence", quantity.Ratio, "part of the float that is still submerged when it opens"},
		},
		Sources: floatSources, Notes: []string{"Friction and a sticking seat are not in it."},
		Checks: []Check{
			{Inputs: without(base, "seat_diameter"), Output: "highest_difference", Want: 5 * 0.1 * 9.80665 / (7.0685834706e-6), Tolerance: 1e-9, Source: "balance of forces by hand", Status: Derived},
			{Inputs: base, Output: "closing_force", Want: 5 * (998.2*0.25e-3 - 0.1) * 9.80665, Tolerance: 1e-9, Source: "balance of forces by hand", Status: Derived},
			{Inputs: with(base, "difference", "8 bar"), Output: "opens", WantWord: "no", Source: "balance of forces by hand", Status: Derived},
			{Inputs: with(base, "difference", "4 bar"), Output: "opens", WantWord: "yes", Source: "balance of forces by hand", Status: Derived},
		},
		Unpublished: floatNone,
		Properties: []Property{
			{Inputs: without(without(base, "seat_diameter"), "orifice_bore"), Key: "orifice_bore", From: 1e-3, To: 1e-2, Output: "highest_difference", Trend: Falls},
			{Inputs: without(base, "lever_ratio"), Key: "lever_ratio", From: 1, To: 20, Output: "highest_difference", Trend: Rises},
			{Inputs: base, Key: "difference", From: 0, To: 4e5, Output: "submergence", Trend: Falls},
		},
		Evaluate: func(v Values) (Outcome, error) {
			f, rho := floatOf(v), v.Number("density")
			l, err := f.VentOpeningLimit(rho)
			if err != nil {
				return Outcome{}, err
			}
			o := Outcome{
				Numbers: map[string]fluid.Range{"highest_difference": l.HighestDifference, "closing_force": fluid.Exact(l.ClosingForce)},
				Words:   map[string]string{},
			}
			return opens(v, o, func(dp float64) (float64, error) { return f.VentSubmergence(dp, rho) })
		},
	}
}

func floatDrain() Calculation {
	base := map[string]string{"float_mass": "0.1 kg", "float_volume": "0.25 L", "lever_ratio": "5", "orifice_bore": "3 mm", "density": "998.2 kg/m3"}
	return Calculation{
		Name: "float-drain", Title: "Pressure difference at which a float drain opens",
		Purpose: "The float rises on liquid and must lift the seat against the pressure difference over the orifice.",
		Formula: "dp A <= L (rho V - m) g - mp g",
		Inputs:  floatInputs(),
		Outputs: []Output{
			{"highest_difference", quantity.PressureDifference, "highest pressure difference at which the submerged float opens; spread between bore and seat ring as the effective area"},
			{"opens", 0, "whether it opens at the difference asked for"},
			{"submergence", quantity.Ratio, "part of the float that is submerged when it opens"},
		},
		Sources: floatSources, Notes: []string{"Friction and a sticking seat are not in it."},
		Checks: []Check{
			{Inputs: base, Output: "highest_difference", Want: 5 * (998.2*0.25e-3 - 0.1) * 9.80665 / 7.0685834706e-6, Tolerance: 1e-9, Source: "balance of forces by hand", Status: Derived},
			{Inputs: with(base, "difference", "12 bar"), Output: "opens", WantWord: "no", Source: "balance of forces by hand", Status: Derived},
			{Inputs: with(base, "difference", "5 bar"), Output: "opens", WantWord: "yes", Source: "balance of forces by hand", Status: Derived},
		},
		Unpublished: floatNone,
		Properties: []Property{
			{Inputs: without(base, "orifice_bore"), Key: "orifice_bore", From: 1e-3, To: 1e-2, Output: "highest_difference", Trend: Falls},
			{Inputs: without(base, "float_mass"), Key: "float_mass", From: 0.02, To: 0.2, Output: "highest_difference", Trend: Falls},
			{Inputs: base, Key: "difference", From: 0, To: 1e6, Output: "submergence", Trend: Rises},
		},
		Evaluate: func(v Values) (Outcome, error) {
			f, rho := floatOf(v), v.Number("density")
			l, err := f.DrainOpeningLimit(rho)
			if err != nil {
				return Outcome{}, err
			}
			o := Outcome{Numbers: map[string]fluid.Range{"highest_difference": l}, Words: map[string]string{}}
			return opens(v, o, func(dp float64) (float64, error) { return f.DrainSubmergence(dp, rho) })
		},
	}
}
