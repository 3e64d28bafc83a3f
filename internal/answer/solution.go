package answer

import (
	"context"

	"github.com/skidrule/skidrule/internal/network"
	"github.com/skidrule/skidrule/internal/operate"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// solutionOf turns solved states into an answer.
func solutionOf(s *operate.States, asked []int) *skidrulev1.Solution {
	p := s.Plant
	out := &skidrulev1.Solution{DesignName: p.Design.GetName(), DesignRevision: p.Design.GetRevision()}
	for _, at := range asked {
		out.Cases = append(out.Cases, solvedCase(p, &s.Cases[at], s.States[at]))
	}
	id := func(e operate.Extreme) string {
		if e.Case < 0 {
			return ""
		}
		return s.Cases[e.Case].ID
	}
	value := func(e operate.Extreme) *float64 {
		if e.Case < 0 {
			return nil
		}
		return &e.Value
	}
	for i := range p.Ports {
		if p.Ports[i].Joints == 0 {
			continue
		}
		port := int32(i)
		hp, lp, ht, lt := s.HighestPressure(port), s.LowestPressure(port), s.HighestTemperature(port), s.LowestTemperature(port)
		out.Extremes = append(out.Extremes, &skidrulev1.PortExtremes{Port: p.PortLabel(port),
			HighestPressurePaGauge: value(hp), HighestPressureCase: id(hp), LowestPressurePaGauge: value(lp), LowestPressureCase: id(lp),
			HighestTemperatureK: value(ht), HighestTemperatureCase: id(ht), LowestTemperatureK: value(lt), LowestTemperatureCase: id(lt),
			Open: plant.Paths(p, hp.Open)})
	}
	for _, q := range s.Standing() {
		out.StandingWater = append(out.StandingWater, &skidrulev1.StandingWater{Injector: p.Components[q.Injector].Tag, CaseId: s.Cases[q.Case].ID, GradeLineM: span(q.GradeLine), VacuumPaGauge: q.Vacuum})
	}
	return out
}

func span(s operate.Span) *skidrulev1.SolvedRange {
	return &skidrulev1.SolvedRange{Low: s.Low, Best: s.Best, High: s.High}
}

func phaseOf(ph network.Phase) skidrulev1.Phase {
	switch ph {
	case network.Gas:
		return skidrulev1.Phase_PHASE_GAS
	case network.Liquid:
		return skidrulev1.Phase_PHASE_LIQUID
	}
	return skidrulev1.Phase_PHASE_UNSPECIFIED
}

// solvedCase is one case with its state, which is nil where it cannot occur.
func solvedCase(p *plant.Plant, c *operate.Case, st *operate.State) *skidrulev1.SolvedCase {
	out := &skidrulev1.SolvedCase{Id: c.ID, Title: c.Title, ExcludedBecause: c.Excluded}
	if st == nil {
		return out
	}
	out.ImbalanceRatio, out.ResidualPa, out.Solves, out.AtmosphericPressurePaAbs = st.Imbalance, st.Residual, int32(st.Solves), st.Atmosphere
	for i := range st.Ports {
		if p.Ports[i].Joints == 0 {
			continue
		}
		q := &st.Ports[i]
		one := &skidrulev1.SolvedPort{Port: p.PortLabel(int32(i)), Phase: phaseOf(q.Phase), Missing: plant.Paths(p, q.Missing), Why: q.Why, Assumed: plant.Paths(p, q.Assumed), Beyond: plant.Paths(p, q.Beyond), ShutIn: q.ShutIn}
		if q.Known {
			a := st.Atmosphere
			one.PressurePaAbs = span(q.Pressure)
			one.PressurePaGauge = span(operate.Span{Low: q.Pressure.Low - a, Best: q.Pressure.Best - a, High: q.Pressure.High - a})
		}
		if q.Temperature.Low <= q.Temperature.High {
			one.TemperatureK = span(q.Temperature)
		}
		if q.GasKnown {
			one.Gas = &skidrulev1.GasComposition{OxygenMoleFraction: q.Gas.O2, NitrogenMoleFraction: q.Gas.N2, ArgonMoleFraction: q.Gas.Ar, OzoneMoleFraction: q.Gas.O3, WaterMoleFraction: q.Gas.H2O}
		}
		out.Ports = append(out.Ports, one)
	}
	for i := range st.Ways {
		q, w := &st.Ways[i], &p.Ways[i]
		if p.Ports[w.From].Joints == 0 || p.Ports[w.To].Joints == 0 {
			continue
		}
		phase := st.Ports[w.From].Phase
		one := &skidrulev1.SolvedWay{From: p.PortLabel(w.From), To: p.PortLabel(w.To), Phase: phaseOf(phase), Missing: plant.Paths(p, q.Missing), Why: q.Why, Beyond: q.Beyond}
		if q.Known {
			one.Why = ""
			one.State = q.State.String()
			if phase == network.Liquid && st.Ports[w.To].Phase == network.Liquid {
				one.LiquidFlowM3PerS = span(q.Flow)
				if q.Carried.High > 0 {
					one.GasFlowMolPerS = span(q.Carried)
				}
			} else {
				one.GasFlowMolPerS = span(q.Flow)
			}
			if w.IsPipe() {
				one.VelocityMPerS = span(q.Velocity)
			} else if p.Components[w.Component].Kind == plant.KindPump {
				one.NpshM = span(q.NPSH)
			}
		}
		if w.IsPipe() {
			one.Tag = p.Lines[w.Line].Tag
			out.Lines = append(out.Lines, one)
		} else if q.Known || len(q.Missing) > 0 {
			one.Tag = p.Components[w.Component].Tag
			out.Passages = append(out.Passages, one)
		}
	}
	for _, e := range st.Exchanges {
		if e.Component < 0 {
			continue
		}
		one := &skidrulev1.SolvedExchange{Tag: p.Components[e.Component].Tag}
		if e.Phase == network.Liquid {
			one.LiquidFlowM3PerS = span(e.Flow)
		} else {
			one.GasFlowMolPerS = span(e.Flow)
		}
		out.Exchanges = append(out.Exchanges, one)
	}
	return out
}

// dutyCurves adds the curves of pumps and injectors in the first case that is solved.
func dutyCurves(ctx context.Context, s *operate.Solver, states *operate.States, asked []int, out *skidrulev1.Solution) error {
	p := states.Plant
	for _, at := range asked {
		st := states.States[at]
		if st == nil {
			continue
		}
		for i := range p.Components {
			switch c := &p.Components[i]; c.Kind {
			case plant.KindPump:
				system, duty, ok, err := s.SystemCurve(ctx, at, int32(i))
				if err != nil {
					return err
				}
				if !ok {
					continue
				}
				one := &skidrulev1.DutyCurve{Tag: c.Tag, CaseId: states.Cases[at].ID, Kind: "pump", System: points(system), Duty: &skidrulev1.DutyPoint{X: duty.X, Y: duty.Y}}
				for _, q := range c.Data.GetPump().GetCurve() {
					if q.FlowM3PerS != nil && q.HeadPa != nil {
						one.Machine = append(one.Machine, &skidrulev1.DutyPoint{X: *q.FlowM3PerS, Y: *q.HeadPa})
					}
				}
				out.DutyCurves = append(out.DutyCurves, one)
			case plant.KindVenturiInjector:
				if curve, duty, ok := s.SuctionCurve(st, int32(i)); ok {
					out.DutyCurves = append(out.DutyCurves, &skidrulev1.DutyCurve{Tag: c.Tag, CaseId: states.Cases[at].ID, Kind: "injector", Machine: points(curve), Duty: &skidrulev1.DutyPoint{X: duty.X, Y: duty.Y}})
				}
			}
		}
		return nil
	}
	return nil
}

func points(list []operate.Point) []*skidrulev1.DutyPoint {
	out := make([]*skidrulev1.DutyPoint, len(list))
	for i, q := range list {
		out[i] = &skidrulev1.DutyPoint{X: q.X, Y: q.Y}
	}
	return out
}
