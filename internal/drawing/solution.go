package drawing

import (
	"math"
	"strconv"
	"strings"

	"github.com/skidrule/skidrule/internal/quantity"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// CaseValues are the pressures and flows of a solved case, to stand beside things: the flow of each line; the pressures at the
// inlet and outlet of components that change it by more than 2 kPa; and one pressure at vessels, boundaries and gauges. They are
// best values with three digits; the ends between which they lie are for tables. Gas that goes along in water is left out.
// kinds has the kind of each component by tag, as check_valve.
func CaseValues(c *skidrulev1.SolvedCase, kinds map[string]string, units quantity.System) []Value {
	var values []Value
	line := map[string]bool{}
	for _, w := range c.GetLines() {
		to, _, _ := strings.Cut(w.GetTo(), ".")
		if line[w.GetTag()] || still(kinds[to]) {
			continue
		}
		if flow, ok := flowText(w, units); ok {
			line[w.GetTag()] = true
			values = append(values, Value{Tag: w.GetTag(), Rows: []string{flow}})
		}
	}
	at := map[string]*skidrulev1.SolvedPort{}
	for _, p := range c.GetPorts() {
		at[p.GetPort()] = p
	}
	done := map[string]bool{}
	for _, w := range c.GetPassages() {
		from, to := pressureAt(at, w, w.GetFrom()), pressureAt(at, w, w.GetTo())
		if done[w.GetTag()] || strings.HasSuffix(w.GetTo(), "drain") || from == nil || to == nil || math.Abs(from.GetBest()-to.GetBest()) < 2000 {
			continue
		}
		done[w.GetTag()] = true
		a, b := pressureText(from, units), pressureText(to, units)
		if number, unit, ok := strings.Cut(a, " "); ok && strings.HasSuffix(b, " "+unit) {
			a = number
		}
		values = append(values, Value{Tag: w.GetTag(), Rows: []string{a + " → " + b}})
	}
	for _, p := range c.GetPorts() {
		tag, _, _ := strings.Cut(p.GetPort(), ".")
		if done[tag] || p.GetPressurePaGauge() == nil {
			continue
		}
		switch kinds[tag] {
		case "boundary", "contact_vessel", "ozone_generator", "pressure_gauge", "knock_out_pot", "ozone_destruct", "tank", "gas_supply":
			done[tag] = true
			values = append(values, Value{Tag: tag, Rows: []string{pressureText(p.GetPressurePaGauge(), units)}})
		}
	}
	return values
}

// pressureAt is the gauge pressure of a port that a way names as a port or as TAG.port.
func pressureAt(at map[string]*skidrulev1.SolvedPort, w *skidrulev1.SolvedWay, port string) *skidrulev1.SolvedRange {
	if p := at[port]; p != nil {
		return p.GetPressurePaGauge()
	}
	return at[w.GetTag()+"."+port].GetPressurePaGauge()
}

func flowText(w *skidrulev1.SolvedWay, units quantity.System) (string, bool) {
	if f := w.GetLiquidFlowM3PerS(); f != nil {
		return threeDigits(f.GetBest(), quantity.LiquidFlow, units), true
	}
	if f := w.GetGasFlowMolPerS(); f != nil {
		return threeDigits(f.GetBest(), quantity.GasFlow, units), true
	}
	return "", false
}

func pressureText(r *skidrulev1.SolvedRange, units quantity.System) string {
	return threeDigits(r.GetBest(), quantity.PressureGauge, units)
}

// threeDigits rounds for reading; what is nothing beside any skid's numbers is 0.
func threeDigits(x float64, d quantity.Dimension, units quantity.System) string {
	if math.Abs(x) < 1e-7 || d == quantity.PressureGauge && math.Abs(x) < 1 {
		x = 0
	}
	number, unit, _ := strings.Cut(quantity.Format(x, d, units), " ")
	if v, err := strconv.ParseFloat(number, 64); err == nil && math.Abs(v) < 1000 {
		number = strconv.FormatFloat(v, 'g', 3, 64)
	}
	return number + " " + unit
}

// still says whether nothing flows through a kind by nature, so that its line needs no flow.
func still(kind string) bool {
	for _, word := range []string{"gauge", "switch", "analyser", "transmitter"} {
		if strings.Contains(kind, word) {
			return kind != "flow_switch"
		}
	}
	return false
}
