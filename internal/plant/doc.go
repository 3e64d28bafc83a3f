// Package plant holds the resolved model of a design: catalogue entries applied, tags, ports and lines as compact arrays,
// and a name for every datum, stated or missing.
//
// It knows the schema and nothing of rules, physics or cases.
package plant
