// Package rules holds the built-in rules: one folder a topic, one file a rule. Reading and asking them is rulebook's.
package rules

import "embed"

// Files holds the rule files.
//
//go:embed */*.yaml
var Files embed.FS
