package report

import (
	"fmt"
	"strings"
	"unicode"

	"google.golang.org/protobuf/reflect/protoreflect"

	"github.com/skidrule/skidrule/internal/designfile"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// word spells an enum value as design and rule files do: empty where it is not stated, the number of one that this program does not know.
func word(e protoreflect.Enum) string {
	if e.Descriptor().Values().ByNumber(e.Number()) == nil {
		return fmt.Sprint(e.Number())
	}
	return designfile.EnumWord(e)
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

// waiverText says why a finding is waived, by whom and until when.
func waiverText(w *skidrulev1.Waiver) string {
	return w.GetReason() + ", accepted by " + w.GetAcceptedBy() + ", until " + w.GetExpires()
}

// covered says in brackets what covers a finding; empty where nothing does.
func covered(f *skidrulev1.Finding) string {
	switch {
	case f.GetWaiver() != nil:
		return " (waived)"
	case f.GetInBaseline():
		return " (in the baseline)"
	}
	return ""
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

// each puts the items of a list into words.
func each[T, U any](list []T, say func(T) U) []U {
	out := make([]U, len(list))
	for i, x := range list {
		out[i] = say(x)
	}
	return out
}

// count says a number of things.
func count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// capital writes the first letter large.
func capital(s string) string {
	for i, r := range s {
		return strings.ToUpper(string(r)) + s[i+len(string(r)):]
	}
	return s
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
