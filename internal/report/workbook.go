package report

import (
	"archive/zip"
	"bytes"
	"io"
	"slices"
	"strings"

	"github.com/xuri/excelize/v2"

	"github.com/skidrule/skidrule/internal/quantity"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// bookDate stands for the date in the properties of a workbook, so that one book is always the same bytes: the earliest that the
// format of its archive knows.
const bookDate = "1980-01-01T00:00:00Z"

// widest is the width of a column at most, in characters.
const widest = 60

// Workbook writes lists as a spreadsheet in Office Open XML: a sheet for each list, its header frozen, numbers as numbers, texts as
// texts that are never formulas; and a sheet with the cautions.
func Workbook(w io.Writer, book *skidrulev1.ScheduleBook, units quantity.System) error {
	f := excelize.NewFile()
	defer f.Close()
	if err := f.SetDocProps(&excelize.DocProperties{Title: clean(book.GetDesignName()), Creator: "skidrule", LastModifiedBy: "skidrule", Created: bookDate, Modified: bookDate}); err != nil {
		return err
	}
	head, err := f.NewStyle(&excelize.Style{Font: &excelize.Font{Bold: true}, Alignment: &excelize.Alignment{WrapText: true, Vertical: "top"},
		Border: []excelize.Border{{Type: "bottom", Style: 1, Color: "000000"}}})
	if err != nil {
		return err
	}
	first := f.GetSheetName(0)
	for _, s := range book.GetSchedules() {
		sheet, err := newSheet(s, units)
		if err != nil {
			return err
		}
		if err := writeSheet(f, s.GetName(), sheet, head); err != nil {
			return err
		}
	}
	notes := &sheet{title: "Cautions", head: []string{"Cautions"}}
	for _, text := range slices.Concat([]string{clean(revised(book.GetDesignName(), book.GetDesignRevision()))}, book.GetCautions()) {
		if text != "" {
			notes.rows = append(notes.rows, []sheetCell{{text: text}})
		}
	}
	if err := writeSheet(f, "cautions", notes, head); err != nil {
		return err
	}
	if err := f.DeleteSheet(first); err != nil {
		return err
	}
	f.SetActiveSheet(0)
	var content bytes.Buffer
	if err := f.Write(&content); err != nil {
		return err
	}
	return inOrder(w, content.Bytes())
}

// inOrder writes an archive with its files in order of name: sheets come in no fixed order, and one book is to be the same bytes.
func inOrder(w io.Writer, archive []byte) error {
	in, err := zip.NewReader(bytes.NewReader(archive), int64(len(archive)))
	if err != nil {
		return err
	}
	slices.SortFunc(in.File, func(a, b *zip.File) int { return strings.Compare(a.Name, b.Name) })
	out := zip.NewWriter(w)
	for _, f := range in.File {
		if err := out.Copy(f); err != nil {
			return err
		}
	}
	return out.Close()
}

// writeSheet adds one sheet.
func writeSheet(f *excelize.File, name string, s *sheet, head int) error {
	if _, err := f.NewSheet(name); err != nil {
		return err
	}
	out, err := f.NewStreamWriter(name)
	if err != nil {
		return err
	}
	for i := range s.head {
		if err := out.SetColWidth(i+1, i+1, columnWidth(s, i)); err != nil {
			return err
		}
	}
	if err := out.SetPanes(&excelize.Panes{Freeze: true, YSplit: 1, TopLeftCell: "A2", ActivePane: "bottomLeft"}); err != nil {
		return err
	}
	cells := make([]any, len(s.head))
	for i, title := range s.head {
		cells[i] = excelize.Cell{StyleID: head, Value: title}
	}
	if err := out.SetRow("A1", cells); err != nil {
		return err
	}
	for n, r := range s.rows {
		for i, c := range r {
			if c.isNumber {
				cells[i] = c.number
			} else {
				cells[i] = c.text
			}
		}
		at, err := excelize.CoordinatesToCellName(1, n+2)
		if err != nil {
			return err
		}
		if err := out.SetRow(at, cells[:len(r)]); err != nil {
			return err
		}
	}
	return out.Flush()
}

// columnWidth fits a column to its longest text.
func columnWidth(s *sheet, column int) float64 {
	n := width(s.head[column])
	for _, r := range s.rows {
		n = max(n, width(r[column].String()))
	}
	return float64(min(n, widest) + 2)
}
