package calc

import (
	"bytes"
	"fmt"
	"image/color"
	"math"
	"strconv"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"github.com/skidrule/skidrule/internal/misspelt"
	"github.com/skidrule/skidrule/internal/quantity"
)

// Size of a plot.
const (
	plotWidth  = 16 * vg.Centimeter
	plotHeight = 10 * vg.Centimeter
	plotRim    = 4 * vg.Millimeter
)

// roundTicks marks an axis at four to ten multiples of 1, 2 or 5 times a power
// of ten.
type roundTicks struct{}

// Ticks returns the marks between two values.
func (roundTicks) Ticks(low, high float64) []plot.Tick {
	if !(high > low) || math.IsInf(high-low, 0) {
		return plot.DefaultTicks{}.Ticks(low, high)
	}
	step := math.Pow(10, math.Floor(math.Log10((high-low)/4)))
	for _, k := range []float64{5, 2} {
		if (high-low)/(k*step) >= 4 {
			step *= k
			break
		}
	}
	var ticks []plot.Tick
	for i := math.Ceil(low/step - 1e-9); i*step <= high+1e-9*step; i++ {
		ticks = append(ticks, plot.Tick{Value: i * step, Label: strconv.FormatFloat(i*step, 'g', 6, 64)})
	}
	return ticks
}

// SVG returns a plot of one output against the swept input as SVG.
func (s *Sweep) SVG(output string, system quantity.System) ([]byte, error) {
	return s.curve(output, system, "svg")
}

// PNG returns a plot of one output against the swept input as PNG.
func (s *Sweep) PNG(output string, system quantity.System) ([]byte, error) {
	return s.curve(output, system, "png")
}

// curve plots best as a line and low to high as a band. A point without a result
// breaks the line: nothing is drawn where nothing is known.
func (s *Sweep) curve(output string, system quantity.System, format string) ([]byte, error) {
	out, ok := s.Calculation.Output(output)
	if !ok {
		known := make([]string, len(s.Calculation.Outputs))
		for i, o := range s.Calculation.Outputs {
			known[i] = o.Key
		}
		return nil, &UnknownNameError{What: "output of " + s.Calculation.Name, Name: output, Nearest: misspelt.Nearest(output, known), Known: known}
	}
	if out.Dimension == 0 {
		return nil, fmt.Errorf("%w: %s of %s is a word, which has no curve", ErrSweep, output, s.Calculation.Name)
	}
	x, y := scaleOf(s.Input.Dimension, system), scaleOf(out.Dimension, system)
	p := plot.New()
	p.Title.Text = s.Calculation.Title
	p.X.Label.Text = x.label(s.Input.Key)
	p.Y.Label.Text = y.label(out.Key)
	p.Title.Padding, p.X.Label.Padding, p.Y.Label.Padding = vg.Points(8), vg.Points(4), vg.Points(4)
	p.X.Tick.Marker, p.Y.Tick.Marker = roundTicks{}, roundTicks{}
	p.Add(plotter.NewGrid())
	runs := s.runs(output, x, y)
	if len(runs) == 0 {
		return nil, fmt.Errorf("%w: %s of %s has no value at any point", ErrSweep, output, s.Calculation.Name)
	}
	for _, r := range runs {
		if err := r.add(p); err != nil {
			return nil, err
		}
	}
	c, err := draw.NewFormattedCanvas(plotWidth, plotHeight, format)
	if err != nil {
		return nil, err
	}
	p.Draw(draw.Crop(draw.New(c), plotRim, -plotRim, plotRim, -plotRim))
	var buf bytes.Buffer
	if _, err := c.WriteTo(&buf); err != nil {
		return nil, err
	}
	return buf.Bytes(), nil
}

// plotRun is an unbroken stretch of points.
type plotRun struct {
	low, best, high plotter.XYs
}

// runs cuts the sweep into unbroken stretches.
func (s *Sweep) runs(output string, x, y scale) []plotRun {
	var all []plotRun
	broken := true
	for _, p := range s.Points {
		if p.Result == nil {
			broken = true
			continue
		}
		r, ok := p.Result.Number(output)
		if !ok {
			broken = true
			continue
		}
		if broken {
			all = append(all, plotRun{})
			broken = false
		}
		last := &all[len(all)-1]
		at := x.of(p.X)
		last.low = append(last.low, plotter.XY{X: at, Y: y.of(r.Low)})
		last.best = append(last.best, plotter.XY{X: at, Y: y.of(r.Best)})
		last.high = append(last.high, plotter.XY{X: at, Y: y.of(r.High)})
	}
	return all
}

// add draws the stretch: a band from low to high, and best as a line, or a dot
// when the stretch is a single point.
func (r plotRun) add(p *plot.Plot) error {
	if len(r.best) == 1 {
		dot, err := plotter.NewScatter(r.best)
		if err != nil {
			return err
		}
		p.Add(dot)
		return nil
	}
	outline := append(plotter.XYs(nil), r.low...)
	for i := len(r.high) - 1; i >= 0; i-- {
		outline = append(outline, r.high[i])
	}
	band, err := plotter.NewPolygon(outline)
	if err != nil {
		return err
	}
	band.Color = color.NRGBA{R: 70, G: 110, B: 160, A: 60}
	band.LineStyle.Width = 0
	line, err := plotter.NewLine(r.best)
	if err != nil {
		return err
	}
	line.Color = color.NRGBA{R: 30, G: 70, B: 130, A: 255}
	line.Width = vg.Points(1.5)
	p.Add(band, line)
	return nil
}
