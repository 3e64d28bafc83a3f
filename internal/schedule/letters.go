package schedule

import "strings"

// measuredBy says what the first letter of an instrument's tag measures, functionOf what a following one stands for. Letters that the
// standard leaves to the user are said to be so.
//
// Source: ANSI/ISA-5.1-2009, Table 4.1, verified in a transcription.
var (
	measuredBy = map[byte]string{
		'A': "analysis", 'B': "burner", 'E': "voltage", 'F': "flow", 'H': "hand", 'I': "current", 'J': "power", 'K': "time", 'L': "level",
		'P': "pressure", 'Q': "quantity", 'R': "radiation", 'S': "speed", 'T': "temperature", 'U': "several variables", 'V': "vibration",
		'W': "weight", 'X': "unclassified", 'Y': "event", 'Z': "position",
	}
	functionOf = map[byte]string{
		'A': "alarm", 'C': "control", 'D': "differential", 'E': "sensor", 'F': "ratio", 'G': "gauge", 'H': "high", 'I': "indicate",
		'J': "scan", 'K': "control station", 'L': "low", 'M': "middle", 'O': "orifice", 'P': "point", 'Q': "total", 'R': "record",
		'S': "switch", 'T': "transmit", 'U': "several functions", 'V': "valve", 'W': "well", 'X': "unclassified", 'Y': "compute", 'Z': "driver",
	}
)

const usersChoice = "user's choice"

// tagParts splits a tag into its letters and what follows; a part number of digits before the letters is left out.
func tagParts(tag string) (letters, rest string) {
	tag = strings.TrimLeft(tag, "0123456789-_/")
	end := 0
	for end < len(tag) && tag[end] >= 'A' && tag[end] <= 'Z' {
		end++
	}
	return tag[:end], strings.TrimLeft(tag[end:], "-_/")
}

// spelt spells the letters of a tag.
func spelt(letters string) string {
	var out []string
	for i := range len(letters) {
		names := functionOf
		if i == 0 {
			names = measuredBy
		}
		word := names[letters[i]]
		if word == "" {
			word = usersChoice
		}
		out = append(out, word)
	}
	return strings.Join(out, ", ")
}

// loopOf is the loop that a tag belongs to: its first letter and its number. An instrument without number has none.
func loopOf(tag string) string {
	letters, rest := tagParts(tag)
	if letters == "" || rest == "" {
		return ""
	}
	return letters[:1] + "-" + rest
}
