package answer

import (
	"errors"
	"fmt"

	"google.golang.org/protobuf/proto"

	"github.com/skidrule/skidrule/internal/calc"
	"github.com/skidrule/skidrule/internal/fluid"
	"github.com/skidrule/skidrule/internal/quantity"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Messages hold all that a calculation prints, so that whoever reads them back prints the same bytes as who ran it.

var inputKinds = map[calc.Kind]skidrulev1.InputKind{
	calc.Number: skidrulev1.InputKind_INPUT_KIND_NUMBER,
	calc.Choice: skidrulev1.InputKind_INPUT_KIND_CHOICE,
	calc.Table:  skidrulev1.InputKind_INPUT_KIND_TABLE,
}

var sourceStatuses = map[calc.Status]skidrulev1.SourceStatus{
	calc.Verified:       skidrulev1.SourceStatus_SOURCE_STATUS_VERIFIED,
	calc.Derived:        skidrulev1.SourceStatus_SOURCE_STATUS_DERIVED,
	calc.CrossChecked:   skidrulev1.SourceStatus_SOURCE_STATUS_MEMORY,
	calc.Memory:         skidrulev1.SourceStatus_SOURCE_STATUS_MEMORY,
	calc.CommonPractice: skidrulev1.SourceStatus_SOURCE_STATUS_COMMON_PRACTICE,
}

func sourceMessage(s calc.Source) *skidrulev1.CalculationSource {
	return &skidrulev1.CalculationSource{Title: s.Title, Status: sourceStatuses[s.Status], StatusText: string(s.Status)}
}

func calculationMessage(c *calc.Calculation) *skidrulev1.Calculation {
	m := &skidrulev1.Calculation{Name: c.Name, Title: c.Title, Purpose: c.Purpose, Formula: c.Formula, Notes: c.Notes, Unpublished: c.Unpublished}
	for _, in := range c.Inputs {
		i := &skidrulev1.CalculationInput{Key: in.Key, Kind: inputKinds[in.Kind], Description: in.Description, Optional: in.Optional,
			Assumed: in.Assumed, Why: in.Why, Choices: in.Choices}
		if in.Kind == calc.Number {
			i.Dimension, i.Unit = in.Dimension.Name(), in.Dimension.SI()
			i.Low, i.High = proto.Float64(in.Low), proto.Float64(in.High)
		}
		for _, col := range in.Columns {
			i.Columns = append(i.Columns, &skidrulev1.CalculationColumn{Key: col.Key, Dimension: col.Dimension.Name(), Unit: col.Dimension.SI(),
				Description: col.Description, Low: col.Low, High: col.High, Optional: col.Optional})
		}
		m.Inputs = append(m.Inputs, i)
	}
	for _, out := range c.Outputs {
		o := &skidrulev1.CalculationOutput{Key: out.Key, Description: out.Description}
		if out.Dimension != 0 {
			o.Dimension, o.Unit = out.Dimension.Name(), out.Dimension.SI()
		}
		m.Outputs = append(m.Outputs, o)
	}
	for _, s := range c.Sources {
		m.Sources = append(m.Sources, sourceMessage(s))
	}
	for _, ch := range c.Checks {
		check := &skidrulev1.CalculationCheck{Inputs: ch.Inputs, Output: ch.Output, Tolerance: ch.Tolerance, WantWord: ch.WantWord,
			Source: sourceMessage(calc.Source{Title: ch.Source, Status: ch.Status})}
		if out, ok := c.Output(ch.Output); ok && out.Dimension != 0 {
			check.Want = proto.Float64(ch.Want)
		}
		m.Checks = append(m.Checks, check)
	}
	for _, p := range c.Properties {
		m.Properties = append(m.Properties, &skidrulev1.CalculationProperty{Key: p.Key, Output: p.Output, Trend: string(p.Trend)})
	}
	return m
}

func resultMessage(r *calc.Result) *skidrulev1.CalculationResult {
	m := &skidrulev1.CalculationResult{Notes: r.Notes}
	for _, in := range r.Inputs {
		v := &skidrulev1.CalculationInputValue{Key: in.Input.Key, Word: in.Word, Assumed: in.Assumed}
		if in.Input.Kind == calc.Number {
			v.Number = proto.Float64(in.Number)
		}
		for _, row := range in.Rows {
			v.Rows = append(v.Rows, &skidrulev1.CalculationRow{Cells: row})
		}
		m.Inputs = append(m.Inputs, v)
	}
	for _, out := range r.Outputs {
		v := &skidrulev1.CalculationOutputValue{Key: out.Output.Key, Word: out.Word}
		if out.Output.Dimension != 0 {
			v.Low, v.Best, v.High = proto.Float64(out.Range.Low), proto.Float64(out.Range.Best), proto.Float64(out.Range.High)
		}
		m.Outputs = append(m.Outputs, v)
	}
	return m
}

// dimension reads the name of a dimension; empty is none.
func dimension(name string) (quantity.Dimension, error) {
	if name == "" {
		return 0, nil
	}
	d, ok := quantity.DimensionByName(name)
	if !ok {
		return 0, fmt.Errorf("the server measures in %q, which this program does not know; it may be older than the server", name)
	}
	return d, nil
}

// CalculationOf reads a description back. What it gives can be printed, but not run.
func CalculationOf(m *skidrulev1.Calculation) (*calc.Calculation, error) {
	c := &calc.Calculation{Name: m.GetName(), Title: m.GetTitle(), Purpose: m.GetPurpose(), Formula: m.GetFormula(), Notes: m.GetNotes(), Unpublished: m.GetUnpublished()}
	source := func(s *skidrulev1.CalculationSource) calc.Source {
		return calc.Source{Title: s.GetTitle(), Status: calc.Status(s.GetStatusText())}
	}
	for _, i := range m.GetInputs() {
		in := calc.Input{Key: i.GetKey(), Description: i.GetDescription(), Optional: i.GetOptional(), Assumed: i.Assumed, Why: i.GetWhy(), Choices: i.GetChoices(),
			Low: i.GetLow(), High: i.GetHigh()}
		for kind, k := range inputKinds {
			if k == i.GetKind() {
				in.Kind = kind
			}
		}
		var err error
		if in.Dimension, err = dimension(i.GetDimension()); err != nil {
			return nil, err
		}
		for _, col := range i.GetColumns() {
			d, err := dimension(col.GetDimension())
			if err != nil {
				return nil, err
			}
			in.Columns = append(in.Columns, calc.Column{Key: col.GetKey(), Dimension: d, Description: col.GetDescription(), Low: col.GetLow(), High: col.GetHigh(), Optional: col.GetOptional()})
		}
		c.Inputs = append(c.Inputs, in)
	}
	for _, o := range m.GetOutputs() {
		d, err := dimension(o.GetDimension())
		if err != nil {
			return nil, err
		}
		c.Outputs = append(c.Outputs, calc.Output{Key: o.GetKey(), Dimension: d, Description: o.GetDescription()})
	}
	for _, s := range m.GetSources() {
		c.Sources = append(c.Sources, source(s))
	}
	for _, ch := range m.GetChecks() {
		s := source(ch.GetSource())
		c.Checks = append(c.Checks, calc.Check{Inputs: ch.GetInputs(), Output: ch.GetOutput(), Want: ch.GetWant(), Tolerance: ch.GetTolerance(), WantWord: ch.GetWantWord(), Source: s.Title, Status: s.Status})
	}
	for _, p := range m.GetProperties() {
		c.Properties = append(c.Properties, calc.Property{Key: p.GetKey(), Output: p.GetOutput(), Trend: calc.Trend(p.GetTrend())})
	}
	return c, nil
}

func resultOf(c *calc.Calculation, m *skidrulev1.CalculationResult) *calc.Result {
	r := &calc.Result{Calculation: c, Notes: m.GetNotes()}
	for _, v := range m.GetInputs() {
		in, _ := c.Input(v.GetKey())
		given := calc.GivenInput{Input: in, Number: v.GetNumber(), Word: v.GetWord(), Assumed: v.GetAssumed()}
		for _, row := range v.GetRows() {
			given.Rows = append(given.Rows, row.GetCells())
		}
		r.Inputs = append(r.Inputs, given)
	}
	for _, v := range m.GetOutputs() {
		out, _ := c.Output(v.GetKey())
		r.Outputs = append(r.Outputs, calc.GivenOutput{Output: out, Word: v.GetWord(), Range: fluid.Range{Low: v.GetLow(), Best: v.GetBest(), High: v.GetHigh()}})
	}
	return r
}

// ResultOf reads the answer of a single run back.
func ResultOf(m *skidrulev1.CalculateResponse) (*calc.Result, error) {
	c, err := CalculationOf(m.GetCalculation())
	if err != nil {
		return nil, err
	}
	return resultOf(c, m.GetResult()), nil
}

// SweepOf reads the answer of a sweep back.
func SweepOf(m *skidrulev1.CalculateResponse) (*calc.Sweep, error) {
	c, err := CalculationOf(m.GetCalculation())
	if err != nil {
		return nil, err
	}
	in, ok := c.Input(m.GetSwept())
	if !ok {
		return nil, fmt.Errorf("the answer sweeps %q, which is no input of %s", m.GetSwept(), c.Name)
	}
	s := &calc.Sweep{Calculation: c, Input: in}
	for _, p := range m.GetPoints() {
		point := calc.SweepPoint{X: p.GetAt()}
		if p.GetResult() != nil {
			point.Result = resultOf(c, p.GetResult())
		} else {
			point.Err = errors.New(p.GetError())
		}
		s.Points = append(s.Points, point)
	}
	return s, nil
}
