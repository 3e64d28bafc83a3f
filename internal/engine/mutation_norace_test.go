//go:build !race

package engine_test

// underRace tells that the race detector runs.
const underRace = false
