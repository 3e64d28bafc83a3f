// Package bench times the graph questions that skidrule asks of a plant beside the same questions written as a policy for a
// general policy engine. It is a module of its own, so that the engine is no dependency of the product.
//
// Both sides answer for every ozone generator: how many barriers stand on the weakest path from process water (counted to
// two), which causes of failure alone open a path, whether a path meets no shut-off valve, whether a trap lies behind the last
// check valve on every path; and for every water boundary the size of its pressure zone. A test holds the answers equal.
// Other benchmarks stand in the package that they time.
package bench
