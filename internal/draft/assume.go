package draft

// spread is a number of common practice: its usual value, the range in which it lies, and where it comes from.
type spread struct {
	best, low, high float64
	source          string
}

// Sources of numbers.
const (
	practice = "common practice, no source"
	memory   = "from memory"
)

// Numbers that no demand states. None of them is a datum of a bought part.
var (
	// oxygenStrength and airStrength are the mass fraction of ozone in the gas that cells make from oxygen and from dried air.
	oxygenStrength = spread{0.06, 0.04, 0.08, practice}
	airStrength    = spread{0.017, 0.01, 0.025, practice}
	// oxygenPurity is the mole fraction of oxygen behind a concentrator, storedPurity that of stored oxygen.
	oxygenPurity = spread{0.93, 0.90, 0.95, practice}
	storedPurity = spread{0.995, 0.99, 0.999, practice}
	// outputSpare is the part of a generator's output that is kept for wear and warm cooling.
	outputSpare = spread{0.10, 0.05, 0.20, practice}
	// transferRate is the overall liquid-side kLa of ozone in 1/s in a vessel behind an injector and a mixer.
	transferRate = spread{0.02, 0.01, 0.03, memory}
	// vesselBaffling and tankBaffling are T10 over the mean residence time.
	vesselBaffling = spread{0.5, 0.5, 0.7, "US EPA, Disinfection Profiling and Benchmarking Guidance Manual, table of baffling factors: average to superior"}
	tankBaffling   = spread{0.3, 0.3, 0.5, "US EPA, Disinfection Profiling and Benchmarking Guidance Manual, table of baffling factors: poor to average"}
	// transferTime is the mean residence time in s that dissolving takes, degasTime that which bubbles take to rise.
	transferTime = spread{300, 180, 600, practice}
	degasTime    = spread{90, 60, 180, practice}
	// longestTime is the longest mean residence time in s that a side stream is held, so that its residual falls.
	longestTime = spread{900, 600, 1200, practice}
	// leastTransfer is the share of the ozone that has to dissolve, at the adverse end, for a stream to count as large enough.
	leastTransfer = spread{0.80, 0.70, 0.95, practice}
	// saturationShare is how far dissolved ozone may come to what the gas could dissolve.
	saturationShare = spread{0.4, 0.3, 0.6, practice}
	// gasToLiquid is the highest actual gas over water at the injector's outlet, where the demand states none.
	gasToLiquid = spread{0.2, 0.1, 0.25, practice}
	// outletRatio is outlet over inlet gauge pressure of an injector at which it draws well.
	outletRatio = spread{0.32, 0.25, 0.40, practice}
	// leastInlet is the lowest motive gauge pressure in Pa of an injector.
	leastInlet = spread{2e5, 1.5e5, 3e5, practice}
	// mixerLoss is the pressure in Pa that mixer, tees and two-phase line take behind an injector.
	mixerLoss = spread{0.1e5, 0.05e5, 0.2e5, practice}
	// shutOffShare is a pump's pressure at no flow over that at its duty.
	shutOffShare = spread{1.4, 1.2, 1.6, practice}
	// waterVelocity and gasVelocity are the highest velocities in m/s for which lines are sized.
	waterVelocity = spread{1.5, 1, 2.5, practice}
	gasVelocity   = spread{15, 10, 20, practice}
	// blowerSpare is what a blower draws over the gas that comes.
	blowerSpare = spread{1.5, 1.2, 3, practice}
	// ventSpare is by how much a float vent passes more than the gas that comes.
	ventSpare = spread{1.25, 1.1, 1.5, practice}
	// dischargeCoefficient is that of a sharp-edged vent orifice.
	dischargeCoefficient = spread{0.75, 0.6, 0.9, practice}
	// designDroplet is the droplet in m that a pot before a catalyst takes out.
	designDroplet = spread{80e-6, 50e-6, 100e-6, practice}
	// assumedDemand is what clean water uses up at once in kg/m3, and assumedDecay the rate in 1/s at which ozone decays in it:
	// only read where a dose has to be found and the demand states neither.
	assumedDemand = spread{0.5e-3, 0.2e-3, 1e-3, practice}
	assumedDecay  = spread{0.003, 0.001, 0.01, practice}
)

// Bounds of what these shapes are drawn for; beyond them a demand is refused, with what would be right.
const (
	highestPressure = 8e5    // Pa gauge at supply and return: the flanges are of PN 16, and a pump adds to it
	gravityPressure = 0.3e5  // Pa gauge; up to it water counts as coming and going by gravity
	largestAir      = 8.0    // g/h that a cell for dried air is chosen for
	largestDrawn    = 45.0   // g/h of a cell through which the injector draws oxygen
	cylinderDay     = 20.0   // normal cubic metres of oxygen a day that cylinders are carried for
	maxDraftFlow    = 1000.0 // m3/h of water
)
