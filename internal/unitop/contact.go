package unitop

import (
	"fmt"
	"math"

	"github.com/skidrule/skidrule/internal/fluid"
)

// ContactKind is how gas and water meet in a contactor.
type ContactKind int

const (
	// EquilibriumContact lets both leave in equilibrium: the most that can be
	// transferred in co-current flow, whatever the contactor. Where the
	// entering water is supersaturated, or ozone decays on the way, a real
	// contactor can pass it by a little.
	EquilibriumContact ContactKind = iota + 1
	// LineContact is plug flow of both in the same direction: a mixer or pipe
	// after an injector.
	LineContact
	// StirredContact is a vessel in which gas and water are each well mixed.
	StirredContact
)

// String gives the name of the kind.
func (k ContactKind) String() string {
	switch k {
	case EquilibriumContact:
		return "equilibrium"
	case LineContact:
		return "line"
	case StirredContact:
		return "stirred"
	}
	return fmt.Sprintf("ContactKind(%d)", int(k))
}

// lineStages is the number of stirred stages in a row that stand for plug
// flow; the error of the transfer is below NTU/(2 lineStages) relative.
const lineStages = 300

// Dissolved is what is dissolved in water, in mol/m3.
type Dissolved struct {
	O2, N2, Ar, O3 float64
}

// array gives the concentrations in the order oxygen, nitrogen, argon, ozone.
func (d Dissolved) array() [4]float64 { return [4]float64{d.O2, d.N2, d.Ar, d.O3} }

// ContactInput describes a contactor and what enters it.
type ContactInput struct {
	Kind ContactKind

	Gas         fluid.Gas // composition of the gas that enters (mole fractions)
	GasFlow     float64   // gas that enters in mol/s, 0 to 1000
	WaterFlow   float64   // water in m3/s, above 0 to 100
	Temperature float64   // of water and gas in K, 273.15 to 313.15
	Pressure    float64   // in the contactor in Pa abs, above the vapour pressure to 2 MPa
	Dissolved   Dissolved // what the entering water holds, mol/m3

	Volume float64     // water volume in m3 in which transfer and decay go on, 0 to 1e5
	KLa    fluid.Range // liquid-side transfer coefficient of ozone in 1/s for Volume, above 0 to 100; unused for EquilibriumContact
	Demand fluid.Range // instantaneous ozone demand in kg/m3, 0 to 50
	Decay  fluid.Range // decay rate of dissolved ozone in 1/s, 0 to 10
}

// ContactState is the outcome of one set of values, with every balance closed.
type ContactState struct {
	GasFlow   float64   // gas that leaves in mol/s, water vapour included; 0 when all has dissolved
	Gas       fluid.Gas // its composition; zero when GasFlow is 0
	Dissolved Dissolved // what the leaving water holds, mol/m3

	Transferred float64 // ozone that went into the water in mol/s, net
	Demanded    float64 // ozone taken by the instantaneous demand in mol/s
	Decayed     float64 // ozone lost by decay in mol/s
	Evaporated  float64 // water taken up by the gas in mol/s; negative when vapour condensed
}

// ContactResult is what a contactor does, with the spread of solubility,
// transfer coefficient, demand and decay.
type ContactResult struct {
	AppliedDose   float64     // ozone in the gas per volume of water, kg/m3
	Transferred   fluid.Range // transferred dose in kg/m3; use the low end for disinfection
	Efficiency    fluid.Range // transferred over applied; 0 without ozone in the gas
	Residual      fluid.Range // dissolved ozone in the leaving water in kg/m3
	Limit         fluid.Range // transfer efficiency at equilibrium: the bound for co-current contact, see EquilibriumContact
	Saturation    fluid.Range // dissolved ozone in equilibrium with the entering gas in kg/m3
	OffGas        fluid.Range // gas that leaves in mol/s, water vapour included
	OffGasOzone   fluid.Range // ozone that leaves with the gas in mol/s; use the high end for the destruct
	OzoneFraction fluid.Range // mole fraction of ozone in the leaving gas; 0 when there is none
	GasTension    fluid.Range // sum of the partial pressures with which the leaving water would be in equilibrium, Pa abs
	Best          ContactState
}

// contactCase is one set of exact values of the uncertain inputs.
type contactCase struct {
	henry  [4]float64 // mol/(m3 Pa): oxygen, nitrogen, argon, ozone
	ratio  [4]float64 // kLa over that of ozone
	kla    float64    // 1/s
	demand float64    // mol/m3
	decay  float64    // 1/s
}

// Contact computes the transfer of ozone, oxygen, nitrogen and argon between
// gas and water that flow through a contactor in the same direction, with the
// gas kept saturated with water vapour.
//
// For each gas: transfer = kLa V (H y P - C), the two-film model with the
// resistance in the water; kLa of the others goes with the square root of
// diffusivity. Instantaneous demand takes ozone before any stays dissolved;
// decay is first order. Ozone that is demanded frees one O2, ozone that decays
// 3/2 O2. [LineContact] is a row of 300 stirred stages.
//
// Low and high are the extremes over every combination of the ends of ozone
// solubility, kLa, demand and decay. Outside the ranges of [ContactInput]: an
// error. Counter-current columns are not covered; they can pass Limit.
//
// Source: Whitman's two-film model with Henry's law ([fluid.HenryOzone] and
// its kin); surface renewal for the ratio of kLa (Danckwerts 1951). No
// published worked case of the whole model was found: it is held by
// conservation, limits, closed forms and trends.
func Contact(in ContactInput) (ContactResult, error) {
	w, err := NewContactWater(in.Temperature)
	if err != nil {
		return ContactResult{}, err
	}
	return w.Contact(in)
}

// ContactWater is what the contact model needs to know of water at one temperature. Contactors at one temperature share it.
type ContactWater struct {
	temperature float64        // K
	vapour      float64        // vapour pressure in Pa
	henry       [4]fluid.Range // mol/(m3 Pa), in the order of Dissolved
	ratio       [4]float64     // kLa over that of ozone, in the same order
}

// NewContactWater finds the properties of water.
//
//   - t: water temperature in K, 273.15 to 313.15.
//
// Outside the range: an error.
//
// Source: [fluid.SolutesAt]; the ratio of kLa as in [Contact].
func NewContactWater(t float64) (*ContactWater, error) {
	solutes, err := fluid.SolutesAt(t)
	if err != nil {
		return nil, err
	}
	w := &ContactWater{temperature: t, henry: solutes.Henry}
	for i := range w.ratio {
		w.ratio[i] = math.Sqrt(solutes.Diffusivity[i].Best / solutes.Diffusivity[ozone].Best)
	}
	if w.vapour, err = fluid.WaterSaturationPressure(t); err != nil {
		return nil, err
	}
	return w, nil
}

// Contact is the function of that name for water whose properties are known. The temperature of the input is that of the water,
// whatever it says.
func (w *ContactWater) Contact(in ContactInput) (ContactResult, error) { return w.contact(in, true) }

// Transfer is Contact without its Limit, which is half of the work; Limit stays zero.
func (w *ContactWater) Transfer(in ContactInput) (ContactResult, error) { return w.contact(in, false) }

func (w *ContactWater) contact(in ContactInput, limited bool) (ContactResult, error) {
	in.Temperature = w.temperature
	if err := in.check(w.vapour); err != nil {
		return ContactResult{}, err
	}
	henry, vapour := &w.henry, w.vapour
	solve := func(h, kla, demand, decay float64, kind ContactKind) (ContactState, float64) {
		c := contactCase{
			henry:  [4]float64{henry[0].Best, henry[1].Best, henry[2].Best, h},
			ratio:  w.ratio,
			kla:    kla,
			demand: demand / fluid.MolarMassO3,
			decay:  decay,
		}
		s := c.run(in, kind, vapour)
		tension := vapour
		for i, x := range s.Dissolved.array() {
			tension += x / c.henry[i]
		}
		return s, tension
	}
	limitAt := func(h, demand, decay float64) (s ContactState) {
		if limited {
			s, _ = solve(h, 0, demand, decay, EquilibriumContact)
		}
		return s
	}

	best, tension := solve(henry[3].Best, in.KLa.Best, in.Demand.Best, in.Decay.Best, in.Kind)
	r := newContactResult(in, best, limitAt(henry[3].Best, in.Demand.Best, in.Decay.Best), tension)
	for _, h := range ends(henry[3]) {
		for _, demand := range ends(in.Demand) {
			for _, decay := range ends(in.Decay) {
				limit := limitAt(h, demand, decay)
				for _, kla := range ends(in.KLa) {
					s, tension := solve(h, kla, demand, decay, in.Kind)
					r.widen(newContactResult(in, s, limit, tension))
				}
			}
		}
	}
	r.Best = best
	r.Saturation = henry[3].Scale(in.Gas.O3 * (in.Pressure - vapour) / (1 - in.Gas.H2O) * fluid.MolarMassO3)
	return r, nil
}

// ends lists the ends of a range: one where it is exact.
func ends(x fluid.Range) []float64 {
	if x.Low == x.High {
		return []float64{x.Low}
	}
	return []float64{x.Low, x.High}
}

// check returns an error that names the input at fault; vapour is the vapour pressure of the water in Pa.
func (in *ContactInput) check(vapour float64) error {
	if in.Kind < EquilibriumContact || in.Kind > StirredContact {
		return fmt.Errorf("kind of contact %v is not known: equilibrium, line or stirred", in.Kind)
	}
	if err := in.Gas.Check(); err != nil {
		return err
	}
	if in.Gas.H2O >= 1 {
		return &ContradictionError{Reason: "gas of water vapour alone has nothing to transfer"}
	}
	if err := within(
		limit{"gas flow", in.GasFlow, 0, 1000, "mol/s"},
		limit{"water temperature", in.Temperature, fluid.HenryTemperatureLow, fluid.HenryTemperatureHigh, "K"},
		limit{"contact pressure (absolute)", in.Pressure, 0, fluid.GasPressureHigh, "Pa"},
		limit{"water volume", in.Volume, 0, 1e5, "m3"},
	); err != nil {
		return err
	}
	if err := positive("water flow", in.WaterFlow, 100, "m3/s"); err != nil {
		return err
	}
	if in.Pressure <= vapour {
		return fmt.Errorf("contact pressure %g Pa abs is not above the vapour pressure %.6g Pa: %w",
			in.Pressure, vapour, fluid.ErrOutOfRange)
	}
	for i, x := range in.Dissolved.array() {
		if !(x >= 0 && x <= 1e3) {
			// The name is put together only for the error.
			return fluid.Within("dissolved "+contactGases[i], x, 0, 1e3, "mol/m3")
		}
	}
	if in.Kind != EquilibriumContact {
		if err := checkRange("kLa", in.KLa, 0, 100, "1/s"); err != nil {
			return err
		}
		if err := positive("kLa", in.KLa.Low, 100, "1/s"); err != nil {
			return err
		}
		if err := positive("water volume", in.Volume, 1e5, "m3"); err != nil {
			return err
		}
	}
	if err := checkRange("ozone demand", in.Demand, 0, maxOzone, "kg/m3"); err != nil {
		return err
	}
	return checkRange("decay rate", in.Decay, 0, 10, "1/s")
}

// contactGases are the gases of a contactor in the order of [Dissolved].
var contactGases = [4]string{"oxygen", "nitrogen", "argon", "ozone"}

// newContactResult states one outcome in the terms of the result.
func newContactResult(in ContactInput, s, limit ContactState, tension float64) ContactResult {
	supplied := in.GasFlow * in.Gas.O3
	r := ContactResult{
		AppliedDose:   supplied * fluid.MolarMassO3 / in.WaterFlow,
		Transferred:   fluid.Exact(s.Transferred * fluid.MolarMassO3 / in.WaterFlow),
		Residual:      fluid.Exact(s.Dissolved.O3 * fluid.MolarMassO3),
		OffGas:        fluid.Exact(s.GasFlow),
		OffGasOzone:   fluid.Exact(s.GasFlow * s.Gas.O3),
		GasTension:    fluid.Exact(tension),
		OzoneFraction: fluid.Exact(s.Gas.O3),
	}
	if supplied > 0 {
		r.Efficiency = fluid.Exact(s.Transferred / supplied)
		r.Limit = fluid.Exact(limit.Transferred / supplied)
	}
	return r
}

// widen takes the outcome of a corner into the ranges.
func (r *ContactResult) widen(c ContactResult) {
	for _, p := range [...]struct{ to, from *fluid.Range }{
		{&r.Transferred, &c.Transferred}, {&r.Efficiency, &c.Efficiency}, {&r.Residual, &c.Residual},
		{&r.Limit, &c.Limit}, {&r.OffGas, &c.OffGas}, {&r.OffGasOzone, &c.OffGasOzone},
		{&r.OzoneFraction, &c.OzoneFraction}, {&r.GasTension, &c.GasTension},
	} {
		*p.to = p.to.Envelope(*p.from)
	}
}
