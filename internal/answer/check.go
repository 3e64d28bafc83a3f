package answer

import skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"

// CheckOf is the check that goes with a request about a design and parts beside it.
func CheckOf(r interface {
	GetDesign() *skidrulev1.Design
	GetCatalogue() *skidrulev1.Catalogue
}) *skidrulev1.CheckDesignRequest {
	return &skidrulev1.CheckDesignRequest{Design: r.GetDesign(), Options: &skidrulev1.CheckOptions{Catalogue: r.GetCatalogue()}}
}
