package calc

import (
	"maps"
	"math"
)

// area returns the area in m2 of a circle of diameter d in m.
func area(d float64) float64 { return math.Pi / 4 * d * d }

// without returns a copy of the texts that lacks a key.
func without(texts map[string]string, key string) map[string]string {
	c := maps.Clone(texts)
	delete(c, key)
	return c
}

// with returns a copy of the texts in which a key has another text.
func with(texts map[string]string, key, text string) map[string]string {
	c := maps.Clone(texts)
	c[key] = text
	return c
}
