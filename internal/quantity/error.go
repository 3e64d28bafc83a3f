package quantity

import (
	"fmt"
	"strings"
)

// Error says why a text is not the wanted quantity, where, and what would be.
type Error struct {
	// Text is the whole text that was read, shortened when it is very long.
	Text string
	// Offset is the position in bytes, from 0, of the part that is wrong.
	Offset int
	// Problem says what is wrong, without a full stop.
	Problem string
	// Suggestion says what would be right, without a full stop. It may be empty.
	Suggestion string
}

// Error returns text, problem and suggestion in one line.
func (e *Error) Error() string {
	if e.Suggestion == "" {
		return fmt.Sprintf("%q: %s", e.Text, e.Problem)
	}
	return fmt.Sprintf("%q: %s; %s", e.Text, e.Problem, e.Suggestion)
}

// shorten keeps messages readable whatever was handed in.
func shorten(text string) string {
	const most = 80
	if len(text) <= most {
		return text
	}
	return strings.ToValidUTF8(text[:most], "") + "..."
}
