package designfile

import (
	"fmt"
	"math"

	"google.golang.org/protobuf/reflect/protoreflect"

	"github.com/skidrule/skidrule/internal/quantity"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// bound is the range of values that a design may state for a dimension.
type bound struct{ low, high float64 }

// bounds catches slips of unit and of the keyboard; they lie far beyond any
// skid. Common practice, no source, except for what the quantity itself sets:
// an absolute pressure and a temperature are not below zero, a fraction lies
// between 0 and 1, and a gauge pressure is not more than an atmosphere below
// zero (1.1 bar leaves room for sites below sea level). All in the wire unit.
var bounds = map[skidrulev1.Dimension]bound{
	skidrulev1.Dimension_DIMENSION_PRESSURE_GAUGE:         {-1.1e5, 1e9}, // 10,000 bar
	skidrulev1.Dimension_DIMENSION_PRESSURE_ABSOLUTE:      {0, 1e9},
	skidrulev1.Dimension_DIMENSION_PRESSURE_DIFFERENCE:    {0, 1e9},
	skidrulev1.Dimension_DIMENSION_TEMPERATURE:            {0, 5000},
	skidrulev1.Dimension_DIMENSION_TEMPERATURE_DIFFERENCE: {-5000, 5000},
	skidrulev1.Dimension_DIMENSION_LENGTH:                 {0, 1e5},
	skidrulev1.Dimension_DIMENSION_AREA:                   {0, 1e6},
	skidrulev1.Dimension_DIMENSION_VOLUME:                 {0, 1e9},
	skidrulev1.Dimension_DIMENSION_DURATION:               {0, 1e10}, // three centuries
	skidrulev1.Dimension_DIMENSION_LIQUID_FLOW:            {0, 1e4},
	skidrulev1.Dimension_DIMENSION_GAS_FLOW:               {0, 1e6},
	skidrulev1.Dimension_DIMENSION_MASS_FLOW:              {0, 1e6},
	skidrulev1.Dimension_DIMENSION_MASS:                   {0, 1e9},
	skidrulev1.Dimension_DIMENSION_POWER:                  {0, 1e10},
	skidrulev1.Dimension_DIMENSION_ENERGY:                 {0, 1e18},
	skidrulev1.Dimension_DIMENSION_SPECIFIC_ENERGY:        {0, 1e12},
	skidrulev1.Dimension_DIMENSION_MASS_FRACTION:          {0, 1},
	skidrulev1.Dimension_DIMENSION_MOLE_FRACTION:          {0, 1},
	skidrulev1.Dimension_DIMENSION_MASS_CONCENTRATION:     {0, 1e5},
	skidrulev1.Dimension_DIMENSION_EXPOSURE:               {0, 1e9},
	skidrulev1.Dimension_DIMENSION_FLOW_COEFFICIENT:       {0, 1e6},
	skidrulev1.Dimension_DIMENSION_VELOCITY:               {0, 1e5},
	skidrulev1.Dimension_DIMENSION_DENSITY:                {0, 1e5},
	skidrulev1.Dimension_DIMENSION_FREQUENCY:              {0, 1e12},
	skidrulev1.Dimension_DIMENSION_VOLTAGE:                {0, 1e7},
	skidrulev1.Dimension_DIMENSION_CURRENT:                {0, 1e7},
	skidrulev1.Dimension_DIMENSION_RATE:                   {0, 1e9},
	skidrulev1.Dimension_DIMENSION_RATIO:                  {0, 1e6},
	skidrulev1.Dimension_DIMENSION_ANGLE:                  {-1e3, 1e3},
}

// signed lists the fields whose negative values mean something: heights below
// the datum of the drawing or the sea, and flows out of a boundary. Their low
// bound is the negative high one.
var signed = map[protoreflect.Name]bool{
	"altitude_m":           true,
	"elevation_m":          true,
	"high_point_m":         true,
	"low_point_m":          true,
	"liquid_flow_m3_per_s": true,
	"gas_flow_mol_per_s":   true,
}

// sheet bounds the places on a drawing, in grid modules.
var sheet = map[protoreflect.FullName]bound{
	"skidrule.v1.SheetPosition.x": {-1e6, 1e6},
	"skidrule.v1.SheetPosition.y": {-1e6, 1e6},
}

func boundOf(f *fieldSpec) bound {
	b, ok := bounds[f.dimension]
	if !ok {
		if b, ok = sheet[f.field.FullName()]; !ok {
			b = bound{-math.MaxFloat64, math.MaxFloat64}
		}
		return b
	}
	if signed[f.field.Name()] {
		b.low = -b.high
	}
	return b
}

// outOfBounds says what is wrong with a number of a field; both texts are empty
// when nothing is.
func outOfBounds(f *fieldSpec, v float64) (message, suggestion string) {
	b := boundOf(f)
	switch {
	case math.IsNaN(v) || math.IsInf(v, 0):
		return fmt.Sprintf("%s is %v", f.key, v), "write a finite number, or leave the datum out when it is not known"
	case v < 0 && b.low == 0:
		return fmt.Sprintf("%s is negative (%s)", f.key, show(f, v)), "write a value of zero or more; a negative one has no meaning here"
	case v < b.low:
		return fmt.Sprintf("%s is %s; the lowest value that is accepted is %s", f.key, show(f, v), show(f, b.low)), "look at the unit"
	case v > b.high:
		return fmt.Sprintf("%s is %s; the highest value that is accepted is %s", f.key, show(f, v), show(f, b.high)), "look at the unit"
	}
	return "", ""
}

// show prints a value for people.
func show(f *fieldSpec, v float64) string {
	if f.unit == 0 {
		return fmt.Sprintf("%g", v)
	}
	return quantity.Format(v, f.unit, quantity.Metric)
}
