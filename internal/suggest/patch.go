package suggest

import (
	"bytes"
	"cmp"
	"fmt"
	"slices"
	"strings"

	"github.com/skidrule/skidrule/internal/designfile"
)

// around is how many unchanged lines a patch shows before and behind a change.
const around = 3

// change is old lines from..to that new text takes the place of.
type change struct {
	from, to int
	text     string
}

// Unified writes edits of a text as a unified diff, with names as git writes them. Edits that ApplyEdits refuses give an empty
// patch.
func Unified(name string, text []byte, edits []designfile.TextEdit) string {
	if _, err := designfile.ApplyEdits(text, edits); err != nil {
		return ""
	}
	lines := bytes.SplitAfter(text, []byte("\n"))
	if len(lines[len(lines)-1]) == 0 {
		lines = lines[:len(lines)-1]
	}
	starts := make([]int, len(lines)+1)
	for i, l := range lines {
		starts[i+1] = starts[i] + len(l)
	}
	changes := changesOf(text, starts, edits)
	var b strings.Builder
	fmt.Fprintf(&b, "--- a/%s\n+++ b/%s\n", name, name)
	shift := 0
	for len(changes) > 0 {
		n := 1
		for n < len(changes) && changes[n].from-changes[n-1].to <= 2*around {
			n++
		}
		shift += hunk(&b, lines, changes[:n], shift)
		changes = changes[n:]
	}
	return b.String()
}

// changesOf turns edits into changes of whole lines.
func changesOf(text []byte, starts []int, edits []designfile.TextEdit) []change {
	lineOf := func(at int) int {
		i, found := slices.BinarySearch(starts, at)
		if found {
			return i
		}
		return i - 1
	}
	sorted := slices.Clone(edits)
	slices.SortStableFunc(sorted, func(a, b designfile.TextEdit) int { return cmp.Compare(a.From, b.From) })
	type group struct {
		from, to int
		edits    []designfile.TextEdit
	}
	var groups []group
	for _, e := range sorted {
		from, to := lineOf(e.From), lineOf(e.To)
		// Whole lines that are put in or taken out leave the line behind them alone.
		if whole := starts[from] == e.From && starts[to] == e.To && (e.New == "" || strings.HasSuffix(e.New, "\n")); !whole {
			to = min(to+1, len(starts)-1)
			from = min(from, max(0, len(starts)-2))
		}
		if n := len(groups); n > 0 && from <= groups[n-1].to {
			groups[n-1].to = max(groups[n-1].to, to)
			groups[n-1].edits = append(groups[n-1].edits, e)
			continue
		}
		groups = append(groups, group{from, to, []designfile.TextEdit{e}})
	}
	changes := make([]change, len(groups))
	for i, g := range groups {
		base := starts[g.from]
		for j := range g.edits {
			g.edits[j].From -= base
			g.edits[j].To -= base
		}
		made, err := designfile.ApplyEdits(text[base:starts[g.to]], g.edits)
		if err != nil {
			// The edits were made as a whole before.
			panic(err)
		}
		changes[i] = change{g.from, g.to, string(made)}
	}
	return changes
}

// hunk writes changes that stand close together and gives by how much they move what follows.
func hunk(b *strings.Builder, lines [][]byte, changes []change, shift int) int {
	from := max(0, changes[0].from-around)
	to := min(len(lines), changes[len(changes)-1].to+around)
	var body strings.Builder
	put := func(sign byte, line string) {
		body.WriteByte(sign)
		body.WriteString(line)
		if !strings.HasSuffix(line, "\n") {
			body.WriteString("\n\\ No newline at end of file\n")
		}
	}
	old, fresh := 0, 0
	at := from
	keep := func(until int) {
		for ; at < until; at++ {
			put(' ', string(lines[at]))
			old, fresh = old+1, fresh+1
		}
	}
	for _, c := range changes {
		keep(c.from)
		for ; at < c.to; at++ {
			put('-', string(lines[at]))
			old++
		}
		for line := range strings.Lines(c.text) {
			put('+', line)
			fresh++
		}
	}
	keep(to)
	first := func(line, n int) int {
		if n == 0 {
			return line
		}
		return line + 1
	}
	fmt.Fprintf(b, "@@ -%d,%d +%d,%d @@\n%s", first(from, old), old, first(from+shift, fresh), fresh, body.String())
	return fresh - old
}
