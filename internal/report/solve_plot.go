package report

import (
	"bytes"
	"fmt"
	"image/color"
	"io"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgsvg"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// plotNames lists the plots that a solution has: the tags of pumps and injectors, and of the lines along which the pressure is
// known.
func plotNames(s *skidrulev1.Solution) []string {
	var out []string
	for _, c := range s.GetDutyCurves() {
		out = append(out, c.GetTag())
	}
	for _, c := range s.GetCases() {
		for _, l := range c.GetLines() {
			if !slices.Contains(out, l.GetTag()) {
				out = append(out, l.GetTag())
			}
		}
	}
	return out
}

// SolutionPlot draws one plot of a solution as SVG: pump and system curve with the duty point, injector suction against outlet
// pressure with the operating point, or the pressure along a line in every case. An unknown name is an error that lists the names.
func SolutionPlot(w io.Writer, s *skidrulev1.Solution, name string) error {
	p := plot.New()
	if ok, err := plotDuty(p, s, name); err != nil || !ok {
		if err != nil {
			return err
		}
		if ok, err := plotLine(p, s, name); err != nil || !ok {
			if err != nil {
				return err
			}
			return fmt.Errorf("there is no plot %q; there are %s", name, strings.Join(plotNames(s), ", "))
		}
	}
	c := drawn(p)
	var b bytes.Buffer
	if _, err := c.WriteTo(&b); err != nil {
		return err
	}
	_, err := w.Write(b.Bytes())
	return err
}

// drawn draws a plot with its legend in a strip of its own below, where it hides no curve however many there are.
func drawn(p *plot.Plot) *vgsvg.Canvas {
	const width, height = 16 * vg.Centimeter, 11 * vg.Centimeter
	legend := p.Legend
	p.Legend = plot.NewLegend()
	legend.Left, legend.YPosition, legend.Padding = true, draw.PosCenter, vg.Points(4)
	size := legend.Rectangle(draw.New(vgsvg.New(width, height))).Size()
	strip := size.Y + vg.Centimeter/2
	c := vgsvg.New(width, height+strip)
	whole := draw.New(c)
	legend.Draw(draw.Crop(whole, vg.Centimeter, 0, vg.Centimeter/4, -height))
	p.Draw(draw.Crop(whole, vg.Centimeter/4, -vg.Centimeter/2, strip, -vg.Centimeter/4))
	return c
}

func points(list []*skidrulev1.DutyPoint, x, y float64) plotter.XYs {
	out := make(plotter.XYs, len(list))
	for i, q := range list {
		out[i] = plotter.XY{X: q.GetX() * x, Y: q.GetY() * y}
	}
	return out
}

// normalLitresPerMinute is one mol/s in NL/min at 0 degC and 101.325 kPa: the molar volume of 22.41397 L of an ideal gas.
const normalLitresPerMinute = 22.41397 * 60

// plotDuty draws the curve of a machine.
func plotDuty(p *plot.Plot, s *skidrulev1.Solution, name string) (bool, error) {
	for _, c := range s.GetDutyCurves() {
		if c.GetTag() != name {
			continue
		}
		x, y := 3600.0, 1e-5
		p.Title.Text = c.GetTag() + ", case " + c.GetCaseId()
		p.X.Label.Text, p.Y.Label.Text = "flow, m³/h", "pressure rise, bar"
		machine := "pump"
		if c.GetKind() == "injector" {
			x, y = 1e-5, normalLitresPerMinute
			p.X.Label.Text, p.Y.Label.Text = "outlet pressure, bar(g)", "gas drawn, NL/min"
			machine = "injector at its inlet and suction pressure"
		}
		if err := addCurve(p, machine, points(c.GetMachine(), x, y), 0); err != nil {
			return false, err
		}
		if len(c.GetSystem()) > 1 {
			if err := addCurve(p, "system", points(c.GetSystem(), x, y), 1); err != nil {
				return false, err
			}
		}
		mark, err := plotter.NewScatter(points([]*skidrulev1.DutyPoint{c.GetDuty()}, x, y))
		if err != nil {
			return false, err
		}
		mark.Shape, mark.Radius = draw.CircleGlyph{}, vg.Points(4)
		p.Add(mark)
		p.Legend.Add("operating point", mark)
		return true, nil
	}
	return false, nil
}

// inks tell curves apart together with their dashes, so that nothing is said by colour alone.
var inks = []color.Color{color.RGBA{0x1f, 0x4e, 0x79, 0xff}, color.RGBA{0xb0, 0x3a, 0x2e, 0xff}, color.RGBA{0x2e, 0x7d, 0x32, 0xff}, color.RGBA{0x6a, 0x1b, 0x9a, 0xff}, color.RGBA{0x5d, 0x40, 0x37, 0xff}}

func addCurve(p *plot.Plot, name string, xy plotter.XYs, k int) error {
	line, err := plotter.NewLine(xy)
	if err != nil {
		return err
	}
	line.Color = inks[k%len(inks)]
	if k > 0 {
		line.Dashes = []vg.Length{vg.Points(float64(2 + 2*(k%4))), vg.Points(float64(1 + k/4*2))}
	}
	p.Add(line)
	p.Legend.Add(name, line)
	return nil
}

// alongLine is the pressure in bar at the stops of a line, by place among them, in the cases in which it is the same.
type alongLine struct {
	cases []string
	at    plotter.XYs
}

// same tells whether two curves lie on each other as drawn: within the width of a line, which is some three hundredth of the axis.
func (l *alongLine) same(m *alongLine, span float64) bool {
	return slices.EqualFunc(l.at, m.at, func(a, b plotter.XY) bool { return a.X == b.X && math.Abs(a.Y-b.Y) <= span/300 })
}

// plotLine draws the pressure at the stops of a line.
func plotLine(p *plot.Plot, s *skidrulev1.Solution, name string) (bool, error) {
	var all []alongLine
	var stops []string
	low, high := math.Inf(1), math.Inf(-1)
	for _, c := range s.GetCases() {
		ports, at := pressuresAlong(c, name)
		if len(at) < 2 {
			continue
		}
		stops = ports
		for _, q := range at {
			low, high = min(low, q.Y), max(high, q.Y)
		}
		all = append(all, alongLine{[]string{c.GetId()}, at})
	}
	if len(all) == 0 {
		return false, nil
	}
	// Many cases differ elsewhere only: a curve each would hide the others.
	var curves []alongLine
	for i := range all {
		if k := slices.IndexFunc(curves, func(l alongLine) bool { return l.same(&all[i], high-low) }); k >= 0 {
			curves[k].cases = append(curves[k].cases, all[i].cases...)
			continue
		}
		curves = append(curves, all[i])
	}
	for k, l := range curves {
		for i, names := range wrap(strings.Join(l.cases, ", "), namesInLegend) {
			if i > 0 {
				p.Legend.Add(names)
			} else if err := addCurve(p, names, l.at, k); err != nil {
				return false, err
			}
		}
	}
	p.Title.Text = "Pressure along " + name
	p.Y.Label.Text = "pressure, bar(g)"
	p.NominalX(stops...)
	p.X.Tick.Label.Rotation = 1.2
	p.X.Tick.Label.XAlign, p.X.Tick.Label.YAlign = draw.XRight, draw.YCenter
	return true, nil
}

// pressuresAlong gives the ports of a line in order, and the pressures in bar of those at which it is known.
func pressuresAlong(c *skidrulev1.SolvedCase, name string) (ports []string, at plotter.XYs) {
	pressure := map[string]*skidrulev1.SolvedRange{}
	for _, q := range c.GetPorts() {
		pressure[q.GetPort()] = q.GetPressurePaGauge()
	}
	for _, l := range c.GetLines() {
		if l.GetTag() != name {
			continue
		}
		for _, port := range []string{l.GetFrom(), l.GetTo()} {
			if r := pressure[port]; r != nil {
				at = append(at, plotter.XY{X: float64(len(ports)), Y: r.GetBest() * 1e-5})
			}
			ports = append(ports, port)
		}
	}
	return ports, at
}

// namesInLegend is the number of characters of case names that fit beside each other below a plot.
const namesInLegend = 80
