package quantity

import (
	"strings"
	"unicode/utf8"
)

// Limits on the length of a text, in bytes. A reference condition ("at …")
// makes a text longer.
const (
	maxText          = 64
	maxReferenceText = 200
)

// folded is a text in plain spelling, with the way back to the bytes that were
// written.
type folded struct {
	raw    string
	text   string
	offset []int // offset[i] is where text[i] begins in raw; one more for the end
}

// fault returns an error at position i of the plain text.
func (f *folded) fault(i int, problem, suggestion string) *Error {
	if i > len(f.text) {
		i = len(f.text)
	}
	return &Error{Text: shorten(f.raw), Offset: f.offset[i], Problem: problem, Suggestion: suggestion}
}

// plain lists the characters that people and editors write in place of the
// ASCII spelling.
var plain = map[rune]string{
	'\t':     " ",
	'\u00a0': " ", '\u2007': " ", '\u2009': " ", '\u202f': " ", // non-breaking, figure, thin, narrow
	'\u00b5': "u", '\u03bc': "u", // micro sign, mu
	'\u00b7': "*", '\u22c5': "*", '\u2219': "*", // middle dot, dot operator, bullet operator
	'\u00b0': "deg", '\u00ba': "deg", '\u02da': "deg", // degree sign and its look-alikes
	'\u2103': "degC", '\u2109': "degF",
	'\u2212': "-",                // minus sign
	'\u2215': "/", '\u2044': "/", // division slash, fraction slash
	'\uff05': "%",
}

// raised lists the superscripts. They mean an exponent, so they are folded
// only behind a unit: "10²" is not 102.
var raised = map[rune]string{
	'\u2070': "0", '\u00b9': "1", '\u00b2': "2", '\u00b3': "3", '\u2074': "4",
	'\u2075': "5", '\u2076': "6", '\u2077': "7", '\u2078': "8", '\u2079': "9", '\u207b': "-",
}

// fold turns text into its plain spelling and refuses what has none.
func fold(text string) (*folded, *Error) {
	if len(text) > maxReferenceText {
		return nil, tooLong(text)
	}
	f := &folded{raw: text, offset: make([]int, 0, len(text)+8)}
	var b strings.Builder
	put := func(s string, at int) {
		b.WriteString(s)
		for range len(s) {
			f.offset = append(f.offset, at)
		}
	}
	fail := func(at int, problem, suggestion string) *Error {
		return &Error{Text: shorten(strings.ToValidUTF8(text, "\ufffd")), Offset: at, Problem: problem, Suggestion: suggestion}
	}
	var before byte // last plain character, or '^' inside superscripts
	for at, r := range text {
		switch {
		case r == utf8.RuneError && !strings.HasPrefix(text[at:], "\ufffd"):
			return nil, fail(at, "not valid UTF-8", "write the text in UTF-8")
		case r >= ' ' && r <= '~':
			put(string(r), at)
			before = byte(r)
		case plain[r] != "":
			put(plain[r], at)
			before = plain[r][len(plain[r])-1]
		case raised[r] != "":
			if !letter(before) && before != '^' {
				return nil, fail(at, "a superscript that belongs to no unit", "write an exponent of the number as in 1e3")
			}
			put(raised[r], at)
			before = '^'
		default:
			return nil, fail(at, "unexpected character "+quote(string(r)), "write plain letters, digits and the marks ( ) / * ^ % . -")
		}
	}
	f.text = b.String()
	f.offset = append(f.offset, len(text))
	if len(text) > maxText && !strings.Contains(f.text, " at ") {
		return nil, tooLong(text)
	}
	return f, nil
}

func tooLong(text string) *Error {
	return &Error{
		Text: shorten(strings.ToValidUTF8(text, "\ufffd")), Offset: maxText,
		Problem:    "too long for a quantity",
		Suggestion: "write one number and one unit, at most 64 bytes (200 with a reference condition \"at …\")",
	}
}

// trim leaves out the spaces around text[from:to].
func (f *folded) trim(from, to int) (int, int) {
	from = min(skipSpaces(f.text, from), to)
	for to > from && f.text[to-1] == ' ' {
		to--
	}
	return from, to
}

// skipSpaces returns the position in s, from i on, of the first byte that is no space.
func skipSpaces(s string, i int) int {
	for i < len(s) && s[i] == ' ' {
		i++
	}
	return i
}

// skipDigits returns the position in s, from i on, of the first byte that is no digit.
func skipDigits(s string, i int) int {
	for i < len(s) && digit(s[i]) {
		i++
	}
	return i
}

func letter(c byte) bool { return c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' }
func digit(c byte) bool  { return c >= '0' && c <= '9' }
func quote(s string) string {
	return "\"" + s + "\""
}
