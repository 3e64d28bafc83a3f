// Package operate says how a plant is run: its operating cases, and the state of every valve, machine and boundary in each.
// It knows nothing of rules.
package operate
