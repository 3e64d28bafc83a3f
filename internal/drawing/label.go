package drawing

import (
	"math"
	"strings"
)

const (
	tagSize   = 2.8 // mm
	smallSize = 2.1
	lineSize  = 2.3
	valueSize = 2.3
	leading   = 1.15
)

// row is one row of a label.
type row struct {
	text  string
	size  float64
	style string
}

// labelRows are the rows of an item's tag label.
func labelRows(it *Item) []row {
	var rows []row
	if it.form.class == point {
		return nil
	}
	if it.form.class == bubble || it.Kind == "flow_meter" || it.Kind == "flow_switch" || it.form.letters != "" {
		if _, _, whole := bubbleText(it); !whole {
			rows = append(rows, row{clip(it.Tag, 24), tagSize, "tag"})
		}
	} else {
		rows = append(rows, row{clip(it.Tag, 24), tagSize, "tag"})
	}
	switch it.form.class {
	case equipment, flag, loose:
		for _, t := range wrap(it.Title, 18, 2) {
			rows = append(rows, row{t, smallSize, "note"})
		}
	}
	if len(it.notes) > 0 {
		rows = append(rows, row{clip(strings.Join(it.notes, ", "), 28), smallSize, "note"})
	}
	return rows
}

// wrap breaks text into at most n rows of about w runes.
func wrap(s string, w, n int) []string {
	s = shorten(s)
	var rows []string
	cur := ""
	words := strings.Fields(s)
	for i, word := range words {
		switch {
		case cur == "":
			cur = word
		case len([]rune(cur))+1+len([]rune(word)) <= w:
			cur += " " + word
		default:
			if len(rows) == n-1 {
				return append(rows, clip(cur+" "+strings.Join(words[i:], " "), w+4))
			}
			rows = append(rows, clip(cur, w+4))
			cur = word
		}
	}
	if cur != "" {
		rows = append(rows, clip(cur, w+4))
	}
	return rows
}

func labelSize(rows []row) (w, h float64) {
	for _, r := range rows {
		w = math.Max(w, textWidth(r.text, r.size))
		h += r.size * leading
	}
	return w, h
}

// rect is a box on the sheet in millimetres.
type rect struct{ l, t, r, b float64 }

func (a rect) overlaps(b rect) bool {
	const touch = 0.01
	return a.l < b.r-touch && b.l < a.r-touch && a.t < b.b-touch && b.t < a.b-touch
}

func (a rect) grown(d float64) rect { return rect{a.l - d, a.t - d, a.r + d, a.b + d} }

func bodyOf(it *Item) rect {
	x, y := float64(it.At.X)*module, float64(it.At.Y)*module
	e := it.Extent
	return rect{x - float64(e.Left)*module, y - float64(e.Up)*module, x + float64(e.Right)*module, y + float64(e.Down)*module}
}

// label is a placed block of text.
type label struct {
	box    rect
	rows   []row
	anchor anchor
	upward bool
	item   int // index of the item, or -1
	edge   int // index of the edge, or -1
	marker int // number in a circle, 0 for none
	leader []vec
	plate  bool // hides what is below it
}
