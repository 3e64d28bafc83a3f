package designfile

import "strings"

// The compounds that the trade writes with a hyphen; every other underscore is a space.
var compounds = strings.NewReplacer(
	"back_pressure_valve", "back-pressure valve",
	"knock_out_pot", "knock-out pot",
	"off_gas", "off-gas",
	"shut_off", "shut-off",
	"three_way", "three-way",
	"_", " ",
)

// Spoken spells a word of design files as people read it: "off-gas" for off_gas, "tube fitting" for tube_fitting.
func Spoken(word string) string { return compounds.Replace(word) }

// WithArticle puts the article before the title of a kind or message. Those in u sound as union does.
func WithArticle(title string) string {
	if title != "" && strings.ContainsRune("aeio", rune(title[0])) {
		return "an " + title
	}
	return "a " + title
}
