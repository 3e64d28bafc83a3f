package report

import (
	"fmt"
	"strings"
	"unicode"

	"google.golang.org/protobuf/reflect/protoreflect"

	"github.com/skidrule/skidrule/internal/designfile"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// word spells an enum value as design and rule files do; empty where it is not stated.
func word(e protoreflect.Enum) string {
	if e.Number() == 0 {
		return ""
	}
	values := e.Descriptor().Values()
	prefix, _ := strings.CutSuffix(string(values.ByNumber(0).Name()), "UNSPECIFIED")
	v := values.ByNumber(e.Number())
	if v == nil {
		return fmt.Sprintf("%d", e.Number())
	}
	return strings.ToLower(strings.TrimPrefix(string(v.Name()), prefix))
}

// spoken is word as people read it.
func spoken(e protoreflect.Enum) string { return designfile.Spoken(word(e)) }

func severityWord(s skidrulev1.Severity) string { return word(s) }

var hazardWords = map[skidrulev1.Hazard]string{
	skidrulev1.Hazard_HAZARD_WATER_AT_GENERATOR: "water reaches a generator cell",
	skidrulev1.Hazard_HAZARD_LIQUID_ON_CATALYST: "liquid reaches a destruct catalyst",
	skidrulev1.Hazard_HAZARD_OZONE_TO_PEOPLE:    "ozone reaches people",
	skidrulev1.Hazard_HAZARD_OVERPRESSURE:       "a part bears more pressure than it is rated for",
	skidrulev1.Hazard_HAZARD_FIRE:               "something burns in oxygen or strong ozone",
	skidrulev1.Hazard_HAZARD_SUFFOCATION:        "someone suffocates",
	skidrulev1.Hazard_HAZARD_PROCESS:            "the process misses its target or harms what it serves",
	skidrulev1.Hazard_HAZARD_SERVICE:            "a person is hurt during service",
}

// hazardText says in words what may happen; empty for a rule that guards function.
func hazardText(h skidrulev1.Hazard) string {
	if text, ok := hazardWords[h]; ok {
		return text
	}
	return spoken(h)
}

// sourceText is a source with how far it was verified, where its text does not say so itself.
func sourceText(s *skidrulev1.RuleSource) string {
	switch s.GetStatus() {
	case skidrulev1.SourceStatus_SOURCE_STATUS_VERIFIED:
		return s.GetText() + " (text read)"
	case skidrulev1.SourceStatus_SOURCE_STATUS_DERIVED:
		return s.GetText() + " (derived)"
	case skidrulev1.SourceStatus_SOURCE_STATUS_MEMORY:
		return s.GetText() + " (from memory)"
	}
	return s.GetText()
}

// clean makes text from a design harmless on a terminal: control and format characters are spelt out, line breaks become
// spaces.
func clean(s string) string {
	harmless := func(r rune) bool { return r >= ' ' && !unicode.In(r, unicode.Cc, unicode.Cf, unicode.Zl, unicode.Zp) }
	if strings.IndexFunc(s, func(r rune) bool { return !harmless(r) }) < 0 {
		return s
	}
	var b strings.Builder
	for _, r := range s {
		switch {
		case harmless(r):
			b.WriteRune(r)
		case r == '\n' || r == '\t' || r == '\r' || r == '\u2028' || r == '\u2029':
			b.WriteByte(' ')
		default:
			fmt.Fprintf(&b, "<U+%04X>", r)
		}
	}
	return b.String()
}
