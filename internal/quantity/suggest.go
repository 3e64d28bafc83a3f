package quantity

import (
	"slices"
	"strings"

	"github.com/skidrule/skidrule/internal/misspelt"
)

// vague lists units in common use that do not say what they mean, with what to
// write instead. They are looked up without regard to case.
var vague = map[string]struct{ problem, suggestion string }{
	"slpm": {vagueGas, sayGasMetric}, "slm": {vagueGas, sayGasMetric}, "sl": {vagueGas, sayGasMetric},
	"nlpm": {vagueGas, sayGasMetric}, "sccm": {vagueGas, sayGasMetric}, "smlpm": {vagueGas, sayGasMetric},
	"scfm": {vagueGas, sayGasUS}, "scfh": {vagueGas, sayGasUS}, "scfd": {vagueGas, sayGasUS}, "scf": {vagueGas, sayGasUS},
	"ncfm": {vagueGas, sayGasUS}, "acfm": {"does not state the actual temperature and pressure", sayGasUS},
	"ncm": {vagueGas, "write Nm3"}, "scm": {vagueGas, "write Sm3"},
	"ppm":  {"does not say whether parts by volume or by mass are meant", "write ppmv (by volume) or mg/kg (by mass)"},
	"ppb":  {"does not say whether parts by volume or by mass are meant", "write ppbv (by volume) or ug/kg (by mass)"},
	"cal":  {"has several definitions", "write J"},
	"kcal": {"has several definitions", "write kJ"},
	"ton":  {"may be 1000 kg, 2000 lb or 2240 lb", "write t, kg or lb"}, "tons": {"may be 1000 kg, 2000 lb or 2240 lb", "write t, kg or lb"},
	"ps":     {"is read as metric horsepower by some", "write kW"},
	"gallon": {"may be US or imperial", "write gal for the US gallon, or L"}, "gallons": {"may be US or imperial", "write gal for the US gallon, or L"},
	"at": {"is read as technical atmosphere by some", "write bar or kPa"},
}

const (
	vagueGas     = "does not state a reference temperature and pressure (several are in use)"
	sayGasMetric = "write NL/min (0 °C, 101.325 kPa) or, for example, 8 L/min at 20 degC, 1.013 bar(a)"
	sayGasUS     = "write, for example, 15 cfm at 60 degF, 14.696 psi(a)"
)

// unknown explains a word that is no unit.
func (p *expression) unknown(at int, word string) *Error {
	if v, ok := vague[strings.ToLower(word)]; ok {
		return p.f.fault(at, quote(word)+" "+v.problem, v.suggestion)
	}
	suggestion := ""
	if near := p.nearest(word); len(near) > 0 {
		suggestion = "did you mean " + list(near, "or") + "?"
	}
	return p.f.fault(at, "unknown unit "+quote(word), suggestion)
}

// nearest returns up to three names of units that differ from word by case
// only, or else by few edits, nearest first.
func (c *catalogue) nearest(word string) []string {
	type candidate struct {
		name     string
		distance int
	}
	var fold, edit []candidate
	allowed := 2
	if len(word) <= 3 {
		allowed = 1
	}
	for _, name := range c.names {
		if strings.EqualFold(name, word) {
			fold = append(fold, candidate{name, misspelt.Distance(name, word, len(word))})
		} else if d := misspelt.Distance(strings.ToLower(name), strings.ToLower(word), allowed); d <= allowed && d < len(word) {
			edit = append(edit, candidate{name, d})
		}
	}
	best := fold
	if len(best) == 0 {
		best = edit
	}
	slices.SortStableFunc(best, func(a, b candidate) int { return a.distance - b.distance })
	var names []string
	for _, b := range best[:min(3, len(best))] {
		names = append(names, b.name)
	}
	return names
}

// list joins words for a sentence: "a, b or c".
func list(words []string, joint string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	last := len(words) - 1
	return strings.Join(words[:last], ", ") + " " + joint + " " + words[last]
}

// article puts "a" or "an" before a noun.
func article(noun string) string {
	if strings.ContainsRune("aeiou", rune(noun[0])) {
		return "an " + noun
	}
	return "a " + noun
}
