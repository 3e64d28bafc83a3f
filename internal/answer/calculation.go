package answer

import (
	"context"
	"errors"
	"maps"
	"slices"

	"github.com/skidrule/skidrule/internal/calc"
	"github.com/skidrule/skidrule/internal/engine"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// defaultSweepPoints is how many points a sweep has where the request does not say.
const defaultSweepPoints = 21

// calculationWord is what the error of an unknown calculation calls it.
const calculationWord = "calculation"

// blamed is the field of the request that an error of a calculation is about.
func blamed(r *skidrulev1.CalculateRequest, err error) string {
	var input *calc.InputError
	var unknown *calc.UnknownNameError
	key := ""
	switch {
	case errors.Is(err, calc.ErrSweep):
		return "sweep"
	case errors.As(err, &input):
		key = input.Key
	case errors.As(err, &unknown):
		key = unknown.Name
	}
	if _, ok := r.GetNumbers()[key]; ok {
		return "numbers." + key
	}
	if key == "" {
		return "inputs"
	}
	return "inputs." + key
}

// ListCalculations describes calculations, all where none are named.
func ListCalculations(r *skidrulev1.ListCalculationsRequest) (*skidrulev1.ListCalculationsResponse, error) {
	for _, name := range r.GetNames() {
		if _, err := calc.Get(name); err != nil {
			return nil, err
		}
	}
	answer := &skidrulev1.ListCalculationsResponse{}
	for _, c := range calc.List() {
		if len(r.GetNames()) == 0 || slices.Contains(r.GetNames(), c.Name) {
			answer.Calculations = append(answer.Calculations, calculationMessage(c))
		}
	}
	return answer, nil
}

// Calculate runs one calculation, or one for each point of a sweep. The error is a *calc.UnknownNameError where there is no such calculation,
// and a *engine.RequestError where it does not run.
func Calculate(ctx context.Context, r *skidrulev1.CalculateRequest) (*skidrulev1.CalculateResponse, error) {
	answer, err := calculate(ctx, r)
	var unknown *calc.UnknownNameError
	switch {
	case err == nil, ctx.Err() != nil, errors.As(err, &unknown) && unknown.What == calculationWord, errors.As(err, new(*engine.RequestError)):
		return answer, err
	}
	return nil, engine.Refuse(blamed(r, err), "", "%s", err)
}

// calculate fails with errors of package calc as well.
func calculate(ctx context.Context, r *skidrulev1.CalculateRequest) (*skidrulev1.CalculateResponse, error) {
	c, err := calc.Get(r.GetName())
	if err != nil {
		return nil, err
	}
	inputs, err := c.Read(r.GetInputs())
	if err != nil {
		return nil, err
	}
	for _, key := range slices.Sorted(maps.Keys(r.GetNumbers())) {
		if _, twice := r.GetInputs()[key]; twice {
			return nil, engine.Refuse("numbers."+key, "give it once", "numbers.%s: the input stands among the texts as well", key)
		}
		inputs.Numbers[key] = r.GetNumbers()[key]
	}
	answer := &skidrulev1.CalculateResponse{Calculation: calculationMessage(c)}
	if r.GetSweep() == nil {
		result, err := c.Run(inputs)
		if err != nil {
			return nil, err
		}
		answer.Result = resultMessage(result)
		return answer, nil
	}
	s, err := sweep(ctx, c, inputs, r.GetSweep())
	if err != nil {
		return nil, err
	}
	answer.Swept = s.Input.Key
	for _, p := range s.Points {
		point := &skidrulev1.CalculationPoint{At: p.X}
		if p.Err != nil {
			point.Error = p.Err.Error()
		} else {
			point.Result = resultMessage(p.Result)
		}
		answer.Points = append(answer.Points, point)
	}
	return answer, nil
}

// sweep runs a calculation along one input.
func sweep(ctx context.Context, c *calc.Calculation, inputs calc.Inputs, r *skidrulev1.CalculationSweep) (*calc.Sweep, error) {
	if r.GetKey() == "" {
		return nil, engine.Refuse("sweep.key", "name one of the numbers of "+c.Name, "sweep.key: the sweep names no input")
	}
	from, to := r.GetFrom(), r.GetTo()
	switch ends := r.From != nil || r.To != nil; {
	case ends && r.GetSpan() != "":
		return nil, engine.Refuse("sweep.span", "state span, or from and to", "sweep.span: the ends are stated twice")
	case ends && (r.From == nil || r.To == nil):
		return nil, engine.Refuse("sweep", "state from and to", "sweep: one end is missing")
	case !ends:
		var err error
		if from, to, err = c.ReadSpan(r.GetKey(), r.GetSpan()); err != nil {
			return nil, err
		}
	}
	points := int(r.GetPoints())
	if points == 0 {
		points = defaultSweepPoints
	}
	return calc.SweepUntil(ctx, c.Name, inputs, r.GetKey(), from, to, points)
}
