package engine

import (
	"slices"
	"strings"

	"github.com/skidrule/skidrule/internal/fact"
	"github.com/skidrule/skidrule/internal/operate"
)

// NamedCases gives the places of the cases that a field of the request names; of all where it names none.
func NamedCases(w *fact.World, field string, ids ...string) ([]int, error) {
	known := make([]string, len(w.Cases))
	for i := range w.Cases {
		known[i] = w.Cases[i].ID
	}
	for _, id := range ids {
		if !slices.Contains(known, id) {
			return nil, Refuse(field, "known are "+strings.Join(known, ", "), "the design has no case %q", id)
		}
	}
	var out []int
	for i, id := range known {
		if len(ids) == 0 || slices.Contains(ids, id) {
			out = append(out, i)
		}
	}
	return out, nil
}

// possible are those of the cases that can occur.
func possible(cases []operate.Case, named []int) []int32 {
	var out []int32
	for _, i := range named {
		if cases[i].Excluded == "" {
			out = append(out, int32(i))
		}
	}
	return out
}
