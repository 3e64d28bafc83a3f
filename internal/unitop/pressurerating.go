package unitop

import (
	"fmt"
	"sort"
	"strings"

	"github.com/skidrule/skidrule/internal/fluid"
)

// ratingPoint is one line of a rating table: degrees Celsius and bar gauge, as
// printed, for classes 150 and 300.
type ratingPoint struct {
	celsius            float64
	class150, class300 float64
}

// RatingTable is the pressure–temperature table of one material.
type RatingTable struct {
	Material string // as asked for, for example "carbon-steel"
	Group    string // material group of the standard
	Source   string // where the numbers stand and how far they were verified
	points   []ratingPoint
}

const (
	ratingSource = "ASME B16.5 (2009 to 2020 editions) Table 2-"
	twoReadings  = ", read in several transcriptions that agree up to 200 degC; above that in one"
	oneReading   = ", class 150 read in several transcriptions, class 300 in one"
)

// ratingTables are the tables that the program has, sorted by material. -29 degC
// has the rating of 38 degC.
var ratingTables = []RatingTable{
	{Material: "carbon-steel", Group: "1.1", Source: ratingSource + "1.1" + twoReadings, points: []ratingPoint{
		{-29, 19.6, 51.1}, {38, 19.6, 51.1}, {50, 19.2, 50.1}, {100, 17.7, 46.6}, {150, 15.8, 45.1},
		{200, 13.8, 43.8}, {250, 12.1, 41.9}, {300, 10.2, 39.8},
	}},
	{Material: "stainless-316", Group: "2.2", Source: ratingSource + "2.2" + twoReadings, points: []ratingPoint{
		{-29, 19.0, 49.6}, {38, 19.0, 49.6}, {50, 18.4, 48.1}, {100, 16.2, 42.2}, {150, 14.8, 38.5},
		{200, 13.7, 35.7}, {250, 12.1, 33.4}, {300, 10.2, 31.6},
	}},
	{Material: "stainless-316l", Group: "2.3", Source: ratingSource + "2.3" + oneReading, points: []ratingPoint{
		{-29, 15.9, 41.4}, {38, 15.9, 41.4}, {50, 15.3, 40.0}, {100, 13.3, 34.8}, {150, 12.0, 31.4},
		{200, 11.2, 29.2}, {250, 10.5, 27.5}, {300, 10.0, 26.1},
	}},
}

// FlangeMaterials lists the materials that [FlangeRating] knows, sorted.
func FlangeMaterials() []string {
	names := make([]string, len(ratingTables))
	for i, t := range ratingTables {
		names[i] = t.Material
	}
	return names
}

// FlangeRating returns the highest working pressure in Pa gauge of a flange or
// flanged fitting of a material and class (150 or 300) at a temperature in K
// (-29 to 300 degC), and the table used. Between lines it interpolates linearly,
// as the standard permits; between classes it never does. Unknown material or
// class is an error that wraps [ErrNoTable].
//
// Source: ASME B16.5, as the table returned says.
func FlangeRating(material string, class int, temperature float64) (float64, RatingTable, error) {
	i := sort.Search(len(ratingTables), func(i int) bool { return ratingTables[i].Material >= material })
	if i == len(ratingTables) || ratingTables[i].Material != material {
		return 0, RatingTable{}, fmt.Errorf("%w for flange material %q; there are %s", ErrNoTable, material, strings.Join(FlangeMaterials(), ", "))
	}
	table := ratingTables[i]
	var pick func(ratingPoint) float64
	switch class {
	case 150:
		pick = func(p ratingPoint) float64 { return p.class150 }
	case 300:
		pick = func(p ratingPoint) float64 { return p.class300 }
	default:
		return 0, RatingTable{}, fmt.Errorf("%w for class %d; there are 150 and 300", ErrNoTable, class)
	}
	xs := make([]float64, len(table.points))
	ys := make([]float64, len(table.points))
	for j, p := range table.points {
		xs[j] = p.celsius + zeroCelsius
		ys[j] = pick(p) * 1e5
	}
	y, err := interpolate("flange temperature", xs, ys, temperature, "K")
	return y, table, err
}

// zeroCelsius is 0 degC in K, exact.
const zeroCelsius = 273.15

// interpolate reads a table with rising xs at x, linearly, never outside it.
func interpolate(name string, xs, ys []float64, x float64, unit string) (float64, error) {
	if err := within(limit{name, x, xs[0], xs[len(xs)-1], unit}); err != nil {
		return 0, err
	}
	i := sort.SearchFloat64s(xs, x)
	if xs[i] == x {
		return ys[i], nil
	}
	w := (x - xs[i-1]) / (xs[i] - xs[i-1])
	return ys[i-1] + w*(ys[i]-ys[i-1]), nil
}

// deratingTable gives the factors of a plastic by degrees Fahrenheit, as
// printed.
type deratingTable struct {
	fahrenheit, factor []float64
	spread             float64 // absolute, by which published tables differ
	source             string
}

var deratingTables = map[string]deratingTable{
	"pvc": {
		fahrenheit: []float64{73, 80, 90, 100, 110, 120, 130, 140},
		factor:     []float64{1, 0.88, 0.75, 0.62, 0.50, 0.40, 0.30, 0.22},
		spread:     0.01,
		source:     "solvent-weld pipe selection guide, verified; 80 degF from two others, which have 0.30 and 0.31 at 130 degF",
	},
	"cpvc": {
		fahrenheit: []float64{73, 80, 90, 100, 110, 120, 130, 140, 150, 160, 170, 180, 200},
		factor:     []float64{1, 1, 0.91, 0.82, 0.72, 0.65, 0.57, 0.50, 0.42, 0.40, 0.29, 0.25, 0.20},
		spread:     0.05,
		source:     "two solvent-weld pipe selection guides that agree, verified; published families of factors differ by up to 0.05",
	},
}

// PlasticMaterials lists the materials that [PlasticDerating] knows, sorted.
func PlasticMaterials() []string {
	return []string{"cpvc", "pvc"}
}

// PlasticDerating returns the factor by which the 23 degC (73 degF) rating of a
// plastic pipe falls at a temperature in K, and the source of the table. PVC
// from 73 to 140 degF, CPVC from 73 to 200 degF; below 73 degF the rating is not
// raised and the table does not say, so it is out of range. Linear between
// lines. The spread is the difference between published tables. A temperature
// factor is no leave to carry compressed gas in rigid plastic.
//
// Source: as returned.
func PlasticDerating(material string, temperature float64) (fluid.Range, string, error) {
	table, ok := deratingTables[material]
	if !ok {
		return fluid.Range{}, "", fmt.Errorf("%w for plastic %q; there are %s", ErrNoTable, material, strings.Join(PlasticMaterials(), ", "))
	}
	xs := make([]float64, len(table.fahrenheit))
	for i, f := range table.fahrenheit {
		xs[i] = (f-32)/1.8 + zeroCelsius
	}
	y, err := interpolate(material+" temperature", xs, table.factor, temperature, "K")
	if err != nil {
		return fluid.Range{}, "", err
	}
	return fluid.Range{Low: max(0, y-table.spread), Best: y, High: min(1, y+table.spread)}, table.source, nil
}
