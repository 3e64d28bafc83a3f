package designfile

import (
	"fmt"
	"regexp"
	"strings"
	"unicode"
)

// quoteText spells a text in double quotes, as YAML and JSON both read it.
func quoteText(s string) string {
	var b strings.Builder
	b.WriteByte('"')
	for _, r := range s {
		switch {
		case r == '"' || r == '\\':
			b.WriteByte('\\')
			b.WriteRune(r)
		case r == '\n':
			b.WriteString(`\n`)
		case r == '\r':
			b.WriteString(`\r`)
		case r == '\t':
			b.WriteString(`\t`)
		case !visible(r):
			fmt.Fprintf(&b, `\u%04x`, r)
		default:
			b.WriteRune(r)
		}
	}
	b.WriteByte('"')
	return b.String()
}

// visible reports whether a character may stand in a file as it is. All
// others are below U+10000.
func visible(r rune) bool {
	switch {
	case r < ' ', r >= 0x7f && r < 0xa0, r == '\u2028', r == '\u2029', r == '\ufeff', r == '\ufffe', r == '\uffff':
		return false
	}
	return true
}

// lookalike matches texts that YAML readers may take for a number, a date or a
// truth value.
var lookalike = regexp.MustCompile(`^(?i:[-+.]?[0-9][-+0-9_.:tzxoa-f]*|~|null|true|false|yes|no|on|off|y|n|[-+]?\.inf|\.nan|=|<<)$`)

// plainText reports whether a text needs no quotes in YAML, inside or outside
// of brackets.
func plainText(s string, inBrackets bool) bool {
	if s == "" || strings.TrimFunc(s, unicode.IsSpace) != s || lookalike.MatchString(s) {
		return false
	}
	switch s[0] {
	case '?', ':', ',', '[', ']', '{', '}', '#', '&', '*', '!', '|', '>', '\'', '"', '%', '@', '`', '=':
		return false
	case '-':
		if len(s) == 1 || s[1] == ' ' || s[1] == '-' {
			return false
		}
	case '.':
		if strings.HasPrefix(s, "...") {
			return false
		}
	}
	if strings.Contains(s, ": ") || strings.Contains(s, " #") || strings.HasSuffix(s, ":") {
		return false
	}
	if inBrackets && strings.ContainsAny(s, ",[]{}?") {
		return false
	}
	for _, r := range s {
		if !visible(r) {
			return false
		}
	}
	return true
}

// blockText reports whether a text can be a literal block scalar of YAML, and
// the header of that.
func blockText(s string) (header string, ok bool) {
	body := strings.TrimSuffix(s, "\n")
	if !strings.Contains(body, "\n") || strings.HasSuffix(body, "\n") {
		return "", false
	}
	for i, line := range strings.Split(body, "\n") {
		if line != "" && strings.TrimFunc(line, unicode.IsSpace) == "" || i == 0 && (line == "" || line[0] == ' ') {
			return "", false
		}
		for _, r := range line {
			if !visible(r) {
				return "", false
			}
		}
	}
	if body == s {
		return "|-", true
	}
	return "|", true
}
