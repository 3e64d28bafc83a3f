//go:build race

package engine_test

// underRace tells that the race detector runs, which makes everything several times slower: fewer designs are tried then.
const underRace = true
