package report

import (
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"github.com/skidrule/skidrule/internal/quantity"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// notStated is what a cell says whose datum is not stated.
const notStated = "not stated"

// Schedule writes lists as text tables.
func Schedule(w io.Writer, book *skidrulev1.ScheduleBook, style Style) error {
	p := newPage(w, style)
	p.title(book)
	for _, s := range book.GetSchedules() {
		p.blank()
		p.line(p.ink(bold, s.GetTitle()))
		if len(s.GetRows()) == 0 {
			p.line("  none")
			continue
		}
		sheet, err := newSheet(s, style.Units)
		if err != nil {
			return err
		}
		rows := [][]string{sheet.head}
		for _, r := range sheet.rows {
			line := make([]string, len(r))
			for i := range r {
				line[i] = r[i].String()
			}
			rows = append(rows, line)
		}
		p.table("  ", rows)
	}
	p.cautions(book.GetCautions())
	return p.err
}

// ScheduleCSV writes one list as CSV after RFC 4180. A text that a spreadsheet would take for a formula gets an apostrophe before it.
func ScheduleCSV(w io.Writer, s *skidrulev1.Schedule, units quantity.System) error {
	sheet, err := newSheet(s, units)
	if err != nil {
		return err
	}
	out := csv.NewWriter(w)
	head := make([]string, len(sheet.head))
	for i, title := range sheet.head {
		head[i] = harmless(title)
	}
	_ = out.Write(head) // the writer keeps its first error for Flush
	for _, r := range sheet.rows {
		line := make([]string, len(r))
		for i := range r {
			line[i] = r[i].String()
			if !r[i].isNumber {
				line[i] = harmless(line[i])
			}
		}
		_ = out.Write(line)
	}
	out.Flush()
	return out.Error()
}

// harmless puts an apostrophe before what a spreadsheet would take for a formula: what begins with =, +, -, @, a tab or a carriage
// return, spaces before it or not.
func harmless(s string) string {
	if t := strings.TrimLeft(s, " \u00a0"); t != "" && strings.ContainsRune("=+-@\t\r\n＝＋－＠", []rune(t)[0]) {
		return "'" + s
	}
	return s
}

// sheet is a list with its numbers in units.
type sheet struct {
	title string
	head  []string
	rows  [][]sheetCell
}

// sheetCell is a text or a number.
type sheetCell struct {
	text     string
	number   float64
	isNumber bool
}

// String spells the cell: numbers as short as they are exact.
func (c sheetCell) String() string {
	if c.isNumber {
		return strconv.FormatFloat(c.number, 'g', -1, 64)
	}
	return c.text
}

// newSheet puts the numbers of a list into units. A row that has not one cell for each column is an error.
func newSheet(s *skidrulev1.Schedule, units quantity.System) (*sheet, error) {
	out := &sheet{title: s.GetTitle()}
	for _, c := range s.GetColumns() {
		title := c.GetTitle()
		if u := columnUnit(c.GetDimension(), c.GetFine(), units); u != "" {
			title += ", " + u
		}
		out.head = append(out.head, title)
	}
	for i, r := range s.GetRows() {
		if len(r.GetCells()) != len(s.GetColumns()) {
			return nil, fmt.Errorf("row %d of the list %q has %d cells for %d columns", i+1, s.GetName(), len(r.GetCells()), len(s.GetColumns()))
		}
		row := make([]sheetCell, len(r.GetCells()))
		for k, c := range r.GetCells() {
			column := s.GetColumns()[k]
			cell, err := newCell(c, column.GetDimension(), column.GetFine(), units)
			if err != nil {
				return nil, fmt.Errorf("row %d of the list %q, column %q: %w", i+1, s.GetName(), column.GetTitle(), err)
			}
			row[k] = cell
		}
		out.rows = append(out.rows, row)
	}
	return out, nil
}

func newCell(c *skidrulev1.ScheduleCell, dimension string, fine bool, units quantity.System) (sheetCell, error) {
	if dimension == "" {
		dimension = c.GetDimension()
	}
	switch {
	case c.GetNotStated():
		return sheetCell{text: notStated}, nil
	case c.Number == nil && c.GetText() != "":
		return sheetCell{text: clean(c.GetText())}, nil
	case c.Number == nil && c.GetDimension() != "":
		if u := columnUnit(c.GetDimension(), fine, units); u != "" {
			return sheetCell{text: u}, nil
		}
		return sheetCell{text: "1"}, nil
	case c.Number == nil:
		return sheetCell{text: notStated}, nil
	}
	x := c.GetNumber()
	if d, ok := quantity.DimensionByName(dimension); ok {
		var err error
		if x, err = quantity.In(x, d, columnUnit(dimension, fine, units)); err != nil {
			return sheetCell{}, err
		}
	} else if math.IsNaN(x) || math.IsInf(x, 0) {
		return sheetCell{}, fmt.Errorf("%v is no finite number", x)
	}
	if dimension == "temperature" {
		// A scale with an offset leaves dust where its zero is.
		x = math.Round(x*1e6)/1e6 + 0 // and no minus before a zero
	}
	// Five significant digits: nothing in a drawing is known better, and conversions leave dust behind them.
	x, err := strconv.ParseFloat(strconv.FormatFloat(x, 'g', 5, 64), 64)
	return sheetCell{number: x, isNumber: true}, err
}

// columnUnit is the unit of a dimension in lists; empty where it has none.
func columnUnit(dimension string, fine bool, units quantity.System) string {
	d, ok := quantity.DimensionByName(dimension)
	if !ok {
		return ""
	}
	us := units == quantity.US
	switch d {
	case quantity.Length:
		switch {
		case fine && us:
			return "in"
		case fine:
			return "mm"
		case us:
			return "ft"
		}
		return "m"
	case quantity.Duration:
		return "months"
	case quantity.MoleFraction:
		return "ppmv"
	case quantity.Ratio:
		return ""
	}
	return d.Preferred(units)
}
