package calc

import (
	"sort"

	"github.com/skidrule/skidrule/internal/misspelt"
)

// registrations holds one list for each topic; a new topic adds its list here
// and nothing else changes.
func registrations() [][]Calculation {
	return [][]Calculation{
		injectorCalculations(),
		restrictionCalculations(),
		valveCalculations(),
		reliefCalculations(),
		dropletCalculations(),
		floatCalculations(),
		wallCalculations(),
		hydraulicCalculations(),
		oxygenPipeCalculations(),
		processCalculations(),
	}
}

// registry is every calculation, sorted by name.
var registry = collect(registrations())

// collect flattens and sorts the lists of the topics.
func collect(lists [][]Calculation) []*Calculation {
	var all []*Calculation
	for _, list := range lists {
		for i := range list {
			all = append(all, &list[i])
		}
	}
	sort.Slice(all, func(i, j int) bool { return all[i].Name < all[j].Name })
	return all
}

// List returns every calculation, sorted by name. The slice is the caller's;
// the calculations are shared and must not be changed.
func List() []*Calculation {
	return append([]*Calculation(nil), registry...)
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
