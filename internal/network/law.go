package network

// Law is one of the element laws of this package: [Pipe], [Fitting], [Valve],
// [CheckValve], [Orifice], [PowerLaw], [Pump], [Blower], [Regulator],
// [BackPressure], [FlowControl], [FixedFlow], [Injector], [Vessel],
// [FloatVent], [FloatDrain].
type Law interface{ kind() lawKind }

// lawKind names a law.
type lawKind uint8

// The kinds of element.
const (
	kindPipe lawKind = iota + 1
	kindFitting
	kindValve
	kindCheckValve
	kindOrifice
	kindPowerLaw
	kindPump
	kindBlower
	kindRegulator
	kindBackPressure
	kindFlowControl
	kindFixedFlow
	kindInjector
	kindVessel
	kindFloatVent
	kindFloatDrain
)

var kindNames = [...]string{"", "pipe", "fitting", "valve", "check valve", "orifice", "power-law element",
	"pump", "blower", "regulator", "back-pressure valve", "flow controller", "fixed flow", "injector", "vessel",
	"float vent", "float drain"}

// String gives the kind in words.
func (k lawKind) String() string {
	if int(k) < len(kindNames) && k > 0 {
		return kindNames[k]
	}
	return "unknown kind"
}

// Pipe is a straight circular line with minor losses, for liquid, gas, or
// liquid that carries gas from an injector.
//
// Liquid: Δp = (f L/D + K) ρ V²/2 + ρ g Δz, Darcy–Weisbach, with f of
// [FrictionFactor]. Gas: isothermal flow with density from pressure, including
// acceleration and its limit at Mach 1/√κ. Liquid with gas: homogeneous model,
// both at one velocity, 1/ρ = x/ρg + (1−x)/ρl with the mass fraction x of gas.
//
// Source: White, "Fluid Mechanics", chapters 6 and 9 (from memory for the
// equation numbers); Collier and Thome, "Convective Boiling and Condensation",
// chapter 2 (from memory), for the homogeneous model.
type Pipe struct {
	// Length, m, ≥ 0. Diameter (inside), m, > 0. Roughness, m, ≥ 0 and at
	// most a twentieth of the diameter.
	Length, Diameter, Roughness float64
	// K is the sum of minor-loss coefficients on the velocity in this
	// diameter, ≥ 0. Length and K must not both be zero.
	K float64
}

// Fitting is a minor loss: Δp = K ρ V²/2 on the velocity in Diameter (m).
// Gas as in [Pipe] with no length. K > 0.
type Fitting struct{ K, Diameter float64 }

// Valve is a control or hand valve by its flow coefficient, IEC 60534-2-1,
// turbulent flow without fittings.
//
// Liquid: Q = Kv √(Δp/(ρ/ρ0)), Q in m³/h, Δp in bar, ρ0 = 999.1 kg/m³; with
// RecoveryFactor FL > 0 the difference is limited to FL² (p1 − FF pv), FF =
// 0.96 − 0.28 √(pv/pc). Gas: W = N6 Kv Y √(x p1 ρ1) with Y = 1 − x/(3 Fγ xT),
// choked at x = Fγ xT, Fγ = κ/1.4.
type Valve struct {
	// Kv, m³/h at 1 bar, > 0.
	Kv float64
	// RecoveryFactor FL of a liquid valve, 0 < FL ≤ 1; 0 means that
	// choking is not modelled.
	RecoveryFactor float64
	// PressureRatioFactor xT of a gas valve, 0 < xT ≤ 1. Needed for gas.
	PressureRatioFactor float64
	// Diameter of the port, m, for the reported velocity; 0 if not known.
	Diameter float64
}

// CheckValve lets flow pass from From to To once the difference exceeds
// Opening; beyond it the excess follows the law of a [Valve] with the same Kv.
// Reverse flow is exactly zero, or passes LeakKv if that is stated.
type CheckValve struct {
	Valve
	// Opening is the opening (cracking) pressure difference, Pa, ≥ 0.
	Opening float64
	// LeakKv is the flow coefficient of the closed valve, m³/h, ≥ 0; 0 is
	// tight. It must be below Kv.
	LeakKv float64
}

// Orifice is a sharp restriction of fixed size.
//
// Liquid: w = Cd A √(2 ρ Δp). Gas: isentropic flow to the throat with the same
// coefficient, choked at the critical ratio
// (2/(κ+1))^(κ/(κ−1)).
//
// Source of the gas law: White, "Fluid Mechanics", isentropic nozzle flow (from
// memory for the equation number).
type Orifice struct {
	// Diameter of the bore, m, > 0. Coefficient Cd (discharge), 0 < Cd ≤ 1.
	Diameter, Coefficient float64
}

// PowerLaw is a liquid element with head loss h = Resistance · Q^Exponent, h in
// metre of the liquid, Q in m³/s, odd in Q. Exponent 1 to 3. Exponent 1.852
// with Resistance 10.667 L/(C^1.852 D^4.871) is the Hazen–Williams formula
// (L, D in m): 4.727 with feet, as public programs for water mains
// have it.
type PowerLaw struct{ Resistance, Exponent float64 }

// Pump raises liquid by Curve: head in metre against flow in m³/s, of the speed
// ratio Speed: H = Speed² · Curve(Q/Speed) (affinity laws).
// The curve must not rise with flow. Against reverse flow it dissipates.
type Pump struct {
	Curve Curve
	// Speed is the ratio to the speed of the curve, ≥ 0 and ≤ 2. 0 is a
	// stopped pump that lets flow pass against the same resistance.
	Speed float64
	// NPSHRequired, m against m³/s, may be empty: then only the available
	// head is reported.
	NPSHRequired Curve
	// Diameter of the suction port, m, for the velocity head in the
	// available suction head; 0 leaves that head out (safe side).
	Diameter float64
}

// Blower is a compressor or blower: pressure rise in Pa against actual inlet
// volume flow in m³/s, which must not rise with flow. Speed as in [Pump];
// rise scales with Speed².
type Blower struct {
	Curve Curve
	Speed float64
}

// Regulator is a pressure-reducing valve: it throttles so that the pressure at
// To does not exceed Set; full open it follows Valve; it closes against
// reverse flow. Ideal: no droop.
type Regulator struct {
	Valve
	// Set, Pa absolute, > 0.
	Set float64
}

// BackPressure is a back-pressure or relief valve: it opens so far that the
// pressure at From does not exceed Set; full open it follows Valve; it closes
// against reverse flow. Ideal: no accumulation before Valve limits it.
type BackPressure struct {
	Valve
	// Set, Pa absolute, > 0.
	Set float64
}

// FlowControl throttles so that the flow does not exceed Set; full open it
// follows Valve; it closes against reverse flow.
type FlowControl struct {
	Valve
	// Set, kg/s or mol/s, > 0.
	Set float64
}

// FixedFlow moves exactly Flow (kg/s or mol/s) from From to To, whatever the
// pressures: a metering pump, a stated demand between two nodes.
type FixedFlow struct{ Flow float64 }

// Vessel parts gas from liquid. From is the liquid node, To the gas node of the
// gas space. The pressures differ by the liquid between: pLiquid = pGas +
// ρ g (Level − zLiquid). Gas that the liquid carries into the liquid node
// leaves to the gas node.
type Vessel struct {
	// Level is the elevation of the surface, m.
	Level float64
	// Released is the fraction, 0 to 1, of the arriving gas that comes out
	// in the gas space; the rest has dissolved.
	Released float64
	// Sets says which side decides the pressure.
	Sets Setter
	// GasFluid is the index of the gas.
	GasFluid int
}

// Setter says which side of a vessel decides its pressure.
type Setter uint8

const (
	// LiquidSets: the vessel is full to Level and a float holds it there.
	// The liquid network decides the pressure. Gas that the outlets of the
	// gas space cannot pass is dragged on with the liquid and reported as
	// [NodeResult.Exchange] of the gas node.
	LiquidSets Setter = iota + 1
	// GasSets: the gas network decides the pressure on a free surface. What
	// liquid flows in more than out is reported as
	// [NodeResult.Exchange] of the liquid node: the level drifts.
	GasSets
)

// FloatVent lets gas out of the gas space of a [Vessel] that has LiquidSets;
// From must be its gas node. It passes what gas arrives, up to the capacity of
// its orifice (as [Orifice]). Held shut above MaxDifference.
type FloatVent struct {
	Orifice
	// MaxDifference is the highest pressure difference, Pa, at which the
	// float still opens; 0 if not limited.
	MaxDifference float64
}

// FloatDrain lets liquid out of the sump of a [Vessel] that has GasSets; From
// must be its liquid node. It passes what liquid arrives, up to the capacity
// of its orifice, and never gas. Held shut above MaxDifference.
type FloatDrain struct {
	Orifice
	// MaxDifference as in [FloatVent].
	MaxDifference float64
}

func (Pipe) kind() lawKind         { return kindPipe }
func (Fitting) kind() lawKind      { return kindFitting }
func (Valve) kind() lawKind        { return kindValve }
func (CheckValve) kind() lawKind   { return kindCheckValve }
func (Orifice) kind() lawKind      { return kindOrifice }
func (PowerLaw) kind() lawKind     { return kindPowerLaw }
func (Pump) kind() lawKind         { return kindPump }
func (Blower) kind() lawKind       { return kindBlower }
func (Regulator) kind() lawKind    { return kindRegulator }
func (BackPressure) kind() lawKind { return kindBackPressure }
func (FlowControl) kind() lawKind  { return kindFlowControl }
func (FixedFlow) kind() lawKind    { return kindFixedFlow }
func (Injector) kind() lawKind     { return kindInjector }
func (Vessel) kind() lawKind       { return kindVessel }
func (FloatVent) kind() lawKind    { return kindFloatVent }
func (FloatDrain) kind() lawKind   { return kindFloatDrain }
