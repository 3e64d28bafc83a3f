package commission

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/skidrule/skidrule/internal/network"
	"github.com/skidrule/skidrule/internal/operate"
	"github.com/skidrule/skidrule/internal/quantity"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// draws says what every injector draws by its table at the pressures that were read at its three ports.
//
// Source: JCGM 100:2008, 5.1.2, propagation of standard uncertainties; the slopes are those of the table. A reading that is taken
// beside the port is brought there by the height between them and what the model loses on the way.
func (d *diagnosis) draws(readings []reading) {
	for _, j := range d.x.injectors {
		c := &d.skid.plant.Components[j]
		one := &skidrulev1.DrawnGas{Injector: c.Tag}
		d.out.Drawn = append(d.out.Drawn, one)
		if expected := d.skid.drawnIn(d.x.best, j); !math.IsNaN(expected) {
			one.ExpectedMolPerS = &expected
		}
		var pressure, u [3]float64
		var lacks []string
		for side := range 3 {
			r, ok := d.sideReading(readings, j, side)
			if !ok {
				lacks = append(lacks, injectorSides[side])
				continue
			}
			port := d.skid.tapped(c.FirstPort + int32(side))
			shift := port.exact(d.x.best) - r.place.exact(d.x.best)
			if math.IsNaN(shift) {
				if r.label != port.label {
					lacks = append(lacks, injectorSides[side]+", since it is not known how it differs from "+r.label)
					continue
				}
				shift = 0
			}
			// How the place differs from the port is as uncertain as the drop between them.
			loss := 0.0
			if r.label != port.label {
				loss = d.between(&port, &r.place)
			}
			pressure[side], u[side] = r.value+shift, math.Hypot(standard(r.limit), loss)
			one.Steps = append(one.Steps, fmt.Sprintf("%s: %s shows %s ± %s, %s at the port", injectorSides[side], r.label, r.say(r.value, false), r.say(r.limit, true), r.say(pressure[side], false)))
		}
		if len(lacks) > 0 {
			one.UnknownBecause = "unknown, because the pressure at the " + strings.Join(lacks, " and at the ") + " is not read" + d.instead(readings, j)
			continue
		}
		drawn, err := d.skid.solver.Drawn(d.at, j, pressure[0], pressure[1], pressure[2])
		if err != nil {
			one.UnknownBecause = "unknown, because the table does not give it: " + err.Error()
			continue
		}
		t, law := &drawn.TableFlow, drawn.RestrictLaw
		parts := [4]float64{t.PerInlet * law * u[0], t.PerSuction * law * u[1], t.PerOutlet * law * u[2], standard((drawn.Flow.High - drawn.Flow.Low) / 2)}
		sum := 0.0
		for _, p := range parts {
			sum += p * p
		}
		best, total := drawn.Flow.Best, math.Sqrt(sum)
		low, high := math.Max(0, best-2*total), best+2*total
		one.BestMolPerS, one.StandardUncertaintyMolPerS, one.LowMolPerS, one.HighMolPerS = &best, &total, &low, &high
		one.Steps = append(one.Steps, fmt.Sprintf("table: %s of its own gas there, times %.4f for the gas drawn", gas(t.Flow), law),
			fmt.Sprintf("standard uncertainty %s: from the motive inlet %s, suction %s, outlet %s, table and gas %s", gas(total), gas(math.Abs(parts[0])), gas(math.Abs(parts[1])), gas(math.Abs(parts[2])), gas(parts[3])))
		d.excess(readings, one, j)
	}
}

// gas spells a flow of gas in mol/s.
func gas(x float64) string { return quantity.Format(x, quantity.GasFlow, quantity.Metric) }

// excess sets what is drawn beside what a flow meter shows through which all of it passes by the design.
func (d *diagnosis) excess(readings []reading, one *skidrulev1.DrawnGas, injector int32) {
	for i := range readings {
		r := &readings[i]
		if !d.carries(r, injector) {
			continue
		}
		more, u := one.GetBestMolPerS()-r.value, math.Hypot(one.GetStandardUncertaintyMolPerS(), standard(r.limit))
		word := "more is drawn than passes it"
		if more < 0 {
			word = "less is drawn than passes it"
		}
		if math.Abs(more) < 2*u {
			word += ", which is within the uncertainty"
		}
		one.Steps = append(one.Steps, fmt.Sprintf("%s shows %s ± %s: %s %s (standard uncertainty %s)", r.label, gas(r.value), r.say(r.limit, true), gas(math.Abs(more)), word, gas(u)))
	}
}

// sideReading is the reading of the pressure at a port of an injector.
func (d *diagnosis) sideReading(readings []reading, injector int32, side int) (*reading, bool) {
	c := &d.skid.plant.Components[injector]
	for i := range readings {
		r := &readings[i]
		if r.way < 0 && (r.port == c.FirstPort+int32(side) || r.instrument && slices.Contains(d.skid.sides[r.component], injectorSides[side]+" of "+c.Tag)) {
			return r, true
		}
	}
	return nil, false
}

// between is the standard uncertainty of the pressure lost between two places that see the same pressure but for their height.
func (d *diagnosis) between(a, b *place) float64 {
	drop := a.exact(d.x.best) - b.exact(d.x.best)
	za, oka := operate.Height(d.skid.plant, a.port)
	zb, okb := operate.Height(d.skid.plant, b.port)
	if oka && okb {
		drop -= d.x.best.Density * network.Gravity * (zb - za)
	}
	sum := drop * drop / 3
	for i := range d.x.ends {
		e := &d.x.ends[i]
		m := moved(a, d.x.best, e) - moved(b, d.x.best, e)
		sum += m * m / 3
	}
	return math.Sqrt(sum)
}

// instead names the flow meter that shows what an injector draws.
func (d *diagnosis) instead(readings []reading, injector int32) string {
	for i := range readings {
		if r := &readings[i]; d.carries(r, injector) {
			return fmt.Sprintf("; %s shows %s ± %s, which is what is drawn where nothing leaks in behind it", r.label, r.say(r.value, false), r.say(r.limit, true))
		}
	}
	return ""
}

// carries tells whether all that an injector draws passes a flow meter by the design.
func (d *diagnosis) carries(r *reading, injector int32) bool {
	all := d.skid.drawnIn(d.x.best, injector)
	return r.dimension == quantity.GasFlow && math.Abs(r.place.exact(d.x.best)-all) < 1e-3*all
}
