package calc

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"

	"github.com/skidrule/skidrule/internal/misspelt"
	"github.com/skidrule/skidrule/internal/quantity"
)

// Limits on what is read, so that a hostile input costs little.
const (
	maxTableRows  = 2000
	maxTableBytes = 1 << 20
	maxTextBytes  = 1 << 12
	maxInputs     = 100
)

// Read turns texts into inputs: quantities with their unit ("2.5 bar(g)"),
// choices as words, tables as CSV. Errors are [InputError] or
// [UnknownNameError]; the first in the order of the keys is returned.
func (c *Calculation) Read(texts map[string]string) (Inputs, error) {
	if len(texts) > maxInputs {
		return Inputs{}, fmt.Errorf("%s: %w: %d inputs given, at most %d are read", c.Name, ErrOutOfRange, len(texts), maxInputs)
	}
	inputs := Inputs{Numbers: map[string]float64{}, Words: map[string]string{}, Tables: map[string][]Row{}}
	for _, key := range slices.Sorted(maps.Keys(texts)) {
		in, ok := c.Input(key)
		if !ok {
			return Inputs{}, c.unknownInput(key)
		}
		text := strings.TrimSpace(texts[key])
		if in.Kind == Table {
			rows, err := c.readTable(in, text)
			if err != nil {
				return Inputs{}, err
			}
			inputs.Tables[key] = rows
			continue
		}
		if len(text) > maxTextBytes {
			return Inputs{}, c.badText(in, "%d bytes; at most %d are read", len(text), maxTextBytes)
		}
		if in.Kind == Choice {
			inputs.Words[key] = text
			continue
		}
		x, err := quantity.Parse(text, in.Dimension)
		if err != nil {
			return Inputs{}, &InputError{Calculation: c.Name, Key: key, Kind: ErrBadText, Reason: err.Error(), Cause: err}
		}
		inputs.Numbers[key] = x
	}
	return inputs, nil
}

// readTable reads a CSV text: a header line with column keys in any order,
// then one line for each row, each cell a quantity with its unit. A column
// header may carry the unit for its cells: "inlet_pressure [bar(a)]".
func (c *Calculation) readTable(in Input, text string) ([]Row, error) {
	fail := func(format string, args ...any) error { return c.badText(in, format, args...) }
	if len(text) > maxTableBytes {
		return nil, fail("%d bytes; at most %d are read", len(text), maxTableBytes)
	}
	r := csv.NewReader(strings.NewReader(text))
	r.TrimLeadingSpace = true
	header, err := r.Read()
	if errors.Is(err, io.EOF) {
		return nil, fail("the table is empty; its header is %s", strings.Join(columnKeys(in), ","))
	}
	if err != nil {
		return nil, fail("%v", err)
	}
	columns, units, err := c.readHeader(in, header)
	if err != nil {
		return nil, err
	}
	var rows []Row
	for {
		cells, err := r.Read()
		if errors.Is(err, io.EOF) {
			return rows, nil
		}
		if err != nil {
			return nil, fail("%v", err)
		}
		if len(rows) == maxTableRows {
			return nil, fail("more than %d rows", maxTableRows)
		}
		line, _ := r.FieldPos(0)
		row := Row{}
		for i, cell := range cells {
			if len(cell) > maxTextBytes {
				return nil, fail("line %d, column %s: %d bytes; at most %d are read", line, columns[i].Key, len(cell), maxTextBytes)
			}
			x, err := quantity.Parse(strings.TrimSpace(cell+" "+units[i]), columns[i].Dimension)
			if err != nil {
				return nil, fail("line %d, column %s: %v", line, columns[i].Key, err)
			}
			row[columns[i].Key] = x
		}
		rows = append(rows, row)
	}
}

// readHeader matches a header line with the columns of the input.
func (c *Calculation) readHeader(in Input, header []string) (columns []Column, units []string, err error) {
	seen := map[string]bool{}
	for _, cell := range header {
		key, unit, _ := strings.Cut(strings.TrimSpace(cell), "[")
		key = strings.TrimSpace(key)
		unit = strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(unit), "]"))
		i := slices.IndexFunc(in.Columns, func(col Column) bool { return col.Key == key })
		if i < 0 {
			known := columnKeys(in)
			return nil, nil, &UnknownNameError{What: "column of " + in.Key, Name: key, Nearest: misspelt.Nearest(key, known), Known: known}
		}
		if seen[key] {
			return nil, nil, c.badText(in, "column %s stands twice", key)
		}
		seen[key] = true
		columns = append(columns, in.Columns[i])
		units = append(units, unit)
	}
	for _, col := range in.Columns {
		if !seen[col.Key] && !col.Optional {
			return nil, nil, c.badText(in, "column %s (%s) is missing", col.Key, col.Description)
		}
	}
	return columns, units, nil
}

// badText says what is wrong with the text of an input.
func (c *Calculation) badText(in Input, format string, args ...any) error {
	return &InputError{Calculation: c.Name, Key: in.Key, Kind: ErrBadText, Reason: fmt.Sprintf(format, args...)}
}

// columnKeys lists the columns of a table input in their order.
func columnKeys(in Input) []string {
	keys := make([]string, len(in.Columns))
	for i, col := range in.Columns {
		keys[i] = col.Key
	}
	return keys
}
