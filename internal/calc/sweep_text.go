package calc

import (
	"encoding/json"
	"fmt"
	"strings"
	"unicode/utf8"

	"github.com/skidrule/skidrule/internal/quantity"
)

// Text renders the sweep for people: the fixed inputs of the first result, a
// table with the best value of each output and, where it is uncertain, its ends,
// then why points have no result, notes and sources.
func (s *Sweep) Text(system quantity.System) string {
	var b strings.Builder
	c := s.Calculation
	fmt.Fprintf(&b, "%s: %s\n", c.Name, c.Title)
	writeIndented(&b, "formula", strings.Split(c.Formula, "\n"))
	if first := s.first(); first != nil {
		var fixed []string
		for _, in := range first.Inputs {
			if in.Input.Key != s.Input.Key {
				fixed = append(fixed, in.Input.Key+" = "+in.text(system))
			}
		}
		fixed = append(fixed, fmt.Sprintf("%s swept  [valid %s to %s]", s.Input.Key,
			formatIn(s.Input.Low, s.Input.Dimension, system), formatIn(s.Input.High, s.Input.Dimension, system)))
		writeIndented(&b, "inputs", fixed)
	}
	b.WriteString("results, best (low .. high)\n")
	writeColumns(&b, s.table(system))
	var none []string
	for _, p := range s.Points {
		if p.Err != nil {
			none = append(none, formatIn(p.X, s.Input.Dimension, system)+": "+p.Err.Error())
		}
	}
	writeIndented(&b, "no result at", none)
	writeIndented(&b, "notes", append(s.notes(), c.Notes...))
	writeIndented(&b, "sources", sourceLines(c))
	return b.String()
}

// first is the first result of the sweep.
func (s *Sweep) first() *Result {
	for _, p := range s.Points {
		if p.Result != nil {
			return p.Result
		}
	}
	return nil
}

// notes gathers the notes of the runs, each once, in the order in which they
// first occur.
func (s *Sweep) notes() []string {
	var all []string
	seen := map[string]bool{}
	for _, p := range s.Points {
		if p.Result == nil {
			continue
		}
		for _, n := range p.Result.Notes {
			if !seen[n] {
				seen[n] = true
				all = append(all, n)
			}
		}
	}
	return all
}

// table is the sweep as rows of cells with a header. A column of an output that
// never has a value is left out.
func (s *Sweep) table(system quantity.System) [][]string {
	x := scaleOf(s.Input.Dimension, system)
	header := []string{x.label(s.Input.Key)}
	rows := make([][]string, len(s.Points))
	for i, p := range s.Points {
		rows[i] = []string{fmt.Sprintf("%.6g", x.of(p.X))}
	}
	for _, out := range s.Calculation.Outputs {
		head, unit := out.Key, scale{one: 1}
		if out.Dimension != 0 {
			unit = scaleOf(out.Dimension, system)
			head = unit.label(out.Key)
		}
		cells, any := make([]string, len(s.Points)), false
		for i, p := range s.Points {
			cells[i] = "-"
			if p.Result == nil {
				continue
			}
			if word, ok := p.Result.Word(out.Key); ok {
				cells[i], any = word, true
			}
			if r, ok := p.Result.Number(out.Key); ok {
				cells[i], any = fmt.Sprintf("%.4g", unit.of(r.Best)), true
				if !r.IsExact() {
					cells[i] += fmt.Sprintf(" (%.4g .. %.4g)", unit.of(r.Low), unit.of(r.High))
				}
			}
		}
		if !any {
			continue
		}
		header = append(header, head)
		for i := range rows {
			rows[i] = append(rows[i], cells[i])
		}
	}
	return append([][]string{header}, rows...)
}

// writeColumns writes rows with aligned columns.
func writeColumns(b *strings.Builder, rows [][]string) {
	wide := make([]int, len(rows[0]))
	for _, r := range rows {
		for i, cell := range r {
			wide[i] = max(wide[i], utf8.RuneCountInString(cell))
		}
	}
	for _, r := range rows {
		line := " "
		for i, cell := range r {
			line += " " + cell + strings.Repeat(" ", wide[i]-utf8.RuneCountInString(cell)+1)
		}
		b.WriteString(strings.TrimRight(line, " ") + "\n")
	}
}

// sweepDocument is a sweep as data, ready for JSON.
type sweepDocument struct {
	Calculation string          `json:"calculation"`
	Title       string          `json:"title"`
	Formula     string          `json:"formula"`
	Swept       string          `json:"swept"`
	Dimension   string          `json:"dimension"`
	Unit        string          `json:"unit"` // SI
	Points      []documentPoint `json:"points"`
	Notes       []string        `json:"notes,omitempty"`
	Sources     []Source        `json:"sources"`
}

// documentPoint is one point; it has outputs or an error.
type documentPoint struct {
	At      float64          `json:"at"` // SI
	Text    string           `json:"text"`
	Outputs []DocumentOutput `json:"outputs,omitempty"`
	Error   string           `json:"error,omitempty"`
}

// JSON returns the sweep as indented JSON with a line end. Values are SI.
func (s *Sweep) JSON(system quantity.System) ([]byte, error) {
	d := sweepDocument{Calculation: s.Calculation.Name, Title: s.Calculation.Title, Formula: s.Calculation.Formula, Swept: s.Input.Key,
		Dimension: s.Input.Dimension.Name(), Unit: s.Input.Dimension.SI(), Notes: append(s.notes(), s.Calculation.Notes...), Sources: s.Calculation.Sources}
	for _, p := range s.Points {
		point := documentPoint{At: p.X, Text: formatIn(p.X, s.Input.Dimension, system)}
		if p.Err != nil {
			point.Error = p.Err.Error()
		} else {
			point.Outputs = p.Result.document(system).Outputs
		}
		d.Points = append(d.Points, point)
	}
	b, err := json.MarshalIndent(d, "", "  ")
	if err != nil {
		return nil, err
	}
	return append(b, '\n'), nil
}
