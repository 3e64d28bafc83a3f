package designfile

import (
	"strings"

	"github.com/skidrule/skidrule/internal/misspelt"
)

// didYouMean returns a suggestion for a misspelt word: the nearest known one,
// or else the known ones.
func didYouMean(word string, known []string) string {
	if near := misspelt.Nearest(word, known); near != "" {
		return "did you mean " + quote(near) + "?"
	}
	return "known are " + list(known, 40)
}

// list joins names for people and says how many it leaves out.
func list(names []string, most int) string {
	if len(names) == 0 {
		return "none"
	}
	if len(names) > most {
		return strings.Join(names[:most], ", ") + ", ..."
	}
	return strings.Join(names, ", ")
}

// quote marks a word of the user's in a message and shortens a very long one.
func quote(s string) string {
	const most = 80
	if len(s) > most {
		s = strings.ToValidUTF8(s[:most], "") + "..."
	}
	return "\"" + strings.NewReplacer("\n", `\n`, "\r", `\r`, "\t", `\t`).Replace(s) + "\""
}
