package drawing

import skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"

func drawPump(p *pen, _ *Item) {
	p.circle(0, 0, 3)
	p.line(0, -3, 3, 0, 0, 3)
}

func drawCompressor(p *pen, _ *Item) {
	p.circle(0, 0, 3)
	p.line(-1.8, -2.4, 2.83, -1)
	p.line(-1.8, 2.4, 2.83, 1)
}

func drawBlower(p *pen, it *Item) {
	drawCompressor(p, it)
	p.thin(arc(0, 0.55, 0.45, 0.55, 270, 90)...)
	p.thin(arc(0, -0.55, 0.45, 0.55, 90, 270)...)
	p.dot(0, 0, 0.2)
}

func drawHeader(p *pen, it *Item) {
	p.slab(-0.25, -float64(it.Extent.Up), 0.25, float64(it.Extent.Down))
}

func drawGasFilter(p *pen, it *Item) {
	p.box(-2, -2, 2, 2)
	p.dashed(0, -2, 0, 2)
	switch it.component.GetGasFilter().GetGrade() {
	case skidrulev1.GasFilterGrade_GAS_FILTER_GRADE_COALESCING:
		drop(p, 1, 0.2, 0.6)
	case skidrulev1.GasFilterGrade_GAS_FILTER_GRADE_ACTIVATED_CARBON:
		p.word(1, 0, 2.4, "C")
	case skidrulev1.GasFilterGrade_GAS_FILTER_GRADE_STERILE:
		p.word(1, 0, 2.4, "S")
	}
}

func drop(p *pen, x, y, r float64) {
	xy := []float64{x, y - 2*r}
	xy = append(xy, arc(x, y, r, r, -20, 200)...)
	p.area("sym-thin-body", xy...)
}

func drawLiquidFilter(p *pen, _ *Item) {
	p.box(-2, -2, 2, 2)
	p.dashed(-2, 2, 2, -2)
}

func drawStrainer(p *pen, _ *Item) {
	p.body(-2, -1, 2, -1, 2, 1, 1.6, 1, 1.6, 2, 0.4, 2, 0.4, 1, -2, 1)
	p.dashed(-1.2, -1, 1, 1.2)
}

func drawDryer(p *pen, it *Item) {
	p.box(-3, -2, 3, 2)
	drop(p, 0, 0.5, 0.8)
	p.line(-1.5, 1.4, 1.5, -1.4)
	switch it.component.GetGasDryer().GetPrinciple() {
	case skidrulev1.GasDryerPrinciple_GAS_DRYER_PRINCIPLE_DESICCANT:
		p.thin(-2.6, -2, -2.6, 2)
		p.thin(2.6, -2, 2.6, 2)
	case skidrulev1.GasDryerPrinciple_GAS_DRYER_PRINCIPLE_MEMBRANE:
		p.dashed(-3, 1.6, 3, 1.6)
	}
}

func drawConcentrator(p *pen, _ *Item) {
	p.box(-4, -4, 4, 4)
	for _, x := range []float64{-1.9, 1.9} {
		p.shell(x-1.2, -2.6, x+1.2, 2.2)
		p.thin(x-1.2, -1.4, x+1.2, 1)
		p.thin(x-1.2, 1, x+1.2, -1.4)
		p.thin(x-1.2, -1.4, x+1.2, -1.4)
		p.thin(x-1.2, 1, x+1.2, 1)
	}
	p.word(0, 3.1, 2.6, "O₂")
}

func drawSupply(p *pen, _ *Item) {
	p.line(0, -2.6, 0, -4, 2, -4)
	xy := arc(0, -1.6, 2, 1.2, 180, 360)
	xy = append(xy, 2, 4, -2, 4)
	p.body(xy...)
	p.slab(-0.5, -3.4, 0.5, -2.7)
}

func drawHeater(p *pen, _ *Item) {
	p.box(-3, -2, 3, 2)
	p.line(-3, 0, -1.8, 0, -1.35, -1.1, -0.45, 1.1, 0.45, -1.1, 1.35, 1.1, 1.8, 0, 3, 0)
	p.word(2.4, -1.2, 2.2, "E")
}

// drawGenerator shows two electrodes with the discharge between them.
func drawGenerator(p *pen, it *Item) {
	l, t, r, b := sides(it)
	p.box(l, t, r, b)
	p.slab(-3.2, -1.6, 3.2, -1.3)
	p.slab(-3.2, 1.3, 3.2, 1.6)
	p.solid(0.5, -1.1, -1, 0.2, -0.1, 0.2, -0.5, 1.1, 1, -0.25, 0.1, -0.25)
	p.word(r-1.5, 0, 2.6, "O₃")
	p.word(l+1.5, 0, 2.6, "O₂")
}

func drawPowerSupply(p *pen, _ *Item) {
	p.box(-2, -2, 2, 2)
	p.line(-2, 2, 2, -2)
	p.thin(append(arc(-1.2, -1, 0.4, 0.5, 180, 360), arc(-0.4, -1, 0.4, 0.5, 180, 0)...)...)
	p.word(0.8, 1.1, 2.2, "HV")
}

func drawController(p *pen, _ *Item) {
	p.box(-2, -2, 2, 2)
	p.thin(0, -2, 2, 0, 0, 2, -2, 0, 0, -2)
	p.thin(-2, 0, 2, 0)
}

func drawMixer(p *pen, _ *Item) {
	p.box(-4, -1, 4, 1)
	for x := -4.0; x < 4; x += 2 {
		p.thin(x, -1, x+2, 1)
		p.thin(x, 1, x+2, -1)
	}
}

func drawExchanger(p *pen, _ *Item) {
	p.circle(0, 0, 3)
	p.line(0, 3, 0, 1.5, -1.5, 0.75, 1.5, -0.75, 0, -1.5, 0, -3)
	p.thin(-3, 0, -1.6, 0)
	p.thin(1.6, 0, 3, 0)
}

func drawInjector(p *pen, _ *Item) {
	p.line(0, -2, 0, -0.5)
	p.body(-4, -1.6, 0, -0.5, 4, -1.6, 4, 1.6, 0, 0.5, -4, 1.6)
	p.solid(-4, -0.6, -0.6, 0, -4, 0.6)
	p.line(-0.7, -2, 0.7, -2)
}

func drawFlag(p *pen, it *Item) {
	switch it.flow {
	case flowSink:
		// Turned to the west a flag takes its line at its stern; the point still shows the flow.
		p.body(3, -1, -2, -1, -3, 0, -2, 1, 3, 1)
	default:
		p.body(-3, -1, 2, -1, 3, 0, 2, 1, -3, 1)
	}
}

func drawOffSheet(p *pen, it *Item) {
	drawFlag(p, it)
	x := -2.2
	if it.flow == flowSink {
		x = 2.2
	}
	p.line(x, -1, x, 1)
}

func drawOther(p *pen, it *Item) {
	p.box(sides(it))
	p.word(0, 0, 4, "?")
}
