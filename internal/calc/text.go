package calc

import (
	"fmt"
	"strings"

	"github.com/skidrule/skidrule/internal/quantity"
)

// Text renders the run for people: formula, inputs with their valid range,
// results with low and high, notes, sources with status.
func (r *Result) Text(system quantity.System) string {
	var b strings.Builder
	c := r.Calculation
	fmt.Fprintf(&b, "%s: %s\n", c.Name, c.Title)
	writeIndented(&b, "formula", strings.Split(c.Formula, "\n"))
	b.WriteString("inputs\n")
	for _, in := range r.Inputs {
		fmt.Fprintf(&b, "  %s = %s\n", in.Input.Key, in.text(system))
	}
	b.WriteString("results\n")
	for _, out := range r.Outputs {
		value := out.Word
		if out.Output.Dimension != 0 {
			value = formatRange(out.Range, out.Output.Dimension, system)
		}
		fmt.Fprintf(&b, "  %s = %s\n      %s\n", out.Output.Key, value, out.Output.Description)
	}
	writeIndented(&b, "notes", append(append([]string(nil), r.Notes...), c.Notes...))
	writeIndented(&b, "sources", sourceLines(c))
	return b.String()
}

// text renders one input with its valid range or its assumption.
func (in GivenInput) text(system quantity.System) string {
	switch in.Input.Kind {
	case Choice:
		return in.Word
	case Table:
		return fmt.Sprintf("table of %d rows", len(in.Rows))
	}
	s := formatIn(in.Number, in.Input.Dimension, system)
	if in.Assumed {
		return s + " (assumed: " + in.Input.Why + ")"
	}
	return s + "  [valid " + formatIn(in.Input.Low, in.Input.Dimension, system) + " to " + formatIn(in.Input.High, in.Input.Dimension, system) + "]"
}

// Explain renders the calculation itself: purpose, formula, every input and
// output, notes, sources and how it is checked.
func (c *Calculation) Explain(system quantity.System) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s: %s\n%s\n", c.Name, c.Title, c.Purpose)
	writeIndented(&b, "formula", strings.Split(c.Formula, "\n"))
	b.WriteString("inputs\n")
	for _, in := range c.Inputs {
		fmt.Fprintf(&b, "  %s (%s)\n      %s\n", in.Key, in.what(system), in.Description)
		for _, col := range in.Columns {
			fmt.Fprintf(&b, "      column %s (%s): %s\n", col.Key, col.what(system), col.Description)
		}
	}
	b.WriteString("outputs\n")
	for _, out := range c.Outputs {
		kind := "word"
		if out.Dimension != 0 {
			kind = out.Dimension.Noun()
		}
		fmt.Fprintf(&b, "  %s (%s)\n      %s\n", out.Key, kind, out.Description)
	}
	writeIndented(&b, "notes", c.Notes)
	writeIndented(&b, "sources", sourceLines(c))
	writeIndented(&b, "checked against", c.checkLines())
	return b.String()
}

// what describes the kind, range and necessity of an input in a few words.
func (in Input) what(system quantity.System) string {
	var s string
	switch in.Kind {
	case Choice:
		s = "one of " + strings.Join(in.Choices, ", ")
	case Table:
		s = "table as CSV"
	default:
		s = in.Dimension.Noun() + ", " + formatIn(in.Low, in.Dimension, system) + " to " + formatIn(in.High, in.Dimension, system)
	}
	if in.Assumed != nil {
		return s + "; if left out " + formatIn(*in.Assumed, in.Dimension, system) + " is assumed: " + in.Why
	}
	if in.Optional {
		return s + "; optional"
	}
	return s
}

func (col Column) what(system quantity.System) string {
	s := col.Dimension.Noun() + ", " + formatIn(col.Low, col.Dimension, system) + " to " + formatIn(col.High, col.Dimension, system)
	if col.Optional {
		s += "; optional"
	}
	return s
}

func sourceLines(c *Calculation) []string {
	lines := make([]string, len(c.Sources))
	for i, s := range c.Sources {
		lines[i] = fmt.Sprintf("%s (%s)", s.Title, s.Status)
	}
	return lines
}

// checkLines lists the worked cases and, where too few are published, what is
// tested instead.
func (c *Calculation) checkLines() []string {
	var lines []string
	for _, ch := range c.Checks {
		want := ch.WantWord
		if out, ok := c.Output(ch.Output); ok && out.Dimension != 0 {
			want = fmt.Sprintf("%s within %.3g %%", formatSI(ch.Want, out.Dimension), 100*ch.Tolerance)
		}
		lines = append(lines, fmt.Sprintf("%s = %s: %s (%s)", ch.Output, want, ch.Source, ch.Status))
	}
	if c.Unpublished != "" {
		lines = append(lines, c.Unpublished)
	}
	for _, p := range c.Properties {
		lines = append(lines, fmt.Sprintf("%s %s as %s rises", p.Output, p.Trend, p.Key))
	}
	return lines
}

func writeIndented(b *strings.Builder, heading string, lines []string) {
	if len(lines) == 0 {
		return
	}
	b.WriteString(heading + "\n")
	for _, l := range lines {
		b.WriteString("  " + l + "\n")
	}
}
