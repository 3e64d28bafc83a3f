package tablefile

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/skidrule/skidrule/internal/designfile"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Limits of a file; far beyond what a maker's table holds.
const (
	maxBytes = 1 << 20
	maxRows  = 10_000
)

// File is a catalogue of the one part that a table describes, with the places of its data.
type File struct {
	Catalogue *skidrulev1.Catalogue
	Places    *Places
}

// Read reads a table. The error is a *designfile.Problems with everything that is wrong, at the cells where it stands.
func Read(name string, data []byte) (*File, error) {
	t := &table{name: name, places: &Places{file: name, cells: map[string]designfile.Position{}}}
	if rows := t.rows(data); len(t.problems) == 0 {
		t.interpret(rows)
	}
	if len(t.problems) > 0 {
		return nil, &designfile.Problems{List: t.problems}
	}
	file, err := designfile.ReadCatalogue(name, t.spell())
	var problems *designfile.Problems
	if errors.As(err, &problems) {
		return nil, t.places.moved(problems)
	}
	if err != nil {
		return nil, err
	}
	return &File{Catalogue: file.Catalogue, Places: t.places}, nil
}

// cell is one cell with its place.
type cell struct {
	text         string
	line, column int
}

// start is where a fault stands that is about the whole file.
var start = cell{line: 1, column: 1}

// table is a file while it is read.
type table struct {
	name     string
	places   *Places
	problems []designfile.Problem

	id, title, origin, kind *cell
	component, spec         []datum
	points                  []points
}

// datum is one key with its value.
type datum struct {
	key   string
	value cell
}

// points is one table: the field that holds it and its rows.
type points struct {
	field string
	rows  [][]datum
}

func (t *table) fault(c cell, suggestion, format string, args ...any) {
	t.problems = append(t.problems, designfile.Problem{
		File: t.name, Line: c.line, Column: c.column, EndLine: c.line, EndColumn: c.column + utf8.RuneCountInString(c.text),
		Message: fmt.Sprintf(format, args...), Suggestion: suggestion,
	})
}

// rows splits the file into rows without empty ones and comments.
func (t *table) rows(data []byte) [][]cell {
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	switch {
	case len(data) > maxBytes:
		t.fault(start, "split the table", "the file has %d bytes; the limit is %d", len(data), maxBytes)
		return nil
	case !utf8.Valid(data):
		t.fault(start, "save it as UTF-8", "the file is not text in UTF-8")
		return nil
	}
	r := csv.NewReader(bytes.NewReader(data))
	r.Comma, r.FieldsPerRecord, r.TrimLeadingSpace = separator(data), -1, true
	var out [][]cell
	for {
		record, err := r.Read()
		if errors.Is(err, io.EOF) {
			return out
		}
		var bad *csv.ParseError
		if errors.As(err, &bad) {
			t.fault(cell{line: bad.Line, column: bad.Column}, "put cells with quotes or separators into \"…\" and double the quotes in them", "%v", bad.Err)
			return nil
		}
		if err != nil {
			t.fault(start, "", "%v", err)
			return nil
		}
		row := make([]cell, len(record))
		for i, text := range record {
			line, column := r.FieldPos(i)
			row[i] = cell{strings.TrimSpace(text), line, column}
		}
		if !slices.ContainsFunc(row, func(c cell) bool { return c.text != "" }) || strings.HasPrefix(row[0].text, "#") {
			continue
		}
		if len(out) == maxRows {
			t.fault(row[0], "leave out points between those that matter", "more than %d rows", maxRows)
			return nil
		}
		out = append(out, row)
	}
}

// separator is the separator of the first row that is no comment.
func separator(data []byte) rune {
	for line := range bytes.Lines(data) {
		if text := bytes.TrimSpace(line); len(text) == 0 || text[0] == '#' {
			continue
		}
		if i := bytes.IndexAny(line, ",;\t"); i >= 0 {
			return rune(line[i])
		}
		break
	}
	return ','
}
