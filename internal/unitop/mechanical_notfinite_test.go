package unitop_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"github.com/skidrule/skidrule/internal/fluid"
	"github.com/skidrule/skidrule/internal/unitop"
)

// Every argument of every mechanical model in turn is not finite: the answer is
// an error that says so, never a number.
func TestMechanicalModelsRefuseWhatIsNotFinite(t *testing.T) {
	models := []struct {
		name string
		args []float64 // a set that works
		call func(a []float64) error
	}{
		{"orifice gas", []float64{1e-5, 0.6, 3e5, 1e5, 300, 0.032, 1.4, 1}, func(a []float64) error {
			_, err := unitop.OrificeGasFlow(a[0], a[1], a[2], a[3], a[4], unitop.Gas{MolarMass: a[5], HeatRatio: a[6], Compressibility: a[7]})
			return err
		}},
		{"orifice gas area", []float64{1e-3, 0.6, 3e5, 1e5, 300}, func(a []float64) error {
			_, err := unitop.OrificeGasArea(a[0], a[1], a[2], a[3], a[4], oxygenGas)
			return err
		}},
		{"series", []float64{1e-5, 0.6, 1e-5, 0.6, 3e5, 1e5, 300}, func(a []float64) error {
			_, err := unitop.SeriesGasFlow(unitop.Restriction{Area: a[0], Coefficient: a[1]}, unitop.Restriction{Area: a[2], Coefficient: a[3]}, a[4], a[5], a[6], oxygenGas)
			return err
		}},
		{"orifice liquid", []float64{1e-5, 0.6, 3e5, 1e5, 998, 2339}, func(a []float64) error {
			_, err := unitop.OrificeLiquidFlow(a[0], a[1], a[2], a[3], a[4], a[5])
			return err
		}},
		{"relief gas", []float64{1, 6e5, 1e5, 300, 0.9, 1, 1}, func(a []float64) error {
			_, err := unitop.ReliefGasArea(a[0], a[1], a[2], a[3], oxygenGas, unitop.ReliefFactors{Discharge: a[4], BackPressure: a[5], Combination: a[6]})
			return err
		}},
		{"relief liquid", []float64{0.01, 6e5, 1e5, 998, 2339, 0.65, 1, 1, 1}, func(a []float64) error {
			_, err := unitop.ReliefLiquidArea(a[0], a[1], a[2], a[3], a[4], unitop.ReliefFactors{Discharge: a[5], BackPressure: a[6], Combination: a[7], Viscosity: a[8]})
			return err
		}},
		{"relief viscosity", []float64{1000}, func(a []float64) error {
			_, err := unitop.ReliefViscosityFactor(a[0])
			return err
		}},
		{"valve liquid", []float64{1, 0.9, 0.05, 0.08, 0.1, 6e5, 3e5, 965, 7e4, 2.2e7}, func(a []float64) error {
			_, err := unitop.Valve{Kv: a[0], FL: a[1], Fittings: &unitop.ValveReducer{Bore: a[2], Inlet: a[3], Outlet: a[4]}}.
				LiquidFlow(a[5], a[6], unitop.LiquidState{Density: a[7], VapourPressure: a[8], CriticalPressure: a[9]})
			return err
		}},
		{"valve gas", []float64{1, 0.7, 6e5, 3e5, 300}, func(a []float64) error {
			_, err := unitop.Valve{Kv: a[0], XT: a[1]}.GasFlow(a[2], a[3], a[4], oxygenGas)
			return err
		}},
		{"float vent", []float64{0.1, 0.25e-3, 5, 0.01, 0.003, 0.004, 998, 1e5}, func(a []float64) error {
			_, err := unitop.Float{Mass: a[0], Volume: a[1], LeverRatio: a[2], PlugMass: a[3], Bore: a[4], SeatDiameter: a[5]}.VentSubmergence(a[7], a[6])
			return err
		}},
		{"float drain", []float64{0.1, 0.25e-3, 5, 0.01, 0.003, 0.004, 998, 1e5}, func(a []float64) error {
			_, err := unitop.Float{Mass: a[0], Volume: a[1], LeverRatio: a[2], PlugMass: a[3], Bore: a[4], SeatDiameter: a[5]}.DrainSubmergence(a[7], a[6])
			return err
		}},
		{"burst", []float64{0.003, 0.6, 3e5, 1e5, 300}, func(a []float64) error {
			_, err := unitop.BurstFlow(a[0], fluid.Exact(a[1]), a[2], a[3], a[4], oxygenGas)
			return err
		}},
		{"drain capacity", []float64{0.003, 0.6, 3e5, 1e5, 1, 998, 2339}, func(a []float64) error {
			_, err := unitop.DrainCapacity(a[0], fluid.Exact(a[1]), a[2], a[3], a[4], a[5], a[6])
			return err
		}},
		{"sphere", []float64{1e-4, 1000, 1.2, 1.8e-5, 9.8}, func(a []float64) error {
			_, err := unitop.SphereVelocity(a[0], a[1], a[2], a[3], a[4], unitop.SphereDrag)
			return err
		}},
		{"smallest droplet", []float64{0.2, 998, 1.3, 2e-5}, func(a []float64) error {
			_, _, err := unitop.SmallestDroplet(a[0], a[1], a[2], a[3])
			return err
		}},
		{"Souders–Brown", []float64{0.1, 998, 1.3}, func(a []float64) error {
			_, err := unitop.SoudersBrownVelocity(fluid.Exact(a[0]), a[1], a[2])
			return err
		}},
		{"vertical pot", []float64{0.3, 0.6, 0.01, 1.3, 2e-5, 998}, func(a []float64) error {
			_, err := unitop.VerticalPot(a[0], a[1], a[2], unitop.PotFluids{GasDensity: a[3], GasViscosity: a[4], LiquidDensity: a[5]})
			return err
		}},
		{"horizontal pot", []float64{0.3, 1, 0.1, 0.01}, func(a []float64) error {
			_, err := unitop.HorizontalPot(a[0], a[1], a[2], a[3], wetOxygen)
			return err
		}},
		{"hold-up", []float64{0.3, 0.1, 0.2}, func(a []float64) error {
			_, err := unitop.VerticalHoldUp(a[0], a[1], a[2])
			return err
		}},
		{"pipe wall", []float64{0.1, 1e8, 1, 1, 0.4, 0.001, 0.125, 1e6}, func(a []float64) error {
			_, err := unitop.PipeWall{OuterDiameter: a[0], Stress: a[1], Quality: a[2], WeldStrength: a[3], Y: a[4], Allowance: a[5], MillTolerance: a[6]}.Thickness(a[7])
			return err
		}},
		{"allowed pressure", []float64{0.005}, func(a []float64) error {
			_, err := steelPipe(0.1, 1e8).AllowedPressure(a[0])
			return err
		}},
		{"hydrotest", []float64{1e6, 1e8, 1e8}, func(a []float64) error {
			_, err := unitop.HydrotestPressure(a[0], a[1], a[2])
			return err
		}},
		{"tube burst", []float64{3e7, 1e-3, 8e-3}, func(a []float64) error {
			_, err := unitop.TubeBurst(a[0], a[1], a[2])
			return err
		}},
		{"plastic", []float64{1e7, 10}, func(a []float64) error {
			_, err := unitop.PlasticPressure(a[0], a[1])
			return err
		}},
		{"wave speed", []float64{0.05, 0.004, 2e11, 0.3, 2e9, 998}, func(a []float64) error {
			_, err := unitop.SurgePipe{Bore: a[0], Wall: a[1], Modulus: a[2], Poisson: a[3], Anchorage: unitop.AnchoredAlong, BulkModulus: a[4], Density: a[5]}.WaveSpeed()
			return err
		}},
		{"pressure rise", []float64{998, 1200, 2, 20, 1}, func(a []float64) error {
			_, err := unitop.PressureRise(a[0], a[1], a[2], a[3], a[4])
			return err
		}},
		{"water seal", []float64{0.5, 0.02, 0.1, 998, 0.1}, func(a []float64) error {
			_, err := unitop.WaterSeal{Submergence: a[0], TubeBore: a[1], PotArea: a[2], Density: a[3], LevelLoss: a[4]}.Limits()
			return err
		}},
		{"standing level", []float64{1, 1e5, 9e4, 998, 5}, func(a []float64) error {
			_, err := unitop.StandingLevel(a[0], a[1], fluid.Exact(a[2]), a[3], a[4])
			return err
		}},
		{"npsh", []float64{1e5, 2e3, 998, 1, 1}, func(a []float64) error {
			_, err := unitop.Suction{SurfacePressure: a[0], VapourPressure: a[1], Density: a[2], StaticHead: a[3], FrictionHead: a[4]}.NPSHAvailable()
			return err
		}},
		{"affinity", []float64{0.01, 40, 6000, 0.8}, func(a []float64) error {
			_, err := unitop.PumpPoint{Flow: a[0], Head: a[1], Power: a[2]}.AtSpeed(a[3])
			return err
		}},
		{"oxygen velocity", []float64{1e6}, func(a []float64) error {
			_, err := unitop.OxygenVelocityLimit(a[0], unitop.Impingement)
			return err
		}},
		{"gas velocity", []float64{0.1, 0.02, 1e5, 300, 1}, func(a []float64) error {
			_, err := unitop.GasVelocity(a[0], a[1], a[2], a[3], a[4])
			return err
		}},
	}
	for _, m := range models {
		t.Run(m.name, func(t *testing.T) {
			assert.NoError(t, m.call(m.args), "the set that works")
			for i := range m.args {
				for _, bad := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
					args := append([]float64(nil), m.args...)
					args[i] = bad
					assert.Error(t, m.call(args), "argument %d is %g", i, bad)
				}
			}
		})
	}
}
