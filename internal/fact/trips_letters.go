package fact

import (
	"strings"

	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// tagLetters gives the capital letters that a tag begins with, behind a part number of digits and hyphens if it has one.
func tagLetters(tag string) string {
	for tag != "" && strings.IndexByte("0123456789-_/", tag[0]) >= 0 {
		tag = tag[1:]
	}
	end := 0
	for end < len(tag) && tag[end] >= 'A' && tag[end] <= 'Z' {
		end++
	}
	return tag[:end]
}

// measuredLetters gives the first letters that fit a kind of instrument under a letter scheme; the first is the usual one.
//
// Sources: ANSI/ISA-5.1-1984 (R1992) Table 1 and ANSI/ISA-5.1-2009 Table 4.1, IEC 62424:2014 letters of categories, all read
// in transcriptions. ISA leaves C, D, G, M, N and O to the user, as conductivity, density or moisture.
func measuredLetters(k plant.Kind, scheme skidrulev1.LetterScheme) string {
	isa := scheme == skidrulev1.LetterScheme_LETTER_SCHEME_ISA
	const left = "CDGMNOX"
	switch k {
	case plant.KindPressureGauge, plant.KindPressureSwitch:
		return "P"
	case plant.KindFlowSwitch, plant.KindFlowMeter:
		return "F"
	case plant.KindLevelSwitch:
		return "L"
	case plant.KindTemperatureSwitch:
		return "T"
	case plant.KindMoistureMonitor:
		if isa {
			return "A" + left
		}
		return "M"
	}
	if isa {
		return "A" + left
	}
	// Analyses were Q in the national standard before; both are in use.
	return "AQ"
}

// rightLetter is the first letter that an instrument's tag should have.
func (w *World) rightLetter(instrument int32) string {
	return measuredLetters(w.Plant.Components[instrument].Kind, w.Plant.Basis.GetLetterScheme())[:1]
}

// firstLetterFits tells whether the first letter of an instrument's tag names what it measures. A tag without letters names
// nothing.
func (w *World) firstLetterFits(instrument int32) Truth {
	scheme := w.Plant.Basis.GetLetterScheme()
	if scheme == skidrulev1.LetterScheme_LETTER_SCHEME_UNSPECIFIED {
		return Open(basisRef("letter_scheme"))
	}
	letters := tagLetters(w.Plant.Components[instrument].Tag)
	if letters == "" {
		return Truth{}
	}
	return Is(strings.Contains(measuredLetters(w.Plant.Components[instrument].Kind, scheme), letters[:1]))
}

// limitLetters tells whether the letters behind the first name a high or a low limit.
func limitLetters(letters string) (high, low bool) {
	if len(letters) < 2 {
		return false, false
	}
	return strings.Contains(letters[1:], "H"), strings.Contains(letters[1:], "L")
}

// limitLetterFits compares a high or low in a switch's tag with the direction in which it acts.
func (w *World) limitLetterFits(instrument int32) Truth {
	high, low := limitLetters(tagLetters(w.Plant.Components[instrument].Tag))
	if high == low {
		return Truth{Value: True}
	}
	switch w.actsOn(instrument) {
	case skidrulev1.SwitchDirection_SWITCH_DIRECTION_UNSPECIFIED:
		return Open(specRef(instrument, "acts_on"))
	case skidrulev1.SwitchDirection_SWITCH_DIRECTION_RISING:
		return Is(high)
	}
	return Is(low)
}
