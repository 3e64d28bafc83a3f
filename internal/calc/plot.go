package calc

import (
	"bytes"
	"fmt"
	"image/color"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"

	"github.com/skidrule/skidrule/internal/quantity"
)

// Size of a plot.
const (
	plotWidth  = 16 * vg.Centimeter
	plotHeight = 10 * vg.Centimeter
)

// SVG returns a plot of one output against the swept input as SVG.
func (s *Sweep) SVG(output string, system quantity.System) ([]byte, error) {
	return s.draw(output, system, "svg")
}

// PNG returns a plot of one output against the swept input as PNG.
func (s *Sweep) PNG(output string, system quantity.System) ([]byte, error) {
	return s.draw(output, system, "png")
}

// draw plots best as a line and low to high as a band. A point without a result
// breaks the line: nothing is drawn where nothing is known.
func (s *Sweep) draw(output string, system quantity.System, format string) ([]byte, error) {
	out, ok := s.Calculation.Output(output)
	if !ok {
		known := make([]string, len(s.Calculation.Outputs))
		for i, o := range s.Calculation.Outputs {
			known[i] = o.Key
		}
		return nil, &UnknownNameError{What: "output of " + s.Calculation.Name, Name: output, Nearest: nearest(output, known), Known: known}
	}
	if out.Dimension == 0 {
		return nil, fmt.Errorf("%w: %s of %s is a word, which has no curve", ErrSweep, output, s.Calculation.Name)
	}
	x, y := scaleOf(s.Input.Dimension, system), scaleOf(out.Dimension, system)
	p := plot.New()
	p.Title.Text = s.Calculation.Title
	p.X.Label.Text = x.label(s.Input.Key)
	p.Y.Label.Text = y.label(out.Key)
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
	w, err := p.WriterTo(plotWidth, plotHeight, format)
	if err != nil {
		return nil, err
	}
	var buf bytes.Buffer
	if _, err := w.WriteTo(&buf); err != nil {
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
