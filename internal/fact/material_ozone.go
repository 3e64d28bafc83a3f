package fact

import (
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// ozoneRating is what a widely reproduced table of chemical resistance says of a material in ozone, and what practice says of
// the same material in strong ozone gas, where such tables are known to be too kind.
type ozoneRating struct {
	table byte    // A excellent, B good, C fair but not for continuous use, D severe effect; 0 where the table has no row
	gas   Verdict // in strong ozone gas; common practice, no source
	water Verdict // in water that bears ozone
}

// ozoneRatings hold the letters of the table and judgements. In water the letters A and B count as resisting, C and D as not.
// In gas only materials without a bond that ozone attacks count as resisting; what the table praises otherwise stays
// undecided, and what is known to crack, embrittle, swell or burn counts as not resisting.
//
// Source of the letters: widely reproduced chemical-resistance table for ozone, read in a public copy. Materials without a
// letter, and every judgement about gas: common practice, no source.
//
// The list goes by material; one without a row has nil.
var ozoneRatings = [...]*ozoneRating{
	skidrulev1.Material_MATERIAL_STAINLESS_316:  {'A', True, True},
	skidrulev1.Material_MATERIAL_STAINLESS_304:  {'B', True, True},
	skidrulev1.Material_MATERIAL_TITANIUM:       {0, True, True},
	skidrulev1.Material_MATERIAL_GLASS:          {0, True, True},
	skidrulev1.Material_MATERIAL_CERAMIC:        {0, True, True},
	skidrulev1.Material_MATERIAL_PTFE:           {'A', True, True},
	skidrulev1.Material_MATERIAL_PFA:            {0, True, True},
	skidrulev1.Material_MATERIAL_PCTFE:          {0, True, True},
	skidrulev1.Material_MATERIAL_ECTFE:          {0, True, True},
	skidrulev1.Material_MATERIAL_PVDF:           {'A', True, True},
	skidrulev1.Material_MATERIAL_FFKM:           {0, True, True},
	skidrulev1.Material_MATERIAL_CONCRETE:       {0, Undecided, True},
	skidrulev1.Material_MATERIAL_FKM:            {'A', Undecided, True},
	skidrulev1.Material_MATERIAL_EPDM:           {'A', Undecided, True},
	skidrulev1.Material_MATERIAL_SILICONE:       {'A', Undecided, True},
	skidrulev1.Material_MATERIAL_POLYCARBONATE:  {'A', Undecided, True},
	skidrulev1.Material_MATERIAL_COPPER:         {'A', Undecided, True},
	skidrulev1.Material_MATERIAL_BRONZE:         {'B', Undecided, True},
	skidrulev1.Material_MATERIAL_BRASS:          {0, Undecided, Undecided},
	skidrulev1.Material_MATERIAL_ALUMINIUM:      {'B', Undecided, True},
	skidrulev1.Material_MATERIAL_GRP:            {0, Undecided, Undecided},
	skidrulev1.Material_MATERIAL_GRAPHITE:       {0, Undecided, Undecided},
	skidrulev1.Material_MATERIAL_CPVC:           {'A', False, True},
	skidrulev1.Material_MATERIAL_PVC_U:          {'B', False, True},
	skidrulev1.Material_MATERIAL_POLYPROPYLENE:  {'B', False, True},
	skidrulev1.Material_MATERIAL_ABS:            {'B', False, True},
	skidrulev1.Material_MATERIAL_CARBON_STEEL:   {'C', False, False},
	skidrulev1.Material_MATERIAL_POLYETHYLENE:   {'C', False, False},
	skidrulev1.Material_MATERIAL_ACETAL:         {'C', False, False},
	skidrulev1.Material_MATERIAL_CHLOROPRENE:    {'C', False, False},
	skidrulev1.Material_MATERIAL_POLYURETHANE:   {0, False, Undecided},
	skidrulev1.Material_MATERIAL_POLYAMIDE:      {'D', False, False},
	skidrulev1.Material_MATERIAL_NBR:            {'D', False, False},
	skidrulev1.Material_MATERIAL_NATURAL_RUBBER: {'D', False, False},
}

// ozoneRatingOf is the row of a material; nil where it has none.
func ozoneRatingOf(m skidrulev1.Material) *ozoneRating {
	if m < 0 || int(m) >= len(ozoneRatings) {
		return nil
	}
	return ozoneRatings[m]
}

// resistsOzone tells whether a material resists ozone. ref names the datum that states the material.
func resistsOzone(m skidrulev1.Material, gas bool, ref Ref) Truth {
	rating := ozoneRatingOf(m)
	if rating == nil {
		return Open(ref)
	}
	verdict := rating.water
	if gas {
		verdict = rating.gas
	}
	if verdict == Undecided {
		return Open(ref)
	}
	return Is(verdict == True)
}

// ozoneLetter is the table's letter for a material.
func ozoneLetter(m skidrulev1.Material) Text {
	if rating := ozoneRatingOf(m); rating != nil && rating.table != 0 {
		return Text{Value: string(rune(rating.table))}
	}
	return Text{Value: "no row"}
}
