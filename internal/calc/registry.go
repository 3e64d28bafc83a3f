package calc

import (
	"slices"
	"sort"
	"strings"

	"github.com/skidrule/skidrule/internal/misspelt"
)

// registrations joins the lists of the topics; a new topic adds its list here
// and nothing else changes.
func registrations() []Calculation {
	return slices.Concat(
		injectorCalculations(),
		restrictionCalculations(),
		valveCalculations(),
		reliefCalculations(),
		dropletCalculations(),
		floatCalculations(),
		wallCalculations(),
		hydraulicCalculations(),
		oxygenPipeCalculations(),
		waterCalculations(),
		gasCalculations(),
		solutionCalculations(),
		contactCalculations(),
		offGasCalculations(),
		destructCalculations(),
		generatorCalculations(),
		oxygenCalculations(),
		inactivationCalculations(),
		roomCalculations(),
	)
}

// registry is every calculation, sorted by name.
var registry = collect(registrations())

// collect points at the calculations in the order of their names.
func collect(list []Calculation) []*Calculation {
	all := make([]*Calculation, len(list))
	for i := range list {
		all[i] = &list[i]
	}
	slices.SortFunc(all, func(a, b *Calculation) int { return strings.Compare(a.Name, b.Name) })
	return all
}

// List returns every calculation, sorted by name. The slice is the caller's;
// the calculations are shared and must not be changed.
func List() []*Calculation {
	return slices.Clone(registry)
}

// Names returns the name of every calculation, sorted.
func Names() []string {
	names := make([]string, len(registry))
	for i, c := range registry {
		names[i] = c.Name
	}
	return names
}

// Get returns the calculation of that name, or an [UnknownNameError] that
// suggests the nearest one.
func Get(name string) (*Calculation, error) {
	i := sort.Search(len(registry), func(i int) bool { return registry[i].Name >= name })
	if i < len(registry) && registry[i].Name == name {
		return registry[i], nil
	}
	known := Names()
	return nil, &UnknownNameError{What: "calculation", Name: name, Nearest: misspelt.Nearest(name, known), Known: known}
}
