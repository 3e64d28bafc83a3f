package upkeep

import (
	"context"
	"fmt"
	"slices"

	"github.com/skidrule/skidrule/internal/fact"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// MostModules is the number of modules that one plan takes out: common practice, no source. Each costs a search of the whole plant.
const MostModules = 500

// moduleKinds are the parts that are taken out and exchanged as a whole.
var moduleKinds = []plant.Kind{
	plant.KindCompressor, plant.KindBlower, plant.KindGasFilter, plant.KindGasDryer, plant.KindOxygenConcentrator, plant.KindGasSupply,
	plant.KindPressureRegulator, plant.KindBackPressureValve, plant.KindMoistureMonitor, plant.KindGasHeater, plant.KindOzoneGenerator,
	plant.KindPowerSupply, plant.KindController, plant.KindActuatedValve, plant.KindThreeWayValve, plant.KindCheckValve,
	plant.KindLiquidTrap, plant.KindVenturiInjector, plant.KindPump, plant.KindStrainer, plant.KindLiquidFilter, plant.KindStaticMixer,
	plant.KindHeatExchanger, plant.KindFloatVentValve, plant.KindKnockOutPot, plant.KindDemister, plant.KindOzoneDestruct,
	plant.KindWaterSeal, plant.KindFloatDrain, plant.KindReliefValve, plant.KindRuptureDisc, plant.KindVacuumBreaker, plant.KindHandValve,
	plant.KindPressureGauge, plant.KindPressureSwitch, plant.KindFlowSwitch, plant.KindFlowMeter, plant.KindOzoneProbe,
	plant.KindOrpProbe, plant.KindGasAnalyser, plant.KindSamplePoint,
}

// ModuleError says that a module cannot be planned.
type ModuleError struct {
	// Index is the place in the tags that were asked for; -1 where it is about their number.
	Index int
	// Message says what is wrong, Suggestion what would be right.
	Message, Suggestion string
}

// Error implements error.
func (e *ModuleError) Error() string {
	if e.Suggestion == "" {
		return e.Message
	}
	return e.Message + "; " + e.Suggestion
}

// Plan plans the upkeep of a plant. tags name the modules to take out, none stands for all. It ends with the error of the context,
// or with a *ModuleError where a tag is no module or there are more than [MostModules].
func Plan(ctx context.Context, w *fact.World, tags []string) (*skidrulev1.UpkeepPlan, error) {
	modules, err := modulesOf(w.Plant, tags)
	if err != nil {
		return nil, err
	}
	out := &skidrulev1.UpkeepPlan{DesignName: w.Plant.Design.GetName(), DesignRevision: w.Plant.Design.GetRevision()}
	out.Services, out.Spares = dueServices(w.Plant), spareParts(w.Plant)
	for _, m := range modules {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		out.Removals = append(out.Removals, takeOut(w, m))
	}
	out.Cautions = cautions()
	return out, nil
}

// modulesOf gives the components that tags name, or all modules, in order of the design.
func modulesOf(p *plant.Plant, tags []string) ([]int32, error) {
	var out []int32
	for i, tag := range tags {
		c, ok := p.FindComponent(tag)
		if !ok {
			return nil, &ModuleError{i, fmt.Sprintf("the design has no component %q", tag), nearTags(p, tag)}
		}
		if !slices.Contains(moduleKinds, p.Components[c].Kind) {
			return nil, &ModuleError{i, fmt.Sprintf("%s is no module that is taken out: it is of the kind %s", tag, p.Components[c].Kind), ""}
		}
		out = append(out, c)
	}
	if len(tags) == 0 {
		for i := range p.Components {
			if slices.Contains(moduleKinds, p.Components[i].Kind) && isDrawn(p, int32(i)) {
				out = append(out, int32(i))
			}
		}
	}
	slices.Sort(out)
	out = slices.Compact(out)
	if len(out) > MostModules {
		return nil, &ModuleError{-1, fmt.Sprintf("%d modules are more than the %d of one plan", len(out), MostModules), "name those that are taken out"}
	}
	return out, nil
}

// isDrawn tells whether a line meets a component, or whether it is driven by power alone.
func isDrawn(p *plant.Plant, c int32) bool {
	if electric(p.Components[c].Kind) {
		return true
	}
	return len(joined(p, c)) > 0
}

// electric tells the modules that only cables meet.
func electric(k plant.Kind) bool { return k == plant.KindPowerSupply || k == plant.KindController }

// nearTags suggests tags that begin alike.
func nearTags(p *plant.Plant, tag string) string {
	for n := len(tag) - 1; n > 0; n-- {
		for i := range p.Components {
			if have := p.Components[i].Tag; len(have) >= n && have[:n] == tag[:n] && slices.Contains(moduleKinds, p.Components[i].Kind) {
				return "did you mean " + have + "?"
			}
		}
	}
	return ""
}

// joined lists the ports of a component at which lines meet it.
func joined(p *plant.Plant, c int32) []int32 {
	var out []int32
	q := &p.Components[c]
	for port := q.FirstPort; port < q.FirstPort+q.NumPorts; port++ {
		if p.Ports[port].Joints > 0 {
			out = append(out, port)
		}
	}
	return out
}

func cautions() []string {
	return []string{
		"Ozone harms at concentrations at which its smell is no longer noticed: never rely on smell, measure.",
		"Oxygen-rich gas makes ordinary things burn fiercely: no oil, no grease, no spark, clean tools; the oxygen-poor exhaust of a concentrator suffocates.",
		"Water and gas under pressure injure. Nothing is opened before it is proved to be without pressure.",
		"Power supplies of ozone cells keep high voltage after they are switched off; how long, their maker says.",
		"This plan is drawn from the design as it is stated. It replaces no permit to work, no local code, no maker's instruction and no licensed practice; what is not in the drawing is not in the plan.",
	}
}
