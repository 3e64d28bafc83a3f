package calc

import (
	"encoding/json"

	"github.com/skidrule/skidrule/internal/quantity"
)

// Document is a run as data, ready for JSON. Values are SI; text is for people.
type Document struct {
	Calculation string           `json:"calculation"`
	Title       string           `json:"title"`
	Formula     string           `json:"formula"`
	Inputs      []DocumentInput  `json:"inputs"`
	Outputs     []DocumentOutput `json:"outputs"`
	Notes       []string         `json:"notes,omitempty"`
	Sources     []Source         `json:"sources"`
}

// DocumentInput is one input of a [Document].
type DocumentInput struct {
	Key       string   `json:"key"`
	Dimension string   `json:"dimension,omitempty"`
	Unit      string   `json:"unit,omitempty"` // SI
	Value     *float64 `json:"value,omitempty"`
	Low       *float64 `json:"valid_low,omitempty"`
	High      *float64 `json:"valid_high,omitempty"`
	Word      string   `json:"word,omitempty"`
	Rows      []Row    `json:"rows,omitempty"`
	Text      string   `json:"text"`
	Assumed   bool     `json:"assumed,omitempty"`
}

// DocumentOutput is one result of a [Document].
type DocumentOutput struct {
	Key         string   `json:"key"`
	Description string   `json:"description"`
	Dimension   string   `json:"dimension,omitempty"`
	Unit        string   `json:"unit,omitempty"` // SI
	Low         *float64 `json:"low,omitempty"`
	Best        *float64 `json:"best,omitempty"`
	High        *float64 `json:"high,omitempty"`
	Exact       bool     `json:"exact,omitempty"`
	Word        string   `json:"word,omitempty"`
	Text        string   `json:"text"`
}

// document returns the run as data; the system of units is that of the texts.
func (r *Result) document(system quantity.System) Document {
	c := r.Calculation
	d := Document{Calculation: c.Name, Title: c.Title, Formula: c.Formula, Sources: c.Sources}
	d.Notes = append(append(d.Notes, r.Notes...), c.Notes...)
	for _, in := range r.Inputs {
		di := DocumentInput{Key: in.Input.Key, Word: in.Word, Rows: in.Rows, Assumed: in.Assumed, Text: in.text(system)}
		if in.Input.Kind == Number {
			value, low, high := in.Number, in.Input.Low, in.Input.High
			di.Dimension, di.Unit = in.Input.Dimension.Name(), in.Input.Dimension.SI()
			di.Value, di.Low, di.High = &value, &low, &high
		}
		d.Inputs = append(d.Inputs, di)
	}
	for _, out := range r.Outputs {
		do := DocumentOutput{Key: out.Output.Key, Description: out.Output.Description, Word: out.Word, Text: out.Word}
		if out.Output.Dimension != 0 {
			x := out.Range
			do.Dimension, do.Unit = out.Output.Dimension.Name(), out.Output.Dimension.SI()
			do.Low, do.Best, do.High, do.Exact = &x.Low, &x.Best, &x.High, x.IsExact()
			do.Text = formatRange(x, out.Output.Dimension, system)
		}
		d.Outputs = append(d.Outputs, do)
	}
	return d
}

// JSON returns the [Document] as indented JSON with a line end.
func (r *Result) JSON(system quantity.System) ([]byte, error) {
	b, err := json.MarshalIndent(r.document(system), "", "  ")
	if err != nil {
		return nil, err
	}
	return append(b, '\n'), nil
}
